"""What people type in a measurement box: the right value, or a refusal that names the fix.

Conversion factors are from NIST Special Publication 811 (2008), appendix B.8, as printed there;
the inch is 25.4 mm by the international agreement of 1959, the pound 0.453 592 37 kg.
"""

import subprocess
import sys
import time
from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from garage import units
from garage.units import (
    AmbiguousFigure,
    AmbiguousLength,
    BadFigure,
    BadLength,
    Mark,
    System,
    format_both,
    format_length,
    format_minutes,
    format_number,
    format_temperature,
    format_torque,
    parse_length,
    parse_minutes,
    parse_money,
    parse_number,
    parse_temperature,
    parse_torque,
    parse_weight,
)

INCH = Fraction(254, 10)
MARKS: tuple[Mark, ...] = (".", ",")
SYSTEMS: tuple[System, ...] = ("mm", "in")


def mm(text: str, default_unit: System = "mm", mark: Mark = ".") -> Fraction:
    return parse_length(text, default_unit=default_unit, decimal_mark=mark).exact_mm


# ---- texts a general unit library reads wrongly, silently or never


@pytest.mark.parametrize("mark", MARKS)
@pytest.mark.parametrize("default_unit", SYSTEMS)
@pytest.mark.parametrize(
    ("text", "wanted_mm"),
    [
        ("1 1/2 in", INCH * 3 / 2),
        ('3/16"', INCH * 3 / 16),
        ('1 1/2"', INCH * 3 / 2),
        ("12,5 mm", Fraction(25, 2)),
        ("2 ft 3 in", INCH * 27),
        ("2'3\"", INCH * 27),
    ],
)
def test_bench_texts_read_the_same_in_every_garage(
    text: str, wanted_mm: Fraction, default_unit: System, mark: Mark
) -> None:
    assert mm(text, default_unit, mark) == wanted_mm


def test_torques_and_temperatures_are_what_the_manual_means() -> None:
    assert parse_torque("25 Nm", decimal_mark=".") == 25
    # NIST SP 811: pound-force foot = 1.355 818 N m
    assert parse_torque("18 ft lb", decimal_mark=".") == pytest.approx(18 * 1.355818, rel=5e-7)
    assert parse_temperature("20 °C", decimal_mark=".") == 20


def test_a_tower_of_powers_is_refused_at_once() -> None:
    started = time.perf_counter()

    with pytest.raises(BadLength):
        mm("9**9**9")
    with pytest.raises(BadLength):
        mm("9" * 1_000_000)

    assert time.perf_counter() - started < 0.5


@pytest.mark.parametrize(
    "text",
    ["M6", "m8x1.25", "M10 x 1", "5/16-18 UNC", "5/16 UNF", "1/4-20", "10-32", "#10-32", "2BA",
     "0 BA", "1/4 BSF", '1/4" BSP', "G1/4", "G 1/8", "1/4 brass", "3/8 Whit", "UNC 5/16"],
)  # fmt: skip
def test_a_thread_is_sent_to_its_own_box(text: str) -> None:
    with pytest.raises(BadLength, match="That is a thread"):
        mm(text)


# ---- other spellings


@pytest.mark.parametrize(
    ("text", "wanted_mm"),
    [
        ("25", 25), ("25.4mm", INCH), ("-3 mm", -3), ("−3 mm", -3), ("+3", 3),
        (".5", Fraction(1, 2)),
        ("2,5 cm", 25), ("1.5 m", 1500), ("60 µm", Fraction(6, 100)), ("60 μm", Fraction(6, 100)),
        ("60 um", Fraction(6, 100)), ("60 microns", Fraction(6, 100)), ("10 thou", INCH / 100),
        ("1-1/2 in", INCH * 3 / 2), ("1½″", INCH * 3 / 2), ("⅜ in", INCH * 3 / 8),
        ("⅝ in.", INCH * 5 / 8), ("¼ inch", INCH / 4), ("¾ inches", INCH * 3 / 4),
        ("⅛”", INCH / 8), ("⅞''", INCH * 7 / 8), ("2' 3 1/2\"", INCH * Fraction(55, 2)),
        ("2’ 3½”", INCH * Fraction(55, 2)),
        ("2′-3″", INCH * 27), ("2 feet 3 inches", INCH * 27), ("2' 3", INCH * 27),
        ("2'", INCH * 24),
        ("1 1/2 ft", INCH * 18), ("-2'3\"", INCH * -27), ("1 /2 in", INCH / 2), ("3 IN", INCH * 3),
        ("\u00a012.5\u202fmm ", Fraction(25, 2)), ("1,250.5", Fraction(2501, 2)),
        ("1.250,5", Fraction(2501, 2)), ("100,000.0", 100_000), ("0,250", Fraction(1, 4)),
        ("1234,500", Fraction(2469, 2)), ("2'3,125\"", INCH * Fraction("27.125")),
        ("1 1/2 mm", Fraction(3, 2)),
    ],
)  # fmt: skip
def test_the_usual_spellings_are_understood(text: str, wanted_mm: Fraction) -> None:
    assert mm(text) == wanted_mm


def test_a_length_keeps_the_text_and_the_side_of_the_rule() -> None:
    length = parse_length(' 3/16" ', default_unit="mm", decimal_mark=".")

    assert (length.mm, length.typed, length.unit, length.system) == (4.7625, '3/16"', "in", "in")
    assert parse_length("2'3\"", default_unit="mm", decimal_mark=".").unit == "in"
    assert parse_length("9", default_unit="mm", decimal_mark=".").system == "mm"


# ---- two readings


@pytest.mark.parametrize(
    ("text", "mark", "offers"),
    [
        ("1,250", ".", ("1.25 mm", "1250 mm")),
        ("1.250", ",", ("1,25 mm", "1250 mm")),
        ("1,000 in", ".", ("1 in", "1000 in")),
        ("-12,500", ".", ("-12.5 mm", "-12500 mm")),
        ("3/16", ".", ("3/16 in", "3/16 mm")),
        ("1½", ",", ("1 1/2 in", "1 1/2 mm")),
    ],
)
def test_two_readings_are_both_offered_and_neither_taken(
    text: str, mark: Mark, offers: tuple[str, str]
) -> None:
    with pytest.raises(AmbiguousLength) as caught:
        mm(text, "mm", mark)

    assert caught.value.offers == offers
    assert all(offer in caught.value.message for offer in offers)
    for reading, offer in zip(caught.value.readings, offers, strict=True):
        assert mm(offer, "mm", mark) == reading.exact_mm


def test_our_own_mark_is_believed_and_so_is_the_only_possible_reading() -> None:
    assert mm("1.250", mark=".") == Fraction(5, 4)
    assert mm("1,250", mark=",") == Fraction(5, 4)
    assert mm("3/16", "in") == INCH * 3 / 16
    # 1250 m of pipe is on no car.
    assert mm("1,250 m") == 1250


def test_other_figures_follow_the_same_comma_rule() -> None:
    assert parse_number("12,5", decimal_mark=".") == 12.5
    assert parse_number("-0.125", decimal_mark=".") == -0.125
    boxes: list[tuple[Callable[..., Any], str]] = [
        (parse_number, "1,250"), (parse_torque, "1,250 N m"), (parse_weight, "1,250 g"),
        (parse_minutes, "1,250 h"), (parse_money, "1,250"), (parse_temperature, "1,250 C"),
    ]  # fmt: skip
    for parse, text in boxes:
        with pytest.raises(AmbiguousFigure) as caught:
            parse(text, decimal_mark=".")
        assert [offer.split()[0] for offer in caught.value.offers] == ["1.25", "1250"]


# ---- refusals


@pytest.mark.parametrize(
    ("text", "fix"),
    [
        ("", "for example 12.5 mm"), ("   ", "for example 12.5 mm"), ("inf", "such as 12.5 mm"),
        ("nan", "such as 12.5 mm"), ("-inf mm", "such as 12.5 mm"), ("1e999", "such as 12.5 mm"),
        ("1e3 mm", "such as 12.5 mm"), ("0x10", "such as 12.5 mm"), ("1_000", "such as 12.5 mm"),
        ("5.", "such as 12.5 mm"), ("--5", "such as 12.5 mm"), ("5 mil", "such as 12.5 mm"),
        ("5 km", "such as 12.5 mm"), ("5 mm²", "such as 12.5 mm"), ("5² mm", "such as 12.5 mm"),
        ("١٢", "such as 12.5 mm"), ("1 - 1/2", "such as 12.5 mm"), ("10-12 mm", "such as 12.5 mm"),
        ("1,2,3", "such as 12.5 mm"), ("1.5 1/2", "such as 12.5 mm"), ("½½", "such as 12.5 mm"),
        ("2.5' 3\"", "such as 12.5 mm"), ("3\" 2'", "such as 12.5 mm"),
        ("25 Nm", "such as 12.5 mm"),
        ("1 250 mm", "without a space"), ("2' 13\"", "less than 12 in"), ("1/0", "at the bottom"),
        ("1/5000", "at the bottom"), ("11/2", "Write 5 1/2"), ("1 3/2 in", "Write 2 1/2"),
        ("2000 m", "Check the figure and the unit"), ("12.5 mm or so, about there", "Too long"),
    ],
)  # fmt: skip
def test_nonsense_is_refused_with_the_fix(text: str, fix: str) -> None:
    with pytest.raises(BadLength) as caught:
        mm(text)

    assert fix in caught.value.message
    assert not isinstance(caught.value, AmbiguousFigure)


@pytest.mark.parametrize(
    ("parse", "text", "fix"),
    [
        (parse_torque, "25", "Write the unit too"), (parse_torque, "5 mN", "such as 25 N m"),
        (parse_torque, "25 J", "such as 25 N m"), (parse_torque, "-5 Nm", "without a minus"),
        (parse_torque, "10001 N m", "Check the figure"), (parse_temperature, "20", "the unit too"),
        (parse_temperature, "-274 C", "colder"), (parse_temperature, "-460 F", "colder"),
        (parse_temperature, "293 K", "such as 20 C"), (parse_weight, "1 lb 17 oz", "less than 16"),
        (parse_weight, "-1 kg", "without a minus"), (parse_minutes, "90", "the unit too"),
        (parse_minutes, "1 h 60", "less than 60"), (parse_minutes, "1:5", "such as 1 h 25"),
        (parse_minutes, "1:75", "less than 60"), (parse_minutes, "90.5 min", "whole minutes"),
        (parse_minutes, "-5 min", "without a minus"), (parse_money, "£12.50", "currency sign"),
        (parse_money, "12.505", "two places"), (parse_money, "1.250", "two places"),
        (parse_money, "1/3", "two places"), (parse_number, "12 mm", "such as 12.5"),
        (parse_number, "nan", "such as 12.5"),
    ],
)  # fmt: skip
def test_other_boxes_refuse_with_the_fix(parse: Callable[..., Any], text: str, fix: str) -> None:
    with pytest.raises(BadFigure) as caught:
        parse(text, decimal_mark=".")

    assert fix in caught.value.message


# ---- against printed factors and an open library


def test_factors_are_those_printed_in_sp_811() -> None:
    assert mm("1 in") == Fraction("25.4")
    assert mm("1 ft") == Fraction("304.8")
    assert mm("1 thou") == Fraction("0.0254")  # printed there as the mil
    assert mm("1 micron") == Fraction("0.001")
    for text, printed_nm in (
        ("1 lbf ft", 1.355818), ("1 lbf in", 0.1129848), ("1 kgf m", 9.80665),
    ):  # fmt: skip
        assert parse_torque(text, decimal_mark=".") == pytest.approx(printed_nm, rel=5e-7)
    # More digits than SP 811 prints: 0.45359237 kg x 9.80665 m/s2 x 0.3048 m.
    assert parse_torque("1 lbf ft", decimal_mark=".") == pytest.approx(1.3558179483, abs=5e-11)
    assert parse_weight("1 lb", decimal_mark=".") == 453.59237
    assert parse_weight("1 oz", decimal_mark=".") == pytest.approx(28.34952, abs=5e-6)
    assert parse_weight("1 lb 3 oz", decimal_mark=".") == pytest.approx(19 * 28.34952, abs=1e-4)
    for degrees_f, degrees_c in ((32, 0), (212, 100), (-40, -40), (68, 20)):
        assert parse_temperature(f"{degrees_f} F", decimal_mark=".") == degrees_c


def test_our_few_units_agree_with_the_full_list_of_the_library() -> None:
    full: pint.UnitRegistry[Any] = pint.UnitRegistry()
    ours = {
        "lbf ft": full.Quantity(1, "force_pound * foot"),
        "lbf in": full.Quantity(1, "force_pound * inch"),
        "kgf m": full.Quantity(1, "force_kilogram * meter"),
    }

    for text, quantity in ours.items():
        wanted_nm = quantity.to("newton * meter").magnitude
        assert parse_torque(f"1 {text}", decimal_mark=".") == pytest.approx(wanted_nm, rel=1e-12)


def test_the_library_is_loaded_only_for_a_conversion_and_starts_quickly() -> None:
    script = (
        "import sys; from garage.units import parse_length\n"
        "parse_length('12.5', default_unit='mm', decimal_mark='.')\n"
        "print('pint' in sys.modules)"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "False"

    units._registry.cache_clear()
    started = time.perf_counter()
    units._registry()
    assert time.perf_counter() - started < 0.1


@pytest.mark.parametrize(
    "text",
    ["25 Nm", "25 N m", "25 N·m", "25 N-m", "25 N.m", "25 nm", "2,5493 kgf m", "2.5493 mkg"],
)
def test_newton_metres_have_many_spellings(text: str) -> None:
    assert parse_torque(text, decimal_mark=".") == pytest.approx(25, abs=0.001)


@pytest.mark.parametrize("text", ["18 lbf ft", "18 lb ft", "18 ft-lb", "18 ft.lbs", "18 lbs-ft"])
def test_foot_pounds_have_many_spellings(text: str) -> None:
    assert parse_torque(text, decimal_mark=".") == pytest.approx(24.4047, abs=5e-5)
    assert parse_torque("18", decimal_mark=".", default_unit="lbf ft") == parse_torque(
        text, decimal_mark="."
    )


def test_time_and_money_are_whole_minutes_and_pence() -> None:
    for text, minutes in (
        ("1 h 25", 85), ("85 min", 85), ("1:25", 85), ("1.5 h", 90), ("1,5 h", 90), ("1h25m", 85),
        ("1 h 05 min", 65), ("0:10", 10), ("1 1/2 hours", 90), ("0.33 h", 20), ("0 min", 0),
    ):  # fmt: skip
        assert parse_minutes(text, decimal_mark=".") == minutes
    bills: list[tuple[str, Mark, str]] = [
        ("12.5", ".", "12.50"), ("12,50", ".", "12.50"), ("1,250.50", ".", "1250.50"),
        ("1.250,5", ",", "1250.50"), ("-3", ".", "-3.00"), ("0", ",", "0.00"),
    ]  # fmt: skip
    for text, mark, amount in bills:
        parsed = parse_money(text, decimal_mark=mark)
        assert (parsed, parsed.as_tuple().exponent) == (Decimal(amount), -2)


# ---- written back


@given(st.integers(-64 * 400, 64 * 400), st.sampled_from(MARKS))
def test_every_64th_of_an_inch_is_read_back_as_written(sixty_fourths: int, mark: Mark) -> None:
    length_mm = float(INCH * sixty_fourths / 64)

    shown = format_length(length_mm, unit="in", decimal_mark=mark)

    assert parse_length(shown, default_unit="mm", decimal_mark=mark).mm == length_mm


@given(st.integers(-1_000_000, 1_000_000), st.sampled_from(MARKS))
def test_every_hundredth_of_a_millimetre_is_read_back_as_written(
    hundredths: int, mark: Mark
) -> None:
    length_mm = hundredths / 100

    shown = format_length(length_mm, unit="mm", decimal_mark=mark)

    assert parse_length(shown, default_unit="in", decimal_mark=mark).mm == length_mm


@given(st.integers(0, 99_999), st.integers(0, 99_999), st.sampled_from(MARKS))
def test_torques_and_times_are_read_back_as_written(tenths: int, minutes: int, mark: Mark) -> None:
    shown = format_torque(tenths / 10, decimal_mark=mark)

    assert parse_torque(shown, decimal_mark=mark) == tenths / 10
    assert parse_minutes(format_minutes(minutes), decimal_mark=mark) == minutes


@pytest.mark.parametrize(
    ("length_mm", "unit", "typed", "shown"),
    [
        (12.5, "mm", None, "12.5 mm (0.492 in)"), (12.5, "in", None, "0.492 in (12.5 mm)"),
        (38.1, "mm", None, "38.1 mm (1 1/2 in)"), (4.76, "in", None, "3/16 in (4.76 mm)"),
        (0, "in", None, "0 in (0 mm)"), (-38.1, "in", None, "-1 1/2 in (-38.1 mm)"),
        (25.4, "in", None, "1 in (25.4 mm)"), (0.06, "mm", None, "0.06 mm (0.0024 in)"),
        (0.005, "mm", None, "0.005 mm (0.0002 in)"),  # not "0 in", though within 0.01 mm of it
        (38.1, "mm", "1 1/2 in", "1 1/2 in (38.1 mm)"), (685.8, "mm", "2'3\"", "2'3\" (685.8 mm)"),
        (12.5, "in", "12.5", "12.5 mm (0.492 in)"), (12.7, "in", "½", "½ in (12.7 mm)"),
        (20.0, "mm", "1 1/2 in", "20 mm (0.787 in)"),  # the text is out of date
        (1.25, "mm", "1,250", "1.25 mm (0.049 in)"),  # typed where the comma is the mark
    ],
)  # fmt: skip
def test_both_systems_are_shown_the_typed_one_first(
    length_mm: float, unit: System, typed: str | None, shown: str
) -> None:
    assert format_both(length_mm, unit=unit, decimal_mark=".", typed=typed) == shown


def test_marks_hours_and_torques_are_written_as_people_write_them() -> None:
    assert format_both(12.5, unit="mm", decimal_mark=",") == "12,5 mm (0,492 in)"
    assert format_torque(24.4047, unit="lbf ft", decimal_mark=".") == "18 lbf ft"
    assert format_torque(24.4047, decimal_mark=",") == "24,4 N m"
    assert [format_minutes(m) for m in (190, 65, 120, 45, 0)] == [
        "3 h 10", "1 h 05", "2 h", "45 min", "0 min",
    ]  # fmt: skip


@pytest.mark.parametrize("value", [float("inf"), float("nan")])
def test_a_figure_that_is_none_is_not_written(value: float) -> None:
    with pytest.raises(ValueError, match="Invalid literal"):
        format_length(value, unit="mm", decimal_mark=".")
    with pytest.raises(ValueError, match="no time"):
        format_minutes(-1)


@pytest.mark.parametrize("mark", [".", ","])
@pytest.mark.parametrize(
    ("text", "value"),
    [("0.00001", 0.00001), ("12", 12.0), ("17.1250", 17.125), ("0.1230", 0.123), ("-2.5", -2.5)],
)
def test_figures_are_written_in_full_and_read_back(text: str, value: float, mark: Mark) -> None:
    written = format_number(value, decimal_mark=mark)

    assert written == text.replace(".", mark)
    assert parse_number(written, decimal_mark=mark) == value


@pytest.mark.parametrize("mark", [".", ","])
@pytest.mark.parametrize("typed", ["64 °F", "14.5 °C", "99.9 °F", "-40 °C", "18.1250 °C"])
def test_temperatures_are_shown_again_as_they_were_typed(typed: str, mark: Mark) -> None:
    temp_c = parse_temperature(typed.replace(".", mark), decimal_mark=mark)

    assert format_temperature(temp_c, decimal_mark=mark) == typed.replace(".", mark)
