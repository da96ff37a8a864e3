"""Bonds by their verbs: what is refused, what mixing settles, and that all of it can be undone."""

from datetime import datetime, timedelta
from uuid import uuid4

import pytest

from fabrication.curing import bond_checks, bonds
from fabrication.curing.bond_loads import bearing_of, warm_ratio
from fabrication.models import Bond, Clock
from garage.models import Car, Person
from parts import plan
from parts.checking import check_lines
from parts.dropoff import start
from parts.gate import reading
from parts.joints import JointRefused
from parts.judging import JoinRefused
from parts.models import Adhesive, Event, Joint, Piece
from parts.statuses import Move
from tests import factories
from tests.fabrication.bond_rows import (
    bond_values,
    make_adhesive,
    make_bond,
    mix,
    read,
    two_pieces,
)
from tests.fabrication.pipe_rows import make_sheet
from tests.factories import NOW

HOUR = timedelta(hours=1)
SADDLE = {
    "od_mm": 28.0,
    "wrap_deg": 180.0,
    "width_mm": 20.0,
    "load_g": 600.0,
    "shake_ratio": 10.0,
    "arm_mm": 15.0,
    "service_c": 60.0,
    "wet": "dry",
}


@pytest.fixture
def bond(car: Car, owner: Person) -> Bond:
    return make_bond(car=car, by=owner)


def said(bond: Bond) -> str:
    return " ".join(one.text for one in bond_checks.findings(bond))


def cured(clock: Clock, by: Person) -> None:
    for at in range(2, 25, 2):
        read(clock, by=by, at=clock.started_at + at * HOUR)


def test_a_form_sent_twice_writes_one_bond_down(car: Car, owner: Person) -> None:
    bracket, pipe = two_pieces(car=car, by=owner)
    key, values = uuid4(), bond_values(pipe, make_adhesive())

    made = [
        bonds.write_down(key=key, piece=bracket, values=values, by=owner, now=NOW) for _ in range(2)
    ]

    assert made[0] == made[1]
    with pytest.raises(bonds.OtherUnderThisKey):
        bonds.write_down(
            key=key, piece=bracket, values=values | {"found": "blasted"}, by=owner, now=NOW
        )


def test_a_piece_is_not_glued_onto_itself(car: Car, owner: Person) -> None:
    piece, _ = two_pieces(car=car, by=owner)

    with pytest.raises(bonds.BondRefused, match="itself"):
        bonds.write_down(
            key=uuid4(), piece=piece, values=bond_values(piece, make_adhesive()), by=owner, now=NOW
        )


@pytest.mark.parametrize("duty", ["brake", "fuel", "clutch", "steering"])
def test_nothing_is_ever_glued_onto_a_pipe_that_carries_pressure_or_fuel(
    car: Car, owner: Person, duty: str
) -> None:
    with pytest.raises(bonds.BondRefused, match="Never glue a pipe"):
        make_bond(car=car, by=owner, duty=duty)
    assert not Bond.objects.exists()


def test_nor_when_only_a_pipe_sheet_of_the_part_says_what_runs_in_it(
    car: Car, owner: Person
) -> None:
    bracket, pipe = two_pieces(car=car, by=owner)
    sheet = make_sheet(by=owner, part=pipe.part)
    type(sheet).objects.filter(pk=sheet.pk).update(duty="brake")

    with pytest.raises(bonds.BondRefused, match="brake"):
        bonds.write_down(
            key=uuid4(),
            piece=bracket,
            values=bond_values(pipe, make_adhesive(), duty=""),
            by=owner,
            now=NOW,
        )


def test_a_pipe_sheet_written_after_the_bond_still_stops_the_mixing(
    bond: Bond, owner: Person
) -> None:
    sheet = make_sheet(by=owner, part=bond.onto.part)
    type(sheet).objects.filter(pk=sheet.pk).update(duty="fuel")

    with pytest.raises(bonds.BondRefused, match="fuel"):
        mix(bond, by=owner)
    assert not Joint.objects.exists()


def test_glue_alone_never_holds_a_part_of_brakes_fuel_steering_or_seats(
    car: Car, owner: Person
) -> None:
    with pytest.raises(bonds.BondRefused, match="only thing"):
        make_bond(car=car, by=owner, holds_safety=True, is_only_fixing=True)


def test_mixing_joins_the_pieces_writes_the_joint_and_starts_the_clock(
    bond: Bond, owner: Person
) -> None:
    clock = mix(bond, by=owner)

    bond.refresh_from_db()
    bracket = Piece.objects.get(pk=bond.piece_id)
    assert bracket.joined_into_id == bond.onto_id
    assert (bond.joint.piece_id, bond.joint.state) == (bond.onto_id, Joint.State.CURING)
    assert bond.joint.hard_from == NOW + 24 * HOUR
    assert clock.started_at == bond.mixed_at == NOW
    assert Event.objects.filter(piece=bracket, kind="glue mixed").exists()


def test_mixing_sent_twice_mixes_once(bond: Bond, owner: Person) -> None:
    key = uuid4()

    clocks = [
        bonds.mix(bond=bond, key=key, temp_c=20, by=owner, now=NOW + n * HOUR) for n in range(2)
    ]

    assert clocks[0] == clocks[1]
    assert Joint.objects.count() == 1
    with pytest.raises(bonds.BondRefused, match="mixed already"):
        mix(bond, by=owner)


def test_pieces_that_are_not_together_cannot_be_glued_and_nothing_is_left_behind(
    bond: Bond, owner: Person
) -> None:
    bond.onto.move(
        Move.HAND_OVER, by=owner, now=NOW, finisher=factories.make_finisher(), place=None
    )

    with pytest.raises(JoinRefused):
        mix(bond, by=owner)

    bond.refresh_from_db()
    assert (bond.mixed_at, Joint.objects.count(), Clock.objects.count()) == (None, 0, 0)


def test_what_stops_a_bond_wants_a_reason_that_history_keeps(car: Car, owner: Person) -> None:
    bond = make_bond(car=car, by=owner, trial="let_go")

    with pytest.raises(bonds.BondRefused, match="test piece let go"):
        mix(bond, by=owner)
    mix(bond, by=owner, anyway="the offcut was greasy, this one is not")

    assert "greasy" in Event.objects.get(kind="glue mixed").text


def test_called_hard_only_when_the_log_says_so(bond: Bond, owner: Person) -> None:
    clock = mix(bond, by=owner)
    with pytest.raises(bonds.BondRefused, match="Not cured yet"):
        bonds.call_hard(bond=bond, by=owner, now=NOW + 48 * HOUR)

    cured(clock, owner)
    bonds.call_hard(bond=bond, by=owner, now=NOW + 25 * HOUR)

    assert Joint.objects.get().state == Joint.State.HARD
    assert not Clock.objects.running().exists()


def test_the_gate_knows_the_pipe_by_its_glue_until_the_log_is_full(
    bond: Bond, owner: Person
) -> None:
    clock = mix(bond, by=owner)

    def hard_at(now: datetime) -> list[bool]:
        pipe = Piece.objects.select_related("part").get(pk=bond.onto_id)
        facts = reading.facts_of(pipe, reading.Rows.of([pipe]), now=now)
        return [joint.is_hard for joint in facts.joints]

    waited = hard_at(NOW + 30 * HOUR)
    cured(clock, owner)

    assert waited == [False]
    assert hard_at(NOW + 24 * HOUR) == [True]


def test_on_a_drop_off_to_an_oven_the_glued_pipe_is_held_back_until_the_log_is_full(
    bond: Bond, owner: Person, car: Car
) -> None:
    clock = mix(bond, by=owner)
    finisher = factories.make_finisher()
    out = plan.ROUTE_BY_CODE["send_out"]
    plan.judge(piece=bond.onto, route=out, work="blast,powder", by=owner, now=NOW)
    sheet = start(key=uuid4(), car=car, finisher=finisher, pieces=[bond.onto], by=owner, now=NOW)

    def said_at(now: datetime) -> str:
        (line,) = check_lines(sheet, sheet.lines.for_sheet(), now=now)
        return " ".join(finding.says for finding in line.held_by)

    by_the_forecast = said_at(NOW + 30 * HOUR)
    cured(clock, owner)

    assert "The glue has not finished curing" in by_the_forecast
    assert "The glue has not finished curing" not in said_at(NOW + 24 * HOUR)


def test_called_hard_never_by_a_clock_that_went_backwards(bond: Bond, owner: Person) -> None:
    cured(mix(bond, by=owner), owner)

    with pytest.raises(bonds.BondRefused, match="went backwards"):
        bonds.call_hard(bond=bond, by=owner, now=NOW + 20 * HOUR)


def test_taken_apart_the_pieces_joint_and_clock_are_as_they_were(bond: Bond, owner: Person) -> None:
    mix(bond, by=owner)

    bonds.part(bond=bond, because="It let go", by=owner, now=NOW + HOUR)

    bond.refresh_from_db()
    assert Piece.objects.get(pk=bond.piece_id).joined_into_id is None
    assert not Joint.objects.standing().exists()
    assert not Clock.objects.running().exists()
    with pytest.raises(bonds.BondRefused, match="not glued"):
        bonds.part(bond=bond, because="", by=owner, now=NOW + 2 * HOUR)


def test_a_joint_parted_elsewhere_does_not_keep_the_bond_together(
    bond: Bond, owner: Person
) -> None:
    from parts import joints

    mix(bond, by=owner)
    joints.part_joint(joint=Joint.objects.get(), by=owner, now=NOW)

    bonds.part(bond=bond, because="", by=owner, now=NOW + HOUR)

    with pytest.raises(JointRefused):
        joints.part_joint(joint=Joint.objects.get(), by=owner, now=NOW)


def test_mixed_glue_is_not_changed_into_another(bond: Bond, owner: Person) -> None:
    mix(bond, by=owner)
    bond.refresh_from_db()

    with pytest.raises(bonds.BondRefused, match="Glue cannot change"):
        bonds.save(
            bond=bond,
            seen=bond.version,
            values={"adhesive": make_adhesive("Other")},
            by=owner,
            now=NOW,
        )
    saved = bonds.save(
        bond=bond, seen=bond.version, values={"clamp_note": "two turns"}, by=owner, now=NOW
    )
    assert saved.clamp_note == "two turns"


def test_a_stale_save_names_who_saved_meanwhile(bond: Bond, owner: Person) -> None:
    bonds.save(bond=bond, seen=1, values={"clamp_note": "tape"}, by=owner, now=NOW)

    with pytest.raises(bonds.Stale, match="Wren"):
        bonds.save(bond=bond, seen=1, values={"clamp_note": "jig"}, by=owner, now=NOW)


def test_what_is_missing_for_the_load_is_named(bond: Bond) -> None:
    assert "width" in bearing_of(bond).missing


def test_the_load_of_the_worked_saddle(car: Car, owner: Person) -> None:
    # 28 mm tube, 180 degrees, 20 wide, 0.6 kg at 10 g, 18 MPa, allowances 0.5, 0.7, 0.8, arm 15:
    # shear 0.067 MPa, 75 times, peel 0.14 MPa; worked out by hand from the formulas.
    bond = make_bond(car=car, by=owner, **SADDLE)

    strength = bearing_of(bond).strength

    assert round(strength.shear_mpa, 3) == 0.067
    assert round(strength.margin) == 75
    assert round(strength.peel_mpa, 2) == 0.14


def test_a_saddle_that_is_too_small_stops_the_mixing(car: Car, owner: Person) -> None:
    glue = make_adhesive(lap_shear_mpa=12, service_max_dry_c=80)
    small = {
        "od_mm": 15.0,
        "wrap_deg": 120.0,
        "width_mm": 12.0,
        "load_g": 1200.0,
        "shake_ratio": 15.0,
        "arm_mm": 25.0,
        "service_c": 70.0,
    }
    bond = make_bond(car=car, by=owner, adhesive=glue, **SADDLE | small)

    assert "wanted" in said(bond)
    assert "peels" in said(bond)
    with pytest.raises(bonds.BondRefused):
        mix(bond, by=owner)


@pytest.mark.parametrize(
    ("service_c", "ratio"), [(None, 0.7), (20, 1.0), (40, 1.0), (50, 0.85), (60, 0.7), (105, 0.5)]
)
def test_warmth_leaves_less_of_the_strength(
    car: Car, owner: Person, service_c: float | None, ratio: float
) -> None:
    bond = make_bond(car=car, by=owner, service_c=service_c, wet="dry")

    assert warm_ratio(bond) == pytest.approx(ratio)


@pytest.mark.parametrize(
    ("fields", "glue", "words"),
    [
        ({"service_c": 115.0}, {}, "Too hot in use"),
        ({"gap_mm": 0.3}, {"code": Adhesive.Code.ANAEROBIC, "gap_max_mm": 0.15}, "stay liquid"),
        ({"gap_mm": 5.0}, {}, "wider than"),
        ({"found": "as_found"}, {}, "bright metal"),
        ({"checks": []}, {}, "7 of 7"),
        ({"trial": ""}, {}, "No test piece"),
        ({"duty": "coolant"}, {}, "second fixing"),
    ],
)
def test_what_is_doubted_about_a_bond_is_said(
    car: Car, owner: Person, fields: dict[str, object], glue: dict[str, object], words: str
) -> None:
    bond = make_bond(car=car, by=owner, adhesive=make_adhesive(**glue), **fields)

    assert words in said(bond)


def test_every_bond_says_to_look_at_the_sheet_and_to_mind_the_glue(bond: Bond) -> None:
    words = [one.word for one in bond_checks.findings(bond)]

    assert {"Glue", "Check your product's data sheet"} <= set(words)
