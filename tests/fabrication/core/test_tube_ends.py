"""Beads, hoses, and the order of work at an end."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, Infeasible, OutOfRange
from fabrication.core.tube_ends import (
    HOUSE_DEFAULT,
    Bead,
    BeadSetting,
    BeadTool,
    EndForm,
    Work,
    bead_allowance,
    bead_setting,
    hose_fit,
    house_bead,
    loose_before_bend,
    work_at_end,
)


@pytest.mark.parametrize(
    ("od", "height", "centre"),
    [(4.75, 0.8, 6), (12, 0.8, 6), (12.1, 1.0, 8), (25, 1.0, 8), (28, 1.5, 8), (40, 1.5, 8),
     (42, 2.0, 10), (54, 2.0, 10)],
)  # fmt: skip
def test_the_house_bead_says_that_it_is_ours(od: float, height: float, centre: float) -> None:
    bead = house_bead(od_mm=od)

    assert bead == Bead(height, 4 * height, centre, HOUSE_DEFAULT)
    assert "house default" in bead.source


@pytest.mark.parametrize("od", [0, -5, 54.1])
def test_no_bead_is_guessed_for_larger_tube(od: float) -> None:
    with pytest.raises(OutOfRange):
        house_bead(od_mm=od)


class TestAllowance:
    @given(st.floats(2, 12), st.floats(0.05, 0.5), st.floats(12, 54))
    def test_the_bounds_are_lengths_and_volumes_added_up_strip_by_strip(
        self, width: float, share: float, od: float
    ) -> None:
        """Walks along the profile, an arc through three points, in 4000 strips: its length, and
        the length of straight tube that holds as much wall."""
        height = width * share
        mid = (od - 1.0) / 2
        radius = (width**2 / 4 + height**2) / (2 * height)
        length = turned = 0.0
        strips = 4000
        half = math.acos((radius - height) / radius)
        for strip in range(strips):
            angle = half * ((2 * strip + 1) / strips - 1)
            piece = radius * 2 * half / strips
            length += piece
            turned += piece * (mid + radius * math.cos(angle) - (radius - height))

        eaten = bead_allowance(bead=Bead(height, width, 8), od_mm=od, wall_mm=1.0)

        assert eaten.least_mm == 0
        assert eaten.along_mm == pytest.approx(length - width, rel=1e-5, abs=1e-6)
        assert eaten.most_mm == pytest.approx(turned / mid - width, rel=1e-5, abs=1e-6)
        assert 0 < eaten.along_mm < eaten.most_mm

    def test_a_28_mm_pipe(self) -> None:
        """OD 28, wall 1.2, bead 6 wide and 1.5 high: arc 6.9547 by a chord-and-rise table."""
        eaten = bead_allowance(bead=Bead(1.5, 6, 8), od_mm=28, wall_mm=1.2)

        assert eaten.along_mm == pytest.approx(0.9547, abs=5e-5)
        assert eaten.most_mm == pytest.approx(1.466, abs=5e-4)

    @pytest.mark.parametrize(
        ("bead", "wall"),
        [(Bead(0, 6, 8), 1), (Bead(3.1, 6, 8), 1), (Bead(1, 0, 8), 1), (Bead(1, 4, 8), 14)],
    )
    def test_a_bead_that_cannot_be_is_refused(self, bead: Bead, wall: float) -> None:
        with pytest.raises(OutOfRange):
            bead_allowance(bead=bead, od_mm=28, wall_mm=wall)


class TestHose:
    def test_the_parts_lie_in_a_row(self) -> None:
        """8 to the centre, half of 6, 3 behind, clip 12, 6 to the hose's end: 32 by hand."""
        fit = hose_fit(bead=Bead(1.5, 6, 8), clip_width_mm=12)

        assert fit.push_on_mm == 8 + 3 + 3 + 12 + 6
        assert fit.clip_centre_mm == 8 + 3 + 3 + 6
        assert fit.straight_needed_mm == 37

    @given(st.floats(1, 40), st.floats(4, 54))
    def test_the_clip_is_never_on_the_bead_and_always_on_the_hose(
        self, clip: float, od: float
    ) -> None:
        bead = house_bead(od_mm=od)

        fit = hose_fit(bead=bead, clip_width_mm=clip)

        assert fit.clip_centre_mm - clip / 2 > bead.centre_mm + bead.width_mm / 2
        assert fit.clip_centre_mm + clip / 2 < fit.push_on_mm < fit.straight_needed_mm

    def test_a_clip_of_no_width_is_refused(self) -> None:
        with pytest.raises(OutOfRange):
            hose_fit(bead=house_bead(od_mm=28), clip_width_mm=0)


class TestBeadSetting:
    bead = Bead(height_mm=1.5, width_mm=6, centre_mm=8)
    tool = BeadTool(shallowest_mm=5, deepest_mm=20, straight_needed_mm=30, stop_offset_mm=2)

    def test_a_tool_that_reaches_beads_the_finished_end(self) -> None:
        found = bead_setting(bead=self.bead, tool=self.tool, straight_mm=60)

        assert found == BeadSetting(stop_mm=6, depth_mm=8, trim_after_mm=0, before_bending=False)

    def test_a_tool_that_beads_deep_beads_first_and_trims_after(self) -> None:
        deep = BeadTool(shallowest_mm=14, deepest_mm=20, straight_needed_mm=30)

        found = bead_setting(bead=self.bead, tool=deep, straight_mm=60)

        assert (found.stop_mm, found.trim_after_mm, found.before_bending) == (14, 6, False)

    @pytest.mark.parametrize(("straight", "before"), [(30, False), (29.9, True)])
    def test_a_short_end_is_beaded_before_it_is_bent(self, straight: float, before: bool) -> None:
        found = bead_setting(bead=self.bead, tool=self.tool, straight_mm=straight)

        assert found.before_bending == before

    def test_the_tube_still_to_be_trimmed_counts_as_straight(self) -> None:
        deep = BeadTool(shallowest_mm=14, deepest_mm=20, straight_needed_mm=30)

        assert not bead_setting(bead=self.bead, tool=deep, straight_mm=24).before_bending
        assert bead_setting(bead=self.bead, tool=deep, straight_mm=23.9).before_bending

    def test_a_tool_that_meets_the_bend_beads_before_it(self) -> None:
        tool = BeadTool(5, 20, 30, enters_after_bend=False)

        assert bead_setting(bead=self.bead, tool=tool, straight_mm=60).before_bending

    def test_a_bead_out_of_reach_is_refused(self) -> None:
        shallow = BeadTool(shallowest_mm=2, deepest_mm=7, straight_needed_mm=30)

        with pytest.raises(Infeasible) as refusal:
            bead_setting(bead=self.bead, tool=shallow, straight_mm=60)

        assert refusal.value.kind == "bead_out_of_reach"

    @pytest.mark.parametrize(("held", "refused"), [(14, False), (14.1, True)])
    def test_a_bead_made_first_must_leave_enough_to_hold(self, held: float, refused: bool) -> None:
        """25 of straight less 8 to the centre and half of 6 leave 14."""

        def judge() -> str:
            try:
                setting = bead_setting(bead=self.bead, tool=self.tool, straight_mm=25, held_mm=held)
            except Infeasible as refusal:
                return refusal.kind
            return f"before bending: {setting.before_bending}"

        assert judge() == ("bead_in_the_way" if refused else "before bending: True")

    def test_a_tool_told_the_wrong_way_round_is_refused(self) -> None:
        with pytest.raises(CoreError) as refusal:
            bead_setting(bead=self.bead, tool=BeadTool(20, 5, 30), straight_mm=60)

        assert refusal.value.kind == "bad_tool"

    @pytest.mark.parametrize("slip", [{"straight_mm": -1}, {"straight_mm": 60, "held_mm": -1}])
    def test_negative_lengths_are_refused(self, slip: dict[str, float]) -> None:
        with pytest.raises(OutOfRange):
            bead_setting(bead=self.bead, tool=self.tool, **slip)


class TestOrderOfWork:
    @pytest.mark.parametrize("form", list(EndForm))
    @pytest.mark.parametrize("form_first", [False, True])
    @pytest.mark.parametrize("loose_first", [False, True])
    def test_rules_that_hold_at_every_end(
        self, form: EndForm, form_first: bool, loose_first: bool
    ) -> None:
        steps = work_at_end(
            form=form,
            loose=["nut", "sleeve"],
            form_before_bending=form_first,
            loose_before_bending=loose_first,
            trim_after_mm=2.0,
        )
        works = [step.work for step in steps]

        assert works[:2] == [Work.CUT_SQUARE, Work.DEBURR]
        assert [step.part for step in steps if step.part] == ["nut", "sleeve"]
        assert works.count(Work.BEND) == 1
        last_on = max(i for i, work in enumerate(works) if work is Work.SLIDE_ON)
        for index, work in enumerate(works):
            if work in (Work.BEAD, Work.FLARE):
                assert index > last_on
                assert Work.DEBURR in works[:index]
                assert (index < works.index(Work.BEND)) == form_first
            if work is Work.TRIM:
                assert works[index + 1] is Work.DEBURR
        if form_first or loose_first:
            assert last_on < works.index(Work.BEND)
        else:
            assert last_on > works.index(Work.BEND)

    def test_each_form_is_made_once(self) -> None:
        made = {form: [step.work for step in work_at_end(form=form)][3:] for form in EndForm}

        assert made == {EndForm.PLAIN: [], EndForm.BEAD: [Work.BEAD], EndForm.FLARE: [Work.FLARE]}

    def test_spare_tube_comes_off_after_bending_and_before_the_nut(self) -> None:
        steps = work_at_end(form=EndForm.FLARE, loose=["nut"], spare_mm=30)

        assert [str(step.work) for step in steps] == [
            "cut_square",
            "deburr",
            "bend",
            "trim",
            "deburr",
            "slide_on",
            "flare",
        ]

    def test_a_nut_on_early_stays_on_while_the_spare_comes_off(self) -> None:
        steps = work_at_end(
            form=EndForm.FLARE, loose=["nut"], spare_mm=30, loose_before_bending=True
        )

        assert [str(step.work) for step in steps] == [
            "cut_square",
            "deburr",
            "slide_on",
            "bend",
            "trim",
            "deburr",
            "flare",
        ]

    def test_a_bead_made_too_deep_is_trimmed_after(self) -> None:
        steps = work_at_end(form=EndForm.BEAD, trim_after_mm=4)

        assert [str(step.work) for step in steps][-3:] == ["bead", "trim", "deburr"]

    def test_an_end_formed_first_cannot_have_spare(self) -> None:
        with pytest.raises(CoreError) as refusal:
            work_at_end(form=EndForm.BEAD, form_before_bending=True, spare_mm=10)

        assert refusal.value.kind == "spare_behind_form"

    @pytest.mark.parametrize("slip", [{"spare_mm": -1}, {"trim_after_mm": -1}])
    def test_negative_lengths_are_refused(self, slip: dict[str, Any]) -> None:
        with pytest.raises(OutOfRange):
            work_at_end(form=EndForm.PLAIN, **slip)

    @pytest.mark.parametrize(("straight", "before"), [(33, False), (32.9, True)])
    def test_loose_parts_go_on_early_where_the_end_is_short(
        self, straight: float, before: bool
    ) -> None:
        assert loose_before_bend(straight_mm=straight, loose_mm=18, tool_grip_mm=15) == before

    def test_lengths_below_nothing_are_refused(self) -> None:
        with pytest.raises(OutOfRange):
            loose_before_bend(straight_mm=-1, loose_mm=18, tool_grip_mm=15)
