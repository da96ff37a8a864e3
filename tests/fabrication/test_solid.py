"""What the view in space is told, against hand sums: where the tube runs, what lies at its ends."""

import json
import math
from typing import Any

import pytest

from fabrication.core.table_forms import part_bent
from fabrication.core.tube_path import BendRow, table_from_rows
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import Vec3
from fabrication.drawn.solid import (
    BEAD,
    HOSE,
    LOST,
    SheetFace,
    Zone,
    sheet_solid_of,
    solid_of,
)
from fabrication.drawn.spots import Place

RADIUS_MM = 45.0


def bent(*rows: tuple[float, float, float], last_mm: float) -> BendTable:
    typed = [BendRow(straight, twist, angle, RADIUS_MM) for straight, twist, angle in rows]
    return table_from_rows(rows=typed, last_straight_mm=last_mm)


def told(table: BendTable, **more: Any) -> dict[str, Any]:
    """The solid as the browser gets it: through JSON."""
    more.setdefault("numbers", range(1, len(table.bends) + 1))
    return json.loads(json.dumps(solid_of(table, od_mm=15.0, **more)))


# 100 ahead, left by 90, 50, up by 90, 60: the bench test of the signs.
RISING = bent((100, 0, 90), (50, 90, 90), last_mm=60)


def lengths(line: list[dict[str, Any]]) -> float:
    return sum(stretch["length_mm"] for stretch in line)


def test_straights_and_arcs_start_where_a_hand_sum_puts_them() -> None:
    line = told(RISING)["line"]

    assert [stretch["at"] for stretch in line] == [
        pytest.approx([0, 0, 0]),
        pytest.approx([100, 0, 0]),
        pytest.approx([145, 45, 0]),
        pytest.approx([145, 95, 0]),
        pytest.approx([145, 140, 45]),
    ]
    assert [stretch["bend"] for stretch in line] == [None, 1, None, 2, None]
    assert [stretch["radius_mm"] for stretch in line] == [0, 45, 0, 45, 0]


def test_each_stretch_says_which_way_it_goes_and_curls() -> None:
    line = told(RISING)["line"]

    ways = [1, 0, 0], [1, 0, 0], [0, 1, 0], [0, 1, 0], [0, 0, 1]
    assert [stretch["ahead"] for stretch in line] == [pytest.approx(way, abs=1e-7) for way in ways]
    assert line[1]["inward"] == pytest.approx([0, 1, 0], abs=1e-7)
    assert line[3]["inward"] == pytest.approx([0, 0, 1], abs=1e-7)


def test_the_scribed_line_stays_on_its_side_of_the_tube() -> None:
    """12:00 is the heel of bend 1: outside the curve, so right of the first leg (y is left) and
    away from where it came on the second; the rise of bend 2 leaves it there."""
    heels = [stretch["heel"] for stretch in told(RISING)["line"]]

    right, beyond = [0, -1, 0], [1, 0, 0]
    assert heels == [pytest.approx(way, abs=1e-7) for way in (right, right, beyond, beyond, beyond)]


def test_the_scribed_line_is_that_of_the_finished_pipe_when_only_bend_2_is_made() -> None:
    """Bend 2 is turned by 90: its heel is at 3:00, so 12:00 lies a quarter anticlockwise of it.

    Alone, bend 2 turns left; seen from end A its heel points right, and a quarter anticlockwise
    from the right is up.
    """
    alone = part_bent(RISING, made=[1])

    line = told(alone, numbers=[2], first_clock_deg=RISING.bends[1].clock_deg)["line"]

    assert line[0]["heel"] == pytest.approx([0, 0, 1], abs=1e-7)


def test_balloons_are_named_and_lean_off_the_tube() -> None:
    places = {one["name"]: one for one in told(RISING)["places"]}

    assert list(places) == ["A", "1", "2", "B"]
    assert places["A"]["lean"] == pytest.approx([-1, 0, 0])
    # The middle of a quarter bend of 45 mm: 45 sin 45 ahead, 45 (1 - cos 45) to the side.
    half = 45 * math.sqrt(0.5)
    assert places["1"]["at"] == pytest.approx([100 + half, 45 - half, 0], abs=1e-3)
    assert places["1"]["lean"] == pytest.approx([math.sqrt(0.5), -math.sqrt(0.5), 0])


def test_half_made_pipes_keep_the_numbers_of_their_bends() -> None:
    alone = told(part_bent(RISING, made=[1]), numbers=[2])

    assert [one["name"] for one in alone["places"]] == ["A", "2", "B"]
    assert [stretch["bend"] for stretch in alone["line"]] == [None, 2, None]


def test_a_bead_lies_round_its_middle_at_either_end() -> None:
    zones = [Zone(BEAD, "A", 10, 6, 1.0), Zone(BEAD, "B", 12, 8, 1.5)]

    at_a, at_b = told(RISING, zones=zones)["beads"]

    assert at_a["at"] == pytest.approx([8, 0, 0])
    assert (at_a["width_mm"], at_a["height_mm"]) == (4, 1.0)
    # End B is 105 up: 45 of the bend and 60; the bead 10 below it.
    assert at_b["at"] == pytest.approx([145, 140, 95])
    assert at_b["ahead"] == pytest.approx([0, 0, 1], abs=1e-7)


def test_a_hose_covers_its_length_from_its_end() -> None:
    (sleeve,) = told(RISING, zones=[Zone(HOSE, "B", 32)])["sleeves"]

    assert lengths(sleeve["line"]) == pytest.approx(32)
    assert sleeve["line"][0]["at"] == pytest.approx([145, 140, 105 - 32])


@pytest.mark.parametrize("lost_mm", [20.0, 60.0, 90.0])
def test_lost_ends_are_cut_off_exactly_and_nothing_is_drawn_twice(lost_mm: float) -> None:
    line = told(RISING, zones=[Zone(LOST, "A", 15), Zone(LOST, "B", lost_mm)])["line"]

    assert lengths(line) == pytest.approx(RISING.length_mm, abs=1e-3)
    assert line[0]["lost"] and line[0]["length_mm"] == 15
    assert lengths([one for one in line if one["lost"]]) == pytest.approx(15 + lost_mm, abs=1e-3)


def test_an_arc_cut_by_a_lost_end_stays_the_same_arc() -> None:
    """90 lost: 60 straight and 30 of the arc of bend 2, which is 70.686 long for 90 degrees."""
    line = told(RISING, zones=[Zone(LOST, "B", 90)])["line"]
    kept, lost = [one for one in line if one["bend"] == 2]

    assert lost["angle_deg"] == pytest.approx(30 / RADIUS_MM * 180 / math.pi, abs=1e-4)
    assert kept["angle_deg"] + lost["angle_deg"] == pytest.approx(90)
    turned = math.radians(kept["angle_deg"])
    assert lost["at"] == pytest.approx(
        [145, 95 + 45 * math.sin(turned), 45 * (1 - math.cos(turned))], abs=1e-3
    )


def test_a_pipe_that_is_lost_whole_is_all_lost() -> None:
    line = told(RISING, zones=[Zone(LOST, "A", 9999)])["line"]

    assert all(one["lost"] for one in line)
    assert lengths(line) == pytest.approx(RISING.length_mm, abs=1e-3)


def test_the_key_names_what_is_there_and_nothing_else() -> None:
    assert told(RISING)["zones"] == []
    assert told(RISING, zones=[Zone(HOSE, "A", 30), Zone(LOST, "B", 10)])["zones"] == [HOSE, LOST]


def test_a_straight_tube_is_a_solid_too() -> None:
    solid = told(table_from_rows(rows=[], last_straight_mm=300))

    assert solid["says"] == "The straight tube in space"
    assert [one["length_mm"] for one in solid["line"]] == [300]


def test_sheet_metal_is_told_as_its_triangles_and_outlines() -> None:
    corners = Vec3(0, 0, 0), Vec3(40, 0, 0), Vec3(40, 30, 0)

    solid = sheet_solid_of(
        faces=[SheetFace("Base", [corners])],
        edges=[[*corners, corners[0]]],
        bend_lines=[corners[:2]],
        places=[Place("1", corners[1], Vec3(1, 0, 0))],
        thickness_mm=2.0,
        says="The bracket in space, folded",
    )

    assert json.loads(json.dumps(solid)) == {
        "kind": "sheet",
        "says": "The bracket in space, folded",
        "thickness_mm": 2.0,
        "faces": [
            {"name": "Base", "bend": None, "triangles": [[[0, 0, 0], [40, 0, 0], [40, 30, 0]]]}
        ],
        "edges": [[[0, 0, 0], [40, 0, 0], [40, 30, 0], [0, 0, 0]]],
        "bend_lines": [[[0, 0, 0], [40, 0, 0]]],
        "places": [{"name": "1", "at": [40, 0, 0], "lean": [1, 0, 0]}],
        "zones": [],
    }
