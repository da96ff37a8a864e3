"""The document a pipe is kept in: every schema ever written is read."""

import pytest

from fabrication.pipe.inputs import (
    BendRead,
    End,
    Leg,
    Length,
    TwistRead,
    UnknownSchema,
    document_of,
    read,
)
from tests.fabrication.pipe_rows import pipe_of

# As the first version wrote it, letter for letter.
SCHEMA_1 = {
    "schema": 1,
    "rows": [
        {"straight": {"mm": 101.6, "typed": "4 in"}, "twist_deg": 0.0, "bend_deg": 90.0},
        {"straight": {"mm": 80.0, "typed": "80"}, "twist_deg": -30.0, "bend_deg": 60.0},
    ],
    "last": {"mm": 120.0, "typed": "120"},
    "end_a": {
        "form": "bead",
        "trim": {"mm": 2.0, "typed": "2"},
        "bead_height": None,
        "bead_width": None,
        "bead_centre": {"mm": 8.5, "typed": "8.5"},
    },
    "end_b": {
        "form": "plain",
        "trim": None,
        "bead_height": None,
        "bead_width": None,
        "bead_centre": None,
    },
}


def test_a_sheet_of_the_first_version_is_read_as_straights_twists_and_bends() -> None:
    typed = read(SCHEMA_1)

    assert typed.way == "bends"
    assert typed.bends is not None
    first, second = typed.bends.rows
    assert first.leg == Leg(Length(101.6, "4 in"))
    assert (second.twist, second.bend) == (TwistRead(deg=-30.0), BendRead(deg=60.0))
    assert typed.bends.last == Leg(Length(120.0, "120"))
    assert typed.end_a == End("bead", trim=Length(2.0, "2"), bead_centre=Length(8.5, "8.5"))
    assert typed.end_b == End()


def test_a_sheet_of_the_first_version_written_again_reads_the_same() -> None:
    typed = read(SCHEMA_1)

    again = document_of(typed)

    assert again["schema"] == 2
    assert read(again) == typed


@pytest.mark.parametrize("schema", [0, 3, "2"])
def test_a_document_of_no_known_schema_is_not_guessed_at(schema: object) -> None:
    document = document_of(pipe_of((100, 0, 90), last_mm=120)) | {"schema": schema}

    with pytest.raises(UnknownSchema):
        read(document)
