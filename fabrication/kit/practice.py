"""What practice bends say of one former with one tube: springback, radius, start offset."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction
from django.utils.timezone import localtime

from fabrication.core import practice_bend as core
from fabrication.core.errors import CoreError
from fabrication.core.springback import Springback, TrialBend, fit
from fabrication.models import Former, PracticeBend, TubeStock

LARGEST_ERROR_RATIO = 4.0
"""Our figure: a bend where one millimetre of tape is more than this in the radius says nothing
about it. That is one of less than 77 degrees."""

TAKEN_OVER = ("measured_radius_mm", "start_offset_mm")


@dataclass(frozen=True, slots=True)
class Measured:
    """Radius and start of a former as its practice bends with one tube have them. [mm]

    ``apart_mm`` is how far the bends disagree about the radius.
    """

    radius_mm: float
    start_offset_mm: float
    bends: int
    apart_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Practised:
    """All that the practice bends of one former with one tube say."""

    springback: Springback | None = None
    measured: Measured | None = None
    refused: str = ""


def practised(former: Former, stock: TubeStock) -> Practised:
    """What this former does with this tube; nothing before there is a practice bend."""
    if former.pk is None or stock.pk is None:
        return Practised()
    return said_by(PracticeBend.objects.kept().on(former, stock).for_rows().in_turn())


def springback_of(former: Former, stock: TubeStock) -> Springback | None:
    """How far to pull, learnt from practice bends; None while there is nothing to learn from."""
    return practised(former, stock).springback


def measured_of(former: Former, stock: TubeStock) -> Measured | None:
    """Radius and start as practice bends have them; None while none says enough."""
    return practised(former, stock).measured


def said_by(bends: Iterable[PracticeBend]) -> Practised:
    """What these bends say together; all are of one former with one tube."""
    rows = list(bends)
    if not rows:
        return Practised()
    measured = _mean([found for found, _ in map(read_lengths, rows) if found is not None])
    try:
        return Practised(fit(trial(bend) for bend in rows), measured)
    except CoreError as refused:
        return Practised(None, measured, refused.message)


def trial(bend: PracticeBend) -> TrialBend:
    return TrialBend(bend.pulled_deg, bend.came_to_deg, bend.from_straight)


def lengths_of(bend: PracticeBend) -> core.PracticeBend | None:
    """Radius and start from one bend; None where its lengths were not taken.

    Raises
    ------
    CoreError
        When the lengths contradict each other. A form asks before it saves.
    """
    if bend.mark_mm is None:
        return None
    if bend.width_mm is not None and bend.back_mm is not None:
        return core.practice_return_bend(
            outside_width_mm=bend.width_mm,
            back_mm=bend.back_mm,
            mark_mm=bend.mark_mm,
            od_mm=bend.stock.od_mm,
            pulled_deg=bend.pulled_deg,
            result_deg=bend.came_to_deg,
        )
    if bend.piece_mm is not None and bend.centre_a_mm is not None and bend.centre_b_mm is not None:
        return core.practice_bend(
            stock_mm=bend.piece_mm,
            mark_mm=bend.mark_mm,
            centre_a_mm=bend.centre_a_mm,
            centre_b_mm=bend.centre_b_mm,
            pulled_deg=bend.pulled_deg,
            result_deg=bend.came_to_deg,
        )
    return None


def read_lengths(bend: PracticeBend) -> tuple[core.PracticeBend | None, str]:
    """``lengths_of`` a kept bend, and what is wrong where its tube was changed since."""
    try:
        return lengths_of(bend), ""
    except CoreError as refused:
        return None, refused.message


def _mean(found: list[core.PracticeBend]) -> Measured | None:
    """The mean, a bend weighing by the square of how well it tells the radius."""
    telling = [one for one in found if one.radius_error_ratio <= LARGEST_ERROR_RATIO]
    if not telling:
        return None
    weights = [one.radius_error_ratio**-2 for one in telling]
    radii = [one.radius_mm for one in telling]
    starts = [one.start_offset_mm for one in telling]
    return Measured(
        radius_mm=_weighed(radii, weights),
        start_offset_mm=_weighed(starts, weights),
        bends=len(telling),
        apart_mm=max(radii) - min(radii),
    )


def _weighed(values: list[float], weights: list[float]) -> float:
    pairs = zip(values, weights, strict=True)
    return sum(value * weight for value, weight in pairs) / sum(weights)


class NothingMeasured(Exception):
    """No practice bend with this tube tells a radius."""

    def __init__(self, stock: TubeStock) -> None:
        super().__init__(f"No practice bend with {stock} tells a radius yet.")


@transaction.atomic
def use_measured(*, former: Former, stock: TubeStock, now: datetime) -> Former:
    """The former with radius and start offset as practice bends with a tube have them.

    What stood there before is kept beside them, to be put back.

    Raises
    ------
    NothingMeasured
        When they say nothing of it.
    """
    held = Former.objects.select_for_update().get(pk=former.pk)
    found = measured_of(held, stock)
    if found is None:
        raise NothingMeasured(stock)
    before = held.measured_from.get("before") or {
        "measured_radius_mm": held.measured_radius_mm,
        "start_offset_mm": held.start_offset_mm,
        "typed": {name: held.typed[name] for name in TAKEN_OVER if name in held.typed},
    }
    held.measured_from = {
        "tube": str(stock),
        "bends": found.bends,
        "on": localtime(now).date().isoformat(),
        "before": before,
    }
    # To a tenth of a millimetre, which is finer than any tape.
    held.measured_radius_mm = round(found.radius_mm, 1)
    held.start_offset_mm = round(found.start_offset_mm, 1)
    held.typed = {name: text for name, text in held.typed.items() if name not in TAKEN_OVER}
    held.save(update_fields=[*TAKEN_OVER, "typed", "measured_from"])
    return held


@transaction.atomic
def put_back(*, former: Former) -> Former:
    """The former as it was before practice bends were taken over; as it is when none were."""
    held = Former.objects.select_for_update().get(pk=former.pk)
    before = held.measured_from.get("before")
    if before is None:
        return held
    held.measured_radius_mm = before["measured_radius_mm"]
    held.start_offset_mm = before["start_offset_mm"]
    held.typed = held.typed | before["typed"]
    held.measured_from = {}
    held.save(update_fields=[*TAKEN_OVER, "typed", "measured_from"])
    return held
