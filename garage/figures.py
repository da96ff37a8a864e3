"""The grammar of a figure with a unit, as people write it: text in, exact fractions out.

    figure   = [sign] number [unit] | [sign] whole big-unit ["-"] number [small-unit]
    number   = whole | decimal | fraction | whole (space or "-") fraction | thousands in groups
    decimal  = digits, then "." or "," and digits; fraction = top "/" bottom, less than one

A comma or point before exactly three digits is a decimal mark in one country and sets off
thousands in the next, so a text of that sort gives two readings.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

Mark = Literal[".", ","]

LONGEST_TEXT = 24
FINEST_FRACTION = 1000


class BadFigure(ValueError):
    """Text that cannot be read. `message` says what to write, `offers` what it could mean."""

    def __init__(self, message: str, *, offers: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.message = message
        self.offers = offers


class AmbiguousFigure(BadFigure):
    """Text with two readings; each text in `offers` has only one."""

    def __init__(self, offers: tuple[str, ...]) -> None:
        super().__init__(f"Two readings: write {' or '.join(offers)}.", offers=offers)


class BadLength(BadFigure):
    """Text that is no length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """What one sort of box accepts, and how it refuses the rest."""

    name: str
    """With its article, "a length"."""
    example: str
    units: Mapping[str, str]
    """Every accepted spelling in lower case, with the unit it stands for."""
    pair: tuple[str, str, int] | None = None
    """Two units written one after the other, and how many of the second make the first."""
    bare_fraction: str | None = None
    """The unit people mean by a fraction without one."""
    signed: bool = False
    hints: tuple[tuple[re.Pattern[str], str], ...] = ()
    """Well-known texts for another box, and where to write them."""
    base: str = ""
    """The unit it is kept in."""
    largest: int = 10**LONGEST_TEXT
    """In the base unit: above this, the unit or a digit is a slip."""
    error: type[BadFigure] = BadFigure


@dataclass(frozen=True, slots=True)
class Reading:
    """One reading: a value in `unit`, and a spelling that can be read in this way only."""

    value: Fraction
    unit: str
    text: str


def _spelled(**units: str) -> dict[str, str]:
    """Accepted spellings, with the unit each stands for."""
    return {w: unit.replace("_", " ") for unit, words in units.items() for w in words.split("|")}


def _turned(*products: str) -> str:
    """A product of two units, joined or apart, and both ways round."""
    pairs = [product.split() for product in products]
    return "|".join(gap.join(p) for both in pairs for p in (both, both[::-1]) for gap in ("", " "))


_THREAD_WORDS = "un[cf]|bs[wf]|bspp?|whit|whitworth|brass|ba|w"
_THREAD = re.compile(
    rf"(?:{_THREAD_WORDS}|m|g|#|no\.?) ?[0-9].*|.*[0-9 ](?:{_THREAD_WORDS})(?:[ 0-9].*)?"
    "|[0-9]+/[0-9]+-[0-9]+|(?:4|6|8|10|12)-(?:24|28|32|36|40|48)"
)
LENGTH = Kind(
    name="a length",
    example="12.5 mm or 1 1/2 in",
    base="mm",
    largest=1_000_000,
    units=_spelled(mm="mm", cm="cm", m="m", um="um|micron|microns", thou="thou")
    | _spelled(**{"in": 'in|inch|inches|"', "ft": "ft|foot|feet|'"}),
    pair=("ft", "in", 12),
    bare_fraction="in",
    signed=True,
    hints=((_THREAD, "That is a thread. Write it in the thread box."),),
    error=BadLength,
)
TORQUE = Kind(
    name="a torque",
    example="25 N m or 18 lbf ft",
    base="N m",
    largest=10_000,
    # Newton metres are not turned round: m N is a millinewton.
    units=_spelled(N_m="nm|n m", kgf_m=_turned("kgf m", "kg m", "kp m"))
    | _spelled(lbf_ft=_turned("lbf ft", "lb ft", "lbs ft"))
    | _spelled(lbf_in=_turned("lbf in", "lb in", "lbs in")),
)
TEMPERATURE = Kind(
    name="a temperature",
    example="20 C or 68 F",
    base="C",
    largest=2_000,
    units=_spelled(C="c|°c|° c|degc|deg c", F="f|°f|° f|degf|deg f"),
    signed=True,
)
WEIGHT = Kind(
    name="a weight",
    example="450 g or 1 lb 3 oz",
    base="g",
    largest=10_000_000,
    units=_spelled(g="g|gram|grams", kg="kg|kilo|kilos", lb="lb|lbs", oz="oz"),
    pair=("lb", "oz", 16),
)
TIME = Kind(
    name="a time",
    example="1 h 25 or 85 min",
    base="min",
    largest=600_000,
    units=_spelled(h="h|hr|hrs|hour|hours", min="min|mins|minute|minutes|m"),
    pair=("h", "min", 60),
)
NUMBER = Kind(name="a figure", example="12.5", units={}, signed=True)
MONEY = Kind(
    name="an amount without a currency sign", example="12.50", units={}, signed=True, largest=10**9
)

_ALIKE = str.maketrans({
    "″": '"', "”": '"', "“": '"', "′": "'", "’": "'", "‘": "'", "´": "'", "º": "°", "−": "-",
    "⁄": "/", "µ": "u", "μ": "u", "·": ".", "⋅": ".", "℃": "°C", "℉": "°F", "½": " 1/2",
    "¼": " 1/4", "¾": " 3/4", "⅛": " 1/8", "⅜": " 3/8", "⅝": " 5/8", "⅞": " 7/8",
})  # fmt: skip
_SINGLE = re.compile(r"([-+]?) ?([0-9.,/ -]*[0-9]) ?([^0-9]*)")
_PAIR = re.compile(r"([-+]?) ?([0-9]+) ?([^0-9 .,/-]+)\.? ?-? ?([0-9.,/ -]*[0-9]) ?([^0-9]*)")
_FRACTION = re.compile(r"(?:([0-9]+)[ -])?([0-9]+)/([0-9]+)")
_DECIMAL = re.compile(r"([0-9]*)(?:[.,]([0-9]+))?")
_GROUPED = re.compile(r"[1-9][0-9]{0,2}(?:,[0-9]{3})+(?:\.[0-9]+)?")
_SPACED = re.compile(r"[-+]?[0-9]{1,3}(?: [0-9]{3})+(?:[^0-9 ].*| [^0-9].*)?")
_SWAP = str.maketrans(".,", ",.")


def read(text: str, *, kind: Kind, default_unit: str | None, mark: Mark) -> tuple[Reading, ...]:
    """The one reading of a text, or both where a mark or a missing unit leaves two.

    Raises the kind's error, with a sentence that names the fix, for everything else.
    """
    if len(text.strip()) > LONGEST_TEXT:
        raise kind.error(f"Too long. Write {kind.name} such as {kind.example}.")
    clean = " ".join(text.translate(_ALIKE).split()).replace("''", '"')
    clean = re.sub(" ?/ ?", "/", clean)
    if not clean:
        raise kind.error(f"Write {kind.name}, for example {kind.example}.")
    found = _as_pair(clean, kind, mark) or _as_single(clean, kind, default_unit, mark)
    if not kind.signed and any(reading.text.startswith("-") for reading in found):
        raise kind.error(f"Write {kind.name} without a minus sign.")
    return found


def _as_pair(clean: str, kind: Kind, mark: Mark) -> tuple[Reading, ...]:
    """Readings of two units in a row, `2 ft 3 in`; empty where the text is not of that form."""
    match = _PAIR.fullmatch(clean)
    if match is None or kind.pair is None:
        return ()
    sign, whole, big_spelled, number, small_spelled = match.groups()
    big, small, ratio = kind.pair
    second = kind.units.get(_plain(small_spelled)) if small_spelled else small
    if (kind.units.get(_plain(big_spelled)), second) != (big, small):
        return ()
    numbers = _numbers(number, kind, mark)
    if not numbers:
        raise _refusal(clean, kind)
    minus = sign.replace("+", "")
    readings = tuple(
        Reading(
            _signed(sign, int(whole) * ratio + value),
            small,
            f"{minus}{int(whole)} {big} {written} {small}",
        )
        for value, written in numbers
        if value < ratio
    )
    if not readings:
        raise kind.error(f"Write less than {ratio} {small} after the {big}.")
    return readings


def _as_single(clean: str, kind: Kind, default_unit: str | None, mark: Mark) -> tuple[Reading, ...]:
    """Readings of one number and at most one unit."""
    match = _SINGLE.fullmatch(clean)
    if match is None:
        raise _refusal(clean, kind)
    sign, number, spelled = match.groups()
    unit = kind.units.get(_plain(spelled)) if spelled else default_unit
    numbers = _numbers(number, kind, mark)
    if not numbers or (spelled and unit is None):
        raise _refusal(clean, kind)
    if unit is None:
        raise kind.error(f"Write the unit too, for example {kind.example}.")
    units = [unit]
    if not spelled and "/" in number and kind.bare_fraction not in (None, unit):
        units.insert(0, str(kind.bare_fraction))
    return tuple(
        Reading(_signed(sign, value), each, f"{sign.replace('+', '')}{written} {each}".strip())
        for each in units
        for value, written in numbers
    )


def _numbers(text: str, kind: Kind, mark: Mark) -> list[tuple[Fraction, str]]:
    """Every value an unsigned number can have, each with a spelling only it has."""
    if match := _FRACTION.fullmatch(text):
        whole, top, bottom = int(match[1] or 0), int(match[2]), int(match[3])
        if not top < bottom <= FINEST_FRACTION:
            raise kind.error(_improper(whole, top, bottom))
        return [(whole + Fraction(top, bottom), f"{whole or ''} {top}/{bottom}".strip())]
    found = []
    decimal = _DECIMAL.fullmatch(text)
    if decimal:
        whole_text, places = decimal[1] or "0", (decimal[2] or "").rstrip("0")
        value = Fraction(f"{whole_text}.{places or 0}")
        found.append(
            (value, f"{int(whole_text)}{mark}{places}" if places else str(int(whole_text)))
        )
    # Thousands are set off by the mark that is not ours; by ours only if nothing else fits.
    english, continental = text, text.translate(_SWAP)
    theirs, ours = (english, continental) if mark == "." else (continental, english)
    for grouped in (theirs,) if decimal else (theirs, ours):
        if _GROUPED.fullmatch(grouped):
            digits = grouped.replace(",", "")
            found.append((Fraction(digits), digits.replace(".", mark)))
    return found


def _improper(whole: int, top: int, bottom: int) -> str:
    """The sentence for a fraction that is a slip of the thumb as often as not: `11/2`."""
    if not 0 < bottom <= FINEST_FRACTION:
        return f"A fraction has a figure from 2 to {FINEST_FRACTION} at the bottom."
    rest = top % bottom
    proper = f"{whole + top // bottom}" + (f" {rest}/{bottom}" if rest else "")
    return f"{top}/{bottom} is one or more. Write {proper}, or put the missing space in."


def _refusal(clean: str, kind: Kind) -> BadFigure:
    """The error for a text outside the grammar."""
    if _SPACED.fullmatch(clean):
        return kind.error("Write thousands without a space, for example 1250.")
    for pattern, advice in kind.hints:
        if pattern.fullmatch(clean.lower()):
            return kind.error(advice)
    return kind.error(f'Cannot read "{clean}". Write {kind.name} such as {kind.example}.')


def _signed(sign: str, value: Fraction) -> Fraction:
    return -value if sign == "-" else value


def _plain(spelled: str) -> str:
    """A unit in lower case, joints between letters as one space, no full stop at the end."""
    joined = re.sub(r"(?<=[a-z])[ .*-]+(?=[a-z])", " ", spelled.strip().lower())
    return joined.removesuffix(".")
