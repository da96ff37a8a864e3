"""The demo garage: loaded by the verbs of the pages, with small pictures in place of drawn ones."""

from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Any

from django.test import Client, TestCase
from django.urls import reverse
from django.utils import timezone

from fabrication.bracket.bracket_inputs import read_bracket
from fabrication.bracket.bracket_work import work_out_bracket
from fabrication.curing.faces import face_of
from fabrication.making.bench import bench_of
from fabrication.models import (
    BeadTest,
    Bond,
    BracketSheet,
    Clock,
    Coat,
    Comparison,
    Former,
    Making,
    PipeSheet,
    PracticeBend,
    Printer,
    TestStrip,
    Tool,
    TubeStock,
)
from fabrication.pipe import ways
from garage import dashboard
from garage.demo.load import DEMO_PEOPLE, load_demo
from garage.demo.shots import Shot
from garage.models import Car, Person, Photo
from parts.checking import check_lines
from parts.models import (
    DropOff,
    Event,
    Finisher,
    Kind,
    Part,
    PartPhoto,
    Piece,
    Place,
    Question,
    Reminder,
    Snag,
)
from parts.statuses import AWAY_FOR_GOOD, FITTED, IN_THE_GARAGE, TRANSITIONS, Status
from tests.factories import jpeg_bytes


class DemoGarage(TestCase):
    """Loaded once for all of these; each test looks at it from another side."""

    shots: list[Shot]

    @classmethod
    def setUpTestData(cls) -> None:
        cls.now = timezone.now()
        load_demo(now=cls.now, draw=cls.small)

    @classmethod
    def small(cls, wanted: Sequence[Shot]) -> Iterator[bytes]:
        """Another tiny picture for each shot: no two photos of a garage are the same bytes."""
        cls.shots = list(wanted)
        for number, _ in enumerate(wanted):
            yield jpeg_bytes(size=(48, 36), colour=f"#{number % 256:02x}40{number // 256:02x}")

    def test_one_car_with_most_of_its_parts_in_the_garage(self) -> None:
        car = Car.objects.get()

        assert Part.objects.of(car).kept().count() >= 80
        assert len(set(Part.objects.values_list("system", flat=True))) >= 8
        assert Part.objects.filter(car=car).count() == Part.objects.count()

    def test_every_status_can_be_seen(self) -> None:
        seen = set(Piece.objects.values_list("status", flat=True))

        assert seen == set(Status.values)

    def test_a_handful_of_finishers_and_batches_at_every_stage(self) -> None:
        today = timezone.localdate(self.now)
        batches = DropOff.objects.with_counts()

        assert Finisher.objects.count() >= 3
        assert batches.count() >= 4
        assert batches.overdue(today).exists()
        assert any(0 < one.pieces_counted < one.pieces_sent for one in batches.out())
        assert batches.being_built().exists()
        assert batches.came_back_whole().exists()
        assert all(one.sheet_file for one in batches.exclude(state="building"))

    def test_the_photos_are_many_and_each_is_used_once(self) -> None:
        assert len(self.shots) >= 100
        assert Photo.objects.count() == len(self.shots)
        assert set(PartPhoto.objects.values_list("moment", flat=True)) >= {
            "in_place",
            "off",
            "damage",
            "back",
            "refitted",
        }
        assert all(shot.at <= self.now for shot in self.shots)

    def test_every_photo_that_was_drawn_stands_somewhere(self) -> None:
        unused = Photo.objects.waiting_on_a_form()

        assert list(unused) == []

    def test_the_history_of_every_piece_replays_to_where_it_is(self) -> None:
        wrong = []
        for piece in Piece.objects.select_related("part"):
            moves = list(piece.events.exclude(after="").order_by("pk"))
            status = moves[0].after
            for event in moves[1:]:
                if event.before != status:
                    wrong.append(f"{piece}: {event.kind} from {event.before}, it was {status}")
                status = event.after
            if status != piece.status:
                wrong.append(f"{piece}: replays to {status}, is {piece.status}")

        assert wrong == []

    def test_the_history_of_every_place_replays_too(self) -> None:
        wrong = []
        for piece in Piece.objects.all():
            at: Any = None
            for event in piece.events.order_by("pk"):
                before, after = event.changes.get("place_id", (at, at))
                if before != at and at is not None:
                    wrong.append(f"{piece}: {event.kind} from place {before}, it was in {at}")
                at = after
            if at is not None and at != piece.place_id:
                wrong.append(f"{piece}: replays to place {at}, is in {piece.place_id}")

        assert wrong == []

    def test_every_move_in_the_history_is_one_of_the_table(self) -> None:
        allowed = {
            (str(before), str(move), str(after))
            for before, moves in TRANSITIONS.items()
            for move, after in moves.items()
        }
        made = Event.objects.exclude(after="").exclude(before="")

        assert made.count() > 150
        assert {(one.before, one.kind, one.after) for one in made} <= allowed

    def test_nothing_was_done_in_the_future_or_before_work_began(self) -> None:
        car = Car.objects.get()
        times = Event.objects.values_list("at", flat=True)

        assert max(times) <= self.now
        assert min(times).date() >= car.started_on - timedelta(days=1)

    def test_no_piece_is_in_two_places(self) -> None:
        for piece in Piece.objects.select_related("part", "place", "finisher"):
            still_out = [
                line.dropoff
                for line in piece.lines.filter(dropoff__state="out").prefetch_related("counts")
                if line.still_out
            ]
            if piece.status in (*FITTED, *AWAY_FOR_GOOD, Status.ON_CAR, Status.AT_FINISHER):
                assert piece.place is None, piece
            if piece.status in (Status.AT_FINISHER, Status.BACK):
                assert piece.finisher is not None, piece
                assert len(still_out) == 1, piece
                assert still_out[0].finisher == piece.finisher, piece
            if piece.status in IN_THE_GARAGE:
                assert piece.finisher is None, piece
                assert still_out == [], piece

    def test_a_part_has_one_piece_to_be_fitted_and_a_tag_of_its_own(self) -> None:
        parts = Part.objects.prefetch_related("pieces")

        assert all(sum(piece.is_to_fit for piece in part.pieces.all()) == 1 for part in parts)
        assert len({part.tag for part in parts}) == len(parts)
        assert Piece.objects.beside().exists()

    def test_there_is_something_of_everything_a_page_can_show(self) -> None:
        car = Car.objects.get()
        kinds = set(Piece.objects.exclude(next_step=None).values_list("next_step__kind", flat=True))

        assert {Kind.CLEAN, Kind.REPAIR, Kind.REMAKE, Kind.BUY, Kind.SEND_OUT} <= kinds
        assert Question.objects.of(car).unsettled().exists()
        assert Question.objects.exclude(settled_at=None).exists()
        assert Snag.objects.of(car).to_do().exists()
        assert Reminder.objects.of(car).to_do().exists()
        assert Piece.objects.bare().exists()
        assert Piece.objects.to_fit().clear_to_go_on().exists()
        assert Place.objects.filter(within__isnull=False).exists()
        assert {need.words for need in dashboard.needs(car, self.now.date(), self.now)} >= {
            "can go on the car now",
            "to be judged",
            "doubted",
            "missing",
        }

    def test_the_bench_has_a_former_measured_and_one_only_stamped(self) -> None:
        measured = Former.objects.exclude(measured_radius_mm=None).get()
        stamped = Former.objects.get(measured_radius_mm=None)

        assert PracticeBend.objects.filter(former=measured).count() >= 3
        assert not stamped.practice_bends.exists()
        assert BeadTest.objects.count() >= 2
        assert Tool.objects.exclude(price=None).exists()
        assert TubeStock.objects.exclude(price=None).count() >= 2
        assert Printer.objects.get().factor_x != 1.0

    def test_every_pipe_sheet_works_out_and_nothing_stops_it(self) -> None:
        sheets = PipeSheet.objects.for_rows()
        found = {sheet.title: ways.of_sheet(sheet).found for sheet in sheets}

        assert {sheet.inputs["way"] for sheet in sheets} == {"bends", "corners", "mirror"}
        assert {sheet.duty for sheet in sheets} == {"coolant", "brake"}
        assert len(found) == 4
        for title, one in found.items():
            assert not one.stopped, title
            assert [said.text for said in one.said if said.stops] == [], title

    def test_the_right_brake_pipe_is_the_left_one_in_a_mirror(self) -> None:
        left, right = (
            ways.of_sheet(PipeSheet.objects.for_rows().get(title=f"Brake pipe, rear {side}"))
            for side in ("left", "right")
        )

        assert left.pipe and right.pipe
        assert [-row.twist_deg for row in left.pipe.rows] == [
            row.twist_deg for row in right.pipe.rows
        ]
        assert any(row.twist_deg for row in left.pipe.rows)
        assert left.found.finished_mm == right.found.finished_mm

    def test_one_pipe_is_half_bent_and_one_is_made_and_compared(self) -> None:
        half = bench_of(Making.objects.for_page().under_way().get())
        made = Making.objects.get(outcome="made")

        assert len(half.bends_made) == 2
        assert len(half.found.marks) == 4
        assert all(len(half.readings_of(bend)) == 2 for bend in half.bends_made)
        assert ways.of_sheet(half.making.sheet).guessed_mm[1] > 0
        assert made.comparisons.count() == Comparison.objects.count() == 2
        assert made.piece
        assert made.piece.is_to_fit
        assert made.piece.place
        assert bench_of(made).now is None

    def test_every_bracket_sheet_works_out_and_nothing_stops_it(self) -> None:
        sheets = BracketSheet.objects.for_rows()

        assert {sheet.inputs["form"] for sheet in sheets} == {"strip", "saddle"}
        assert TestStrip.objects.get().reading
        for sheet in sheets:
            worked = work_out_bracket(
                read_bracket(sheet.inputs), stock=sheet.stock, strip=sheet.strip, pipe=sheet.pipe
            )
            assert worked.pattern, sheet.title
            assert [said.text for said in worked.said if said.stops] == [], sheet.title

    def test_one_bond_has_hardened_one_hardens_still_and_a_coat_dries(self) -> None:
        looked_at, hardening = Bond.objects.for_rows().order_by("mixed_at")
        faces = [face_of(clock, now=self.now, doubt="") for clock in Clock.objects.for_page()]

        assert looked_at.joint
        assert not looked_at.joint.is_curing
        assert looked_at.clocks.get().stopped_because == "Looked at: hard"
        assert hardening.joint
        assert hardening.joint.is_curing
        assert self.now - timedelta(days=2) < hardening.mixed_at < self.now
        assert Clock.objects.running().count() == 2
        assert not any(face.is_ready for face in faces)
        assert Coat.objects.exclude(put_on_at=None).count() == 1
        assert Coat.objects.filter(put_on_at=None).exists()

    def test_the_check_before_sending_holds_one_line_and_doubts_others(self) -> None:
        batch = DropOff.objects.being_built().get()

        checked = check_lines(batch, batch.lines.for_sheet(), now=self.now)

        assert [one.line.name for one in checked if one.is_held] == ["Heater return pipe"]
        assert [one.line.name for one in checked if one.overruled] == ["Dynamo pulley"]
        assert any(one.findings and not one.is_held and not one.overruled for one in checked)

    def test_its_three_people_open_every_tab(self) -> None:
        for named in DEMO_PEOPLE:
            person = Person.objects.get(username=named["username"])
            assert person.role == named["role"]
            assert person.check_password(named["password"])
            client = Client()
            client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
            for name in ("today", "parts", "bench", "out", "refit", "day_book", "places"):
                assert client.get(reverse(name)).status_code == 200, (person, name)
