"""Measurements in and out: what people type, as millimetres, newton metres, minutes and so on.

`figures` reads the text. Pint converts one number with one unit and never sees the text, because
it takes `12,5 mm` for 125 mm and `1 1/2 in` for half an inch. Text with two readings is refused
with both of them; nothing is guessed.
"""

import math
import re
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction
from functools import cache
from typing import TYPE_CHECKING, Any, Literal

from garage import figures
from garage.figures import AmbiguousFigure, BadFigure, BadLength, Kind, Mark, Reading

if TYPE_CHECKING:
    import pint

__all__ = [
    "AmbiguousFigure", "AmbiguousLength", "BadFigure", "BadLength", "Length", "Mark", "System",
    "format_both", "format_length", "format_minutes", "format_number", "format_temperature",
    "format_torque", "parse_length", "parse_minutes", "parse_money", "parse_number",
    "parse_temperature", "parse_torque", "parse_weight",
]  # fmt: skip

System = Literal["mm", "in"]
Torque = Literal["N m", "lbf ft", "lbf in", "kgf m"]

# Our unit names in the registry's language, with _ for a space.
# Source: NIST SP 811 (2008), appendix B: inch 25.4 mm, pound 0.453 592 37 kg, standard gravity
# 9.806 65 m/s2, all exact; degree Fahrenheit K = (t + 459.67) / 1.8.
DEFINITIONS = (
    "mm = [length]", "um = mm / 1000", "cm = 10 * mm", "m = 1000 * mm",
    "in = 25.4 * mm", "thou = in / 1000", "ft = 12 * in",
    "N_m = [torque]", "kgf_m = 9.80665 * N_m",
    "lbf_ft = 0.45359237 * 9.80665 * 0.3048 * N_m", "lbf_in = lbf_ft / 12",
    "g = [mass]", "kg = 1000 * g", "lb = 453.59237 * g", "oz = lb / 16",
    "min = [time]", "h = 60 * min",
    "kelvin = [temperature]", "C = kelvin; offset: 273.15",
    "F = 5 / 9 * kelvin; offset: 459.67 * 5 / 9",
)  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """A length as read: millimetres, the text, and the unit the text was understood in.

    Feet and inches together count as "in".
    """

    mm: float
    typed: str
    unit: str
    exact_mm: Fraction = field(repr=False)

    @property
    def system(self) -> System:
        """Which rule the person held: "in" for inch units, else "mm"."""
        return "in" if self.unit in ("in", "ft", "thou") else "mm"


class AmbiguousLength(BadLength, AmbiguousFigure):
    """A length with two readings."""

    def __init__(self, readings: tuple[Length, ...]) -> None:
        AmbiguousFigure.__init__(self, tuple(reading.typed for reading in readings))
        self.readings = readings


def parse_length(text: str, *, default_unit: System, decimal_mark: Mark) -> Length:
    """The length in a text; a bare figure is in `default_unit`.

    A bare fraction in a millimetre box is offered as inches and as millimetres.
    Raises BadLength for what is no length, AmbiguousLength for what could be two.

    >>> parse_length('2\\' 3 1/2"', default_unit="mm", decimal_mark=".").mm
    698.5
    """
    found = _readings(text, figures.LENGTH, default_unit, decimal_mark)
    lengths = tuple(
        Length(
            mm=float(exact_mm),
            typed=text.strip() if len(found) == 1 else reading.text,
            unit=reading.unit,
            exact_mm=exact_mm,
        )
        for reading, exact_mm in found
    )
    if len(lengths) > 1:
        raise AmbiguousLength(lengths)
    return lengths[0]


def parse_number(text: str, *, decimal_mark: Mark) -> float:
    """A bare figure. Raises BadFigure, AmbiguousFigure.

    >>> parse_number("12,5", decimal_mark=".")
    12.5
    """
    return float(_only(text, figures.NUMBER, "", decimal_mark)[1])


def parse_torque(text: str, *, decimal_mark: Mark, default_unit: Torque | None = None) -> float:
    """Newton metres. Raises BadFigure, AmbiguousFigure.

    >>> round(parse_torque("18 ft lb", decimal_mark="."), 4)
    24.4047
    """
    return float(_only(text, figures.TORQUE, default_unit, decimal_mark)[1])


def parse_temperature(
    text: str, *, decimal_mark: Mark, default_unit: Literal["C", "F"] | None = None
) -> float:
    """Degrees Celsius. Raises BadFigure, AmbiguousFigure."""
    _, exact_c = _only(text, figures.TEMPERATURE, default_unit, decimal_mark)
    if exact_c < Fraction("-273.15"):
        raise BadFigure("Nothing is colder than -273.15 C. Check the figure.")
    return float(exact_c)


def parse_weight(
    text: str, *, decimal_mark: Mark, default_unit: Literal["g", "kg", "lb", "oz"] | None = None
) -> float:
    """Grams. Raises BadFigure, AmbiguousFigure."""
    return float(_only(text, figures.WEIGHT, default_unit, decimal_mark)[1])


def parse_minutes(text: str, *, decimal_mark: Mark) -> int:
    """Whole minutes; a part of an hour is rounded to the nearest one.

    Raises BadFigure (also for a bare figure: hours or minutes?), AmbiguousFigure.

    >>> [parse_minutes(text, decimal_mark=".") for text in ("1 h 25", "1:25", "1.5 h")]
    [85, 85, 90]
    """
    clock = re.fullmatch(r"\s*([0-9]{1,4}):([0-9]{2})\s*", text)
    if clock:
        text = f"{clock[1]} h {clock[2]}"
    reading, minutes = _only(text, figures.TIME, None, decimal_mark)
    if reading.unit == "min" and minutes.denominator != 1:
        raise BadFigure("Write whole minutes.")
    return math.floor(minutes + Fraction(1, 2))


def parse_money(text: str, *, decimal_mark: Mark) -> Decimal:
    """An amount with two places. Raises BadFigure, AmbiguousFigure.

    >>> parse_money("12,5", decimal_mark=",")
    Decimal('12.50')
    """
    pence = _only(text, figures.MONEY, "", decimal_mark)[1] * 100
    # Three places after our own mark may be thousands from abroad: 1.250 is refused as well.
    three_places = re.fullmatch(r"[^.,]*[.,][0-9]{3,}", text.strip())
    if pence.denominator != 1 or three_places:
        raise BadFigure("Write the amount with at most two places, such as 12.50 or 1250.")
    return Decimal(int(pence)).scaleb(-2)


def format_length(mm: float, *, unit: System, decimal_mark: Mark, typed: str | None = None) -> str:
    """The length in one unit: hundredths of a millimetre, 64ths or thousandths of an inch.

    A fraction stands only where it is within 0.01 mm of the length. The person's own text is
    kept where it is in this unit and still says the same length.

    >>> format_length(38.1, unit="in", decimal_mark=".")
    '1 1/2 in'
    """
    own = _still_true(mm, decimal_mark, typed)
    if own is not None and own.system == unit:
        return f"{own.typed} {own.unit}" if own.typed[-1].isnumeric() else own.typed
    exact_mm = _exact(mm)
    if unit == "mm":
        return f"{_decimal(exact_mm, 2, decimal_mark)} mm"
    inches = _convert(exact_mm, "mm", "in")
    nearest = Fraction(round(inches * 64), 64)
    off_mm = abs(_convert(nearest, "in", "mm") - exact_mm)
    if bool(nearest) == bool(inches) and off_mm <= Fraction(1, 100):
        return f"{_mixed(nearest)} in"
    return f"{_decimal(inches, 3, decimal_mark)} in"


def format_both(mm: float, *, unit: System, decimal_mark: Mark, typed: str | None = None) -> str:
    """The length in both systems, the one it was typed in first, else `unit`.

    >>> format_both(12.5, unit="mm", decimal_mark=".")
    '12.5 mm (0.492 in)'
    """
    own = _still_true(mm, decimal_mark, typed)
    first = own.system if own is not None else unit
    second: System = "mm" if first == "in" else "in"
    shown = format_length(mm, unit=first, decimal_mark=decimal_mark, typed=typed)
    return f"{shown} ({format_length(mm, unit=second, decimal_mark=decimal_mark)})"


def format_torque(nm: float, *, unit: Torque = "N m", decimal_mark: Mark) -> str:
    """The torque to one place.

    >>> format_torque(24.4047, unit="lbf ft", decimal_mark=".")
    '18 lbf ft'
    """
    return f"{_decimal(_convert(_exact(nm), 'N m', unit), 1, decimal_mark)} {unit}"


def format_number(value: float, *, decimal_mark: Mark) -> str:
    """The figure in full, without an exponent, so that it is read back as the same figure.

    >>> [format_number(value, decimal_mark=".") for value in (0.00001, 12.0, 17.125)]
    ['0.00001', '12', '17.1250']
    """
    whole, _, places = f"{Decimal(repr(float(value))):f}".partition(".")
    if not places.strip("0"):
        return whole
    # Three places could be thousands where the mark is the other one; a fourth settles it.
    return f"{whole}{decimal_mark}{places}{'0' if len(places) == 3 else ''}"


def format_temperature(temp_c: float, *, decimal_mark: Mark) -> str:
    """The temperature as it was most likely typed, which reads back as the same: in °F where only
    that is a short figure.

    >>> [format_temperature(temp_c, decimal_mark=".") for temp_c in (14.5, 160 / 9)]
    ['14.5 °C', '64 °F']
    """
    exact_f = _convert(_exact(temp_c), "C", "F")
    short_f = round(exact_f, 2)
    if round(temp_c, 4) != temp_c and float(_convert(short_f, "F", "C")) == temp_c:
        return f"{format_number(float(short_f), decimal_mark=decimal_mark)} °F"
    return f"{format_number(temp_c, decimal_mark=decimal_mark)} °C"


def format_minutes(minutes: int) -> str:
    """Hours and minutes: "3 h 10", "2 h", "45 min". Raises ValueError below zero."""
    if minutes < 0:
        raise ValueError(f"{minutes} min is no time spent")
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02d}" if rest else f"{hours} h"


def _only(text: str, kind: Kind, default_unit: str | None, mark: Mark) -> tuple[Reading, Fraction]:
    """The one reading of a text and its value in the kind's base unit, or AmbiguousFigure."""
    found = _readings(text, kind, default_unit, mark)
    if len(found) > 1:
        raise AmbiguousFigure(tuple(reading.text for reading, _ in found))
    return found[0]


def _readings(
    text: str, kind: Kind, default_unit: str | None, mark: Mark
) -> list[tuple[Reading, Fraction]]:
    """Every reading no larger than anything on a car, with its value in the base unit."""
    found = figures.read(text, kind=kind, default_unit=default_unit, mark=mark)
    valued = [(reading, _convert(reading.value, reading.unit, kind.base)) for reading in found]
    possible = [pair for pair in valued if abs(pair[1]) <= kind.largest]
    if not possible:
        raise kind.error(f"{found[0].text} is too much. Check the figure and the unit.")
    return possible


def _convert(value: Fraction, unit: str, target: str) -> Fraction:
    """One number from one unit of ours to another, exactly."""
    if unit == target:
        return value
    quantity = _registry().Quantity(value, unit.replace(" ", "_"))
    return Fraction(quantity.to(target.replace(" ", "_")).magnitude)


@cache
def _registry() -> "pint.UnitRegistry[Any]":
    """A registry of these few units: 3 ms to build, where Pint's own list takes 0.4 s."""
    import pint  # noqa: PLC0415 - heavy (0.15 s, with numpy): only where something is converted

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry(None, non_int_type=Fraction)
    for definition in DEFINITIONS:
        registry.define(definition)
    return registry


def _still_true(mm: float, mark: Mark, typed: str | None) -> Length | None:
    """The typed text as a length if it still says `mm`; a bare figure may be in either unit."""
    for default_unit in ("mm", "in") if typed else ():
        try:
            length = parse_length(typed or "", default_unit=default_unit, decimal_mark=mark)
        except BadLength:
            continue  # typed under another setting: the computed figure is shown instead
        if length.mm == mm:
            return length
    return None


def _exact(value: float) -> Fraction:
    """The decimal a float is written as. Raises ValueError for inf and nan."""
    return Fraction(repr(float(value)))


def _mixed(value: Fraction) -> str:
    """A whole number and a fraction: 2, 3/16, -1 1/2."""
    whole, rest = divmod(abs(value), 1)
    figures_shown = [str(part) for part in (whole, rest) if part] or ["0"]
    return ("-" if value < 0 else "") + " ".join(figures_shown)


def _decimal(value: Fraction, places: int, mark: Mark) -> str:
    """Rounded half up, no zeros at the end; small figures keep two digits that count."""
    if value:
        places = max(places, 1 - math.floor(math.log10(abs(value))))
    whole, rest = divmod(math.floor(abs(value) * 10**places + Fraction(1, 2)), 10**places)
    digits = f"{rest:0{places}d}".rstrip("0")
    return ("-" if value < 0 else "") + f"{whole}{mark}{digits}".removesuffix(mark)
