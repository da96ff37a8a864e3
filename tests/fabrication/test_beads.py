"""The order of work at an end with a bead: what to set, when to cut, what has to come first."""

from typing import Any

import pytest

from fabrication.kit import beads
from fabrication.kit.beads import Place, Step, ToolFigures, figures_of_tool
from fabrication.models import BeadTool, Former, TubeStock
from fabrication.pipe.compute import work_out
from fabrication.pipe.inputs import BEAD, End, Length
from tests.fabrication.pipe_rows import make_former, make_stock, pipe_of
from tests.fabrication.tool_rows import make_bead_test, make_bead_tool

LONG = Place(straight_mm=120, bend=1, held_mm=20)
BEADED = End(form=BEAD)


def tool_of(**fields: Any) -> ToolFigures:
    """One for 28 mm tube that beads 12 to 20 mm from the end; not saved, so without tests."""
    usual = {
        "name": "Home-made",
        "tube_od_least_mm": 28.0,
        "tube_od_most_mm": 28.0,
        "shallowest_mm": 12.0,
        "deepest_mm": 20.0,
        "straight_mm": 30.0,
    }
    return figures_of_tool(BeadTool(**usual | fields), tube_of())


def tube_of(**fields: Any) -> TubeStock:
    return TubeStock(**{"material": "copper", "od_mm": 28.0, "wall_mm": 1.2} | fields)


def end_of(**sizes: float) -> End:
    return End(form=BEAD, **{name: Length(mm) for name, mm in sizes.items()})


def test_a_tool_that_only_beads_too_deep_beads_first_and_trims_after() -> None:
    """By hand: the bead is wanted at 8, the tool starts at 12: bead at 12, cut 12 - 8 = 4 off.
    Its stop reads 2 less than the bead lies deep, so it is set to 10."""
    work = beads.work_of(BEADED, tool=tool_of(stop_offset_mm=2.0), stock=tube_of(), place=LONG)

    assert work.steps() == [
        Step("deburr"),
        Step("stop", 10),
        Step("bead", 12),
        Step("cut", 4),
        Step("deburr"),
    ]
    assert (work.trim_mm, work.before_bend) == (4, 0)


def test_a_tool_that_reaches_the_place_trims_first_and_then_beads() -> None:
    """By hand: 5 to be cut off, bead at 8, within the tool's reach of 6 to 20."""
    work = beads.work_of(
        end_of(trim=5.0), tool=tool_of(shallowest_mm=6.0), stock=tube_of(), place=LONG
    )

    assert work.steps() == [Step("cut", 5), Step("deburr"), Step("stop", 8), Step("bead", 8)]
    assert work.trim_mm == 5


def test_tube_to_be_trimmed_serves_the_tool_that_beads_too_deep() -> None:
    """By hand: 10 to be cut off, the tool needs 4 of them behind the bead, so 6 go first."""
    work = beads.work_of(end_of(trim=10.0), tool=tool_of(), stock=tube_of(), place=LONG)

    assert [step for step in work.steps() if step.mm is not None] == [
        Step("cut", 6),
        Step("stop", 12),
        Step("bead", 12),
        Step("cut", 4),
    ]
    assert work.trim_mm == 10


def test_a_reamer_comes_before_the_tool_that_asks_for_it() -> None:
    work = beads.work_of(BEADED, tool=tool_of(needs_reaming=True), stock=tube_of(), place=LONG)

    assert work.steps()[0] == Step("ream")


def test_spare_tube_goes_with_the_first_cut() -> None:
    work = beads.work_of(end_of(trim=5.0), tool=tool_of(), stock=tube_of(), place=LONG)

    assert work.steps(spare_mm=30)[0] == Step("cut", 31)  # 30 spare, 5 less the 4 behind the bead


@pytest.mark.parametrize(
    ("straight_mm", "before"),
    # By hand: the tool needs 30; bead first leaves 4 more than the finished straight.
    [(26.0, 0), (25.9, 2)],
)
def test_a_straight_too_short_for_the_tool_is_beaded_before_its_bend(
    straight_mm: float, before: int
) -> None:
    place = Place(straight_mm=straight_mm, bend=2, held_mm=10)

    work = beads.work_of(BEADED, tool=tool_of(), stock=tube_of(), place=place)

    assert work.before_bend == before
    assert (work.steps()[-1] == Step("bend")) is bool(before)
    assert any("make the bead before bend 2" in one.message for one in work.problems) is bool(
        before
    )
    # Bead at 8 and 6 wide: the bender cannot hold the first 11 mm.
    assert work.occupied_mm == (11 if before else 0)


def test_a_tool_that_does_not_go_on_after_a_bend_beads_before_it_however_long_the_straight() -> (
    None
):
    work = beads.work_of(BEADED, tool=tool_of(after_bend=False), stock=tube_of(), place=LONG)

    assert work.before_bend == 1
    assert "does not go on after a bend" in work.problems[0].message


def test_a_straight_tube_has_no_bend_to_be_beaded_before() -> None:
    work = beads.work_of(BEADED, tool=tool_of(after_bend=False), stock=tube_of(), place=Place(120))

    assert (work.before_bend, work.occupied_mm) == (0, 0)
    assert not any("before bend" in one.message for one in work.problems)


@pytest.mark.parametrize(
    ("tool", "end", "place", "kind"),
    [
        ({"deepest_mm": 20.0}, {"bead_centre": 21.0}, LONG, "bead_out_of_reach"),
        # By hand: bead first, then 25 - 8 - 3 = 14 are free where the bender holds 20.
        ({}, {}, Place(25.0, 1, 20.0), "bead_in_the_way"),
        # By hand: 28 less two walls of 1.2 is a bore of 25.6.
        ({"bore_least_mm": 25.7}, {}, LONG, "bore_too_narrow"),
    ],
)
def test_what_a_tool_cannot_do_is_said_and_nothing_is_set(
    tool: dict[str, float], end: dict[str, float], place: Place, kind: str
) -> None:
    work = beads.work_of(end_of(**end), tool=tool_of(**tool), stock=tube_of(), place=place)

    assert not work.is_possible
    assert work.steps() == []
    assert work.problems[0].kind == kind


# ---- test pieces ----------------------------------------------------------------------------


@pytest.fixture
def tube(db: None) -> TubeStock:
    return make_stock(material="copper", od_mm=28.0, wall_mm=1.2)


def test_test_pieces_say_what_the_stop_sets_and_what_the_bead_eats(tube: TubeStock) -> None:
    """By hand: beads lay 2.0 and 2.4 deeper than the stop read: 2.2. Eaten 1.0 and 1.4: 1.2."""
    tool = make_bead_tool()
    make_bead_test(tool, tube, stop_mm=12, centre_mm=14.0, eaten_mm=1.0, height_mm=1.4)
    make_bead_test(tool, tube, stop_mm=15, centre_mm=17.4, eaten_mm=1.4, height_mm=1.6)

    work = beads.work_of(BEADED, tool=figures_of_tool(tool, tube), stock=tube, place=LONG)

    assert work.stop_mm == pytest.approx(12 - 2.2)
    assert (work.eaten_mm, work.eaten_is_measured) == (pytest.approx(1.2), True)
    assert work.bead.height_mm == pytest.approx(1.5)
    assert work.problems == ()


def test_another_tubes_test_piece_speaks_of_the_stop_and_of_nothing_else(tube: TubeStock) -> None:
    tool = make_bead_tool()
    thick = make_stock(material="copper", od_mm=28.0, wall_mm=1.5)
    make_bead_test(tool, thick, stop_mm=12, centre_mm=14.0, height_mm=1.0, width_mm=4.0)

    work = beads.work_of(BEADED, tool=figures_of_tool(tool, tube), stock=tube, place=LONG)

    assert work.stop_mm == pytest.approx(12 - 2)
    assert not work.eaten_is_measured
    assert [one.kind for one in work.problems] == ["no_test_piece"]


def test_a_bead_other_than_the_tool_makes_is_doubted(tube: TubeStock) -> None:
    tool = make_bead_tool()
    make_bead_test(tool, tube, height_mm=1.0, width_mm=6.0)

    work = beads.work_of(
        end_of(bead_height=1.5), tool=figures_of_tool(tool, tube), stock=tube, place=LONG
    )

    assert [one.kind for one in work.problems] == ["other_bead"]
    assert "1.0 mm high" in work.problems[0].message


def test_of_two_tools_the_one_with_less_against_it_is_taken(tube: TubeStock) -> None:
    make_bead_tool(name="Deep only")
    tried = make_bead_tool(name="Tried", shallowest_mm=5.0)
    make_bead_test(tried, tube)
    make_bead_tool(name="For 22", tube_od_least_mm=22.0, tube_od_most_mm=22.0)

    tools = beads.tools_for(tube)
    found = beads.figures_for(tube)
    work = beads.best_work(BEADED, tools=found, stock=tube, place=LONG)

    assert {tool.name for tool in tools} == {"Deep only", "Tried"}
    assert work.tool.name == tried.name


# ---- on a sheet -----------------------------------------------------------------------------


@pytest.fixture
def former(db: None) -> Former:
    return make_former(tube_od_mm=28.0, measured_radius_mm=84.0, hook_mm=40.0, guide_mm=50.0)


def test_a_sheet_is_cut_longer_by_what_the_tool_trims_and_the_test_pieces_ate(
    former: Former, tube: TubeStock
) -> None:
    """By hand: 4 to be trimmed behind the bead and 1.2 eaten."""
    make_bead_test(make_bead_tool(), tube, stop_mm=12, centre_mm=12)
    pipe = pipe_of((100, 0, 90), last_mm=100, end_a=BEADED)

    found = work_out(pipe, former=former, stock=tube)

    assert found.finished_mm is not None and found.end_a is not None
    assert found.cut_mm == pytest.approx(found.finished_mm + 4 + 1.2)
    assert found.marks[0].start_mm == pytest.approx(100 + 4 + 1.2)
    assert [step.what for step in found.end_a.bead_steps] == [
        "deburr",
        "stop",
        "bead",
        "cut",
        "deburr",
    ]


def test_a_bead_made_before_its_bend_leaves_no_spare_and_is_said_at_its_row(
    former: Former, tube: TubeStock
) -> None:
    """By hand: 55 straight at end B, less 11 under the bead, leave 44 where the hook needs 40."""
    make_bead_test(make_bead_tool(after_bend=False), tube)
    pipe = pipe_of((60, 0, 90), (120, 0, 45), last_mm=55, end_b=BEADED)

    found = work_out(pipe, former=former, stock=tube)

    assert found.end_b is not None and found.end_b.bead_work is not None
    assert found.end_b.bead_work.before_bend == 2
    assert found.end_b.spare_mm == 0
    assert [said.row for said in found.said if "bead before bend 2" in said.text] == [3]


def test_without_a_bead_tool_a_sheet_reckons_with_our_own_bead(
    former: Former, tube: TubeStock
) -> None:
    pipe = pipe_of((100, 0, 90), last_mm=100, end_a=BEADED)

    found = work_out(pipe, former=former, stock=tube)

    assert found.end_a is not None
    assert found.end_a.bead_work is None and found.end_a.bead_steps == []
    assert found.end_a.bead_is_ours


def test_a_tool_named_by_hand_is_the_one_that_is_used(former: Former, tube: TubeStock) -> None:
    make_bead_tool(name="Deep only")
    other = make_bead_tool(name="Other", shallowest_mm=5.0)
    pipe = pipe_of((100, 0, 90), last_mm=100, end_a=BEADED)

    found = work_out(pipe, former=former, stock=tube, tool=other)

    assert found.end_a is not None and found.end_a.bead_work is not None
    assert found.end_a.bead_work.tool.name == other.name
