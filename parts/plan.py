"""The route card: what is to happen to a piece, step by step.

Every change of a step ends in ``settle``, which finds the next step and tells the piece whether it
is ready to go on the car.
"""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from uuid import UUID, uuid4

from django.db import models, transaction

from garage.models import Person
from parts.models import Event, Kind, Piece, Progress, Step
from parts.models.plan import BENCH_WORK
from parts.statuses import Move, Status

# What taking back puts back on a step.
PUT_BACK = ("progress", "done_at", "who", "cost", "minutes", "why")


class StepRefused(Exception):
    """The step cannot be changed like that; says why."""


class PlannedAlready(Exception):
    """The same form was saved before with something else in it; says what."""


@dataclass(frozen=True, slots=True)
class Route:
    """A usual order of steps, offered when a piece is judged."""

    code: str
    label: str
    help: str
    steps: tuple[Kind, ...]


ROUTES = (
    Route(
        "refit", "Refit as it is", "Sound: clean it and put it back on.", (Kind.CLEAN, Kind.REFIT)
    ),
    Route("repair", "Repair", "Mend it here, then put it back on.", (Kind.REPAIR, Kind.REFIT)),
    Route(
        "send_out",
        "Send out",
        "To a finisher, then chase threads and refit.",
        (Kind.SEND_OUT, Kind.PREPARE, Kind.REFIT),
    ),
    Route(
        "repair_send",
        "Repair, then send out",
        "Mend it here, then to a finisher.",
        (Kind.REPAIR, Kind.SEND_OUT, Kind.PREPARE, Kind.REFIT),
    ),
    Route(
        "remake",
        "Remake",
        "Copy it, try it on the car, have it coated.",
        (Kind.REMAKE, Kind.TRIAL_FIT, Kind.SEND_OUT, Kind.PREPARE, Kind.REFIT),
    ),
    Route("buy", "Buy", "It can still be had.", (Kind.BUY, Kind.REFIT)),
    Route(
        "finish",
        "Finish at home",
        "Clean and paint it here.",
        (Kind.CLEAN, Kind.FINISH_HOME, Kind.REFIT),
    ),
)
ROUTE_BY_CODE = {route.code: route for route in ROUTES}


def judge(
    *,
    piece: Piece,
    route: Route,
    by: Person,
    now: datetime,
    key: UUID | None = None,
    work: str = "",
    why: str = "",
    what: str = "",
) -> list[Step]:
    """The steps of ``route``, added behind what the piece has done already.

    ``what`` and ``why`` belong to the first step that is real work; ``work`` to sending out.
    Steps of an earlier plan that nobody began are left, because the piece was judged anew. Sent
    twice with the same ``key``, it is judged once.

    Raises
    ------
    PlannedAlready
        When the form of ``key`` wrote down another plan.
    """
    names = ", ".join(kind.label.lower() for kind in route.steps)
    said = f"Plan: {names}" + (f". {why}" if why else "")
    with transaction.atomic():
        piece = Piece.objects.select_for_update().get(pk=piece.pk)
        if key and (event := Event.objects.filter(key=key).first()):
            if (event.piece_id, event.text) != (piece.pk, said):
                raise PlannedAlready(f"This form was saved already. {event.text}")
            return list(piece.steps.to_do())
        for step in piece.steps.to_do():
            _close(step, progress=Progress.LEFT, at=now, why="judged anew")
        start = _last_position(piece) + 1
        steps = [
            Step(
                key=uuid4(),
                piece=piece,
                position=start + place,
                kind=kind,
                work=work if kind == Kind.SEND_OUT else "",
                what=what if place == 0 else "",
                why=why if place == 0 else "",
            )
            for place, kind in enumerate(route.steps)
        ]
        Step.objects.bulk_create(steps)
        Event.objects.write(key=key, piece=piece, kind="judge", text=said, by=by, at=now)
        settle(piece=piece, by=by, now=now)
    return steps


def add_step(
    *,
    piece: Piece,
    key: UUID,
    kind: Kind,
    by: Person,
    now: datetime,
    before: Step | None = None,
    **fields: object,
) -> Step:
    """A further step, before ``before`` or at the end of the work (but before refit).

    Raises
    ------
    PlannedAlready
        When the form of ``key`` wrote down another step.
    """
    with transaction.atomic():
        piece = Piece.objects.select_for_update().get(pk=piece.pk)
        if again := Step.objects.filter(key=key).first():
            fixed = (piece.pk, kind, fields.get("work", ""), fields.get("what", ""))
            if (again.piece_id, again.kind, again.work, again.what) != fixed:
                raise PlannedAlready(f"This form was saved already. To do: {again.says}")
            return again
        position = before.position if before else _place_for(piece, kind)
        piece.steps.filter(position__gte=position).update(position=models.F("position") + 1)
        step = Step.objects.create(key=key, piece=piece, kind=kind, position=position, **fields)
        Event.objects.write(piece=piece, kind="plan", text=f"To do: {step.says}", by=by, at=now)
        settle(piece=piece, by=by, now=now)
    return step


def begin(*, step: Step, by: Person, now: datetime) -> None:
    """Marks the step as being done; bench work puts the piece on the bench."""
    with transaction.atomic():
        step = _locked(step)
        if step.progress not in (Progress.OPEN, Progress.DOING):
            raise StepRefused(f"{step} is {step.get_progress_display().lower()} already.")
        step.progress = Progress.DOING
        step.save(update_fields=["progress"])
        if step.kind in BENCH_WORK and step.piece.can(Move.PUT_ON_BENCH):
            step.piece.move(Move.PUT_ON_BENCH, by=by, now=now, note=step.says)
        settle(piece=step.piece, by=by, now=now)


def finish(
    *,
    step: Step,
    by: Person,
    now: datetime,
    cost: Decimal | None = None,
    minutes: int | None = None,
    note: str = "",
    who: str = "",
    batch: UUID | None = None,
) -> Event:
    """The event of the step being done, with what it cost and how long it took.

    The event's key takes back the step and what it settled; ``batch`` hangs both on another
    deed instead (a part fitted, a lot counted).
    """
    key = uuid4()
    batch = batch or key
    with transaction.atomic():
        step = _locked(step)
        if step.progress == Progress.DONE:
            raise StepRefused(f"{step} is done already.")
        before = _as_it_stands(step)
        step.cost, step.minutes, step.who = cost, minutes, who or by.name
        _close(step, progress=Progress.DONE, at=now, save=("cost", "minutes", "who"))
        piece = step.piece
        coated = piece.change({"bare_since": None}) if step.kind == Kind.FINISH_HOME else {}
        event = Event.objects.write(
            piece=piece,
            kind="step done",
            text=f"{step.says}. {note}" if note else step.says,
            by=by,
            at=now,
            cost=cost,
            minutes=minutes,
            changes={**coated, **_changed(step, before)},
            key=key,
            batch=batch,
        )
        settle(piece=piece, by=by, now=now, batch=batch)
    return event


def leave(*, step: Step, because: str, by: Person, now: datetime) -> Event:
    """The event of a step left undone, with the reason; the plan goes on behind it."""
    with transaction.atomic():
        step = _locked(step)
        before = _as_it_stands(step)
        if step.progress == Progress.DONE:
            raise StepRefused(f"{step} is done already.")
        _close(step, progress=Progress.LEFT, at=now, why=because)
        said = f"{step.says}, because {because}"
        return _written(step, before, kind="step left", text=said, by=by, now=now)


def reopen(*, step: Step, by: Person, now: datetime, why: str = "") -> Event:
    """The event of a step that was done or left being opened again; its key takes that back."""
    with transaction.atomic():
        step = _locked(step)
        before = _as_it_stands(step)
        step.progress, step.done_at = Progress.OPEN, None
        if why:
            step.why = why
        step.save(update_fields=["progress", "done_at", "why"])
        said = f"{step.says}. {why}".strip()
        return _written(step, before, kind="step opened again", text=said, by=by, now=now)


def _written(
    step: Step, before: dict[str, object], *, kind: str, text: str, by: Person, now: datetime
) -> Event:
    """The event of what was done to a step; its key takes back that and what it settled."""
    key = uuid4()
    event = Event.objects.write(
        piece=step.piece,
        kind=kind,
        text=text,
        by=by,
        at=now,
        changes=_changed(step, before),
        key=key,
        batch=key,
    )
    settle(piece=step.piece, by=by, now=now, batch=key)
    return event


def shift(*, step: Step, up: bool, by: Person, now: datetime) -> None:
    """Swaps the step with its neighbour on the route card; only steps still to do move."""
    with transaction.atomic():
        step = _locked(step)
        to_do = list(step.piece.steps.to_do())
        at = to_do.index(step) if step in to_do else -1
        other = at - 1 if up else at + 1
        if at < 0 or not 0 <= other < len(to_do):
            raise StepRefused("It cannot go further that way.")
        neighbour = to_do[other]
        step.position, neighbour.position = neighbour.position, step.position
        Step.objects.bulk_update([step, neighbour], ["position"])
        settle(piece=step.piece, by=by, now=now)


def settle(*, piece: Piece, by: Person | None, now: datetime, batch: UUID | None = None) -> None:
    """Points the piece at its next step, and calls it ready when only refit is left.

    A piece that is ready while other steps are open again goes back to Off.
    """
    piece.refresh_from_db()
    step = piece.steps.to_do().first()
    if piece.next_step_id != (step.pk if step else None):
        piece.next_step = step
        piece.save(update_fields=["next_step"])
    only_refit_left = step is not None and step.kind == Kind.REFIT
    if only_refit_left and piece.state in (Status.OFF, Status.AT_BENCH) and piece.is_to_fit:
        piece.move(Move.CALL_READY, by=by, now=now, batch=batch)
    elif piece.state is Status.READY and not only_refit_left:
        piece.move(Move.REOPEN, by=by, now=now, batch=batch)


def _locked(step: Step) -> Step:
    """The step as it now stands, its piece locked first so that two hands take turns."""
    piece = Piece.objects.select_for_update().get(pk=step.piece_id)
    step = Step.objects.get(pk=step.pk)
    step.piece = piece
    return step


def _close(
    step: Step, *, progress: Progress, at: datetime, why: str = "", save: tuple[str, ...] = ()
) -> None:
    step.progress, step.done_at = progress, at
    if why:
        step.why = why
    step.save(update_fields=["progress", "done_at", "why", *save])


def _as_it_stands(step: Step) -> dict[str, object]:
    return {name: getattr(step, name) for name in PUT_BACK}


def _changed(step: Step, before: dict[str, object]) -> dict[str, list[object]]:
    """What ``parts.undo`` needs to put the step back, named "step 12 progress"."""
    return {
        f"step {step.pk} {name}": [_plain(old), _plain(getattr(step, name))]
        for name, old in before.items()
        if getattr(step, name) != old
    }


def _plain(value: object) -> object:
    """A value as JSON can keep it."""
    if isinstance(value, datetime):
        return value.isoformat()
    return str(value) if isinstance(value, Decimal) else value


def _last_position(piece: Piece) -> int:
    return piece.steps.aggregate(last=models.Max("position"))["last"] or 0


def _place_for(piece: Piece, kind: Kind) -> int:
    """Where a new step goes: work comes before an open refit, a refit at the end."""
    refit = piece.steps.to_do().filter(kind=Kind.REFIT).first()
    if refit and kind != Kind.REFIT:
        return refit.position
    return _last_position(piece) + 1
