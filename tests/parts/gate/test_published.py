"""Published figures behind the rules, each against its source."""

import pytest

from parts import heat_seeds, threads
from parts.gate import film
from parts.gate.heat import pressure_ratio
from tests.parts.gate.cases import facts, oven, rules_of, sending, solder

# Where each tin-lead and lead-free solder begins to melt. [C]
# Source: soldering alloy table after EN 29453 / BS 219, read.
SOLIDUS_C = {
    "Tin-lead 63/37": 183,
    "Tin-lead 60/40": 183,
    "Tin-lead 50/50": 183,
    "Tin-lead 40/60, plumber's": 183,
    "Tin-lead 30/70, body solder": 183,
    "Tin-lead 20/80": 183,
    "Tin-lead-silver 62/36/2": 179,
    "Tin-silver-copper 305, lead-free": 217,
    "Tin-silver 96/4, lead-free": 221,
    "Tin-copper 99/1, lead-free": 227,
    "Pure tin": 232,
    "Tin-antimony 95/5": 236,
    "Lead-tin-silver 93.5/5/1.5": 296,
}
# Source: table of a maker of silver alloys with ISO 17672 numbers, read; the last two from memory.
BRAZES_C = {
    "Silver braze 56 % (Ag 156)": (620, 650),
    "Silver braze 55 % (Ag 155)": (630, 660),
    "Silver braze 45 % (Ag 145)": (640, 680),
    "Silver braze 40 %": (650, 710),
    "Silver braze 34 % (Ag 134)": (630, 730),
    "Silver braze 30 %": (665, 755),
    "Brazing brass (Cu 470a)": (875, 895),
    "Copper-phosphorus, not for steel": (645, 800),
}
# Sources: seal makers' chart and bearing supplier, read: the first eight; the others from memory.
LIMITS_C = {
    "Nitrile rubber (NBR) seal": 100,
    "Neoprene": 100,
    "Polyurethane": 80,
    "EPDM rubber": 130,
    "Silicone rubber": 200,
    "Fluoro-rubber (FKM)": 200,
    "PTFE": 260,
    "Bearing, standard steel": 121,
    "Bearing with a nylon cage": 121,
    "Tinned or terne steel": 232,
    "Natural rubber bush": 80,
    "Nylon (PA66)": 120,
    "Acetal": 100,
    "PVC, wiring": 70,
    "Leather": 70,
    "Fibre washer": 100,
    "Body filler": 120,
    "Seam sealer": 150,
    "Underseal": 80,
    "Magnet, neodymium": 80,
    "Magnet, ferrite": 250,
    "Magnet, samarium-cobalt": 250,
    "Magnet, alnico": 450,
    "White-metal lining": 180,
}


def test_the_table_of_alloys_has_the_published_melting_points() -> None:
    soft = {name: solidus for family, name, solidus, _, _ in heat_seeds.ALLOYS if family == "soft"}
    hard = {
        name: (solidus, liquidus)
        for family, name, solidus, liquidus, _ in heat_seeds.ALLOYS
        if family != "soft"
    }

    assert soft == SOLIDUS_C
    assert hard == BRAZES_C


def test_the_table_of_limits_has_the_published_ones() -> None:
    assert {name: limit_c for _, name, limit_c, _ in heat_seeds.LIMITS} == LIMITS_C


@pytest.mark.parametrize("name", [name for name, at in SOLIDUS_C.items() if at == 183])
@pytest.mark.parametrize("peak_c", [180, 200])
def test_every_tin_lead_solder_fails_an_ordinary_powder_cure(name: str, peak_c: float) -> None:
    """Powder cures at 180 to 200 C metal; all mixes of 20 to 63 % tin begin to melt at 183 C."""
    assert "H01" in rules_of(facts(joints=(solder(SOLIDUS_C[name], name),)), oven(peak_c))


@pytest.mark.parametrize(("name", "span"), BRAZES_C.items())
def test_every_braze_clears_a_paint_oven(name: str, span: tuple[float, float]) -> None:
    found = rules_of(facts(joints=(solder(span[0], name),)), oven(200))

    assert found & {"H01", "H02"} == set()


def test_air_shut_in_at_20_c_has_1_6_times_its_pressure_at_200_c() -> None:
    """Gas law: 473.15 K over 293.15 K, an excess of 0.62 bar at one atmosphere (1.013 bar)."""
    ratio = pressure_ratio(peak_c=200)

    assert ratio == pytest.approx(1.61, abs=0.005)
    assert (ratio - 1) * 1.013 == pytest.approx(0.62, abs=0.005)


@pytest.mark.parametrize(("film_um", "grown_um"), [(5, 20), (12, 48)])
def test_a_coat_grows_a_60_degree_thread_by_four_times_its_thickness(
    film_um: float, grown_um: float
) -> None:
    """Source: ISO 4042, table of coating thickness against fundamental deviation, read."""
    assert film.growth_um(film_um=film_um, angle_deg=60) == pytest.approx(grown_um)


@pytest.mark.parametrize(("angle_deg", "times"), [(60, 4.00), (55, 4.33), (47.5, 4.97)])
def test_flatter_forms_grow_more(angle_deg: float, times: float) -> None:
    """Geometry, 2 over the sine of half the angle: metric, Whitworth and BA forms."""
    assert film.growth_um(film_um=1, angle_deg=angle_deg) == pytest.approx(times, abs=0.005)


@pytest.mark.parametrize(
    ("name", "room_um"),
    [("M6", 26), ("M8", 28), ("M10", 32), ("M12", 34), ("M16", 38), ("M20", 42)],
)
def test_the_allowance_of_a_6g_screw(name: str, room_um: float) -> None:
    """Source: ISO 965-1, es of 6g in a supplier's table, read; the formula gives it within 1 um."""
    thread = threads.find(name)

    assert thread is not None
    assert film.room_um(pitch_mm=thread.pitch_mm) == pytest.approx(room_um, abs=1)


@pytest.mark.parametrize(("name", "film_um"), [("M8", 7), ("M10", 8), ("M12", 8.5)])
def test_the_most_a_thread_takes(name: str, film_um: float) -> None:
    """Source: the same allowances over four: zinc just fits, powder (60 um and more) never."""
    thread = threads.find(name)

    assert thread is not None
    most = film.most_film_um(pitch_mm=thread.pitch_mm, angle_deg=thread.angle_deg)
    assert most == pytest.approx(film_um, abs=0.25)


@pytest.mark.parametrize(
    ("name", "tensile_mpa", "proof_mpa"),
    [("10.9", 1040, 830), ("12.9", 1220, 970), ("9.8", 900, 650)],
)
def test_bolts_that_acid_makes_brittle_are_those_from_1000_mpa(
    name: str, tensile_mpa: int, proof_mpa: int
) -> None:
    """Sources: ISO 898-1 for the strength, ISO 9587 and 9588 for the 1000 MPa, read."""
    row = next(one for one in threads.PROPERTY_CLASSES if one.name == name)
    at_a_plater = rules_of(facts(materials=("",), strongest=name, is_lot=True), sending("plate"))

    assert (row.tensile_mpa, row.proof_mpa) == (tensile_mpa, proof_mpa)
    assert bool(at_a_plater & {"P01", "P02p"}) is (tensile_mpa >= 1000)
