"""Every box a figure is typed in, found by walking the forms: no junk gets in, nothing is lost.

What a box shows of a kept figure, its reader can send back unread: the same figure is kept again.
And text that is no figure is refused with a sentence, never with an error. Boxes are found, not
listed, so a new one is held to this by itself. A new class of field must first be told here how
its figures look; until then the first test fails.

The junk is common practice: what float() and int() take and a rule or a gauge never shows.
"""

import copy
import importlib
import math
import pkgutil
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

import pytest
from django import forms
from django.forms.forms import BaseForm
from django.http import QueryDict
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fabrication.forms import (
    AngleField,
    SizeField,
    angle_boxed,
    bending,
    bonds,
    boxed,
    brackets,
    papers,
    pipe_rows,
)
from fabrication.models import Bond, Printer
from garage import forms as garage_forms
from garage import units
from garage.models import Car, Person
from parts.forms import fasteners, heat, hole_sheet, parts, plan, refit, takeoff
from parts.models import Adhesive, Part, Piece, StackItem
from tests.factories import make_part

ROOMS = ("garage.forms", "parts.forms", "fabrication.forms")
# Inches go with degrees Fahrenheit in one region only.
READERS = {
    f"{unit} {region}": Person(units=unit, region=region)
    for unit, region in (("mm", "en_GB"), ("in", "en_US"), ("mm", "de_DE"), ("in", "de_DE"))
}
A_MILLION_DIGITS = "9" * 1_000_000
FAR_TOO_LONG = tuple(
    before + A_MILLION_DIGITS for before in ("", "-", "0.", "1/", "1e", "2026-11-")
)
# Refused by every box, as are the texts above.
NO_FIGURE = (
    "NaN", "nan", "-nan", "+NAN", "inf", "-inf", "Infinity", "∞", "1e999", "-1e999", "1e-999x",
    "1.2.3", "1,2,3", "1.2,3,4", "1,,2", "1..2", "--1", "+-1", "1 2 3", "1/0", "0/0", "½½",
    "0x1F", "1j", "1e", "e5", ".", ",", "-", "+", "/", "one", "1\x002", "1\x1b[2J", "\x07",
    "1\u202e2", "1;DROP", "=1+1", "{{ 1 }}", "<b>1</b>", "9**9**9", "(1)", "²", "1²", "[]", "None",
    "1°2", "°", "4°5°", "45°30",
)  # fmt: skip
# Refused, or read as a finite figure: whatever a box makes of it, it is no error and no oddity.
ODD = (
    "-0", "-0.0", "-0,0", "-.0", "0", "00", "0000000001", "1e5", "1E5", "1_0", "1_000", "١٢",
    "１２", "१२", "٣٫٥", " 1 ", "\u00a01", "\t1", "1\n", "1\r\n", "\v1\f", "\u20281", "", " ",
    "\t\n", "\u00a0", "\u200b", "1.", ".1", ",1", "1,250", "1.250", "1 250", "1.250,5", "1,250.5",
    "9" * 24, "-1", "2147483648", "9223372036854775808", "-9223372036854775809", "9" * 400,
    "9" * 4_300,
    "0001-01-01", "9999-12-31", "2026-02-29", "2026-11-25T25:00", "0001-01-01T00:00",
    "9999-12-31T23:59", "0001-01-01T00:00+14:00", "9999-12-31T23:59-14:00", "2026-11-25T16:40Z",
    "2026-11-25T16:40:00+99:99", "٢٠٢٦-١١-٢٥",
)  # fmt: skip


# ---- every box of every form ----------------------------------------------------------------


@dataclass(frozen=True)
class Box:
    """One field of one form."""

    name: str
    field: forms.Field

    def for_reader(self, person: Person) -> Any:
        field = copy.deepcopy(self.field)
        if isinstance(field, garage_forms.Measured):
            field.person = person
        return field


def modules() -> Iterator[Any]:
    for room in ROOMS:
        package = importlib.import_module(room)
        yield package
        for found in pkgutil.walk_packages(package.__path__, f"{room}."):
            yield importlib.import_module(found.name)


def classes_made_here(kind: type) -> list[type]:
    return [
        found
        for module in modules()
        for found in vars(module).values()
        if isinstance(found, type)
        and issubclass(found, kind)
        and found.__module__ == module.__name__
    ]


def boxes() -> list[Box]:
    return [
        Box(f"{form.__module__}.{form.__name__}.{name}", field)
        for form in classes_made_here(BaseForm)
        for name, field in getattr(form, "base_fields", {}).items()
    ]


# ---- how the figures of each class look -----------------------------------------------------


@dataclass(frozen=True)
class Look:
    """How a kept figure of one class comes about, and how its page writes it into the box.

    ``kept`` gives figures such as people type them; ``shown`` is the way of the page that shows
    them again, and where no page does, the way a person writes them.
    """

    kept: Callable[[Any], st.SearchStrategy[Any]]
    shown: Callable[[Any, Any, Person], str]
    as_kept: Callable[[Any], Any] = lambda found: found


def between(least: float, most: float, *, places: int) -> st.SearchStrategy[float]:
    """Decimals of so many places, as floats; the limits are met."""
    scale = 10**places
    whole = st.integers(math.ceil(least * scale), math.floor(most * scale))
    return whole.map(lambda n: n / scale)


def sizes(field: SizeField) -> st.SearchStrategy[float]:
    least = field.least_mm if field.zero or field.least_mm else 0.001
    return between(least, field.most_mm, places=3) | eighths(least, field.most_mm)


def eighths(least: float, most: float) -> st.SearchStrategy[float]:
    """Inches of a rule, kept in millimetres."""
    whole = st.integers(math.ceil(least / 3.175), math.floor(most / 3.175))
    return whole.map(lambda n: n * 3.175).filter(lambda mm: least <= mm <= most)


def shown_length(field: Any, mm: float, person: Person) -> str:
    return boxed(mm, "", person=person)


def length_of_a_stack(field: Any, mm: float, person: Person) -> str:
    typed = f"{mm:g} mm".replace(".", person.decimal_mark)
    item = StackItem(what=StackItem.What.BOLT, length_mm=mm, length_typed=typed)
    return str(hole_sheet.rows_of([item], person=person)[0]["length"])


def size_of_an_answer(field: Any, mm: float, person: Person) -> str:
    mark = person.decimal_mark
    typed = f"{mm:g} mm".replace(".", mark)
    return units.format_length(mm, unit=person.units, decimal_mark=mark, typed=typed)


def box_of_a_bond(name: str) -> Callable[[Any, float, Person], str]:
    def shown(field: Any, figure: float, person: Person) -> str:
        bond = Bond(adhesive=Adhesive(), onto=Piece(part=Part()), **{name: figure})
        return str(bonds.bond_boxes(bond, person=person)[name])

    return shown


def bar_of_a_printer(field: Any, mm: float, person: Person) -> str:
    return str(papers.printer_boxes(Printer(factor_x=100 / mm), person=person)["bar_x_mm"])


def by_the_field(field: Any, figure: Any, person: Person) -> str:
    """As Django fills the box."""
    value = field.widget.format_value(field.prepare_value(figure))
    return "" if value is None else str(value)


def angle(field: Any, deg: float, person: Person) -> str:
    return angle_boxed(deg, person=person)


def plainly(unit: str) -> Callable[[Any, float, Person], str]:
    return lambda field, figure, person: f"{figure:g}{unit}".replace(".", person.decimal_mark)


def in_mm(found: Any) -> Any:
    return found.mm


def whole_numbers(field: forms.IntegerField) -> st.SearchStrategy[int]:
    return st.integers(
        -(2**31) if field.min_value is None else field.min_value,
        2**31 if field.max_value is None else field.max_value,
    )


MOMENTS = st.datetimes(datetime(1990, 1, 1), datetime(2100, 1, 1)).map(
    lambda at: at.replace(second=0, microsecond=0, tzinfo=UTC)
)
LOOKS: dict[type[forms.Field], Look] = {
    garage_forms.LengthField: Look(
        lambda field: between(0.01, 1000, places=2), length_of_a_stack, in_mm
    ),
    SizeField: Look(sizes, shown_length, in_mm),
    heat.SmallLengthField: Look(
        lambda field: between(0.01, field.most_mm, places=2), size_of_an_answer, in_mm
    ),
    papers.BarField: Look(lambda field: between(98, 102, places=2), bar_of_a_printer),
    papers.LengthsField: Look(
        lambda field: st.lists(between(0.1, 20_000, places=1), min_size=1, max_size=9),
        lambda field, all_mm, person: "; ".join(boxed(mm, "", person=person) for mm in all_mm),
        lambda found: list(found.each_mm),
    ),
    garage_forms.TorqueField: Look(lambda field: between(0.1, 1000, places=1), plainly(" N m")),
    refit.UsedField: Look(lambda field: between(0.1, 1000, places=1), plainly("")),
    garage_forms.MinutesField: Look(
        lambda field: st.integers(0, 600_000), lambda f, minutes, p: units.format_minutes(minutes)
    ),
    garage_forms.MoneyField: Look(
        lambda field: st.integers(0, 999_999_999).map(lambda pence: Decimal(pence).scaleb(-2)),
        by_the_field,
    ),
    garage_forms.DayField: Look(
        lambda field: st.dates(date(1900, 1, 1), date(2200, 12, 31)), by_the_field
    ),
    heat.TemperatureField: Look(lambda field: between(-60, 2_000, places=1), by_the_field),
    heat.FigureField: Look(
        lambda field: between(0.001, min(field.most, 999), places=3), by_the_field
    ),
    fasteners.SharePercent: Look(lambda field: between(0, 100, places=1), by_the_field),
    AngleField: Look(lambda field: between(-360, 360, places=3), angle),
    bending.GaugeField: Look(
        lambda field: between(field.least_deg, field.most_deg, places=3), angle
    ),
    bonds.TemperatureField: Look(
        lambda field: between(-40, 300, places=1), box_of_a_bond("service_c")
    ),
    bonds.WeightField: Look(lambda field: between(0.1, 99_999, places=1), box_of_a_bond("load_g")),
    bonds.NumberField: Look(
        lambda field: between(field.least, field.most, places=2), box_of_a_bond("shake_ratio")
    ),
    bonds.WhenField: Look(lambda field: MOMENTS, by_the_field),
    brackets.PlainNumberField: Look(
        lambda field: between(field.least, field.most, places=3), angle
    ),
    forms.IntegerField: Look(whole_numbers, by_the_field),
    fasteners.PlainNumber: Look(lambda field: between(0, 999, places=2), by_the_field),
}
# What cleans to words, to a choice, or to a row of a table.
WORDS: set[type[forms.Field]] = {
    forms.BooleanField, forms.CharField, forms.ChoiceField, forms.EmailField,
    forms.MultipleChoiceField, forms.TypedChoiceField, forms.UUIDField, forms.ModelChoiceField,
    forms.ModelMultipleChoiceField, garage_forms.KeyField, parts.TagField, plan.WorkField,
    takeoff.PlaceField,
    # Cleans to the text; which figure that is, a choice beside it says: read further down.
    pipe_rows.TextField,
}  # fmt: skip
ABSTRACT = {garage_forms.Measured}


def unknown(classes: Iterable[type]) -> list[str]:
    return sorted({kind.__qualname__ for kind in classes} - {k.__qualname__ for k in told()})


def told() -> set[type]:
    return {*LOOKS, *WORDS, *ABSTRACT}


def figure_boxes() -> list[Box]:
    return [box for box in boxes() if type(box.field) in LOOKS]


# ---- the checks ------------------------------------------------------------------------------


def oddities(value: Any) -> list[str]:
    """What is wrong with a figure that a box gave: not finite, zero with a minus, far too long."""
    if isinstance(value, float):
        bad = not math.isfinite(value) or (value == 0 and math.copysign(1, value) < 0)
        return [repr(value)] if bad else []
    if isinstance(value, Decimal):
        return [] if value.is_finite() and not (value == 0 and value.is_signed()) else [repr(value)]
    if isinstance(value, datetime):
        return [] if timezone.is_aware(value) else [repr(value)]
    if isinstance(value, list | tuple):
        return [odd for part in value for odd in oddities(part)]
    if is_dataclass(value):
        return [odd for part in fields(value) for odd in oddities(getattr(value, part.name))]
    return []


def complaints(box: Box, person: Person, texts: Iterable[str] = (*NO_FIGURE, *ODD)) -> list[str]:
    """What a box does with junk that it should not."""
    field, found = box.for_reader(person), []
    for text in texts:
        said = f"{box.name}, {text[:24]!r}"
        try:
            value = field.clean(text)
        except forms.ValidationError as refused:
            if not all(str(message).strip() for message in refused.messages):
                found.append(f"{said}: refused without a word")
        except Exception as broken:  # whatever it is, the answer would be 500
            found.append(f"{said}: {broken!r}")
        else:
            if text not in ODD:
                found.append(f"{said}: taken for {str(value)[:40]}")
            found += [f"{said}: kept as {odd}" for odd in oddities(value)]
    return found


def lost(box: Box, person: Person, figure: Any) -> str | None:
    """What became of a figure that was shown and sent back unread; None when it is the same."""
    look, field = LOOKS[type(box.field)], box.for_reader(person)
    text = look.shown(field, figure, person)
    try:
        found = look.as_kept(field.clean(text))
    except forms.ValidationError as refused:
        return f"{box.name}: {figure!r} was shown as {text!r} and refused: {refused.messages}"
    return None if same(found, figure) else f"{box.name}: {figure!r} as {text!r} came to {found!r}"


def same(found: Any, figure: Any) -> bool:
    if isinstance(figure, list):
        return len(found) == len(figure) and all(map(same, found, figure))
    if isinstance(figure, float):
        return math.isclose(found, figure, rel_tol=0, abs_tol=1e-9)
    return bool(found == figure)


def share_of_percent(box: Box, figure: Any) -> Any:
    """A place on a photo is kept as a share of what its box says."""
    return figure / 100 if isinstance(box.field, fasteners.SharePercent) else figure


# ---- tests -----------------------------------------------------------------------------------


def test_every_class_of_field_is_told_here() -> None:
    used = {type(box.field) for box in boxes()}

    assert unknown([*used, *classes_made_here(forms.Field)]) == []
    assert len(figure_boxes()) > 150


@pytest.mark.parametrize("reader", READERS)
def test_no_junk_gets_into_any_box(reader: str) -> None:
    found = [line for box in one_of_each() for line in complaints(box, READERS[reader])]

    assert not found, "\n".join(found)


def test_a_million_digits_are_refused_by_every_box() -> None:
    reader = READERS["mm en_GB"]

    found = [line for box in one_of_each() for line in complaints(box, reader, FAR_TOO_LONG)]

    assert not found, "\n".join(found)


def one_of_each() -> list[Box]:
    """Boxes that differ in class or in a limit: the same junk meets the same field only once."""
    kinds: dict[tuple[Any, ...], Box] = {}
    for box in figure_boxes():
        plain = (int, float, bool, type(None))
        limits = {n: v for n, v in vars(box.field).items() if isinstance(v, plain)}
        limits.pop("creation_counter", None)
        kinds.setdefault((type(box.field), *sorted(limits.items(), key=str)), box)
    return list(kinds.values())


@pytest.mark.parametrize("reader", READERS)
@given(data=st.data())
@settings(max_examples=8, deadline=None, suppress_health_check=list(HealthCheck))
def test_a_figure_shown_and_sent_back_is_the_same_figure(reader: str, data: st.DataObject) -> None:
    for box in one_of_each():
        figure = data.draw(LOOKS[type(box.field)].kept(box.field), label=box.name)

        assert lost(box, READERS[reader], share_of_percent(box, figure)) is None


@pytest.mark.parametrize("reader", [name for name in READERS if name.endswith("de_DE")])
@given(data=st.data())
@settings(max_examples=5, deadline=None, suppress_health_check=list(HealthCheck))
def test_who_writes_a_comma_is_shown_one(reader: str, data: st.DataObject) -> None:
    for box in one_of_each():
        look, person = LOOKS[type(box.field)], READERS[reader]
        figure = data.draw(look.kept(box.field), label=box.name)

        if isinstance(box.field, garage_forms.Measured):
            assert "." not in look.shown(box.for_reader(person), figure, person), box.name


@pytest.mark.parametrize("how", [code for code, _ in pipe_rows.inputs.BEND_READINGS])
def test_no_junk_gets_into_a_bend_however_it_was_read(how: str) -> None:
    taken = []
    for text in (*NO_FIGURE, A_MILLION_DIGITS):
        typed = {"straight": "100 mm", "bend": text, "bend_how": how, "arm": "50 mm"}
        form = pipe_rows.RowForm(typed, person=READERS["mm de_DE"])
        taken += [text] if form.is_valid() else []

    assert taken == []


@pytest.mark.django_db
def test_a_place_that_is_no_number_leaves_the_row_where_it_stands(owner: Person, car: Car) -> None:
    places = {"M6": "inf", "M8": "2", "M10": "nan", "M12": "1"}
    typed = QueryDict(mutable=True)
    typed["rows"] = str(len(places))
    for row, (thread, place) in enumerate(places.items()):
        typed[f"row-{row}-thread"], typed[f"row-{row}-order"] = thread, place
    part = make_part(car=car, by=owner)

    sheet = hole_sheet.sheet_as_typed(typed, part=part, person=owner)

    assert [row["thread"].value() for row in sheet.rows] == ["M6", "M12", "M8", "M10"]


def test_zero_with_a_minus_is_zero() -> None:
    field = Box("angle", AngleField()).for_reader(READERS["mm en_GB"])

    assert str(field.clean("-0")) == "0.0"


# ---- the checks are no blind ones -----------------------------------------------------------


class TakesWhateverFloatTakes(garage_forms.Measured):
    def read(self, text: str) -> float:
        return float(text)


class FallsOverHugeNumbers(garage_forms.Measured):
    def read(self, text: str) -> int:
        return int("9" * 5_000 if text == "00" else "1")


class DropsTheComma(AngleField):
    def read(self, text: str) -> float:
        return super().read(text.replace(",", ""))


def test_a_box_that_takes_float_of_nan_is_seen() -> None:
    found = complaints(Box("planted", TakesWhateverFloatTakes()), READERS["mm en_GB"])

    assert "planted, 'nan': taken for nan" in found
    assert "planted, '1e999': kept as inf" in found
    assert "planted, '-0': kept as -0.0" in found


def test_a_box_that_falls_over_is_seen() -> None:
    found = complaints(Box("planted", FallsOverHugeNumbers()), READERS["mm en_GB"])

    assert any(line.startswith("planted, '00': ValueError(") for line in found)


def test_a_box_that_loses_the_comma_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(LOOKS, DropsTheComma, LOOKS[AngleField])
    box = Box("planted", DropsTheComma())

    assert lost(box, READERS["mm en_GB"], 12.5) is None
    assert lost(box, READERS["mm de_DE"], 12.5) == "planted: 12.5 as '12,5' came to 125.0"


def test_a_class_of_field_that_nobody_told_is_seen() -> None:
    assert unknown([TakesWhateverFloatTakes, forms.DecimalField, forms.DurationField]) == [
        "DecimalField",
        "DurationField",
        "TakesWhateverFloatTakes",
    ]


def test_a_page_that_shows_german_figures_with_a_point_is_seen() -> None:
    """1.125 typed by nobody: shown with a point to who writes a comma, it has two readings."""
    box = Box("planted", AngleField())
    field = box.for_reader(READERS["mm de_DE"])

    with pytest.raises(forms.ValidationError, match="Write it with its unit"):
        field.clean(f"{1.125}")
    assert lost(box, READERS["mm de_DE"], 1.125) is None
