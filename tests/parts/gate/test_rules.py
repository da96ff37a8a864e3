"""Each rule with a case that fires it, a near miss that does not, and one nobody knows about."""

import pytest

from parts.gate import Facts, Sending
from parts.gate.rules import RULES
from tests.parts.gate.cases import facts, glue, oven, rules_of, sending, solder, thing

YES, NO, UNKNOWN = "yes", "no", "unknown"
BOLTS = {"is_lot": True, "materials": ("",)}

# Rule, piece, work: it fires.
FIRES: list[tuple[str, Facts, Sending]] = [
    ("H01", facts(joints=(solder(183),)), oven(153)),
    ("H02", facts(joints=(solder(227),)), oven(196)),
    ("H03", facts(joints=(solder(620),)), oven(None)),
    ("H00", facts(says={"hollow": None}), oven()),
    ("H00l", facts(**BOLTS), sending("plate")),
    ("H05", facts(joints=(glue(short_peak_c=185),)), oven(186)),
    ("H05", facts(joints=(glue(short_peak_c=200, short_peak_minutes=10),)), oven(190, 12)),
    ("H05", facts(joints=(glue("fast_epoxy"),)), oven()),
    ("H05", facts(joints=(glue("acrylic"),)), oven()),
    ("H06", facts(joints=(glue(),)), oven()),
    ("H06", facts(joints=(glue(short_peak_c=200),)), oven(180)),
    ("H07", facts(joints=(glue(is_hard=False, why_not="still hardening"),)), oven()),
    ("H07", facts(joints=(glue(is_hard=False, why_not="never timed"),)), sending("blast")),
    ("H07", facts(says={"glue": YES}), oven()),
    ("H08", facts(things=(thing("left_on", 189),)), oven(190)),
    ("H09", facts(says={"bearing": YES}), oven(121)),
    ("H09", facts(things=(thing("bearing", 121),)), oven(121)),
    ("H10", facts(says={"hollow": YES}), oven()),
    ("H10", facts(says={"hollow": YES}), sending("hot_dip")),
    ("H10", facts(says={"hollow": YES}), sending("weld")),
    ("H11", facts(says={"fuel": YES}), sending("blast")),
    ("H11", facts(says={"fuel": YES}), sending("weld")),
    ("H12", facts(materials=("cast_aluminium",)), oven()),
    ("H12", facts(says={"zinc": YES}), oven()),
    ("H13", facts(materials=("aluminium",), says={"aged": YES}), oven(150)),
    ("H13s", facts(says={"aged": YES, "safety": YES}), oven(150)),
    ("H14", facts(materials=("spring_steel",)), oven(180)),
    ("H15", facts(things=(thing("magnet", 80),)), oven()),
    ("H16", facts(things=(thing("lining", 232),)), oven(202)),
    ("H16", facts(things=(thing("lining", 180),)), oven(150)),
    ("H17", facts(says={"chrome": YES}), sending("paint")),
    ("H19", facts(says={"burnt_rubber": YES}), sending("blast")),
    ("H21", facts(says={"pressurised": YES}), sending("blast")),
    ("B01", facts(), sending("blast", grit="Sharp sand 0.5 mm")),
    ("B01", facts(), sending("blast", grit="Silica 40/70")),
    ("B02", facts(says={"lead_paint": YES}), sending("abrade", at_home=True)),
    ("B02", facts(says={"lead_paint": YES}), sending("burn", at_home=True)),
    ("B02p", facts(says={"lead_paint": YES}), sending("blast")),
    ("B03", facts(says={"asbestos": YES}), sending("blast")),
    ("B04", facts(says={"thin": YES}, thickness_mm=1.5), sending("blast", grit="Garnet")),
    ("B04s", facts(says={"panel": YES}, thickness_mm=1.2), sending("blast", grit="Glass bead")),
    ("B05", facts(says={"bores": YES}), sending("blast")),
    ("B05", facts(says={"threads": YES}, threads=("M10x1",)), sending("blast")),
    ("B06", facts(says={"oilways": YES}), sending("blast")),
    ("B06", facts(says={"bearing": YES}), sending("blast")),
    ("B07", facts(materials=("aluminium",)), sending("blast", grit="Steel grit G40")),
    ("B08", facts(), sending("blast", "powder", grit="Soda")),
    ("B12", facts(materials=("magnesium",)), sending("abrade", at_home=True)),
    ("B13", facts(says={"number": YES}), sending("blast")),
    ("M01", facts(says={"threads": YES}), oven()),
    ("M01", facts(says={"threads": YES}, threads=("M8",)), sending("plate")),
    ("M02", facts(says={"bores": YES}, play_mm=0.24), oven(film_um=120)),
    ("M03", facts(says={"earth": YES}), oven()),
    ("M04", facts(says={"clamped": YES, "safety": YES}), oven()),
    ("M04c", facts(says={"clamped": YES}), oven()),
    ("M05", facts(says={"friction": YES}), sending("paint")),
    ("P01", facts(strongest="12.9", **BOLTS), sending("plate")),
    ("P01", facts(materials=("spring_steel",)), sending("plate")),
    ("P01", facts(says={"hard": YES}), sending("strip")),
    ("P02", facts(strongest="10.9", **BOLTS), sending("plate", at_home=True)),
    ("P02p", facts(strongest="10.9", **BOLTS), sending("plate")),
    ("P02p", facts(strongest="12.9", **BOLTS), sending("plate", remarks="Bake for hydrogen")),
    ("P06", facts(strongest="10.9", **BOLTS), sending("hot_dip")),
    ("P06t", facts(says={"thin": YES}, thickness_mm=1.9), sending("hot_dip")),
    ("P08", facts(says={"zinc": YES}), sending("weld")),
    ("A11", facts(joints=(glue(),), says={"pressure_pipe": YES}), sending("paint")),
    ("A11c", facts(joints=(glue(),), says={"coolant_pipe": YES}), sending("paint")),
]

# The same, one step to the safe side: it does not fire.
NEAR_MISSES: list[tuple[str, Facts, Sending]] = [
    ("H01", facts(joints=(solder(183),)), oven(152)),
    ("H01", facts(joints=(solder(183),)), sending("paint", heat={"paint": (20, None)})),
    ("H02", facts(joints=(solder(227),)), oven(166)),
    ("H03", facts(), oven(None)),
    ("H03", facts(joints=(solder(620),)), oven(200)),
    ("H00", facts(), oven()),
    ("H00", facts(says={"hollow": None}), sending("machine")),
    ("H00l", facts(strongest="8.8", **BOLTS), sending("plate")),
    ("H05", facts(joints=(glue(short_peak_c=190),)), oven(190)),
    ("H05", facts(joints=(glue(short_peak_c=200, short_peak_minutes=12),)), oven(190, 12)),
    ("H05", facts(joints=(glue("anaerobic"),)), oven()),
    ("H06", facts(joints=(glue(short_peak_c=201),)), oven(180)),
    ("H07", facts(joints=(glue(),)), oven()),
    ("H07", facts(joints=(glue(is_hard=False, why_not="still hardening"),)), sending("machine")),
    ("H08", facts(things=(thing("left_on", 190),)), oven(190)),
    ("H09", facts(says={"bearing": YES}), oven(120)),
    ("H10", facts(says={"hollow": YES}), sending("blast")),
    ("H10", facts(says={"hollow": YES}), sending("paint", heat={"paint": (20, None)})),
    ("H11", facts(says={"fuel": YES}), sending("plate")),
    ("H12", facts(materials=("cast_aluminium",)), sending("paint")),
    ("H13", facts(materials=("aluminium",), says={"aged": YES}), oven(149)),
    ("H13s", facts(says={"aged": YES}), oven()),
    ("H14", facts(materials=("spring_steel",)), oven(179)),
    ("H15", facts(things=(thing("magnet", 250),)), oven()),
    ("H16", facts(things=(thing("lining", 232),)), oven(201)),
    ("H17", facts(says={"chrome": YES}), sending("blast")),
    ("H19", facts(), sending("blast")),
    ("H21", facts(says={"pressurised": YES}), sending("plate")),
    ("B01", facts(), sending("blast", grit="Garnet, no sand")),
    ("B01", facts(), sending("blast", grit="Silica-free slag")),
    ("B01", facts(), sending("blast", grit="Silicon carbide")),
    ("B01", facts(), sending("powder", grit="Sand")),
    ("B02", facts(says={"lead_paint": YES}), sending("paint", at_home=True)),
    ("B02", facts(says={"lead_paint": YES}), sending("blast")),
    ("B02p", facts(says={"lead_paint": YES}), sending("powder")),
    ("B03", facts(says={"asbestos": YES}), sending("plate")),
    ("B04", facts(says={"thin": YES}, thickness_mm=1.6), sending("blast", grit="Garnet")),
    ("B04", facts(says={"thin": YES}, thickness_mm=1.0), sending("blast", grit="Plastic bead")),
    ("B04s", facts(says={"panel": YES}, thickness_mm=1.3), sending("blast", grit="Garnet")),
    ("B04s", facts(says={"panel": YES}, thickness_mm=0.9), sending("blast", grit="Soda")),
    ("B05", facts(says={"bores": YES}, masks=("bore",)), sending("blast")),
    ("B05", facts(says={"threads": YES}, threads=("M8",)), sending("blast")),
    ("B06", facts(says={"bearing": YES}), oven()),
    ("B07", facts(materials=("aluminium",)), sending("blast", grit="Glass bead")),
    ("B07", facts(), sending("blast", grit="Steel grit G40")),
    ("B08", facts(), sending("blast", grit="Soda")),
    ("B12", facts(materials=("magnesium",)), sending("paint", at_home=True)),
    ("B13", facts(says={"number": YES}, masks=("plate",)), sending("blast")),
    ("M01", facts(says={"threads": YES}, masks=("thread_in",)), oven()),
    ("M01", facts(says={"threads": YES}, threads=("M10",)), sending("plate", film_um=7)),
    ("M02", facts(says={"bores": YES}, play_mm=0.25), oven(film_um=120)),
    ("M02", facts(says={"bores": YES}, masks=("bearing",)), oven(film_um=120)),
    ("M03", facts(says={"earth": YES}, masks=("earth",)), oven()),
    ("M04", facts(says={"clamped": YES, "safety": YES}, masks=("nut_seat",)), oven()),
    ("M04c", facts(says={"clamped": YES}, masks=("clamped",)), oven()),
    ("M05", facts(says={"friction": YES}, masks=("friction",)), oven()),
    ("P01", facts(strongest="12.9", **BOLTS), sending("plate", remarks="Bake for hydrogen")),
    ("P01", facts(strongest="10.9", **BOLTS), sending("plate")),
    ("P02", facts(strongest="8.8", **BOLTS), sending("plate", at_home=True)),
    ("P02p", facts(strongest="8.8", **BOLTS), sending("plate")),
    ("P06", facts(strongest="8.8", **BOLTS), sending("hot_dip")),
    ("P06t", facts(says={"thin": YES}, thickness_mm=2.0), sending("hot_dip")),
    ("P08", facts(says={"zinc": YES}), oven()),
    ("A11", facts(joints=(solder(620),), says={"pressure_pipe": YES}), sending("paint")),
    ("A11c", facts(joints=(glue(),)), sending("paint")),
]

# What nobody knows: what could disarm a rule counts as the worse; of the rest nothing is said.
NOT_KNOWN: list[tuple[str, Facts, Sending, bool]] = [
    ("H01", facts(says={"repair": UNKNOWN}), oven(153), True),
    ("H01", facts(joints=(solder(None, ""),)), oven(153), True),
    ("H01", facts(joints=(solder(220),)), oven(None), True),
    ("H02", facts(joints=(solder(240),)), oven(None), True),
    ("H03", facts(says={"left_on": UNKNOWN}), oven(None), True),
    ("H00", Facts(), oven(), True),
    ("H00l", facts(strongest="unknown", **BOLTS), sending("plate"), False),
    ("H05", facts(joints=(glue(short_peak_c=199),)), oven(None), True),
    ("H05", facts(joints=(glue("", short_peak_c=None),)), oven(), True),
    ("H05", facts(joints=(glue(short_peak_c=200, short_peak_minutes=19),)), oven(180, None), True),
    ("H06", facts(joints=(glue("hot_epoxy"),)), oven(), True),
    ("H07", facts(says={"glue": UNKNOWN}), sending("blast"), True),
    ("H08", facts(things=(thing("left_on", 70, assumed=True),)), oven(), True),
    ("H09", facts(says={"bearing": UNKNOWN}), oven(), True),
    ("H10", facts(says={"hollow": UNKNOWN}), oven(), True),
    ("H11", facts(says={"fuel": UNKNOWN}), sending("blast"), True),
    ("H12", facts(materials=("",)), oven(), False),
    ("H13", facts(materials=("aluminium",)), oven(), False),
    ("H13s", facts(materials=("aluminium",), says={"safety": YES}), oven(), False),
    ("H14", facts(materials=("",)), oven(), False),
    ("H15", facts(says={"left_on": UNKNOWN}), oven(), False),
    ("H16", facts(things=(thing("lining", 232),)), oven(None), False),
    ("H16", facts(things=(thing("lining", 180),)), oven(None), True),
    ("H17", Facts(), oven(), False),
    ("H19", Facts(), oven(), False),
    ("H21", Facts(), oven(), False),
    ("B01", facts(), sending("blast"), False),
    ("B02", Facts(), sending("abrade", at_home=True), False),
    ("B02p", Facts(), sending("blast"), False),
    ("B03", Facts(), sending("blast"), False),
    ("B04", facts(says={"thin": YES}), sending("blast"), True),
    ("B04s", facts(says={"panel": YES}), sending("blast"), True),
    ("B05", facts(says={"bores": UNKNOWN}), sending("blast"), True),
    ("B06", facts(says={"bearing": UNKNOWN}), sending("blast"), True),
    ("B07", facts(materials=("aluminium",)), sending("blast"), False),
    ("B08", facts(), sending("blast", "powder"), False),
    ("B12", facts(materials=("",)), sending("abrade", at_home=True), False),
    ("B13", Facts(), sending("blast"), False),
    ("M01", facts(says={"threads": UNKNOWN}), sending("plate"), True),
    (
        "M01",
        facts(says={"threads": YES}, threads=("M10", "odd one")),
        sending("plate", film_um=7),
        True,
    ),
    ("M02", facts(says={"bores": UNKNOWN}), sending("phosphate"), True),
    ("M03", Facts(), oven(), False),
    ("M04", facts(says={"safety": YES}), oven(), False),
    ("M04c", Facts(), oven(), False),
    ("M05", Facts(), oven(), False),
    ("P01", facts(strongest="unknown", **BOLTS), sending("plate"), True),
    ("P02", facts(**BOLTS), sending("plate", at_home=True), False),
    ("P02p", facts(**BOLTS), sending("plate"), False),
    ("P06", facts(strongest="unknown", **BOLTS), sending("hot_dip"), True),
    ("P06t", facts(says={"thin": YES}), sending("hot_dip"), True),
    ("P08", Facts(), sending("weld"), False),
    ("A11", facts(says={"glue": UNKNOWN, "pressure_pipe": YES}), sending("blast"), True),
    ("A11c", Facts(), sending("paint"), False),
]


def _named(case: tuple) -> str:  # type: ignore[type-arg]
    return str(case[0])


@pytest.mark.parametrize("case", FIRES, ids=_named)
def test_a_rule_fires(case: tuple[str, Facts, Sending]) -> None:
    rule, of, work = case

    assert rule in rules_of(of, work)


@pytest.mark.parametrize("case", NEAR_MISSES, ids=_named)
def test_a_near_miss_does_not_fire(case: tuple[str, Facts, Sending]) -> None:
    rule, of, work = case

    assert rule not in rules_of(of, work)


@pytest.mark.parametrize("case", NOT_KNOWN, ids=_named)
def test_what_is_not_known_counts_as_the_worse_or_says_nothing(
    case: tuple[str, Facts, Sending, bool],
) -> None:
    rule, of, work, fires = case

    assert (rule in rules_of(of, work)) is fires


@pytest.mark.parametrize("table", [FIRES, NEAR_MISSES, NOT_KNOWN], ids=["fires", "near", "unknown"])
def test_every_rule_has_a_case_of_each_sort(table: list) -> None:  # type: ignore[type-arg]
    assert {case[0] for case in table} == {rule.id for rule in RULES}


def test_every_rule_says_where_it_comes_from_and_is_one_of_a_kind() -> None:
    ids = [rule.id for rule in RULES]

    assert len(set(ids)) == len(ids)
    assert [
        rule.id for rule in RULES if not rule.source or not rule.says.endswith((".", "?"))
    ] == []
