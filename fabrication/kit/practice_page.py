"""What a former's page shows of its practice bends, one group a tube."""

from dataclasses import dataclass

from fabrication.core import practice_bend as core
from fabrication.kit import practice
from fabrication.kit.handle import Reading
from fabrication.kit.practice_plot import Plot, plot
from fabrication.models import Former, PracticeBend, TubeStock

CARD_DEG = (15.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0)


@dataclass(frozen=True, slots=True)
class Bend:
    """One practice bend with what it says by itself."""

    row: PracticeBend
    springback_deg: float
    lengths: core.PracticeBend | None
    refused: str = ""

    @property
    def tells_radius(self) -> bool:
        found = self.lengths
        return found is not None and found.radius_error_ratio <= practice.LARGEST_ERROR_RATIO


@dataclass(frozen=True, slots=True)
class Pull:
    """How far to pull for one angle, in degrees and by the handle's scale."""

    angle_deg: float
    pull_deg: float
    more_deg: float
    at: Reading | None
    is_tested: bool


@dataclass(frozen=True, slots=True)
class Group:
    """The practice bends of a former with one tube, and what they say together."""

    stock: TubeStock
    bends: tuple[Bend, ...]
    out: tuple[PracticeBend, ...]
    said: practice.Practised
    plot: Plot | None
    pulls: tuple[Pull, ...]

    @property
    def share_percent(self) -> float | None:
        learnt = self.said.springback
        return None if learnt is None else 100 * (learnt.factor - 1)

    @property
    def fixed_size_deg(self) -> float | None:
        learnt = self.said.springback
        return None if learnt is None else abs(learnt.fixed_deg)

    @property
    def counting(self) -> int:
        return sum(bend.row.from_straight for bend in self.bends)


def groups_of(former: Former) -> list[Group]:
    """The groups of a former, thinnest tube first."""
    by_stock: dict[int, list[PracticeBend]] = {}
    for row in former.practice_bends.in_turn().for_rows():
        by_stock.setdefault(row.stock_id, []).append(row)
    groups = [_group(former, rows) for rows in by_stock.values()]
    return sorted(
        groups, key=lambda group: (group.stock.od_mm, group.stock.wall_mm, group.stock.pk)
    )


def _group(former: Former, rows: list[PracticeBend]) -> Group:
    kept = [row for row in rows if row.out_at is None]
    said = practice.said_by(kept)
    trials = [practice.trial(row) for row in kept]
    return Group(
        stock=rows[0].stock,
        bends=tuple(
            Bend(row, row.pulled_deg - row.came_to_deg, *practice.read_lengths(row)) for row in kept
        ),
        out=tuple(row for row in rows if row.out_at is not None),
        said=said,
        plot=plot(trials, said.springback) if said.springback else None,
        pulls=_pulls(former, said),
    )


def _pulls(former: Former, said: practice.Practised) -> tuple[Pull, ...]:
    learnt = said.springback
    if learnt is None:
        return ()
    found = []
    for angle_deg in CARD_DEG:
        pull_deg = learnt.pull_deg(angle_deg)
        at = former.scale.reading(pull_deg) if former.scale else None
        is_tested = len(learnt.doubts_about(angle_deg)) == len(learnt.problems)
        found.append(Pull(angle_deg, pull_deg, pull_deg - angle_deg, at, is_tested))
    return tuple(found)
