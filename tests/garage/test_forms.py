"""The one way a form looks and reads: typed figures, keys, sentences, and nothing lost."""

from datetime import date
from decimal import Decimal
from html import unescape
from types import SimpleNamespace
from typing import Any
from uuid import UUID, uuid4

import pytest
from django import forms
from django.http import HttpRequest, QueryDict

from garage.forms import (
    DayField,
    GarageForm,
    GarageModelForm,
    KeyField,
    LengthField,
    MinutesField,
    MoneyField,
    TorqueField,
    key_of,
)
from garage.models import System


class SheetForm(GarageForm):
    key = KeyField()
    name = forms.CharField(label="What is it?", help_text="Plain words.")
    side = forms.ChoiceField(
        label="Side", choices=[("l", "Left"), ("r", "Right")], widget=forms.RadioSelect
    )
    length = LengthField(label="Length", required=False)
    torque = TorqueField(label="Torque", required=False)
    minutes = MinutesField(label="Time", required=False)
    cost = MoneyField(label="Cost", required=False)
    on = DayField(label="Day", required=False)
    kept = forms.BooleanField(label="Keep it", required=False)
    tags = forms.MultipleChoiceField(choices=[("a", "A"), ("b", "B")], required=False)


BRITISH = SimpleNamespace(decimal_mark=".", units="mm")
GERMAN = SimpleNamespace(decimal_mark=",", units="mm")
AMERICAN = SimpleNamespace(decimal_mark=".", units="in")


def typed(**fields: Any) -> QueryDict:
    data = QueryDict(mutable=True)
    for name, value in ({"key": str(uuid4()), "name": "Coil", "side": "l"} | fields).items():
        data.setlist(name, value if isinstance(value, list) else [value])
    return data


def form(person: Any = BRITISH, **fields: Any) -> SheetForm:
    return SheetForm(typed(**fields), person=person)


# ---- typed figures


@pytest.mark.parametrize(
    ("person", "name", "text", "value"),
    [
        (BRITISH, "length", "12.7", 12.7),
        (GERMAN, "length", "12,7 mm", 12.7),
        (BRITISH, "length", '1/2"', 12.7),
        (AMERICAN, "length", "0.5", 12.7),
        (BRITISH, "torque", "18 N m", 18.0),
        (GERMAN, "torque", "18,5 Nm", 18.5),
        (BRITISH, "minutes", "1 h 25", 85),
        (BRITISH, "minutes", "85 min", 85),
        (BRITISH, "cost", "46.20", Decimal("46.20")),
        (GERMAN, "cost", "46,20", Decimal("46.20")),
        (BRITISH, "cost", "0", Decimal("0.00")),
        (BRITISH, "on", "2026-11-05", date(2026, 11, 5)),
    ],
)
def test_a_figure_is_read_as_its_reader_writes_it(
    person: Any, name: str, text: str, value: Any
) -> None:
    checked = form(person, **{name: text})

    assert checked.is_valid(), checked.errors
    found = checked.cleaned_data[name]
    assert (
        getattr(found, "mm", found) == pytest.approx(value) if name == "length" else found == value
    )


def test_a_length_keeps_the_text_that_was_typed() -> None:
    checked = form(length='1/2"')
    assert checked.is_valid()

    assert checked.cleaned_data["length"].typed == '1/2"'


@pytest.mark.parametrize("name", ["length", "torque", "minutes", "cost", "on"])
def test_an_empty_box_is_none(name: str) -> None:
    checked = form(**{name: "  " if name != "on" else ""})

    assert checked.is_valid(), checked.errors
    assert checked.cleaned_data[name] is None


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("length", "long"),
        ("length", "12 furlongs"),
        ("torque", "tight"),
        ("minutes", "a while"),
        ("cost", "-1"),
        ("cost", "10000000"),
        ("cost", "1e3"),
        ("on", "1899-12-31"),
        ("on", "2201-01-01"),
        ("on", "05/11/2026"),
        ("on", "5 Nov 2026"),
        ("length", "9" * 25),
    ],
)
def test_a_figure_that_cannot_be_read_is_refused_and_stays_in_its_box(name: str, text: str) -> None:
    checked = form(**{name: text})

    assert not checked.is_valid()
    assert list(checked.errors) == [name]
    assert f'value="{text}"' in str(checked[name])


def test_a_figure_with_two_readings_asks_which_one() -> None:
    checked = form(GERMAN, length="1.250")

    assert not checked.is_valid()
    error = checked.errors.as_data()["length"][0]
    assert error.code == "ambiguous"
    assert len(set(error.params["readings"])) == 2
    assert "1.250" in error.message and "Write it with its unit." in error.message


def test_a_form_without_a_person_reads_points_and_millimetres() -> None:
    checked = SheetForm(typed(length="12.7"))

    assert checked.is_valid()
    assert checked.cleaned_data["length"].mm == 12.7


# ---- keys


def test_every_form_shown_has_a_key_of_its_own() -> None:
    keys = {str(SheetForm()["key"].value()) for _ in range(3)}

    assert len(keys) == 3
    assert all(UUID(key) for key in keys)
    assert 'type="hidden"' in str(SheetForm()["key"])


@pytest.mark.parametrize("key", ["", "no key", "1234"])
def test_a_form_without_its_key_asks_to_be_loaded_again(key: str) -> None:
    checked = form(key=key)

    assert not checked.is_valid()
    assert checked.errors["key"] == ["Reload the page and save once more."]


def test_a_renewed_key_is_another_and_all_that_was_typed_stays() -> None:
    checked = form(name="Wiper motor", tags=["a", "b"])
    assert checked.is_valid()
    old = checked["key"].value()

    checked.renew_key("This form was saved already.")

    assert UUID(checked["key"].value()) != UUID(old)
    assert checked["name"].value() == "Wiper motor"
    assert checked["tags"].value() == ["a", "b"]
    assert checked.problems == [("", "This form was saved already.")]


def test_putting_a_value_leaves_the_post_itself_alone() -> None:
    data = typed(tags=["a", "b"])
    checked = SheetForm(data, person=BRITISH)

    checked.put("name", "Horn")

    assert checked["name"].value() == "Horn"
    assert (data["name"], data.getlist("tags")) == ("Coil", ["a", "b"])
    assert checked["tags"].value() == ["a", "b"]


@pytest.mark.parametrize("text", ["", "no key", "1234", None])
def test_a_post_without_a_key_has_none(text: str | None) -> None:
    request = HttpRequest()
    request.POST = QueryDict(mutable=True)
    if text is not None:
        request.POST["key"] = text

    assert key_of(request) is None


def test_the_key_of_a_post_is_read() -> None:
    key, request = uuid4(), HttpRequest()
    request.POST = QueryDict(f"key={key}")

    assert key_of(request) == key


# ---- how it looks


def test_the_summary_names_each_error_in_order_with_where_it_is() -> None:
    checked = form(name="", side="x", cost="-1")
    checked.add_error(None, "Nothing was saved.")

    assert [where for where, _ in checked.problems] == ["", "id_name", "id_side", "id_cost"]
    assert checked.problems[0] == ("", "Nothing was saved.")


def test_a_form_that_is_right_or_not_sent_yet_has_no_problems() -> None:
    assert SheetForm().problems == []
    assert form().problems == []


def test_a_field_says_label_help_error_and_which_control_they_belong_to() -> None:
    checked = form(name="")
    html = unescape(str(checked["name"].as_field_group()))

    assert '<label for="id_name">What is it?</label>' in html
    assert '<p class="error" id="id_name_error">This field is required.</p>' in html
    assert '<p class="help" id="id_name_helptext">Plain words.</p>' in html
    assert 'aria-describedby="id_name_helptext id_name_error"' in html
    assert 'aria-invalid="true"' in html
    assert "is-wrong" in html


def test_choices_stand_in_a_fieldset_and_a_tick_in_its_label() -> None:
    side = str(form(side="")["side"].as_field_group())
    kept = str(form()["kept"].as_field_group())

    assert side.startswith('<fieldset class="field is-wrong" id="id_side"')
    assert "<legend>Side</legend>" in side
    assert side.count('type="radio"') == 2
    assert '<label class="tick-label"><input type="checkbox" name="kept"' in kept


def test_the_browsers_own_bubble_never_hides_our_sentence() -> None:
    assert " required" not in str(SheetForm())
    assert SheetForm()["on"].as_widget().count('type="date"') == 1


@pytest.mark.parametrize("text", ["<script>alert(1)</script>", '"><b>', "'--"])
def test_what_was_typed_is_shown_as_text(text: str) -> None:
    checked = form(name=text, cost=text)

    html = str(checked)

    assert text not in html.replace("&#x27;", "\u2019")
    assert text in unescape(html)


def test_a_form_of_a_row_reads_and_looks_the_same() -> None:
    class SystemForm(GarageModelForm):
        key = KeyField()

        class Meta:
            model = System
            fields = ("name",)

    checked = SystemForm(typed(name=""), person=BRITISH)

    assert checked.problems == [("id_name", "This field is required.")]
    checked.renew_key("Used.")
    assert checked.problems[0] == ("", "Used.")
