"""Corner points out of spreadsheets as they really come: odd dividers, headings, decimal commas."""

import pytest

from fabrication.pipe.pasted import BadPaste, points_in, text_of
from garage.models import Person

ENGLISH = Person(units="mm", region="en_GB")
GERMAN = Person(units="mm", region="de_DE")
INCHES = Person(units="in", region="en_US")


def cells(text: str, person: Person = ENGLISH) -> list[list[str]]:
    return [list(point.values()) for point in points_in(text, person=person, most=24)]


TWO = [["0", "0", "0"], ["100.5", "-60", "0"]]


@pytest.mark.parametrize(
    "text",
    [
        "0\t0\t0\n100.5\t-60\t0\n",
        "0\t0\t0\r\n100,5\t-60\t0\r\n",
        "0;0;0\n100,5;-60;0;\n",
        "0,0,0\n100.5,-60,0",
        "0 0 0\n100.5  -60 0",
        "0 0 0\n100,5 -60 0",
        "\ufeffx;y;z\n\n0;0;0\n;;\n100.5;-60;0\n",
        "x (mm)\ty (mm)\tz (mm)\n0\t0\t0\n100.5\t-60\t0",
        "A\t0\t0\t0\nB\t100.5\t-60\t0",
        "1,0,0,0\n2,100.5,-60,0",
        '"0";"0";"0"\n"100,5";"-60";"0"',
    ],
)
def test_two_points_are_read_however_the_spreadsheet_writes_them(text: str) -> None:
    assert cells(text) == TWO


def test_a_fourth_figure_is_a_radius() -> None:
    assert cells("0\t0\t0\t\n100\t0\t0\t45\n100\t90\t0\t") == [
        ["0", "0", "0"],
        ["100", "0", "0", "45"],
        ["100", "90", "0"],
    ]


def test_figures_come_into_the_boxes_under_the_readers_own_decimal_mark() -> None:
    assert cells("0.5\t0\t0\n1\t2\t3", GERMAN) == [["0,5", "0", "0"], ["1", "2", "3"]]


def test_inches_as_fractions_are_read_by_who_reads_inches() -> None:
    assert cells("1 1/2\t0\t0\n3/4\t2\t0", INCHES) == [["1 1/2", "0", "0"], ["3/4", "2", "0"]]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no point in it"),
        ("x,y,z", "no point in it"),
        ("0,0,0\n1,2", "Line 2 has 2 figures"),
        ("1,5,2,5,3,5\n1,5,2,5,4,5", "With decimal commas, let tabs or semicolons"),
        ("0\t0\t0\n\n1\tsoon\t2", "Line 3, y is “soon”"),
        ("0\t0\t0\n1\t\t2", "Line 2, y is nothing"),
        ("0\t0\t0\n1,250\t2\t3", "Line 2, x: is “1,250” 1.25 mm or 1250 mm?"),
        ("\n".join(f"{n}.5\t0\t0" for n in range(30)), "30 points are more than"),
    ],
)
def test_what_is_no_point_is_told_by_its_line(text: str, says: str) -> None:
    with pytest.raises(BadPaste) as bad:
        points_in(text, person=ENGLISH, most=24)

    assert says in str(bad.value)


def test_files_are_read_as_spreadsheets_save_them() -> None:
    assert text_of("\ufeffx;y\n".encode()) == "x;y\n"
    assert text_of("x\ty".encode("utf-16")) == "x\ty"
    assert text_of("Länge".encode("cp1252")) == "Länge"


def test_a_workbook_is_not_read_as_text() -> None:
    with pytest.raises(BadPaste, match="Save it as CSV"):
        text_of(b"PK\x03\x04rest of a workbook")
