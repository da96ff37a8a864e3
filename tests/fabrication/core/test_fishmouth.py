"""Wrap templates: every point of the cut must lie on the other tube."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import OutOfRange
from fabrication.core.fishmouth import mitre_height_mm, saddle_height_mm, saddle_template


@given(st.floats(0, 360), st.floats(5, 90), st.floats(5, 40), st.floats(0, 1), st.floats(-1, 1))
def test_every_point_of_the_cut_lies_on_the_header(
    around: float, angle: float, header: float, share: float, aside: float
) -> None:
    """The point is put where the branch is, in space: header along x, branch leaning by the
    angle towards +x in the plane of x and z, set off along y. Its distance from the x axis must
    be the header's radius."""
    branch = header * (0.2 + 0.7 * share)
    offset = (header - branch) * aside
    height = saddle_height_mm(
        around_deg=around,
        branch_radius_mm=branch,
        header_radius_mm=header,
        angle_deg=angle,
        offset_mm=offset,
    )
    lean, turn = math.radians(angle), math.radians(around)
    # The acute side of the joint is towards +x: there the branch surface is square to its axis.
    z = height * math.sin(lean) - branch * math.cos(turn) * math.cos(lean)
    y = offset + branch * math.sin(turn)

    assert math.hypot(y, z) == pytest.approx(header, rel=1e-9)
    assert z >= -1e-9


@pytest.mark.parametrize(
    ("around", "height"), [(0, 26.258975), (90, 12.124356), (180, 13.557269), (270, 17.972201)]
)
def test_a_leaning_offset_branch_by_hand(around: float, height: float) -> None:
    """r 11, H 17.5, at 60, offset 3: (sqrt(17.5^2 - (11 sin f + 3)^2) + 5.5 cos f) / sin 60."""
    aside = 11 * math.sin(math.radians(around)) + 3
    by_hand = (math.sqrt(17.5**2 - aside**2) + 5.5 * math.cos(math.radians(around))) / math.sqrt(
        0.75
    )

    found = saddle_height_mm(
        around_deg=around, branch_radius_mm=11, header_radius_mm=17.5, angle_deg=60, offset_mm=3
    )

    assert found == pytest.approx(by_hand, rel=1e-12)
    assert found == pytest.approx(height, abs=5e-7)


@pytest.mark.parametrize(
    ("around", "height"), [(0, 11), (30, 9.5263), (45, 7.7782), (60, 5.5), (90, 0)]
)
def test_equal_tubes_square_meet_along_a_cosine(around: float, height: float) -> None:
    found = saddle_height_mm(
        around_deg=around, branch_radius_mm=11, header_radius_mm=11, angle_deg=90
    )

    assert found == pytest.approx(11 * math.cos(math.radians(around)), abs=1e-6)
    assert found == pytest.approx(height, abs=5e-5)


@given(st.floats(1, 179), st.floats(2, 30))
def test_a_mitre_is_as_long_on_one_side_as_it_is_short_on_the_other(
    turn: float, radius: float
) -> None:
    """A public calculator page: long side less short side = OD tan(turn / 2)."""
    long, short = (
        mitre_height_mm(around_deg=around, tube_radius_mm=radius, turn_deg=turn)
        for around in (0, 180)
    )

    assert long - short == pytest.approx(2 * radius * math.tan(math.radians(turn) / 2), rel=1e-12)
    assert mitre_height_mm(around_deg=90, tube_radius_mm=radius, turn_deg=turn) == pytest.approx(
        0, abs=1e-9 * long
    )


class TestTemplate:
    sizes: dict[str, Any] = {"branch_od_mm": 22, "header_od_mm": 35, "angle_deg": 70}

    def test_the_strip_goes_once_round(self) -> None:
        strip = saddle_template(**self.sizes)

        assert len(strip) == 73
        assert [strip[0].around_deg, strip[-1].around_deg] == [0, 360]
        assert strip[-1].paper_mm == pytest.approx(math.pi * 22, rel=1e-12)
        assert strip[0].height_mm == pytest.approx(strip[-1].height_mm, abs=1e-9)
        assert strip[1].around_deg == 5

    def test_paper_lies_outside_the_tube(self) -> None:
        strip = saddle_template(**self.sizes, paper_mm=0.1)

        assert strip[-1].paper_mm == pytest.approx(math.pi * 22.1, rel=1e-12)

    def test_closed_at_the_root_the_heights_are_the_bores_on_the_outside_of_the_tube(self) -> None:
        outside, root = saddle_template(**self.sizes), saddle_template(**self.sizes, bore_mm=19.6)

        assert [p.paper_mm for p in root] == [p.paper_mm for p in outside]
        assert root[9].height_mm == saddle_height_mm(
            around_deg=45, branch_radius_mm=9.8, header_radius_mm=17.5, angle_deg=70
        )

    @pytest.mark.parametrize(
        "slip",
        [
            {"branch_od_mm": 0},
            {"header_od_mm": 21},
            {"angle_deg": 0},
            {"angle_deg": 90.1},
            {"offset_mm": 7},
            {"offset_mm": math.nan},
            {"bore_mm": 22},
            {"paper_mm": -1},
            {"points": 4},
        ],
    )
    def test_a_joint_that_cannot_be_is_refused(self, slip: dict[str, Any]) -> None:
        with pytest.raises(OutOfRange):
            saddle_template(**{**self.sizes, **slip})

    def test_a_mitre_that_folds_back_is_refused(self) -> None:
        with pytest.raises(OutOfRange):
            mitre_height_mm(around_deg=0, tube_radius_mm=11, turn_deg=180)
