"""Practice bends: what they say together, and what a sheet makes of it."""

import math
from datetime import UTC, datetime
from typing import Any

import pytest

from fabrication.kit import practice, tools
from fabrication.models import Former, PracticeBend, TubeStock
from fabrication.pipe.compute import work_out
from fabrication.pipe.frozen import as_document, from_document, frozen_of
from garage.models import Person
from tests.fabrication.pipe_rows import make_former, make_stock, pipe_of
from tests.fabrication.tool_rows import make_practice_bend
from tests.factories import NOW

IN = 25.4
# A bender maker's manual, p. 15: a 36 in piece of 1-1/2 in tube on a "6 in" die, the mark at
# 12 in, outsides of 20 and 20-1/2 in. Half the tube off: 19.25 and 19.75 in to the centre lines.
MANUAL = {
    "pulled_deg": 90.0,
    "came_to_deg": 90.0,
    "piece_mm": 36 * IN,
    "mark_mm": 12 * IN,
    "centre_a_mm": 19.25 * IN,
    "centre_b_mm": 19.75 * IN,
}


@pytest.fixture
def former(db: None) -> Former:
    return make_former(measured_radius_mm=None)


@pytest.fixture
def stock(db: None) -> TubeStock:
    return make_stock()


def pulled(former: Former, stock: TubeStock, *pairs: tuple[float, float], **more: Any) -> None:
    for pulled_deg, came_to_deg in pairs:
        make_practice_bend(former, stock, pulled_deg=pulled_deg, came_to_deg=came_to_deg, **more)


# ---- springback -----------------------------------------------------------------------------


def test_nothing_is_known_before_the_first_practice_bend(former: Former, stock: TubeStock) -> None:
    assert practice.practised(former, stock) == practice.Practised()


def test_one_bend_makes_a_ratio(former: Former, stock: TubeStock) -> None:
    """By hand: pulled to 94 it came to 90, so 45 wants 45 x 94 / 90 = 47."""
    pulled(former, stock, (94, 90))

    learnt = practice.springback_of(former, stock)

    assert learnt is not None
    assert learnt.pull_deg(45) == pytest.approx(47)


def test_bends_far_apart_make_a_fixed_part_and_a_share(former: Former, stock: TubeStock) -> None:
    """A bending-machine maker's note: 1.5 degrees and 5 per cent make 96 of 90. The two bends
    here, 20 and 120, lie on that line: 20 x 1.05 + 1.5 = 22.5, 120 x 1.05 + 1.5 = 127.5."""
    pulled(former, stock, (22.5, 20), (127.5, 120))

    learnt = practice.springback_of(former, stock)

    assert learnt is not None
    assert (learnt.fixed_deg, learnt.factor) == pytest.approx((1.5, 1.05))
    assert learnt.pull_deg(90) == pytest.approx(96)


def test_springback_is_never_shared_between_tubes(former: Former, stock: TubeStock) -> None:
    pulled(former, stock, (94, 90))

    assert practice.springback_of(former, make_stock(wall_mm=1.5)) is None
    assert practice.springback_of(make_former(), stock) is None


def test_a_bend_taken_out_no_longer_counts_and_can_be_brought_back(
    former: Former, stock: TubeStock
) -> None:
    pulled(former, stock, (94, 90))
    row = PracticeBend.objects.get()

    tools.take_out(row=row, now=NOW)
    without = practice.springback_of(former, stock)
    tools.bring_back(row=row)
    again = practice.springback_of(former, stock)

    assert without is None
    assert again is not None and again.pull_deg(90) == pytest.approx(94)


def test_a_bend_closed_up_in_small_pulls_says_nothing_of_a_pull_from_straight(
    former: Former, stock: TubeStock
) -> None:
    pulled(former, stock, (94, 90))
    pulled(former, stock, (99, 90), from_straight=False)

    learnt = practice.springback_of(former, stock)

    assert learnt is not None and learnt.pull_deg(90) == pytest.approx(94)


def test_readings_that_no_tube_has_teach_nothing_and_say_why(
    former: Former, stock: TubeStock
) -> None:
    """The core's guard rail: more than 1.25 times the angle is a slip of the pen."""
    pulled(former, stock, (120, 90))

    said = practice.practised(former, stock)

    assert said.springback is None
    assert "1.33 times the angle" in said.refused


# ---- radius and start -----------------------------------------------------------------------


def test_radius_and_start_are_those_of_the_makers_manual(former: Former, stock: TubeStock) -> None:
    """It prints 6.990 in for the die stamped 6, and a start 0.260 in beyond the mark."""
    make_practice_bend(former, stock, **MANUAL)

    measured = practice.measured_of(former, stock)

    assert measured is not None
    assert measured.radius_mm / IN == pytest.approx(6.990, abs=0.0005)
    assert measured.start_offset_mm / IN == pytest.approx(0.260, abs=0.0005)
    assert (measured.bends, measured.apart_mm) == (1, 0)


def test_a_full_return_bend_tells_the_radius_across_its_legs(
    former: Former, stock: TubeStock
) -> None:
    """By hand for tube of 15: (105 - 15) / 2 = 45; start 155.5 - 45 - 7.5 = 103, mark 100."""
    lengths = {"width_mm": 105.0, "back_mm": 155.5, "mark_mm": 100.0}
    make_practice_bend(former, stock, pulled_deg=186, came_to_deg=180, **lengths)

    measured = practice.measured_of(former, stock)

    assert measured is not None
    assert (measured.radius_mm, measured.start_offset_mm) == pytest.approx((45, 3))


def test_a_shallow_bend_does_not_count_towards_the_radius(former: Former, stock: TubeStock) -> None:
    """By hand: at 45 degrees 2 tan 22.5 - 0.7854 = 0.0430, so 1 mm of tape is 23 in the radius."""
    make_practice_bend(former, stock, **MANUAL)
    shallow = MANUAL | {"pulled_deg": 45.0, "came_to_deg": 45.0, "piece_mm": 990.6 - 5}
    make_practice_bend(former, stock, **shallow)

    measured = practice.measured_of(former, stock)

    assert measured is not None
    assert measured.bends == 1
    assert measured.radius_mm / IN == pytest.approx(6.990, abs=0.0005)


def test_several_bends_are_weighed_by_how_well_they_tell_the_radius(
    former: Former, stock: TubeStock
) -> None:
    """By hand. At 90 a millimetre is 1 / (2 - pi/2) = 2.3298 in the radius, in a return bend 0.5:
    they weigh 1 / 2.3298^2 = 0.1842 and 1 / 0.5^2 = 4. Radii 52 and 45 make 45.308."""
    piece_mm = 400.0
    both_mm = piece_mm + 52 * (2 - math.pi / 2)
    make_practice_bend(
        former,
        stock,
        came_to_deg=90,
        piece_mm=piece_mm,
        mark_mm=100.0,
        centre_a_mm=both_mm - 200,
        centre_b_mm=200.0,
    )
    lengths = {"width_mm": 105.0, "back_mm": 155.5, "mark_mm": 100.0}
    make_practice_bend(former, stock, pulled_deg=186, came_to_deg=180, **lengths)

    measured = practice.measured_of(former, stock)

    assert measured is not None
    assert measured.radius_mm == pytest.approx((0.18424 * 52 + 4 * 45) / 4.18424, abs=0.001)
    assert measured.apart_mm == pytest.approx(7)


def test_what_was_measured_is_taken_over_and_what_stood_there_is_put_back(
    former: Former, stock: TubeStock, owner: Person
) -> None:
    former.start_offset_mm = 1.5
    former.typed = {"start_offset_mm": "1,5"}
    former.save()
    make_practice_bend(former, stock, **MANUAL)

    for _ in range(2):  # the second time must not lose what stood there first
        practice.use_measured(former=former, stock=stock, now=NOW)
    taken = Former.objects.get(pk=former.pk)
    practice.put_back(former=former)
    back = Former.objects.get(pk=former.pk)

    assert (taken.measured_radius_mm, taken.start_offset_mm) == (177.5, 6.6)  # to a tenth
    assert (taken.measured_from["bends"], taken.typed) == (1, {})
    assert str(taken.taken_over_on) == "2026-11-25"
    assert (back.measured_radius_mm, back.start_offset_mm) == (None, 1.5)
    assert (back.typed, back.measured_from) == ({"start_offset_mm": "1,5"}, {})


def test_the_day_of_taking_over_is_the_garages_own(
    former: Former, stock: TubeStock, settings: Any
) -> None:
    settings.TIME_ZONE = "Pacific/Auckland"
    make_practice_bend(former, stock, **MANUAL)

    late = datetime(2026, 11, 25, 20, 0, tzinfo=UTC)
    taken = practice.use_measured(former=former, stock=stock, now=late)

    assert str(taken.taken_over_on) == "2026-11-26"


def test_nothing_is_taken_over_from_bends_that_say_nothing_of_the_radius(
    former: Former, stock: TubeStock
) -> None:
    pulled(former, stock, (94, 90))

    with pytest.raises(practice.NothingMeasured):
        practice.use_measured(former=former, stock=stock, now=NOW)

    assert not Former.objects.get(pk=former.pk).is_measured


def test_a_radius_typed_anew_is_from_no_practice_bend(former: Former, stock: TubeStock) -> None:
    make_practice_bend(former, stock, **MANUAL)
    practice.use_measured(former=former, stock=stock, now=NOW)
    former.refresh_from_db()
    same = {"measured_radius_mm": 177.5, "start_offset_mm": 6.6}

    kept = tools.change_former(former=former, values={"name": "F3", **same})
    typed = tools.change_former(former=former, values=same | {"measured_radius_mm": 178.0})

    assert kept.measured_from["bends"] == 1
    assert (typed.measured_radius_mm, typed.measured_from) == (178, {})


# ---- on a sheet -----------------------------------------------------------------------------


def test_a_sheet_pulls_as_the_practice_bends_say(former: Former, stock: TubeStock) -> None:
    stock.temper = "EN 10305 E235"  # its yield would give a guess
    pulled(former, stock, (22.5, 20), (127.5, 120))

    found = work_out(pipe_of((90, 0, 90), last_mm=90), former=former, stock=stock)

    assert found.marks[0].pull_deg == pytest.approx(96)
    assert not found.pull_is_guess
    assert found.pull_says == "Pull is from your practice bends with this tube."


def test_a_bend_far_from_all_practice_bends_is_doubted_at_its_row(
    former: Former, stock: TubeStock
) -> None:
    pulled(former, stock, (94, 90), (63, 60))
    pipe = pipe_of((90, 0, 75), (90, 90, 20), last_mm=90)

    found = work_out(pipe, former=former, stock=stock)

    assert [said.row for said in found.said if "outside the test bends" in said.text] == [2]


def test_a_sheet_reckons_with_the_radius_and_start_that_came_out(
    former: Former, stock: TubeStock
) -> None:
    lengths = {"width_mm": 111.0, "back_mm": 158.5, "mark_mm": 100.0}  # radius 48, start 3
    make_practice_bend(former, stock, pulled_deg=186, came_to_deg=180, **lengths)
    former.guide_mm = 0.0  # so that the hook goes on the long side
    pipe = pipe_of((100, 0, 90), last_mm=10)

    found = work_out(pipe, former=former, stock=stock)
    other = work_out(pipe, former=former, stock=make_stock(wall_mm=1.5))

    assert (found.radius_mm, found.radius_from) == (48, "practice")
    assert found.finished_mm == pytest.approx(110 + 48 * math.pi / 2)
    assert found.marks[0].line_up_mm == pytest.approx(found.marks[0].start_mm - 3)
    assert not any("only stamped" in said.text for said in found.said)
    assert (other.radius_mm, other.radius_from) == (45, "stamped")
    assert any("only stamped" in said.text for said in other.said)


def test_frozen_constants_survive_a_document_and_outlive_the_former(
    former: Former, stock: TubeStock
) -> None:
    pulled(former, stock, (94, 90), (63, 60), (31.5, 30))
    former.scale_rim_mm, former.scale_step_deg = 250.0, 45.0
    pipe = pipe_of((90, 0, 90), last_mm=90)
    before = work_out(pipe, former=former, stock=stock)

    frozen = from_document(as_document(frozen_of(former, stock)))
    former.stamped_radius_mm, former.scale_rim_mm = 60.0, 100.0
    PracticeBend.objects.all().delete()
    after = work_out(pipe, former=former, stock=stock, frozen=frozen)

    assert after.marks == before.marks
    assert after.cut_mm == before.cut_mm
    assert work_out(pipe, former=former, stock=stock).cut_mm != before.cut_mm


def test_a_document_of_a_later_version_is_read_as_far_as_it_is_known(
    former: Former, stock: TubeStock
) -> None:
    frozen = frozen_of(former, stock)

    assert from_document(as_document(frozen) | {"humidity": 3}) == frozen
