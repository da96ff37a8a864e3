"""The thread box: what a text names, what a thread is mistaken for, what a bolt bears."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from parts.threads import (
    PROPERTY_CLASSES,
    SYSTEM_NAMES,
    Thread,
    all_threads,
    choices,
    find,
    look_alikes,
    mixed_up,
    proof_load_n,
    property_class,
)


def thread(designation: str) -> Thread:
    return {each.designation: each for each in all_threads()}[designation]


def alike(designation: str) -> set[str]:
    return {each.thread.designation for each in look_alikes(thread(designation))}


# ---- finding


@pytest.mark.parametrize(
    ("text", "designation"),
    [
        ("M8 x 1.25", "M8"), ("m8", "M8"), ("M8×1", "M8x1"), ("M8x1.0", "M8x1"), ("M8*1", "M8x1"),
        ("M8x1,25", "M8"), (" m 8 ", "M8"), ("M8-1", "M8x1"), ("8x1", "M8x1"), ("M8 1.25", "M8"),
        ("MF10x1", "M10x1"), ("M8 fine", "M8x1"), ("M10 coarse", "M10"),
        ("5/16 UNC", "5/16-18 UNC"), ("5/16-18 UNC", "5/16-18 UNC"), ("UNC 5/16", "5/16-18 UNC"),
        ("5/16 x 18 UNC", "5/16-18 UNC"), ("5/16\" UNC", "5/16-18 UNC"), ("5/16 NC", "5/16-18 UNC"),
        ("3/8 UNF 24 tpi", "3/8-24 UNF"), ("3/8 UNF x 24", "3/8-24 UNF"), ("1/4-28", "1/4-28 UNF"),
        ("5/16-24", "5/16-24 UNF"), ("10-32", "#10-32 UNF"), ("#10-32", "#10-32 UNF"),
        ("No. 10 UNF", "#10-32 UNF"), ("no 8-32", "#8-32 UNC"),
        ('1/4" BSF', "1/4 BSF"), ("¼″ bsf", "1/4 BSF"), ("1/4 BSF 26", "1/4 BSF"),
        ("1/2-12", "1/2 BSW"), ("1/4 Whit", "1/4 BSW"), ("1/4W", "1/4 BSW"),
        ("2BA", "2 BA"), ("2 ba", "2 BA"), ("BA 2", "2 BA"), ("0BA", "0 BA"),
        ("G1/4", "G1/4"), ("G 1/4", "G1/4"), ("1/4 BSP", "G1/4"), ("1/8-28 BSPP", "G1/8"),
        ("1/4 brass", "1/4 brass"), ("1/4-26 brass", "1/4 brass"), ("1/2 BSB", "1/2 brass"),
    ],
)  # fmt: skip
def test_what_people_type_finds_the_thread(text: str, designation: str) -> None:
    found = find(text)

    assert found is not None
    assert found.designation == designation


@pytest.mark.parametrize(
    "text",
    ["1/4-20", "5/16-18", "1/4-26", "8", "5/16", "M10 fine"],  # more than one
)
def test_a_text_that_names_two_threads_finds_none(text: str) -> None:
    assert find(text) is None


@pytest.mark.parametrize(
    "text",
    ["", "x", "M", "M99", "M8x2", "1/4-20 BSF", "#M8", "#1/4", "1 1/2 BSW", "1/0 BSW", "m8 unc",
     "12.5 mm", "M8" + "0" * 100, "5/16-18-18 UNC", "1/4-28 UNF 26", "٨"],
)  # fmt: skip
def test_no_thread_of_ours_finds_none(text: str) -> None:
    assert find(text) is None


def test_every_designation_and_label_start_is_found_again() -> None:
    for each in all_threads():
        assert find(each.designation) == each
        assert find(each.designation.replace(" ", "").upper()) == each
        assert find(f"  {each.designation.lower()}  ") == each


@given(st.text(max_size=50))
def test_any_text_finds_a_thread_of_the_table_or_none(text: str) -> None:
    assert find(text) in (None, *all_threads())


def test_choices_hold_every_thread_once_under_its_system() -> None:
    groups = choices()

    assert [name for name, _ in groups] == list(SYSTEM_NAMES.values())
    values = [value for _, rows in groups for value, _ in rows]
    assert values == [each.designation for each in all_threads()]
    assert len(set(values)) == len(values) == 92
    labels = dict(row for _, rows in groups for row in rows)
    assert labels["M8"] == "M8, 1.25 mm"
    assert labels["5/16 BSF"] == "5/16 BSF, 22 to the inch"


# ---- look-alikes: pairs every garage that keeps old cars knows (common practice)


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("1/4 BSF", "1/4-28 UNF"), ("1/4 BSW", "1/4-20 UNC"), ("5/16 BSW", "5/16-18 UNC"),
        ("3/8 BSW", "3/8-16 UNC"), ("7/16 BSW", "7/16-14 UNC"), ("1/2 BSW", "1/2-13 UNC"),
        ("5/16 BSF", "5/16-24 UNF"), ("5/16 BSF", "M8"), ("5/16-24 UNF", "M8"),
        ("5/16-18 UNC", "M8"), ("3/8 BSF", "3/8-24 UNF"), ("3/8 BSF", "M10x1.25"),
        ("3/8-24 UNF", "M10x1.25"), ("2 BA", "#10-32 UNF"),
        # Brake pipe nuts: a pipe maker's help page and a car maker's fitting instructions warn
        # that 3/8 x 24 starts in 10 x 1 and strips it, and the other way round.
        ("3/8-24 UNF", "M10x1"),
        # Computed: 0.2 mm apart, 0.8 % in pitch; 0.35 mm, 2.3 %; same size and pitch, 47.5 degrees.
        ("#10-32 UNF", "M5"), ("1/4 BSF", "M6"), ("0 BA", "M6"),
    ],
)  # fmt: skip
def test_known_look_alikes_are_named_from_both_sides(one: str, other: str) -> None:
    assert other in alike(one)
    assert one in alike(other)
    said = {each.thread.designation: each.sentence for each in look_alikes(thread(one))}[other]
    back = {each.thread.designation: each.sentence for each in look_alikes(thread(other))}[one]
    assert said == back


def test_clearly_different_threads_are_no_look_alikes() -> None:
    assert alike("M24") == set()
    assert alike("G3/4") == set()
    assert alike("1/4-20 UNC") == {"1/4 BSW"}
    assert "M8x1" not in alike("M8")
    # One thread under two names, 26 to the inch and Whitworth form both.
    assert "1/4 brass" not in alike("1/4 BSF")


def test_the_rule_is_kept_for_every_pair() -> None:
    for one, other in combinations(all_threads(), 2):
        near = abs(one.major_mm - other.major_mm) < 0.3501
        pitches = sorted((one.pitch_mm, other.pitch_mm))
        same = one.major_mm == other.major_mm and one.angle_deg == other.angle_deg
        if near and pitches[0] >= 0.95 * pitches[1] and not (same and pitches[0] == pitches[1]):
            assert other.designation in alike(one.designation), (one, other)


def test_the_sentence_says_what_happens() -> None:
    def said(one: str, other: str) -> str:
        return next(
            each.sentence for each in look_alikes(thread(one)) if each.thread.designation == other
        )

    assert said("M8", "5/16-18 UNC") == "5/16 UNC starts in an M8 thread and then binds."
    assert "55 and 60 degrees" in said("1/4-20 UNC", "1/4 BSW")
    assert said("M5", "#10-32 UNF").startswith("#10-32 UNF goes loosely into M5")
    assert said("2 BA", "#10-32 UNF").endswith("one starts in the other, then binds.")


def test_known_pairs_come_first() -> None:
    first = look_alikes(thread("1/4 BSF"))[0]

    assert first.thread.designation == "1/4-28 UNF"


def test_one_part_with_look_alikes_gets_a_caution_each() -> None:
    m8, unc, bsf, m24 = (thread(name) for name in ("M8", "5/16-18 UNC", "5/16 BSF", "M24"))

    assert mixed_up([m8, m8, m24]) == ()
    assert mixed_up([]) == ()
    assert mixed_up([m8, unc, m24]) == ("5/16 UNC starts in an M8 thread and then binds.",)
    assert len(mixed_up([unc, m8, bsf, m8])) == 2
    assert set(mixed_up([m8, bsf])) == set(mixed_up([bsf, m8]))


# ---- strength


def test_a_class_depends_on_the_diameter() -> None:
    assert property_class(name="8.8", thread=thread("M16")).proof_mpa == 580
    assert property_class(name="8.8", thread=thread("M18")).proof_mpa == 600
    assert all(row.source.startswith("ISO 898-1") for row in PROPERTY_CLASSES)


@pytest.mark.parametrize(
    ("name", "designation", "reason"),
    [
        ("8.8", "5/16-18 UNC", "metric bolts"), ("8.8", "2 BA", "metric bolts"),
        ("9.8", "M18", "no class 9.8 for M18"), ("7.7", "M8", "no class 7.7"),
    ],
)  # fmt: skip
def test_outside_the_standard_there_is_no_strength(
    name: str, designation: str, reason: str
) -> None:
    with pytest.raises(ValueError, match=reason):
        proof_load_n(name=name, thread=thread(designation))


def test_an_area_that_is_ours_says_so() -> None:
    ours = {each.system for each in all_threads() if not each.area_is_standard}

    assert ours == {"BSW", "BSF", "BSPP", "BSB26", "BA"}
