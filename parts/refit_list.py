"""What can go on the car now, what is on but loose, and what the rest waits for."""

from dataclasses import dataclass

from django.db.models import Case, Count, F, Prefetch, Q, When

from garage.models import Car, System
from parts.models import Kind, Moment, Part, PartPhoto, Piece, Requirement, Step
from parts.models.piece_sets import PieceQuerySet, can_go_on
from parts.statuses import FITTED, ON_THE_CAR, Status

# The nearest to going on first; what nobody has judged yet comes last.
NEARNESS = (
    Status.READY,
    Status.BACK,
    Status.AT_BENCH,
    Status.OFF,
    Status.AT_FINISHER,
    Status.MISSING,
)
COUNTED = ("now", "waiting", "loose", "on")


@dataclass(frozen=True, slots=True)
class Hold:
    """One thing a piece waits for, in words; ``piece`` when it is another piece."""

    words: str
    piece: Piece | None = None


@dataclass(frozen=True, slots=True)
class Waiting:
    piece: Piece
    holds: list[Hold]


@dataclass(frozen=True, slots=True)
class First:
    """A part that must be on first, its piece to be fitted if there is one, and whether it is."""

    part: Part
    piece: Piece | None
    is_on: bool


@dataclass(frozen=True, slots=True)
class SystemCount:
    """How far one system, or with None the whole car, is back together."""

    system: System | None
    now: int = 0
    waiting: int = 0
    loose: int = 0
    on: int = 0


@dataclass(frozen=True, slots=True)
class RefitList:
    """The list of one car or one of its systems; counts are of all, rows of the first ``limit``."""

    can_go_on_now: list[Piece]
    loose: list[Piece]
    waiting: list[Waiting]
    counts: SystemCount
    systems: list[SystemCount]
    limit: int

    @property
    def has_more(self) -> bool:
        return max(self.counts.now, self.counts.waiting, self.counts.loose) > self.limit


def refit_list(car: Car, system: System | None = None, *, limit: int = 30) -> RefitList:
    """What can go on now, what is on but loose, and what waits for what.

    Only ``limit`` rows of each are loaded, in eleven queries however long the lists are.
    """
    systems = count_by_system(car)
    shown = [one for one in systems if system is None or one.system == system]
    pieces = _coming_on(car, system)
    return RefitList(
        can_go_on_now=list(_rows(pieces.filter(can_go_on()))[:limit]),
        loose=list(_rows(_of(car, system).loose())[:limit]),
        waiting=_waiting(pieces.filter(~can_go_on()), limit),
        counts=_sum(shown, system),
        systems=systems,
        limit=limit,
    )


def count_by_system(car: Car) -> list[SystemCount]:
    """Every system of the car with its counts, in two queries."""
    rows = (
        _of(car, None)
        .order_by()
        .values("part__system")
        .annotate(
            now=Count("pk", filter=can_go_on()),
            waiting=Count("pk", filter=Q(status__in=NEARNESS) & ~can_go_on()),
            loose=Count("pk", filter=Q(status=Status.FITTED_LOOSE)),
            on=Count("pk", filter=Q(status__in=FITTED)),
        )
        .values_list("part__system", *COUNTED)
    )
    counts = {pk: dict(zip(COUNTED, numbers, strict=True)) for pk, *numbers in rows}
    return [SystemCount(one, **counts.get(one.pk, {})) for one in car.systems.all()]


def counts_of(car: Car, system: System | None) -> SystemCount:
    """The counts of one system, or with None of the whole car, in two queries."""
    every = count_by_system(car)
    return _sum([one for one in every if system is None or one.system == system], system)


def for_fitting() -> PieceQuerySet:
    """Pieces with everything their page of refit asks for."""
    return (
        Piece.objects.kept()
        .for_rows()
        .select_related("part__system", "part__car")
        .prefetch_related("part__holes__stack")
    )


def must_be_on_first(part: Part) -> list[First]:
    """Each part that must be on before this one, by tag."""
    firsts = Part.objects.kept().filter(goes_on_before__then=part).order_by("tag")
    ours = Prefetch("pieces", Piece.objects.to_fit().select_related("part"))
    found = []
    for first in firsts.prefetch_related(ours):
        piece = next(iter(first.pieces.all()), None)
        found.append(First(first, piece, piece is not None and piece.state in ON_THE_CAR))
    return found


def came_off_after(piece: Piece) -> list[Piece]:
    """Pieces of its system that came off later and are not on yet: advice, never a block."""
    if piece.part.removal_order is None:
        return []
    later = _coming_on(piece.part.car, piece.part.system)
    later = later.filter(part__removal_order__gt=piece.part.removal_order)
    return list(later.for_rows().order_by("-part__removal_order")[:8])


def freed_by(part: Part) -> list[Piece]:
    """What can go on now and waited for ``part``, among other things."""
    coming = _coming_on(part.car, None).filter(can_go_on(), part__goes_on_after__first=part)
    return list(_rows(coming))


def open_trial(piece: Piece) -> Step | None:
    """The trial fit of the piece that is still to do."""
    return piece.steps.to_do().filter(kind=Kind.TRIAL_FIT).first()


def photos_in_place(part: Part) -> list[PartPhoto]:
    """How it sat: the photos in place first, then those taken as it came off."""
    shots = part.photos.kept().filter(moment__in=(Moment.IN_PLACE, Moment.OFF))
    return list(shots.select_related("photo", "part").order_by("moment", "at")[:8])


def _of(car: Car, system: System | None) -> PieceQuerySet:
    pieces = Piece.objects.of(car).kept().to_fit()
    return pieces.filter(part__system=system) if system else pieces


def _coming_on(car: Car, system: System | None) -> PieceQuerySet:
    """Pieces that are to go on the car and are off it."""
    return _of(car, system).filter(status__in=NEARNESS)


def _rows(pieces: PieceQuerySet) -> PieceQuerySet:
    """Rows with their holes, last off first."""
    return (
        pieces.for_rows()
        .select_related("part__system")
        .prefetch_related("part__holes__stack")
        .order_by(F("part__removal_order").desc(nulls_last=True), "pk")
    )


def _waiting(pieces: PieceQuerySet, limit: int) -> list[Waiting]:
    nearest = Case(*(When(status=status, then=place) for place, status in enumerate(NEARNESS)))
    to_be_judged = Case(When(next_step=None, then=1), default=0)
    rows = (
        pieces.for_rows()
        .select_related("part__system", "joined_into__part")
        .order_by(to_be_judged, nearest, F("part__removal_order").desc(nulls_last=True), "pk")
    )
    held = list(rows[:limit])
    firsts = _not_on_yet([piece.part_id for piece in held])
    return [Waiting(piece, [*_own(piece), *firsts.get(piece.part_id, ())]) for piece in held]


def _own(piece: Piece) -> list[Hold]:
    """What keeps a piece from being ready, or the piece it goes on with."""
    if piece.status == Status.READY:
        with_other = piece.joined_into and piece.joined_into.state not in ON_THE_CAR
        return [Hold("goes on with", piece.joined_into)] if with_other else []
    if piece.status == Status.AT_FINISHER:
        return [Hold(f"out at {piece.finisher}" if piece.finisher else "out")]
    if piece.status == Status.BACK:
        return [Hold("back, to be counted")]
    if piece.status == Status.MISSING:
        return [Hold(f"missing, last seen {piece.place}" if piece.place else "missing")]
    return [Hold(f"next: {piece.next_step.says}" if piece.next_step else "to be judged")]


def _not_on_yet(parts: list[int]) -> dict[int, list[Hold]]:
    """By part, the pieces that must be on before it and are not."""
    rows = (
        Requirement.objects.filter(then__in=parts, first__thrown_out_at=None)
        .select_related("first")
        .prefetch_related(Prefetch("first__pieces", Piece.objects.to_fit().select_related("part")))
        .order_by("first__tag")
    )
    holds: dict[int, list[Hold]] = {}
    for row in rows:
        for piece in row.first.pieces.all():
            if piece.state not in ON_THE_CAR:
                holds.setdefault(row.then_id, []).append(Hold("waits for", piece))
    return holds


def _sum(counts: list[SystemCount], system: System | None) -> SystemCount:
    return SystemCount(system, **{n: sum(getattr(one, n) for one in counts) for n in COUNTED})
