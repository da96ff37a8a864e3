"""Three ways in, one pipe: corner points, mirror images, and each way told as another."""

import math
from dataclasses import replace

import pytest

from fabrication.models import Former, PipeSheet, SheetFreeze, TubeStock
from fabrication.pipe import freezing, ways
from fabrication.pipe.bend_readings import WayError
from fabrication.pipe.inputs import (
    Corners,
    End,
    Length,
    Mirror,
    PipeInputs,
    Typed,
    as_typed,
    document_of,
    read,
)
from garage.models import Car, Person
from tests.fabrication.pipe_rows import make_former, make_sheet, pipe_of
from tests.fabrication.told import bend, former_of, leg, measured, points, row, stock_of
from tests.factories import NOW

INCH_MM = 25.4


def pipe(
    typed: Typed, former: Former, stock: TubeStock, other: PipeSheet | None = None
) -> PipeInputs:
    return ways.rows_of(typed, former=former, stock=stock, other=other)


def straights(found: PipeInputs) -> list[float]:
    return [*(one.straight.mm for one in found.rows), found.last.mm]


def exact(mm: float) -> Length:
    return Length(mm)


# ---- corner points ------------------------------------------------------------------------


def test_corner_points_come_out_at_the_printed_length_of_a_handbook() -> None:
    """NAVEDTRA 14119, Hull Maintenance Technician, ch. 16, fig. 16-3: legs of 48 and 72 in on a
    radius of 18 in are 30 + 54 + 28.26 = 112.26 in; printed with 1.57 for half pi."""
    typed = points((0, 0, 0), (48 * INCH_MM, 0, 0), (48 * INCH_MM, 72 * INCH_MM, 0))
    former, stock = former_of(18 * INCH_MM), stock_of()

    found = ways.worked_out(typed, former=former, stock=stock).found

    assert found.finished_mm is not None
    assert found.finished_mm / INCH_MM == pytest.approx(112.26, abs=0.02)


def test_corner_points_of_a_published_question_have_their_legs_bends_and_twist() -> None:
    """Public mathematics forum, "Converting XYZ Coordinates to LRA", May 2018: four points. Legs
    by subtraction 6.794, 3.625882 and 3.368; two right angles; the second the other way."""
    typed = points(
        (38.5202, -14.0264, 0),
        (45.3142, -14.0264, 0),
        (45.3142, -17.5214, 0.9654),
        (48.6822, -17.5214, 0.9654),
    )

    found = pipe(typed, former_of(1), stock_of(1, 0.1))

    assert straights(found) == pytest.approx([5.794, 1.625882, 2.368], abs=1e-6)
    assert [one.bend_deg for one in found.rows] == pytest.approx([90, 90])
    assert abs(found.rows[1].twist_deg) == pytest.approx(180)


def test_a_corner_may_have_a_radius_of_its_own() -> None:
    """Legs of 100: a right angle takes its radius off both sides."""
    typed = Typed(
        way="corners",
        corners=Corners(
            (
                *points((0, 0, 0)).corners.points,  # type: ignore[union-attr]
                *points((100, 0, 0, 40)).corners.points,  # type: ignore[union-attr]
                *points((100, 100, 0)).corners.points,  # type: ignore[union-attr]
            )
        ),
    )

    found = pipe(typed, former_of(30), stock_of())

    assert straights(found) == pytest.approx([60, 60])
    assert found.rows[0].radius_mm == 40


SHAPE = ((0, 0, 0), (100, 0, 0), (100, 100, 0), (100, 100, 100))


def test_the_same_points_in_other_right_handed_axes_are_the_same_pipe() -> None:
    """Forward, left, up against rear, right, up: turned half round about up."""
    turned = [(-x, -y, z) for x, y, z in SHAPE]

    one = pipe(points(*SHAPE), former_of(30), stock_of())
    other = pipe(points(*turned, axes=("rear", "right", "up")), former_of(30), stock_of())

    assert one.rows[1].twist_deg == pytest.approx(90)
    assert other.rows[1].twist_deg == pytest.approx(90)


def test_left_handed_axes_are_refused_for_they_make_the_mirror_image() -> None:
    with pytest.raises(WayError, match="left-handed"):
        pipe(points(*SHAPE, axes=("forward", "right", "up")), former_of(30), stock_of())


@pytest.mark.parametrize(
    ("told", "where", "says"),
    [
        (((0, 0, 0),), 0, "two ends"),
        (((0, 0, 0), (0, 0, 0), (9, 0, 0)), 2, "the same point"),
        (((0, 0, 0), (100, 0, 0), (0, 0, 0)), 2, "folds back"),
        (((0, 0, 0), (20, 0, 0), (20, 100, 0)), 1, "10.0 mm too short"),
    ],
)
def test_points_that_make_no_pipe_say_why_at_their_row(
    told: tuple[tuple[float, ...], ...], where: int, says: str
) -> None:
    found = ways.worked_out(points(*told), former=former_of(30), stock=stock_of()).found

    assert found.table is None
    assert (found.said[0].row, found.said[0].stops) == (where, True)
    assert says in found.said[0].text


def test_a_point_on_the_way_is_left_out_and_said_and_the_rows_keep_their_points() -> None:
    told = points((0, 0, 0), (50, 0, 0), (100, 0, 0), (100, 8, 0), (200, 8, 0))

    worked = ways.worked_out(told, former=former_of(2, tube_od_mm=3.0), stock=stock_of(3, 0.5))

    assert worked.pipe is not None
    assert (worked.pipe.bend_rows, worked.pipe.straight_rows) == ((3, 4), (1, 3, 4))
    assert (2, "Corner point 2 does not turn: left out.") in [
        (one.row, one.text) for one in worked.found.said
    ]
    # The short straight between the corners is told at the point where it begins.
    assert any(one.row == 3 and "too short" in one.text for one in worked.found.said)


# ---- mirror -------------------------------------------------------------------------------


@pytest.mark.django_db
def test_a_mirror_image_negates_every_twist_and_nothing_else(owner: Person, car: Car) -> None:
    other = make_sheet(
        by=owner, pipe=pipe_of((100, 0, 90), (80, 30, 60), (90, -45, 45), last_mm=120)
    )
    typed = Typed(way="mirror", mirror=Mirror(other.pk))

    found = pipe(typed, other.former, other.stock, other)

    assert [one.twist_deg for one in found.rows] == [0, -30, 45]
    assert [one.bend_deg for one in found.rows] == [90, 60, 45]
    assert straights(found) == [100, 80, 90, 120]


@pytest.mark.django_db
def test_a_mirror_image_on_another_radius_keeps_the_corner_points(owner: Person, car: Car) -> None:
    """A right angle of radius 45 with legs of 145 and 165; on a radius of 30 its straights are
    15 longer at either side."""
    other = make_sheet(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    typed = Typed(way="mirror", mirror=Mirror(other.pk))

    found = pipe(typed, former_of(30), other.stock, other)

    assert straights(found) == pytest.approx([115, 135])
    assert "corner points and ends are kept" in found.noted[0].text


@pytest.mark.django_db
def test_a_mirror_image_is_of_the_other_sheet_as_it_was_printed(owner: Person, car: Car) -> None:
    """Printed on a radius of 45, its corner lies at 145; measured again the former makes 50."""
    other = make_sheet(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    freezing.freeze(sheet=other, why=SheetFreeze.Why.PRINT, by=owner, now=NOW)
    other.former.measured_radius_mm = 50
    other.former.save()
    typed = Typed(way="mirror", mirror=Mirror(other.pk))

    found = pipe(typed, other.former, other.stock, other)

    assert straights(found) == pytest.approx([95, 115])


@pytest.mark.django_db
def test_two_sheets_that_mirror_each_other_are_told_so_and_not_followed_for_ever(
    owner: Person, car: Car
) -> None:
    first, second = make_sheet(by=owner), make_sheet(by=owner)
    for one, other in ((first, second), (second, first)):
        one.inputs = document_of(Typed(way="mirror", mirror=Mirror(other.pk)))
        one.save()

    found = ways.of_sheet(first).found

    assert found.table is None
    assert "round a ring" in found.said[0].text


@pytest.mark.django_db
def test_what_is_changed_on_the_other_sheet_changes_here(owner: Person, car: Car) -> None:
    other = make_sheet(by=owner)
    here = make_sheet(by=owner, pipe=Typed(way="mirror", mirror=Mirror(other.pk)))
    other.inputs = document_of(pipe_of((200, 0, 90), last_mm=120))
    other.save()

    worked = ways.of_sheet(here)

    assert worked.pipe is not None
    assert straights(worked.pipe) == [200, 120]


# ---- one way told as another --------------------------------------------------------------

THREE = measured(
    row(leg(100), bend(60)),
    row(leg(80), bend(90), 30.0),
    row(leg(90), bend(45), -70.0),
    last=leg(120),
)


def test_rows_told_as_points_and_told_back_are_the_same_rows() -> None:
    former, stock = former_of(30), stock_of()
    first = pipe(THREE, former, stock)

    told = ways.corners_from(first, radius_mm=30, rounded=exact)
    back = pipe(Typed(way="corners", corners=told), former, stock)

    assert straights(back) == pytest.approx(straights(first))
    assert [one.twist_deg for one in back.rows] == pytest.approx([0, 30, -70])
    assert [one.bend_deg for one in back.rows] == pytest.approx([60, 90, 45])


def test_a_return_bend_told_as_points_has_two_corners() -> None:
    """A hairpin of radius 30: legs 60 apart, each half a right angle's corner."""
    typed = measured(row(leg(100), bend(180)), last=leg(50))

    told = ways.corners_from(pipe(typed, former_of(30), stock_of()), radius_mm=30, rounded=exact)

    flat = [tuple(round(one.mm, 6) for one in (point.x, point.y)) for point in told.points]
    assert flat == [(0, 0), (130, 0), (130, 60), (50, 60)]


def test_points_with_a_radius_of_their_own_told_as_rows_keep_their_corners() -> None:
    """A row has the former's radius: 100 less 40 becomes 100 less 30."""
    found = PipeInputs(
        rows=pipe(points((0, 0, 0), (100, 0, 0), (100, 100, 0)), former_of(40), stock_of()).rows,
        last=Length(60),
    )
    own = PipeInputs(
        tuple(type(one)(one.straight, one.twist_deg, one.bend_deg, 40.0) for one in found.rows),
        found.last,
    )

    told = ways.bends_from(own, radius_mm=30, rounded=exact)

    assert told.rows[0].leg.reading.mm == pytest.approx(70)
    assert told.last.reading.mm == pytest.approx(70)


# ---- ends ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("end", "guessed_mm"),
    [(End(), 0.0), (End(lost=True), 120.0), (End(lost=True, guessed=Length(60)), 60.0)],
)
def test_a_lost_end_is_guessed_for_what_was_said_or_for_all_of_its_straight(
    end: End, guessed_mm: float
) -> None:
    typed = as_typed(pipe_of((100, 0, 90), last_mm=120, end_b=end))

    worked = ways.worked_out(typed, former=former_of(30), stock=stock_of())

    assert worked.guessed_mm == (0.0, guessed_mm)
    said = [one.row for one in worked.found.said if "lost and its length guessed" in one.text]
    assert said == ([2] if end.lost else [])


def test_a_hose_end_says_how_far_where_the_clip_goes_and_how_much_straight_is_missing() -> None:
    """House defaults of a bead for 28 mm: centre 8, width 6; 3 to the clip of 12, 6 beyond it:
    32 in all, its middle at 20, and 5 of straight before the bend."""
    typed = as_typed(pipe_of((30, 0, 90), last_mm=120, end_a=End(form="bead")))

    worked = ways.worked_out(typed, former=former_of(84, tube_od_mm=28.0), stock=stock_of(28, 1.2))

    assert worked.ends is not None
    hose = worked.ends[0].hose
    assert hose is not None
    assert (hose.push_on_mm, hose.clip_centre_mm, hose.straight_needed_mm) == (32, 20, 37)
    short = [one for one in worked.found.said if "needs 37.0 mm of straight" in one.text]
    assert [one.row for one in short] == [1]


def test_what_is_slid_on_comes_before_the_flare_and_deburring_before_both() -> None:
    end = End(form="flare", slid_on=("nut", "sleeve"), slid_on_length=Length(30))
    long = as_typed(pipe_of((100, 0, 90), last_mm=120, end_a=end))
    short = as_typed(pipe_of((20, 0, 90), last_mm=120, end_a=end))

    told = [
        ways.worked_out(typed, former=former_of(30), stock=stock_of(), order=False).ends
        for typed in (long, short)
    ]

    assert told[0] is not None and told[1] is not None
    assert told[0][0].step_words == [
        "Cut square", "Deburr inside and out", "Bend", "Slide on: nut", "Slide on: sleeve", "Flare",
    ]  # fmt: skip
    assert told[1][0].step_words[2:5] == ["Slide on: nut", "Slide on: sleeve", "Bend"]


def test_the_whole_round_of_a_document_keeps_all_three_ways() -> None:
    typed = Typed(
        way="corners",
        bends=THREE.bends,
        corners=points(*SHAPE).corners,
        mirror=Mirror(7),
        end_b=End(lost=True, slid_on=("nut",)),
    )

    assert read(document_of(typed)) == typed


@pytest.mark.django_db
def test_a_bend_that_the_former_cannot_make_stands_at_its_point(owner: Person, car: Car) -> None:
    """The former bends to 45; the corner asks for 60."""
    told = points((0, 0, 0), (200, 0, 0), (200, 200, 0))
    corners = told.corners
    assert corners is not None
    first, middle, last = corners.points
    own = Corners((first, type(middle)(middle.x, middle.y, middle.z, Length(60)), last))
    sheet = make_sheet(by=owner, former=make_former(), pipe=Typed(way="corners", corners=own))

    found = ways.of_sheet(sheet).found

    assert found.finished_mm == pytest.approx(280 + 60 * math.pi / 2)
    assert any(one.row == 2 and "radius" in one.text for one in found.said)


def test_a_pipe_kept_row_by_row_keeps_the_radius_of_its_corners() -> None:
    told = points((0, 0, 0), (100, 0, 0), (100, 100, 0), (100, 100, 100))
    assert told.corners is not None
    first, second, third, last = told.corners.points
    own = Corners((first, replace(second, radius=Length(20)), third, last))
    former, stock = former_of(30), stock_of()
    found = pipe(replace(told, corners=own), former, stock)

    kept = pipe(read(document_of(found)), former, stock)

    assert [one.radius_mm for one in kept.rows] == [20, None]
    assert straights(kept) == pytest.approx([80, 50, 70])
