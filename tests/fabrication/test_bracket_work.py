"""What follows from a bracket as typed: sums, places of what is said, order, load, clips."""

import json
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

from fabrication.bracket.bracket_inputs import (
    CLIP,
    HALF,
    MEASURED,
    SADDLE,
    TYPED,
    BracketInputs,
    EndRow,
    FlangeRow,
    HoleRow,
    LoadRow,
    NotchRow,
    PointRow,
    document_of,
    read_bracket,
)
from fabrication.bracket.bracket_work import work_out_bracket
from fabrication.bracket.bracket_worked import BracketWorked
from fabrication.models import Duty, SheetStock, TestStrip
from fabrication.pipe.inputs import UnknownSchema
from garage.models import Person
from tests.fabrication.bracket_rows import clip, joggle, mm
from tests.fabrication.pipe_rows import make_sheet, make_stock


def sheet(**fields: Any) -> SheetStock:
    usual = {"pk": 1, "material": "steel", "grade": "DC01", "thickness_mm": 2.0, "coating": "bare"}
    return SheetStock(**usual | fields)


def worked(bracket: BracketInputs, **fields: Any) -> BracketWorked:
    strip = fields.pop("strip", None)
    return work_out_bracket(bracket, stock=sheet(**fields), strip=strip)


def places(found: BracketWorked) -> set[str]:
    return {one.place for one in found.said}


# ---- the document -------------------------------------------------------------------------


def test_every_bracket_comes_back_from_json_as_it_was_typed() -> None:
    everything = joggle(
        k_from=TYPED,
        k_ratio=0.4,
        tool="v12",
        flush=True,
        left=EndRow("corners", mm(4)),
        holes=(HoleRow(1, mm(9), mm(6.6), True, mm(-2), mm(12), True, 3, mm(15)),),
        notches=(NotchRow(2, mm(17), mm(6), mm(4), True, False),),
        points=(PointRow(mm(0), mm(0), mm(2)), PointRow(mm(9), mm(0)), PointRow(mm(0), mm(9))),
        order=(2, 1),
        load=LoadRow("engine", 0.35, 8.0, mm(60), mm(12), 500.0),
    )
    for bracket in (everything, joggle(), clip(), BracketInputs()):
        kept = json.loads(json.dumps(document_of(bracket)))

        assert read_bracket(kept) == bracket
        assert kept == document_of(bracket)


def test_a_newer_document_is_refused() -> None:
    with pytest.raises(UnknownSchema, match="newer Splitpin"):
        read_bracket({"schema": 99})


# ---- sums ---------------------------------------------------------------------------------


def test_the_joggle_of_the_handbook() -> None:
    """20/35/30, t 2, r 3, DIN: 76.743, lines 17.936 and 48.808; worked by hand."""
    found = worked(joggle())

    assert found.total_mm == pytest.approx(76.743, abs=0.0005)
    assert [round(line.from_left_mm, 3) for line in found.lines] == [17.936, 48.808]
    assert [round(line.from_right_mm, 3) for line in found.lines] == [58.808, 27.936]
    assert found.agrees
    assert found.blank_mm == pytest.approx((76.743, 25.0), abs=0.0005)
    # A hole 10 from the right end stays 10 from the right end.
    assert found.holes[0].from_right_mm == pytest.approx(10)


def test_the_blank_weighs_what_is_left_of_it() -> None:
    """76.743 x 25 less a hole of 6.6, 2 mm of steel at 7.85: 29.59 g."""
    found = worked(joggle())

    assert found.mass_g == pytest.approx((76.7434 * 25 - 34.2119) * 2 * 7.85 / 1000, rel=1e-5)


def test_both_roads_to_a_k_factor_are_shown() -> None:
    by_din, by_own = worked(joggle()), worked(joggle(k_from=TYPED, k_ratio=0.42))
    strip = TestStrip(
        pk=7, tool="vice", stock=sheet(), blank_mm=66.461, leg_a_mm=40, leg_b_mm=30, radius_mm=2.4,
    )  # fmt: skip
    by_strip = worked(joggle(k_from=MEASURED), strip=strip)

    assert by_din.other_total_mm == pytest.approx(by_own.total_mm)
    assert by_own.other_total_mm == pytest.approx(by_din.total_mm)
    assert "DIN" in by_din.k_words and "usual" in by_din.other_words
    assert "Strip 7" in by_strip.k_words and "DIN" in by_strip.other_words


@pytest.mark.parametrize("k_from", [MEASURED, TYPED])
def test_without_its_figure_a_road_falls_back_to_din_and_says_so(k_from: str) -> None:
    found = worked(joggle(k_from=k_from))

    assert "DIN" in found.k_words
    assert "k" in places(found)


def test_a_strip_that_no_longer_fits_its_sheet_falls_back_to_din() -> None:
    """The readings are of a sheet of 2 mm; at 0.5 mm they give no K-factor."""
    strip = TestStrip(
        pk=7, tool="vice", stock=sheet(thickness_mm=0.5), blank_mm=66.461, leg_a_mm=40,
        leg_b_mm=30, radius_mm=2.0,
    )  # fmt: skip

    found = worked(joggle(k_from=MEASURED), strip=strip)

    assert strip.reading is None
    assert "DIN" in found.k_words and "k" in places(found)


def test_a_strip_of_another_sheet_or_radius_is_doubted() -> None:
    strip = TestStrip(
        pk=7, tool="vice", stock=sheet(pk=2, thickness_mm=1.5), blank_mm=66.461, leg_a_mm=40,
        leg_b_mm=30, radius_mm=8.0,
    )  # fmt: skip
    strip.leg_a_mm = 42.0

    found = worked(joggle(k_from=MEASURED), strip=strip)

    assert any("was cut from" in one.text for one in found.said)
    assert any("another radius" in one.text for one in found.said)


def test_radius_left_empty_is_the_dies_or_the_least_of_the_table() -> None:
    """V 16 makes 2.6; S235 of 2 mm wants 2.5 across (DIN 6935, table 1)."""
    die = worked(joggle(radius=None, tool="v16"))
    table = worked(joggle(radius=None), grade="S235")

    assert die.lines[0].radius_mm == 2.6
    assert table.lines[0].radius_mm == 2.5


@pytest.mark.parametrize(
    ("tool", "line_up"), [("", 17.936), ("v16", 17.936), ("vice", 15.0), ("folder", 18.0)]
)
def test_each_tool_lines_up_where_its_trade_does(tool: str, line_up: float) -> None:
    found = worked(joggle(tool=tool))

    assert found.lines[0].line_up_mm == pytest.approx(line_up, abs=0.0005)


# ---- what is said, and where --------------------------------------------------------------


@pytest.mark.parametrize(
    ("bracket", "place"),
    [
        (joggle(rows=(FlangeRow(mm(4), mm(25), 90.0), FlangeRow(mm(35)))), "row-1"),
        (joggle(radius=mm(0.05)), "bend-1"),
        (joggle(holes=(HoleRow(9, mm(9), mm(6)),)), "hole-1"),
        (joggle(holes=(HoleRow(1, mm(9), mm(6)), HoleRow(1, mm(19), mm(6)))), "hole-2"),
        (joggle(holes=(HoleRow(1, mm(3), mm(6)),)), "hole-1"),
        (joggle(notches=(NotchRow(2, mm(17), mm(6), mm(30)),)), "notch-1"),
        (joggle(left=EndRow("corners", mm(30))), "ends"),
        (joggle(order=(1, 1)), "order"),
        (joggle(points=(PointRow(mm(0), mm(0)), PointRow(mm(50), mm(0)), PointRow(mm(50), mm(0)))),
         "point-3"),
        (joggle(tool="v50"), "row-1"),
    ],
)  # fmt: skip
def test_a_refusal_stands_at_its_row(bracket: BracketInputs, place: str) -> None:
    found = worked(bracket)

    assert place in {one.place for one in found.said if one.stops}
    assert found.stopped


def test_doubts_stand_at_their_bend_and_hole() -> None:
    close = joggle(radius=mm(1), holes=(HoleRow(1, mm(10), mm(6.6)), HoleRow(3, mm(10), mm(16))))

    found = worked(close, grade="6082 T6", material="aluminium")

    assert {"bend-1", "bend-2", "hole-1", "hole-2"} <= places(found)
    assert any("cracks in a tight bend" in one.text for one in found.said)
    assert found.holes[0].in_bend


def test_a_vee_that_makes_another_radius_is_said() -> None:
    found = worked(joggle(tool="v6"))

    assert any("makes about 1 mm" in one.text for one in found.said)


def test_zinc_and_a_thickness_no_table_knows_are_said() -> None:
    zinc = worked(joggle(), coating="zinc")
    thick = worked(
        joggle(radius=None, rows=(FlangeRow(mm(90), mm(50), 90.0), FlangeRow(mm(90)))),
        grade="S235",
        thickness_mm=12.0,
    )

    assert any("white fume" in one.text for one in zinc.said)
    assert any("No table" in one.text for one in thick.said)
    assert thick.lines[0].radius_mm == 24.0


def test_a_bend_too_sharp_for_din_has_no_other_figure() -> None:
    rows = (FlangeRow(mm(20), mm(25), 90.0, "up", mm(0.05)), FlangeRow(mm(35)))

    found = worked(joggle(rows=rows, k_from=TYPED, k_ratio=0.3, holes=()))

    assert found.lines[0].other_k_ratio is None
    assert found.other_total_mm is None


# ---- outline ------------------------------------------------------------------------------


def test_a_hole_row_may_be_several() -> None:
    found = worked(joggle(holes=(HoleRow(2, mm(11), mm(3), count=3, pitch=mm(7)),)))

    xs = [spot.flat.x_mm for spot in found.holes]
    assert [round(b - a, 6) for a, b in pairwise(xs)] == [7.0, 7.0]
    assert [spot.number for spot in found.holes] == [1, 2, 3]
    assert {spot.row for spot in found.holes} == {1}


def test_a_traced_outline_takes_the_place_of_widths() -> None:
    """A rectangle of 76.7 x 30; the flanges say 76.743."""
    corners = ((0, -15), (76.7, -15), (76.7, 15), (0, 15))
    traced = joggle(points=tuple(PointRow(mm(x), mm(y)) for x, y in corners))
    short = joggle(points=tuple(PointRow(mm(x * 0.9), mm(y)) for x, y in corners))

    assert worked(traced).outline.area_mm2 == pytest.approx(76.7 * 30)
    assert not any("traced outline" in one.text for one in worked(traced).said)
    assert any("traced outline" in one.text for one in worked(short).said)


def test_a_flush_strip_tells_across_from_its_straight_edge() -> None:
    holes = (HoleRow(3, mm(10), mm(6.6), from_end=True, across=mm(12.5)),)

    found = worked(joggle(flush=True, holes=holes))

    assert {round(y, 6) for _, y in found.outline.ring} == {0.0, 25.0}
    assert not [one for one in found.said if one.place == "hole-1"]


# ---- order --------------------------------------------------------------------------------

DEEP = joggle(
    rows=(
        FlangeRow(mm(15), mm(25), 90.0, "up"),
        FlangeRow(mm(60), None, 90.0, "up"),
        FlangeRow(mm(30), None, 90.0, "up"),
        FlangeRow(mm(60)),
    ),
    holes=(),
)


def test_an_order_of_ones_own_is_kept_and_doubted_where_it_does_not_reach() -> None:
    ours, theirs = worked(DEEP), worked(replace(DEEP, order=(1, 2, 3)))

    assert theirs.order == (1, 2, 3)
    assert [line.made for line in theirs.lines] == [1, 2, 3]
    assert any("punch or the bar" in one.text for one in theirs.said)
    assert sorted(ours.order) == [1, 2, 3]


def test_a_better_order_is_offered() -> None:
    """A short return flange outside a channel: made last it is in nobody's way."""
    part = joggle(
        rows=(
            FlangeRow(mm(45), mm(25), 90.0, "up"),
            FlangeRow(mm(30), None, 90.0, "up"),
            FlangeRow(mm(20)),
        ),
        holes=(),
    )

    bad, good = worked(replace(part, order=(1, 2))), worked(part)

    assert any("In the order 2 1" in one.text for one in bad.said)
    assert good.order == (2, 1)
    assert not [one for one in good.said if one.place.startswith("bend")]


# ---- clips --------------------------------------------------------------------------------


def test_closed_clip_of_the_handbook_in_its_sheet() -> None:
    """D 15 + 1.5, t 1.2, rb 2, ear 18, DIN: 97.636; worked."""
    found = worked(clip(CLIP), thickness_mm=1.2)

    assert found.total_mm == pytest.approx(97.636, abs=0.0005)
    assert found.clip.ear_bend_deg == pytest.approx(74.79, abs=0.005)
    assert [round(spot.flat.x_mm, 6) for spot in found.holes] == [8.0, round(found.total_mm - 8, 6)]


def test_saddle_says_where_its_holes_stand_when_formed() -> None:
    """22 + 1.5, t 2: uprights 14.5 from the middle, holes 11 outside: 51."""
    found = worked(clip(SADDLE, od=mm(22), ear=mm(20), ear_radius=mm(3), hole_from_upright=mm(11)))

    assert found.clip.hole_spacing_mm == pytest.approx(51)
    assert found.clip.height_mm == 12.5
    # The ear's flat begins a radius outside its upright: the hole is 8 from there, 9 from the end.
    assert found.holes[0].flat.x_mm == pytest.approx(9)


def test_half_saddle_has_one_ear_and_its_caution() -> None:
    found = worked(clip(HALF, od=mm(22), ear=mm(20)))

    assert len(found.holes) == 1
    assert found.clip.hole_spacing_mm is None
    assert any("turns about its screw" in one.text for one in found.said)


@pytest.mark.parametrize(
    ("bracket", "says"),
    [
        (clip(CLIP, od=None), "choose a pipe sheet"),
        (clip(SADDLE, ear=mm(1)), "shorter than its own bend"),
        (clip(SADDLE, nip=mm(1.2)), "dents thin tube"),
        (clip(CLIP, liner=None), "Line the clip"),
    ],
)
def test_a_clip_that_cannot_be_says_why(bracket: BracketInputs, says: str) -> None:
    found = worked(bracket)

    assert any(says in one.text for one in found.said if one.place == "clip")


def test_a_clip_takes_its_pipe_from_a_pipe_sheet(owner: Person) -> None:
    pipe = make_sheet(by=owner, stock=make_stock(od_mm=15.0), duty=Duty.COOLANT)

    found = work_out_bracket(clip(CLIP, od=None), stock=sheet(thickness_mm=1.2), pipe=pipe)

    assert found.total_mm == pytest.approx(97.636, abs=0.0005)
    assert not any("qualified person" in one.text for one in found.said)


def test_brake_pipe_is_never_held_by_one_ear(owner: Person) -> None:
    pipe = make_sheet(by=owner, duty=Duty.BRAKE)

    half = work_out_bracket(clip(HALF, od=None, ear=mm(20)), stock=sheet(), pipe=pipe)
    closed = work_out_bracket(clip(CLIP, od=None), stock=sheet(), pipe=pipe)

    assert any(one.stops and "two ears" in one.text for one in half.said)
    assert not closed.stopped
    assert any("no glue" in one.text and "qualified person" in one.text for one in closed.said)


# ---- load ---------------------------------------------------------------------------------


def test_load_of_the_handbook() -> None:
    """25 x 2 x 60 with a hole of 6.6, 0.35 kg at 8 g: 139 MPa, 59 Hz; worked."""
    load = LoadRow("engine", 0.35, 8.0, mm(60))

    found = worked(joggle(load=load), grade="S235")

    assert round(found.beam.stress_mpa) == 139
    assert round(found.beam.first_mode_hz) == 59
    assert "6.6" in found.beam_words and "S235" in found.beam_words
    assert {one.place for one in found.said if "swings at" in one.text} == {"load"}


def test_jerk_left_empty_is_our_figure_for_the_place() -> None:
    stresses = [
        worked(joggle(load=LoadRow(place, 0.35, None, mm(60)))).beam.stress_mpa
        for place in ("chassis", "rough", "engine")
    ]

    assert [round(one / stresses[0], 6) for one in stresses] == [1, 2, 3]


def test_a_turned_edge_and_a_pull_are_worked_out() -> None:
    edged = worked(joggle(load=LoadRow("engine", 0.35, 8.0, mm(60), mm(15))))
    low = worked(joggle(load=LoadRow("engine", 0.35, 8.0, mm(60), mm(1))))
    pulled = worked(joggle(load=LoadRow(pull_n=6000.0)))

    assert "edge turned up to 15 mm" in edged.beam_words
    assert edged.beam.first_mode_hz > 250
    assert low.beam is None and "load" in places(low)
    assert any("times this pull" in one.text and one.stops for one in pulled.said)


def test_nothing_on_a_sheet_is_called_safe() -> None:
    found = worked(joggle(load=LoadRow("engine", 0.35, 8.0, mm(60), None, 500.0)))

    words = [found.beam_words, found.strap.assumption, *(one.text for one in found.said)]
    assert not any("safe" in text.lower() for text in words)
