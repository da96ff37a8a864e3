"""What must hold whatever the piece: a protection never makes it worse, the worst stands first."""

from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from parts.gate import Facts, Sending, fit_to_send
from parts.gate.questions import EVERY
from parts.models import Mask, Material, Process
from tests.parts.gate.cases import glue, solder, thing

SORTS = ["left_on", "bearing", "magnet", "lining"]
SAYS = st.sampled_from(["yes", "no", "unknown"])
PEAKS = st.one_of(st.none(), st.floats(20, 260))
JOINTS = st.lists(
    st.one_of(
        st.builds(solder, st.one_of(st.none(), st.floats(150, 900))),
        st.builds(
            glue,
            st.sampled_from(["steel_epoxy", "fast_epoxy", ""]),
            short_peak_c=PEAKS,
            is_hard=st.booleans(),
        ),
    ),
    max_size=3,
)
THINGS = st.lists(
    st.builds(thing, st.sampled_from(SORTS), st.floats(60, 300)),
    max_size=3,
)
FACTS = st.builds(
    Facts,
    materials=st.frozensets(st.sampled_from([*Material.values, ""]), min_size=1, max_size=3),
    answers=st.dictionaries(st.sampled_from(list(EVERY)), SAYS),
    joints=JOINTS.map(tuple),
    things=THINGS.map(tuple),
    masks=st.frozensets(st.sampled_from(Mask.What.values), max_size=3),
    threads=st.lists(st.sampled_from(["M8", "M10x1", "2 BA", "a thread"]), max_size=2).map(tuple),
    play_mm=st.one_of(st.none(), st.floats(0, 2)),
    thickness_mm=st.one_of(st.none(), st.floats(0.5, 10)),
    strongest=st.sampled_from(["", "8.8", "10.9", "12.9", "unknown"]),
)
WORK = st.builds(
    lambda processes, powder_c, **more: Sending(
        processes=tuple(processes), heat={"powder": (powder_c, None)}, **more
    ),
    st.lists(st.sampled_from(Process.values), min_size=1, max_size=3, unique=True),
    PEAKS,
    grit=st.sampled_from(["", "Garnet", "Soda", "Sharp sand"]),
    film_um=st.one_of(st.none(), st.floats(5, 200)),
    at_home=st.booleans(),
)


def _stops(facts: Facts, work: Sending) -> set[str]:
    return {found.rule for found in fit_to_send(facts, work) if found.stops}


@settings(max_examples=60, deadline=None)
@given(FACTS, WORK, st.sampled_from([what for what in Mask.What.values if what != "rubber"]))
def test_keeping_one_more_place_bare_adds_no_warning(
    facts: Facts, work: Sending, what: str
) -> None:
    kept = replace(facts, masks=facts.masks | {what})

    before = {found.rule for found in fit_to_send(facts, work)}
    assert {found.rule for found in fit_to_send(kept, work)} <= before


@settings(max_examples=40, deadline=None)
@given(FACTS, WORK)
def test_writing_a_bake_on_the_sheet_adds_no_stop(facts: Facts, work: Sending) -> None:
    baked = replace(work, remarks="Bake for hydrogen")

    assert _stops(facts, baked) <= _stops(facts, work)


@settings(max_examples=40, deadline=None)
@given(FACTS, WORK)
def test_everything_hard_adds_no_stop(facts: Facts, work: Sending) -> None:
    hard = replace(facts, joints=tuple(replace(joint, is_hard=True) for joint in facts.joints))

    assert _stops(hard, work) <= _stops(facts, work)


@settings(max_examples=60, deadline=None)
@given(FACTS, WORK, st.sampled_from(list(EVERY)))
def test_not_knowing_stops_whatever_yes_would(facts: Facts, work: Sending, question: str) -> None:
    def said(says: str) -> Facts:
        return replace(facts, answers={**facts.answers, question: says})

    assert _stops(said("no"), work) <= _stops(said("yes"), work) <= _stops(said("unknown"), work)


@settings(max_examples=40, deadline=None)
@given(FACTS, WORK)
def test_a_hotter_oven_forgives_nothing(facts: Facts, work: Sending) -> None:
    peak_c, minutes = work.heat["powder"]
    if peak_c is None:
        return
    hotter: Any = replace(work, heat={"powder": (peak_c + 20, minutes)})

    assert _stops(facts, work) <= _stops(facts, hotter)


@settings(max_examples=40, deadline=None)
@given(FACTS, WORK)
def test_the_worst_stands_first(facts: Facts, work: Sending) -> None:
    found = [one.severity for one in fit_to_send(facts, work)]

    assert found == sorted(found)
