"""The form of counting back: four numbers a line, or one choice where a single piece is out."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.http import HttpRequest

from garage.forms import GarageForm, KeyField, MoneyField
from garage.models import Photo
from garage.photos import store
from parts.countback import Tally
from parts.forms.dropoffs import number, text
from parts.forms.takeoff import PlaceField
from parts.models import Line

ANSWERS = (
    ("good", "Good"),
    ("redo", "To be redone"),
    ("missing", "Missing"),
    ("unsound", "Found unsound"),
)


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the form: its bound fields by their plain names."""

    line: Line
    fields: dict[str, Any]
    photo: Photo | None

    @property
    def photo_name(self) -> str:
        return f"l{self.line.pk}-photo"


class CountForm(GarageForm):
    """Fields ``l<line>-…`` for each line with something still out, then place and invoice."""

    place = PlaceField(label="Put what came back in")
    invoiced = MoneyField(label="Invoice, if it came", required=False)

    def __init__(
        self,
        *args: Any,
        lines: Sequence[Line],
        photos: dict[int, Photo] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.outs = {line.pk: line.still_out + self._counted_by_this_form(line) for line in lines}
        self.lines = [line for line in lines if self.outs[line.pk] > 0]
        self.photos = photos or {}
        for line in self.lines:
            for name, field in _fields_for(line, self.outs[line.pk]).items():
                self.fields[f"l{line.pk}-{name}"] = field
        self.fields["invoiced"].person = self.person

    def _counted_by_this_form(self, line: Line) -> int:
        """What this very form has counted of the line already, when it is sent a second time."""
        key = self.data.get(f"l{line.pk}-key", "") if self.is_bound else ""
        return sum(count.total for count in line.counts.all() if str(count.key) == key)

    @property
    def rows(self) -> list[Row]:
        return [self._row(line) for line in self.lines]

    def _row(self, line: Line) -> Row:
        start = f"l{line.pk}-"
        names = [name for name in self.fields if name.startswith(start)]
        return Row(
            line, {name.removeprefix(start): self[name] for name in names}, self.photos.get(line.pk)
        )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        for line in self.lines:
            good, redo, missing, unsound = self._numbers(line)
            total = good + redo + missing + unsound
            out = self.outs[line.pk]
            if total > out:
                self.add_error(
                    f"l{line.pk}-good", f"{line}: {total} counted, but only {out} still out"
                )
            noted = data.get(f"l{line.pk}-note") or line.pk in self.photos
            if noted and not total:
                name = f"l{line.pk}-is" if out == 1 else f"l{line.pk}-good"
                self.add_error(name, f"{line}: say what came back as well")
        return data

    def _numbers(self, line: Line) -> tuple[int, int, int, int]:
        data = self.cleaned_data
        out = self.outs[line.pk]
        if out == 1:
            answer = data.get(f"l{line.pk}-is")
            return tuple(int(answer == code) for code, _ in ANSWERS)  # type: ignore[return-value]
        if data.get(f"l{line.pk}-all"):
            # Figures beside "all good" make too many, which the form then says.
            redo, missing, unsound = (
                data.get(f"l{line.pk}-{code}") or 0 for code, _ in ANSWERS[1:]
            )
            return out, redo, missing, unsound
        return tuple(data.get(f"l{line.pk}-{code}") or 0 for code, _ in ANSWERS)  # type: ignore[return-value]

    def tallies(self) -> list[Tally]:
        """What was counted, line by line; lines nothing is said of are left out."""
        found = []
        for line in self.lines:
            good, redo, missing, unsound = self._numbers(line)
            if good + redo + missing + unsound:
                found.append(
                    Tally(
                        line=line,
                        key=self.cleaned_data[f"l{line.pk}-key"],
                        good=good,
                        redo=redo,
                        missing=missing,
                        unsound=unsound,
                        note=self.cleaned_data[f"l{line.pk}-note"],
                        photo=self.photos.get(line.pk),
                    )
                )
        return found

    def all_good(self) -> list[Tally]:
        """Everything still out, good."""
        return [
            Tally(line=line, key=self.cleaned_data[f"l{line.pk}-key"], good=self.outs[line.pk])
            for line in self.lines
        ]

    def once_more(self, lines: Sequence[Line]) -> "CountForm":
        """The same figures as a new count of what ``lines`` still have out."""
        data = self.data.copy()
        for line in lines:
            data[f"l{line.pk}-key"] = str(uuid4())
        return CountForm(data, lines=lines, photos=self.photos, person=self.person)


def _fields_for(line: Line, out: int) -> dict[str, forms.Field]:
    fields: dict[str, forms.Field] = {"key": KeyField()}
    if out == 1:
        fields["is"] = forms.ChoiceField(
            label=f"{line} is",
            choices=[*ANSWERS, ("", "Still out")],
            required=False,
            widget=forms.RadioSelect,
            initial="",
        )
    else:
        fields["all"] = forms.BooleanField(label=f"All {out} good", required=False)
        for code, label in ANSWERS:
            fields[code] = number(label, out, min_value=0)
    fields["note"] = text("What is wrong?", 300)
    return fields


def photos_of(
    request: HttpRequest, lines: Sequence[Line], *, now: datetime
) -> tuple[dict[int, Photo], list[str]]:
    """{line: its photo}, stored whatever else is wrong with the form, and what was refused."""
    photos: dict[int, Photo] = {}
    problems: list[str] = []
    for line in lines:
        if upload := request.FILES.get(f"l{line.pk}-photo"):
            try:
                photos[line.pk] = store.accept(upload=upload, key=uuid4(), by=request.user, now=now)
            except (store.PhotoRefused, store.NoRoomForPhotos) as refused:
                problems.append(f"{upload.name}: {refused}")
        elif kept := _kept(request.POST.get(f"l{line.pk}-photo_key", ""), request.user):
            photos[line.pk] = kept
    return photos, problems


def _kept(key: str, by: Any) -> Photo | None:
    try:
        return Photo.objects.waiting_on_a_form().filter(key=UUID(key), added_by=by).first()
    except ValueError:
        return None
