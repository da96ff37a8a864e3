"""The grammar against texts put together from pieces, whose value is known from the pieces."""

import random
from fractions import Fraction
from typing import Literal

from hypothesis import given
from hypothesis import strategies as st

from garage.units import AmbiguousLength, BadLength, Mark, parse_length

# The international inch of 1959.
INCH = Fraction(254, 10)
MARKS: tuple[Mark, ...] = (".", ",")
UNIT_MM = {
    "mm": Fraction(1), " mm": Fraction(1), "cm": Fraction(10), " m": Fraction(1000), '"': INCH,
    " in": INCH, " inch": INCH, "″": INCH, "''": INCH, " ft": INCH * 12, "'": INCH * 12,
    " thou": INCH / 1000, " µm": Fraction(1, 1000),
}  # fmt: skip
FEET_AND_INCHES = [("'", '"'), (" ft ", " in"), ("' ", "''"), ("’", "”"), ("′-", "")]
Values = set[Fraction]


def grouped(digits: str, mark: str) -> str:
    """1234567 as 1,234,567."""
    return f"{int(digits):,}".replace(",", mark)


def plain_number(dice: random.Random, mark: Mark) -> tuple[str, Values]:
    """A whole number or a decimal with either mark, with every value it can have."""
    whole, places = str(dice.randrange(1, 3000)), str(dice.randrange(1, 10**4))
    other: Mark = "," if mark == "." else "."
    form = dice.choice(["whole", "own", "other", "grouped", "grouped decimal"])
    if form == "whole":
        return whole, {Fraction(whole)}
    if form in ("own", "other"):
        used = mark if form == "own" else other
        values = {Fraction(f"{whole}.{places}")}
        if form == "other" and len(places) == 3 and len(whole) < 4:
            values.add(Fraction(whole + places))
        return f"{whole}{used}{places}", values
    if form == "grouped":
        digits = str(dice.randrange(1_000_000, 9_999_999))
        return grouped(digits, dice.choice(MARKS)), {Fraction(digits)}
    used = dice.choice(MARKS)
    digits = str(dice.randrange(1000, 9999))
    decimal = "," if used == "." else "."
    return f"{grouped(digits, used)}{decimal}{places}", {Fraction(f"{digits}.{places}")}


def fraction(dice: random.Random) -> tuple[str, Fraction]:
    """A proper fraction, sometimes as one sign, sometimes after a whole number."""
    if dice.random() < 0.3:
        sign, value = dice.choice([("½", "1/2"), ("¼", "1/4"), ("¾", "3/4"), ("⅛", "1/8"),
                                   ("⅜", "3/8"), ("⅝", "5/8"), ("⅞", "7/8")])  # fmt: skip
        text, part, gaps = sign, Fraction(value), ["", " "]
    else:
        bottom = dice.choice([2, 4, 8, 16, 32, 64, 3, 10])
        top = dice.randrange(1, bottom)
        text, part, gaps = f"{top}/{bottom}", Fraction(top, bottom), [" ", "-", "  "]
    if dice.random() < 0.6:
        whole = dice.randrange(0, 40)
        return f"{whole}{dice.choice(gaps)}{text}", whole + part
    return text, part


def sound_text(dice: random.Random, mark: Mark) -> tuple[str, Values]:
    """A text a person could type in a millimetre box, and every value in mm it can have."""
    sign = dice.choice(["", "", "", "-", "−", "+"])
    turn = -1 if sign in ("-", "−") else 1
    form = dice.choice(["number", "fraction", "feet", "bare fraction"])
    if form == "number":
        unit = dice.choice([*UNIT_MM, ""])
        text, values = plain_number(dice, mark)
        return sign + text + unit, {turn * v * UNIT_MM.get(unit, Fraction(1)) for v in values}
    if form == "feet":
        feet, inches = dice.randrange(0, 30), dice.randrange(0, 12)
        foot, inch = dice.choice(FEET_AND_INCHES)
        return f"{sign}{feet}{foot}{inches}{inch}", {turn * INCH * (12 * feet + inches)}
    text, value = fraction(dice)
    if form == "bare fraction":
        return sign + text, {turn * value, turn * value * INCH}
    unit = dice.choice(list(UNIT_MM))
    return sign + text + unit, {turn * value * UNIT_MM[unit]}


def spoilt(dice: random.Random, text: str) -> str:
    """The text with one thing in it that makes it no length."""
    where = dice.randrange(len(text) + 1)
    stray = dice.choice("$^*eEx:;_=()[]{}~²#%!?")
    return dice.choice([
        text[:where] + stray + text[where:], "M" + text, text + "Nm", text + " UNC", "--" + text,
        text + "/", "/" + text, text + " 5 5", text + "..", text + "e9", "inf " + text,
    ])  # fmt: skip


def read_or_refused(text: str, mark: Mark) -> Values | Literal["refused"]:
    try:
        return {parse_length(text, default_unit="mm", decimal_mark=mark).exact_mm}
    except AmbiguousLength as two:
        return {reading.exact_mm for reading in two.readings}
    except BadLength:
        return "refused"


def test_ten_thousand_texts_are_read_rightly_or_refused() -> None:
    dice = random.Random(1959)
    read = 0
    for number in range(10_000):
        mark = MARKS[number % 2]
        text, values = sound_text(dice, mark)
        possible = {value for value in values if abs(value) <= 1_000_000}
        if number % 3 == 0:
            text, possible = spoilt(dice, text), set()

        answer = read_or_refused(text, mark)

        if possible and len(text.strip()) <= 24:
            assert answer == possible, text
            read += 1
        else:
            assert answer == "refused", text
    assert read > 5_000


@given(st.text(alphabet="0123456789 .,/-+'\"½mincftM²e*", max_size=12), st.sampled_from(MARKS))
def test_any_other_text_gives_a_plausible_length_or_a_refusal(text: str, mark: Mark) -> None:
    answer = read_or_refused(text, mark)

    if answer != "refused":
        assert all(abs(value) <= 1_000_000 for value in answer)
        assert any(letter.isnumeric() for letter in text)
        assert not set("²e*") & set(text.replace("feet", ""))
