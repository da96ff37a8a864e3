"""From what people wrote down to what the rules are asked: nothing is lost on the way."""

from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import checking, lines, questions
from parts.gate import reading
from parts.models import Alloy, Line, Piece, Service
from tests import factories
from tests.factories import NOW
from tests.parts.batches import bolt, change, make_building, make_waiting

# The usual mistakes, each from facts a person would have entered: answers, work, metal, rule.
ENTERED = [
    ({"zinc": "yes"}, "powder", "steel", "H12"),
    ({"repair": "yes"}, "powder", "steel", "H01"),
    ({"glue": "yes"}, "powder", "steel", "H07"),
    ({"left_on": "yes"}, "powder", "steel", "H08"),
    ({"hollow": "yes"}, "powder", "steel", "H10"),
    ({"hard": "yes"}, "plate", "steel", "P01"),
    ({}, "powder", "cast_aluminium", "H12"),
    ({"aged": "yes"}, "powder", "aluminium", "H13"),
    ({"lead_paint": "yes"}, "blast", "steel", "B02p"),
]


@pytest.fixture
def piece(car: Car, owner: Person) -> Piece:
    return make_waiting(car=car, by=owner)


def _line(piece: Piece, by: Person, **terms: str) -> Line:
    return make_building(car=piece.part.car, by=by, pieces=[piece], **terms).lines.get()


def _rules(line: Line) -> set[str]:
    fresh = Line.objects.for_sheet().get(pk=line.pk)
    found = checking.check_lines(fresh.dropoff, [fresh], now=NOW)[0].findings
    return {one.rule for one in found}


@pytest.mark.parametrize(("says", "work", "material", "rule"), ENTERED, ids=str)
def test_what_a_person_entered_fires(
    car: Car, owner: Person, says: dict[str, str], work: str, material: str, rule: str
) -> None:
    piece = make_waiting(car=car, by=owner, work=work)
    piece.change({"material": material})
    factories.answer(piece, by=owner, **says)

    assert rule in _rules(_line(piece, owner))


def test_sand_in_the_terms_of_the_sheet_fires(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner)

    assert "B01" in _rules(_line(piece, owner, grit="washed sand"))


def test_a_bolt_named_in_a_lot_fires(car: Car, owner: Person) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    line = lines.add_lot(
        dropoff=one, key=uuid4(), lot="Bolts", count=9, work="plate", by=owner, now=NOW
    )
    before = _rules(line)
    Line.objects.filter(pk=line.pk).update(strongest="10.9")

    assert before == {"H00l"}
    assert _rules(line) == {"P02p"}


def test_what_is_joined_into_a_piece_counts_for_it(car: Car, piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner)
    inside = factories.make_piece(car=car, by=owner, name="Float")
    deep = factories.make_piece(car=car, by=owner, name="Seat")
    inside.change({"joined_into": piece})
    deep.change({"joined_into": inside, "material": "plastic"})
    factories.answer(inside, by=owner, hollow="unknown")

    found = _rules(_line(piece, owner))

    assert {"H10", "H08"} <= found
    assert "H00" not in found


def test_a_solder_with_a_name_has_its_own_melting_point(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner, repair="yes")
    factories.make_joint(
        piece=piece, by=owner, how="solder", alloy=Alloy.objects.get(name="Pure tin")
    )

    assert _rules(_line(piece, owner)) & {"H01", "H02"} == {"H02"}


def test_a_solder_without_a_name_is_taken_for_tin_lead(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner, repair="yes")
    factories.make_joint(piece=piece, by=owner, how="solder")

    assert "H01" in _rules(_line(piece, owner))


def test_a_joint_taken_apart_counts_no_more(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner)
    joint = factories.make_joint(piece=piece, by=owner, how="solder")
    joint.parted_at = NOW
    joint.save()

    assert "H01" not in _rules(_line(piece, owner))


def test_rubber_left_in_by_agreement_on_the_line_fires(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner)
    line = _line(piece, owner)

    change(line, by=owner, masks=[{"what": "rubber", "count": 2, "thread": "", "how": "tape"}])

    assert "H08" in _rules(line)


def test_the_temperature_of_the_finisher_decides(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner, bearing="yes")
    line = _line(piece, owner)
    hot = _rules(line)

    Service.objects.filter(process="powder").update(peak_c=120)

    assert "H09" in hot
    assert "H09" not in _rules(line)


def test_threads_written_down_with_the_fasteners_need_no_asking(
    piece: Piece, owner: Person
) -> None:
    bolt(piece, thread="M8")
    rows = reading.Rows.of([piece])

    facts = reading.facts_of(piece, rows, now=NOW)

    assert (facts.says("threads"), facts.threads) == ("yes", ("M8",))


def test_a_bake_written_in_the_remarks_disarms_the_stop(car: Car, owner: Person) -> None:
    piece = make_waiting(car=car, by=owner, work="plate")
    piece.change({"material": "spring_steel"})
    factories.answer(piece, by=owner)
    line = _line(piece, owner)
    before = _rules(line)

    change(line, by=owner, remarks="Spring steel: bake for hydrogen, 4 h at 200 °C")

    assert "P01" in before
    assert _rules(line) & {"P01", "P02p"} == {"P02p"}


def test_a_later_answer_counts_and_history_keeps_both(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner, hollow="unknown")
    factories.answer(piece, by=owner, hollow="no")

    said = list(piece.events.filter(kind="answered").order_by("pk").values_list("text", flat=True))
    assert "Closed hollow: don't know" in said[0]
    assert said[1] == "Closed hollow: no"
    assert piece.answers.get(question="hollow").says == "no"


def test_the_same_answers_again_write_nothing(piece: Piece, owner: Person) -> None:
    factories.answer(piece, by=owner)
    said = [questions.Said(question="hollow", says="no")]

    assert questions.answer(piece=piece, said=said, by=owner, now=NOW) is None


def test_a_question_of_nobodys_is_refused(piece: Piece, owner: Person) -> None:
    with pytest.raises(ValueError, match="no such question: colour"):
        questions.answer(
            piece=piece, said=[questions.Said(question="colour", says="no")], by=owner, now=NOW
        )


@pytest.mark.parametrize("count", [1, 4])
def test_reading_takes_the_same_number_of_queries_for_any_number(
    car: Car, owner: Person, count: int, django_assert_num_queries: object
) -> None:
    pieces = []
    for _ in range(count):
        piece = make_waiting(car=car, by=owner)
        bolt(piece)
        factories.answer(piece, by=owner)
        factories.make_joint(piece=piece, by=owner)
        factories.make_piece(car=car, by=owner, name="Clip").change({"joined_into": piece})
        pieces.append(piece)

    with django_assert_num_queries(8):  # type: ignore[operator]
        rows = reading.Rows.of(pieces)
        found = [reading.facts_of(piece, rows, now=NOW) for piece in pieces]
    assert all(facts.joints and facts.threads for facts in found)
