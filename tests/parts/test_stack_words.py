"""A stack written in one line, against how the trade writes fasteners."""

import pytest

from parts.models import StackItem
from parts.stack_words import CannotRead, Written, read_stack, write_stack

What = StackItem.What
Treatment = StackItem.Treatment


def read(text: str, *, unit: str = "mm", mark: str = ".") -> list[Written]:
    return read_stack(text, default_unit=unit, decimal_mark=mark)


def test_a_line_becomes_a_stack_from_the_head() -> None:
    assert read("M8 x 25 bolt, plain washer, spring washer, nut") == [
        Written(What.BOLT, "M8", "25 mm"),
        Written(What.PLAIN_WASHER),
        Written(What.SPRING_WASHER),
        Written(What.NUT, "M8"),
    ]


@pytest.mark.parametrize(
    ("text", "thing"),
    [
        ("5/16 UNF x 1 1/4 in bolt", Written(What.BOLT, "5/16-24 UNF", "1 1/4 in")),
        # Common practice: a bare length is in the system of its thread.
        ("1/4 BSF x 3/4 screw", Written(What.SCREW, "1/4 BSF", "3/4 in")),
        (
            "2BA x 1/2 screw csk brass",
            Written(What.SCREW, "2 BA", "1/2 in", "countersunk", material="brass"),
        ),
        ("M10 x 1.25 x 30 stud", Written(What.STUD, "M10x1.25", "30 mm")),
        ("M10 x 1.25 bolt", Written(What.BOLT, "M10x1.25")),
        ("M8 bolt 8.8 x 25", Written(What.BOLT, "M8", "25 mm", property_class="8.8")),
        (
            "M8 × 25 bolt 10.9 zinc plated new",
            Written(What.BOLT, "M8", "25 mm", "", "10.9", "zinc plated", Treatment.RENEW),
        ),
        ("8.8 mm spacer", Written(What.SPACER, "", "8.8 mm")),
        ("bolt M6x20", Written(What.BOLT, "M6", "20 mm")),
        ("0.5 mm shim", Written(What.SHIM, "", "0.5 mm")),
        ("self-locking nut M8", Written(What.LOCK_NUT, "M8")),
    ],
)  # fmt: skip
def test_one_thing_is_read_whole(text: str, thing: Written) -> None:
    assert read(text) == [thing]


def test_a_decimal_comma_does_not_part_two_things() -> None:
    assert read("12,5 mm spacer, M8 nut", mark=",") == [
        Written(What.SPACER, "", "12,5 mm"),
        Written(What.NUT, "M8"),
    ]


def test_a_count_makes_that_many() -> None:
    assert [thing.what for thing in read("M8 x 25 bolt, 2 plain washers, nut")] == [
        What.BOLT,
        What.PLAIN_WASHER,
        What.PLAIN_WASHER,
        What.NUT,
    ]


def test_2_ba_is_a_thread_and_not_two_nuts() -> None:
    assert read("2 BA nut") == [Written(What.NUT, "2 BA")]


def test_a_nut_with_its_own_thread_keeps_it() -> None:
    things = read("M8 x 25 bolt, 5/16 UNF nut")

    assert things[1].thread == "5/16-24 UNF"


@pytest.mark.parametrize(
    ("text", "named"),
    [
        ("M8 x 25 bolt, gubbins, nut", "“gubbins”"),
        ("M8 x 25 bolt wobbly, nut", "wobbly"),
        ("7/8 UNS x 2 in bolt", "7/8 uns"),
        ("8 mm washer", "8 mm"),
        ("", "no fastener"),
        (" , ", "no fastener"),
    ],
)
def test_what_cannot_be_read_is_refused_and_named(text: str, named: str) -> None:
    with pytest.raises(CannotRead, match=named):
        read(text)


def test_a_length_with_two_readings_is_refused_with_both() -> None:
    with pytest.raises(CannotRead, match=r"1\.25.*1250"):
        read("1/4 BSF x 1,250 bolt")


def test_a_stack_is_written_as_it_is_read() -> None:
    stack = [
        StackItem(
            what=What.BOLT, thread="M8", length_mm=25.0, length_typed="25", property_class="8.8"
        ),
        StackItem(what=What.PLAIN_WASHER),
        StackItem(what=What.THE_PART, length_mm=12.7, length_typed="1/2 in"),
        StackItem(what=What.NUT, thread="M8"),
    ]

    line = write_stack(stack)

    assert line == "M8 x 25 mm bolt 8.8, plain washer, 1/2 in the part, M8 nut"
    assert [thing.what for thing in read(line)] == [item.what for item in stack]
