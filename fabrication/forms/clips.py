"""What a clip goes round and is made like; what a bracket or clip has to bear."""

from typing import Any

from django import forms

from fabrication.bracket import bracket_inputs as inputs
from fabrication.forms import SizeField
from fabrication.forms.brackets import PlainNumberField, RowForm


class ClipForm(RowForm):
    od = SizeField(
        label="Goes round, outside diameter",
        most_mm=200,
        zero=False,
        required=False,
        help_text="Empty: that of the pipe sheet above.",
    )
    liner = SizeField(
        label="Liner, thick",
        most_mm=20,
        zero=True,
        required=False,
        help_text="Rubber strip between pipe and metal.",
    )
    liner_lies = forms.ChoiceField(
        label="Liner lies",
        choices=[("all_round", "all round the pipe"), ("in_strap", "in the strap alone")],
        required=False,
    )
    ear = SizeField(
        label="Ear",
        most_mm=200,
        zero=False,
        help_text="From the outer face of the upright; of a P-clip its flat.",
        error_messages={"required": "Write how long an ear is"},
    )
    ear_radius = SizeField(
        label="Inside radius at the ear",
        most_mm=50,
        zero=False,
        required=False,
        help_text="Empty: one and a half thicknesses.",
    )
    width = SizeField(
        label="Width of the strap",
        most_mm=300,
        zero=False,
        error_messages={"required": "Write how wide the strap is"},
    )
    nip = SizeField(
        label="Nip",
        most_mm=3,
        zero=True,
        required=False,
        help_text="How much the ears stand off before the screws: 0.3 to 0.8 mm.",
    )
    hole = SizeField(label="Hole in the ear, Ø", most_mm=50, zero=False, required=False)
    hole_from_upright = SizeField(
        label="Hole, from where the ear is measured", most_mm=200, zero=False, required=False
    )

    def clip(self) -> inputs.ClipRow:
        lengths = ("od", "liner", "ear", "ear_radius", "width", "nip", "hole", "hole_from_upright")
        return inputs.ClipRow(
            liner_all_round=self.cleaned_data["liner_lies"] != "in_strap",
            **{name: self.maybe(name) for name in lengths},
        )


class LoadForm(RowForm):
    place = forms.ChoiceField(label="It sits", choices=inputs.PLACES, required=False)
    mass_kg = PlainNumberField(label="Carries, kg", least=0.001, most=500, required=False)
    arm = SizeField(
        label="Sticks out by",
        most_mm=2_000,
        zero=False,
        required=False,
        help_text="From its fixing to the middle of what it carries.",
    )
    g_factor = PlainNumberField(
        label="Jerks at, times its weight",
        least=1,
        most=100,
        required=False,
        help_text="Empty: 5 on the body, 10 by a wheel, 15 on the engine. Our figures.",
    )
    edge = SizeField(
        label="Edge turned up, over all",
        most_mm=200,
        zero=False,
        required=False,
        help_text="A flange along the strip, to stiffen it.",
    )
    pull_n = PlainNumberField(label="Pull along it, N", least=0.1, most=1e6, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        wanted = {"mass_kg": "Write what it carries", "arm": "Write how far it sticks out"}
        for name, says in wanted.items():
            if data.get("place") and name not in self.errors and data.get(name) is None:
                self.add_error(name, says)
        return data

    def load(self) -> inputs.LoadRow:
        data = self.cleaned_data
        return inputs.LoadRow(
            place=data["place"],
            mass_kg=data["mass_kg"],
            g_factor=data["g_factor"],
            arm=self.maybe("arm"),
            edge=self.maybe("edge"),
            pull_n=data["pull_n"],
        )
