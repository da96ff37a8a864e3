"""The job done at random, with repeats and stale pages, and what must hold after every step.

Two faults can be planted, and the machine must find each: it is no use when it cannot fail.
"""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID, uuid4

import pytest
from hypothesis import HealthCheck, Phase, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from garage.models import Car, Person
from parts import countback, dropoff, handover, judging, lines, places, plan, refit, takeoff, undo
from parts.models import Count, DropOff, Event, Finisher, Line, Part, Piece, Step
from parts.splitting import TOGETHER, SplitRefused
from parts.statuses import TRANSITIONS, Move, MoveNotAllowed, Status
from tests import factories
from tests.factories import NOW
from tests.thorough import often

REFUSALS = (
    MoveNotAllowed,
    SplitRefused,
    countback.CountedAlready,
    judging.ThrowOutRefused,
    lines.DropOffRefused,
    places.PlaceRefused,
    plan.PlannedAlready,
    plan.StepRefused,
    refit.FitRefused,
    takeoff.FormUsedAlready,
    undo.TooLate,
)
# Rows that carry the key of the form that made them.
MADE_ONCE = (Event, DropOff, Part, Count)
# What a page offers to take back.
CAN_BE_TAKEN_BACK = (*map(str, Move), "put away", "finish", "reopen", "leave")
BY_HAND = tuple(
    move
    for move in Move
    if move not in (Move.HAND_OVER, Move.TAKE_BACK, Move.COLLECT, Move.COUNT_IN, Move.TAKE_OFF)
)
# Physical sense, said here once more and not read from the table under test.
CAN_BE_FITTED_FROM = {Status.READY, Status.FITTED_LOOSE}
OUT_OF_THE_GARAGE = {
    Status.ON_CAR,
    Status.AT_FINISHER,
    Status.FITTED_LOOSE,
    Status.FITTED_TIGHT,
    Status.SCRAPPED,
    Status.SOLD,
}
choices = st.integers(min_value=0, max_value=10_000)


class Bench(RuleBasedStateMachine):
    """A garage of its own in each run: a car, a finisher, two boxes, and whatever is done."""

    # Which fault is planted: "silent" moves a piece past the only door, "edge" fits it twice.
    fault = ""

    def __init__(self) -> None:
        super().__init__()
        self.now: datetime = NOW
        self.keys: list[tuple[Callable[[UUID], Any], UUID]] = []
        self.logged: dict[int, int] = {}
        self.stale: dict[int, Piece] = {}

    @initialize()
    def a_garage(self) -> None:
        mark = uuid4().hex[:8]
        self.by: Person = factories.make_person(username=mark)
        self.car: Car = factories.make_car(model=mark)
        self.finisher: Finisher = factories.make_finisher(name=f"Shop {mark}")
        self.boxes = [factories.make_place(f"Shelf {mark} / Box {n}") for n in (1, 2)]
        for quantity in (1, 4):
            self._log(quantity=quantity, still_on_car=False)

    # ---- what is there

    @property
    def pieces(self) -> list[Piece]:
        return list(Piece.objects.filter(part__car=self.car).order_by("pk"))

    def _pick(self, number: int) -> Piece:
        """A piece; now and then as a page showed it a while ago."""
        found = self.pieces
        piece = found[number % len(found)]
        if number % 5 == 0 and piece.pk in self.stale:
            return self.stale[piece.pk]
        self.stale[piece.pk] = piece
        return piece

    def _dropoff(self, number: int, **state: Any) -> DropOff | None:
        found = list(DropOff.objects.filter(car=self.car, **state).order_by("pk"))
        return found[number % len(found)] if found else None

    def _try(self, deed: Callable[[], Any]) -> None:
        """Does it, or is refused in words; both are right, an error is not."""
        self.now += timedelta(minutes=7)
        try:
            deed()
        except REFUSALS as refused:
            assert str(refused) or isinstance(refused, countback.CountedAlready)

    def _once(self, deed: Callable[[UUID], Any]) -> None:
        """Does it under a new key, kept so that the same form can come in again."""
        key = uuid4()
        self.keys.append((deed, key))
        self._try(lambda: deed(key))

    # ---- what people do

    def _log(self, *, quantity: int, still_on_car: bool) -> None:
        now = self.now

        def deed(key: UUID) -> None:
            part = takeoff.log_part(
                key=key,
                car=self.car,
                system=self.car.systems.first(),
                name=f"Part {quantity}",
                by=self.by,
                now=now,
                quantity=quantity,
                still_on_car=still_on_car,
                place=None if still_on_car else self.boxes[0],
            )
            self.logged[part.pk] = quantity

        self._once(deed)

    @rule(quantity=st.sampled_from([1, 1, 3, 8]), still_on_car=st.booleans())
    def log(self, quantity: int, still_on_car: bool) -> None:
        if len(self.logged) < 6:
            self._log(quantity=quantity, still_on_car=still_on_car)

    @rule(number=choices, box=st.integers(0, 1))
    def take_off(self, number: int, box: int) -> None:
        piece, now = self._pick(number), self.now
        self._try(lambda: takeoff.take_off(piece=piece, place=self.boxes[box], by=self.by, now=now))

    @rule(number=choices, box=st.integers(0, 1))
    def put_away(self, number: int, box: int) -> None:
        piece = self._pick(number)
        self._try(
            lambda: places.put(pieces=[piece], place=self.boxes[box], by=self.by, now=self.now)
        )

    @rule(number=choices, move=st.sampled_from(BY_HAND))
    def move_by_hand(self, number: int, move: Move) -> None:
        piece = self._pick(number)
        if move in (Move.FIT_LOOSE, Move.TIGHTEN):
            fit = refit.fit_loose if move is Move.FIT_LOOSE else refit.fit_tight
            self._once(lambda key: fit(piece=piece, by=self.by, now=self.now, key=key))
        else:
            self._try(lambda: piece.move(move, by=self.by, now=self.now))

    @rule(number=choices, route=st.sampled_from(plan.ROUTES))
    def judge(self, number: int, route: plan.Route) -> None:
        piece = self._pick(number)
        self._once(
            lambda key: plan.judge(piece=piece, route=route, by=self.by, now=self.now, key=key)
        )

    @rule(number=choices, how=st.sampled_from(["finish", "leave", "reopen"]))
    def work_on_the_plan(self, number: int, how: str) -> None:
        steps = list(Step.objects.filter(piece__part__car=self.car).order_by("pk"))
        if not steps:
            return
        step, said = steps[number % len(steps)], {"by": self.by, "now": self.now}
        deeds = {
            "finish": lambda: plan.finish(step=step, **said),
            "leave": lambda: plan.leave(step=step, because="not worth it", **said),
            "reopen": lambda: plan.reopen(step=step, **said),
        }
        self._try(deeds[how])

    @rule(number=choices, some=st.integers(1, 3))
    def begin_a_dropoff(self, number: int, some: int) -> None:
        found = self.pieces
        chosen = [found[(number + n) % len(found)] for n in range(some)]
        self._once(
            lambda key: dropoff.start(
                key=key,
                car=self.car,
                finisher=self.finisher,
                pieces=chosen,
                by=self.by,
                now=self.now,
            )
        )

    @rule(number=choices, fewer=st.booleans())
    def hand_over(self, number: int, fewer: bool) -> None:
        building = self._dropoff(number, state=DropOff.State.BUILDING)
        if building is None:
            return
        for line in building.lines.all():
            count = max(1, line.count - 1) if fewer else line.count
            Line.objects.filter(pk=line.pk).update(work="blast", count=count)
        self._try(
            lambda: handover.hand_over(
                dropoff=building,
                on=date(2026, 11, 25),
                due_on=None,
                count_url="https://garage.example/out/",
                by=self.by,
                now=self.now,
            )
        )

    @rule(number=choices, what=st.sampled_from(["take back", "collect", "close"]))
    def go_to_the_finisher(self, number: int, what: str) -> None:
        out = self._dropoff(number, state=DropOff.State.OUT)
        if out is None:
            return
        verb = {"take back": handover.take_back, "collect": countback.collect}.get(what)
        if verb:
            self._try(lambda: verb(dropoff=out, by=self.by, now=self.now))
        else:
            why = "lost touch" if number % 2 else ""
            self._try(lambda: handover.close(dropoff=out, because=why, by=self.by, now=self.now))

    @rule(number=choices, numbers=st.tuples(*[st.integers(0, 4)] * 4))
    def count_back(self, number: int, numbers: tuple[int, int, int, int]) -> None:
        found = list(Line.objects.filter(dropoff__car=self.car).exclude(piece=None).order_by("pk"))
        if not found or not sum(numbers):
            return
        line = found[number % len(found)]
        good, redo, missing, unsound = numbers
        self._once(
            lambda key: countback.count(
                dropoff=line.dropoff,
                tallies=[countback.Tally(line, key, good, redo, missing, unsound)],
                by=self.by,
                now=self.now,
                place=self.boxes[1],
            )
        )

    @rule(number=choices, back=st.booleans())
    def bin(self, number: int, back: bool) -> None:
        part = self._pick(number).part
        verb = judging.bring_back if back else judging.throw_out
        self._try(lambda: verb(part=part, by=self.by, now=self.now))

    @rule(number=choices)
    def take_back_the_last_deed(self, number: int) -> None:
        events = Event.objects.filter(car=self.car, kind__in=CAN_BE_TAKEN_BACK).exclude(changes={})
        recent = list(events.filter(batch__isnull=False).order_by("-pk")[:4])
        offered = [one for one in recent if not DropOff.objects.filter(key=one.batch).exists()]
        if offered:
            event = offered[number % len(offered)]
            self._try(lambda: undo.undo(key=event.key, by=self.by, now=self.now))

    @rule(number=choices)
    def send_the_same_form_again(self, number: int) -> None:
        """The answer was lost on the way, so the phone sends once more."""
        if not self.keys:
            return
        deed, key = self.keys[number % len(self.keys)]
        before = self._everything()
        known = Event.objects.filter(key=key).exists() or DropOff.objects.filter(key=key).exists()
        self._try(lambda: deed(key))
        if known or (Part.objects.filter(key=key).exists() and before[0] == len(self.logged)):
            assert self._everything() == before

    def _everything(self) -> tuple[int, ...]:
        pieces = Piece.objects.filter(part__car=self.car)
        return (
            Part.objects.filter(car=self.car).count(),
            pieces.count(),
            Event.objects.filter(car=self.car).count(),
            DropOff.objects.filter(car=self.car).count(),
        )

    @rule(number=choices)
    def plant_the_silent_fault(self, number: int) -> None:
        if self.fault == "silent":
            piece = self._pick(number)
            Piece.objects.filter(pk=piece.pk, finisher=None).update(status=Status.READY)

    # ---- what must hold

    @invariant()
    def history_replays_to_the_state(self) -> None:
        for piece in self.pieces:
            status, place = "", None
            for event in piece.events.order_by("pk"):
                if event.after:
                    assert not status or event.before in ("", status), (piece, event)
                    status = event.after
                if "place_id" in event.changes:
                    before, place_after = event.changes["place_id"]
                    assert place in (None, before), (piece, event)
                    place = place_after
            assert (status or Status.ON_CAR) == piece.status, piece

    @invariant()
    def nothing_is_in_two_places(self) -> None:
        for piece in self.pieces:
            if piece.status in OUT_OF_THE_GARAGE:
                assert piece.place_id is None, piece
            assert (piece.finisher_id is not None) == piece.is_out, piece
            going = piece.lines.filter(dropoff__state=DropOff.State.BUILDING).count()
            assert going <= 1, piece

    @invariant()
    def nothing_is_fitted_twice(self) -> None:
        fits = Event.objects.filter(car=self.car, kind__in=[str(Move.FIT_LOOSE), str(Move.TIGHTEN)])
        for event in fits:
            allowed = CAN_BE_FITTED_FROM - (
                {Status.FITTED_LOOSE} if event.kind == Move.FIT_LOOSE else set()
            )
            assert event.before in allowed, event

    @invariant()
    def counts_add_up(self) -> None:
        for part, quantity in self.logged.items():
            pieces = Piece.objects.filter(part=part).exclude(joined_how=TOGETHER)
            assert sum(piece.quantity for piece in pieces) == quantity, (part, quantity)
        for line in Line.objects.filter(dropoff__car=self.car).prefetch_related("counts"):
            counted = sum(c.good + c.redo + c.missing + c.unsound for c in line.counts.all())
            assert counted + line.still_out == line.count, line
            assert line.still_out >= 0, line


def run(machine: type[Bench], *, examples: int, steps: int) -> None:
    run_state_machine_as_test(
        machine,
        settings=settings(
            max_examples=examples,
            stateful_step_count=steps,
            deadline=None,
            database=None,
            derandomize=True,
            print_blob=False,
            # A planted fault has to be found, not to be made small.
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        ),
    )


@pytest.mark.django_db
def test_whatever_is_done_in_whatever_order_the_record_stays_true() -> None:
    run(Bench, examples=often(30, release=200), steps=often(30, release=50))

    # What holds was asked after every step; this says that there were steps.
    assert Event.objects.count() > 100


@pytest.mark.django_db
def test_a_status_that_changes_past_the_one_door_is_found() -> None:
    class Faulty(Bench):
        fault = "silent"

    with pytest.raises(AssertionError):
        run(Faulty, examples=20, steps=15)


@pytest.mark.django_db
def test_a_move_too_many_in_the_table_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(TRANSITIONS[Status.FITTED_TIGHT], Move.FIT_LOOSE, Status.FITTED_LOOSE)
    monkeypatch.setitem(TRANSITIONS[Status.FITTED_LOOSE], Move.FIT_LOOSE, Status.FITTED_LOOSE)

    class Faulty(Bench):
        fault = "edge"

        @rule(number=choices)
        def fit_again(self, number: int) -> None:
            piece = self._pick(number)
            for move in (Move.CALL_READY, Move.FIT_LOOSE, Move.FIT_LOOSE):
                self._try(lambda move=move: piece.move(move, by=self.by, now=self.now))

    with pytest.raises(AssertionError):
        run(Faulty, examples=20, steps=15)
