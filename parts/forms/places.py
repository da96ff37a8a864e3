from django import forms

from garage.forms import GarageForm
from parts.forms.takeoff import PlaceField


class NewPlaceForm(GarageForm):
    path = PlaceField(
        label="Shelf, box or bag",
        required=True,
        error_messages={"required": "Give the place a name"},
        help_text="Write the way to it: Shelf A / Box 3 / Bag 31.",
    )


class PutAwayForm(GarageForm):
    """Where something goes that lies in the hand."""

    place = PlaceField()


class RenamePlaceForm(GarageForm):
    name = forms.CharField(
        label="Name", max_length=40, error_messages={"required": "Give the place a name"}
    )
    within = PlaceField(label="Stands in", help_text="Leave empty when it stands on its own.")
