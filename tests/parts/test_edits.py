"""Two people, one part: no text is lost, and each change is kept that nobody contested."""

import pytest

from garage.models import Car, Person
from parts import edits
from parts.edits import Change
from parts.models import Draft, Event, Piece
from tests import factories
from tests.factories import NOW


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return factories.make_piece(car=car, by=owner, name="Coil", notes="old")


def save(piece: Piece, by: Person, version: int, **changes: tuple[object, object]) -> bool:
    return edits.save(
        piece=piece,
        changes=[Change(name, name, base, mine) for name, (base, mine) in changes.items()],
        base_version=version,
        by=by,
        now=NOW,
    )


def test_a_save_changes_only_what_it_names(piece: Piece, owner: Person) -> None:
    assert save(piece, owner, 1, notes=("old", "new")) is False

    piece.refresh_from_db()
    assert (piece.part.notes, piece.part.name, piece.part.version) == ("new", "Coil", 2)


def test_two_people_changing_two_lines_both_keep_theirs(
    piece: Piece, owner: Person, helper: Person
) -> None:
    save(piece, owner, 1, notes=("old", "from wren"))

    assert save(piece, helper, 1, condition=("", "worn")) is True

    piece.refresh_from_db()
    assert (piece.part.notes, piece.condition) == ("from wren", "worn")


def test_two_people_changing_one_line_clash_and_both_texts_are_kept(
    piece: Piece, owner: Person, helper: Person
) -> None:
    save(piece, owner, 1, notes=("old", "from wren"))

    with pytest.raises(edits.Clash) as clash:
        save(piece, helper, 1, notes=("old", "from ade"), condition=("", "worn"))

    piece.refresh_from_db()
    assert (piece.part.notes, piece.condition) == ("from wren", "")
    by_name = {side.name: side for side in edits.sides(clash.value.draft)}
    assert (by_name["notes"].theirs, by_name["notes"].mine) == ("from wren", "from ade")
    assert by_name["condition"].mine == "worn"


def test_the_same_change_made_twice_is_no_clash(
    piece: Piece, owner: Person, helper: Person
) -> None:
    save(piece, owner, 1, notes=("old", "same"))

    assert save(piece, helper, 1, notes=("old", "same")) is True
    assert not Draft.objects.exists()


@pytest.mark.parametrize(
    ("choice", "kept"),
    [("theirs", "from wren"), ("mine", "from ade"), ("both", "from wren\nfrom ade")],
)
def test_a_clash_is_settled_line_by_line(
    piece: Piece, owner: Person, helper: Person, choice: str, kept: str
) -> None:
    save(piece, owner, 1, notes=("old", "from wren"))
    with pytest.raises(edits.Clash) as clash:
        save(piece, helper, 1, notes=("old", "from ade"))

    edits.settle(draft=clash.value.draft, choices={"notes": choice}, by=helper, now=NOW)

    piece.part.refresh_from_db()
    assert piece.part.notes == kept
    assert Draft.objects.get().settled_at == NOW


def test_search_finds_the_new_name(piece: Piece, owner: Person) -> None:
    save(piece, owner, 1, name=("Coil", "Zündspule"))

    assert list(Piece.objects.matching("zundspule")) == [piece]
    assert "Zündspule" in Event.objects.latest("pk").text
