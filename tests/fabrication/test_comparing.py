"""A made pipe beside the wanted one. Every figure here is worked by hand, the sum beside it.

The hand-worked pipe is an L of 15 mm tube on a radius of 45: 100 straight, 90 degrees, 100
straight. End A lies at nought, the first straight runs ahead, the bend turns left, so that the
corner is at (145, 0) and end B at (145, 145).
"""

import json
import math
from typing import Any
from uuid import uuid4

import pytest

from fabrication.core.as_made import Hold
from fabrication.core.corrections import Closing, Verdict
from fabrication.core.errors import CoreError
from fabrication.making import comparing, measured
from fabrication.making.comparing import Station, compared
from fabrication.making.measured import ANGLES, CORNERS, ROWS, Measured, Row
from fabrication.making.overlay import overlay
from fabrication.models import Comparison
from fabrication.pipe import ways
from fabrication.pipe.compute import work_out
from fabrication.pipe.inputs import Length, PipeInputs, UnknownSchema
from fabrication.pipe.worked import WorkedOut
from garage.models import Car, Person
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.factories import NOW

L_PIPE = pipe_of((100, 0, 90), last_mm=100)
U_PIPE = pipe_of((100, 0, 90), (80, 0, 90), last_mm=100)
THREE = pipe_of((100, 0, 90), (80, 90, 60), (90, 0, 45), last_mm=120)


@pytest.fixture
def worked(db: None) -> Any:
    """Works a pipe out on a former of radius 45."""
    tools = {"former": make_former(), "stock": make_stock()}

    def work(pipe: PipeInputs) -> WorkedOut:
        return work_out(pipe, **tools)

    return work


def rows(*found: tuple[float, float, float], last: float, **how: Any) -> Measured:
    made = how.pop("made", tuple(range(1, len(found) + 1)))
    typed = tuple(Row(Length(straight), twist, bend) for straight, twist, bend in found)
    return Measured(ROWS, made, rows=typed, last=Length(last), **how)


def angles(*found: float, **how: Any) -> Measured:
    return Measured(
        ANGLES, how.pop("made", tuple(range(1, len(found) + 1))), angles_deg=found, **how
    )


def corners(*found: tuple[float, float, float], made: tuple[int, ...]) -> Measured:
    points = tuple((Length(x), Length(y), Length(z)) for x, y, z in found)
    return Measured(CORNERS, made, corners=points)


# ---- which bend it is -------------------------------------------------------------------------


def test_a_short_bend_is_named_first(worked: Any) -> None:
    found = compared(rows((100, 0, 88.5), last=100), worked(L_PIPE))

    (line,) = found.bends
    assert line.angle_off_deg == pytest.approx(-1.5)
    assert line.angle_is_off
    assert not line.straight_is_off
    assert not found.is_right


def test_straights_twists_and_bends_are_told_apart(worked: Any) -> None:
    found = compared(rows((102, 0, 90), (80, 10, 90), last=97), worked(U_PIPE))

    first, second = found.bends
    assert (first.straight_off_mm, first.angle_is_off) == (2, False)
    assert second.twist_off_deg == pytest.approx(10)
    assert found.last_off_mm == -3


def test_a_twist_is_compared_round_the_circle(worked: Any) -> None:
    pipe = pipe_of((100, 0, 90), (80, 179, 90), last_mm=100)

    found = compared(rows((100, 0, 90), (80, -179, 90), last=100), worked(pipe))

    assert found.bends[1].twist_off_deg == pytest.approx(2)


def test_a_pipe_as_wanted_is_right_and_left_as_it_is(worked: Any) -> None:
    found = compared(rows((100, 0, 90), last=100), worked(L_PIPE))

    assert found.is_right
    assert found.advice.verdict is Verdict.GOOD
    assert not any(station.is_off for station in found.stations)


def test_corner_points_say_the_same_as_rows(worked: Any) -> None:
    """The corner at 100 + 45 tan 45 = 145; the pipe stood up in other axes."""
    by_corners = corners((5, 5, 5), (150, 5, 5), (150, 5, 150), made=(1,))

    found = compared(by_corners, worked(L_PIPE))

    assert found.bends[0].angle_off_deg == pytest.approx(0)
    assert found.bends[0].straight_off_mm == pytest.approx(0)
    assert found.worst_mm == pytest.approx(0, abs=1e-9)


# ---- where it ends up -------------------------------------------------------------------------


def test_a_bend_two_degrees_short_lets_end_b_stand_high(worked: Any) -> None:
    """By hand: 88 degrees from (100, 0) end at (100 + 45 sin 88, 45 - 45 cos 88), and the straight
    beyond has the tube the arc left over, 45 x 2 degrees = 1.571 mm. End B at (148.52, 144.94):
    3.52 mm outward, where the heel of bend 1 is: up, 12 o'clock."""
    end = (
        100 + 45 * math.sin(math.radians(88)) + 101.5708 * math.cos(math.radians(88)),
        45 - 45 * math.cos(math.radians(88)) + 101.5708 * math.sin(math.radians(88)),
    )

    end_b = compared(angles(88), worked(L_PIPE)).stations[-1]

    assert end_b.off_mm == pytest.approx(math.dist(end, (145, 145)), abs=1e-4)
    assert end_b.high_mm == pytest.approx(end[0] - 145, abs=1e-4)
    assert (end_b.right_mm, end_b.hour, end_b.arrow) == (0, 12, "↑")


def test_a_twist_too_far_clockwise_puts_end_b_to_the_left(worked: Any) -> None:
    """By hand: the last leg of 45 + 100 swings up out of the plane by 10 degrees: 145 sin 10 =
    25.18 mm up, 145 (1 - cos 10) = 2.20 mm short. The heels lie outside the U; looking along the
    last leg with them on top, up out of the plane is left."""
    end_b = compared(rows((100, 0, 90), (80, 10, 90), last=100), worked(U_PIPE)).stations[-1]

    assert end_b.right_mm == pytest.approx(-145 * math.sin(math.radians(10)))
    assert end_b.beyond_mm == pytest.approx(-145 * (1 - math.cos(math.radians(10))))
    assert end_b.high_mm == 0
    assert (end_b.hour, end_b.arrow) == (9, "←")


def test_a_straight_too_long_puts_end_b_too_far_along(worked: Any) -> None:
    end_b = compared(rows((100, 0, 90), last=104), worked(L_PIPE)).stations[-1]

    assert end_b.beyond_mm == pytest.approx(4)
    assert not end_b.has_side


def test_a_first_straight_too_long_puts_end_b_out_at_the_heel(worked: Any) -> None:
    """Laid over end A, all beyond the first straight lies 3 mm ahead: at end B that is the heel."""
    end_b = compared(rows((103, 0, 90), last=100), worked(L_PIPE)).stations[-1]

    assert end_b.high_mm == pytest.approx(3)


@pytest.mark.parametrize(
    ("clock_deg", "hour", "arrow"),
    [
        (0, 12, "↑"),
        (30, 1, "↗"),
        (90, 3, "→"),
        (180, 6, "↓"),
        (-120, 8, "↙"),
        (-90, 9, "←"),
        (-16, 11, "↑"),
    ],
)
def test_the_hour_and_the_arrow_point_the_same_way(clock_deg: float, hour: int, arrow: str) -> None:
    station = Station("End B", 5, 0, 5, clock_deg)

    assert (station.hour, station.arrow) == (hour, arrow)


def test_low_and_left_are_eight_o_clock() -> None:
    """5.2 low and 3 left make 6 mm at 210 degrees, which is -150: seven; 3 and 5.2 make eight."""
    seven, eight = (Station("End B", 6, 0, 6, deg) for deg in (-150, -120))

    assert (round(seven.high_mm, 1), round(seven.right_mm, 1), seven.hour) == (-5.2, -3.0, 7)
    assert (round(eight.high_mm, 1), round(eight.right_mm, 1), eight.hour) == (-3.0, -5.2, 8)


def test_shared_out_hides_what_end_a_shows(worked: Any) -> None:
    over_a, shared = (
        compared(angles(90, 58, 45), worked(THREE), hold=hold)
        for hold in (Hold.DATUM_END, Hold.SHARED)
    )

    assert over_a.stations[0].off_mm == 0
    assert shared.stations[0].is_off
    assert shared.worst_mm < over_a.worst_mm


# ---- a pipe that is half made -----------------------------------------------------------------


def test_a_half_made_pipe_is_compared_with_the_bends_it_has(worked: Any) -> None:
    found = compared(angles(44, made=(3,)), worked(THREE))

    (line,) = found.bends
    assert line.number == 3
    assert line.angle_off_deg == -1
    assert [station.name for station in found.stations] == ["End A", "Bend 3", "End B"]


def test_spare_ends_that_are_still_on_are_wanted_too(worked: Any) -> None:
    """A first straight of 5 where 20 are needed to hook, or 30 on the other side."""
    found = worked(pipe_of((5, 0, 90), last_mm=100))
    spare_mm = found.end_a.spare_mm

    whole = compared(rows((5 + spare_mm, 0, 90), last=100, spare_on=True), found)

    assert spare_mm > 0
    assert whole.is_right


def test_a_bend_hooked_at_end_b_grows_into_the_straight_before_it(worked: Any) -> None:
    """The guide is on A's side then: what a short arc leaves over lies before it."""
    found = worked(pipe_of((100, 0, 90), last_mm=25))
    assert [mark.hook_at for mark in found.marks] == ["B"]

    line = compared(angles(88), found).bends[0]

    assert line.straight_off_mm == pytest.approx(45 * math.radians(2))


# ---- what can be done -------------------------------------------------------------------------


def test_a_short_bend_is_closed(worked: Any) -> None:
    """What the arc left over goes back into it: 2 degrees more, and end B is where it should be."""
    found = compared(angles(88), worked(L_PIPE))

    assert found.advice.verdict is Verdict.CORRECT
    (close,) = found.close
    assert close.number == 1
    assert close.by_deg == pytest.approx(2, abs=0.05)
    assert found.end_b_then_mm < 0.1


def test_nobody_is_asked_to_close_a_bend_by_less_than_a_gauge_shows(worked: Any) -> None:
    found = compared(angles(88, 60, 44.9), worked(THREE))

    assert found.advice.verdict is Verdict.CORRECT
    assert [one.number for one in found.close] == [1]
    assert all(one.by_deg >= comparing.ANGLE_DEG for one in found.close)


def test_an_over_bent_pipe_is_remade_and_says_why(worked: Any) -> None:
    found = compared(angles(94), worked(L_PIPE))

    assert found.advice.verdict is Verdict.REMAKE
    assert found.reasons == ["Bend 1 is 4.0 degrees over, and cannot open."]
    assert found.close == ()


@pytest.mark.parametrize("closing", list(Closing))
@pytest.mark.parametrize("made", [(88, 60, 47), (91.5, 58, 44), (86, 57, 43)])
def test_nothing_is_ever_opened(worked: Any, closing: Closing, made: tuple[float, ...]) -> None:
    found = compared(angles(*made), worked(THREE), closing=closing)

    assert all(one.by_deg > 0 for one in found.close)
    assert found.advice.then.rms_mm <= found.advice.now.rms_mm + 1e-9


def test_how_near_will_do_decides(worked: Any) -> None:
    found = worked(L_PIPE)

    near, far = (
        compared(angles(91.5, will_do=Length(mm)), found).advice.verdict for mm in (1.0, 5.0)
    )

    assert (near, far) == (Verdict.REMAKE, Verdict.GOOD)


# ---- what is refused, and what is kept ----------------------------------------------------------


def test_another_number_of_bends_is_refused(worked: Any) -> None:
    with pytest.raises(CoreError, match="1 bends are measured and 2 wanted"):
        compared(corners((0, 0, 0), (100, 0, 0), (100, 50, 0), made=(1, 2)), worked(U_PIPE))


def test_what_is_measured_reads_back_equal() -> None:
    for kept in (
        rows((100, 0, 90), (80, -10, 60), last=97.5, spare_on=True),
        angles(90, 45.5, made=(1, 3), will_do=Length(3.0, "3")),
        corners((0, 0, 0), (100, 0, 0), (100, 50, 0), made=(1,)),
    ):
        assert measured.read(json.loads(json.dumps(measured.document_of(kept)))) == kept


def test_a_document_of_a_newer_version_is_not_guessed_at() -> None:
    with pytest.raises(UnknownSchema):
        measured.read({"schema": 99})


def test_a_comparison_is_written_down_once(owner: Person, car: Car) -> None:
    sheet = make_sheet(by=owner, pipe=L_PIPE)
    worked = ways.of_sheet(sheet)
    wanted = {"revision": 1, "inputs": sheet.inputs, "figures": {"radius_mm": worked.radius_mm}}
    form = {
        "key": uuid4(),
        "sheet": sheet,
        "making": None,
        "wanted": wanted,
        "by": owner,
        "now": NOW,
    }

    first = comparing.write_down(measured=angles(88), **form)
    again = comparing.write_down(measured=angles(88), **form)

    assert first == again
    with pytest.raises(comparing.OtherUnderThisKey):
        comparing.write_down(measured=angles(87), **form)
    comparing.take_out(comparison=first, now=NOW)
    assert not Comparison.objects.standing().exists()
    assert Comparison.objects.count() == 1


# ---- the drawing ------------------------------------------------------------------------------


@pytest.mark.parametrize("pipe", [L_PIPE, U_PIPE, THREE])
def test_the_drawing_is_as_wide_as_its_views_or_stands_in_the_middle(
    worked: Any, pipe: PipeInputs
) -> None:
    """What is free on the left of the views is free on the right, but for their margins."""
    found = compared(angles(*(row.bend_deg for row in pipe.rows)), worked(pipe))

    drawing = overlay(
        found.made, found.wanted, hold=Hold.DATUM_END, od_mm=15, numbers=found.numbers
    )

    xs = [float(one.x) for view in drawing.views for one in view.balloons]
    wide_mm = float(drawing.width)
    assert wide_mm <= 262
    assert min(xs) == pytest.approx(wide_mm - max(xs), abs=25)


def test_both_pipes_are_drawn_at_one_scale_and_begin_together(worked: Any) -> None:
    found = compared(angles(88), worked(L_PIPE))

    drawing = overlay(
        found.made, found.wanted, hold=Hold.DATUM_END, od_mm=15, numbers=found.numbers
    )

    plan = drawing.views[0]
    begins = [path.split("C")[0] for path in (plan.made, plan.wanted)]
    assert begins[0] == begins[1]
    assert plan.made != plan.wanted
    assert [balloon.text for balloon in plan.balloons] == ["A", "1", "B"]
    # The wanted end B, from the wanted path's last point.
    last = plan.wanted.rsplit(" ", 2)[-2:]
    assert plan.ends[1] == tuple(last)


def test_end_b_is_drawn_off_by_as_much_as_it_lies_off(worked: Any) -> None:
    """End B of a bend 2 degrees short: 3.52 mm of pipe at the drawing's scale."""
    found = compared(angles(88), worked(L_PIPE))

    drawing = overlay(found.made, found.wanted, hold=Hold.DATUM_END, od_mm=15, numbers=(1,))

    plan = drawing.views[0]
    ends = [[float(x) for x in path.rsplit(" ", 2)[-2:]] for path in (plan.made, plan.wanted)]
    off_mm = math.dist(*ends) * drawing.scale
    assert off_mm == pytest.approx(found.stations[-1].off_mm, abs=0.02)
