from datetime import timedelta
from uuid import uuid4

import pytest
from django.utils import timezone

from garage.models import Car, Person
from parts import joints, undo
from parts.models import Adhesive, Alloy, Event, Joint, Piece
from tests import factories
from tests.factories import NOW

HOUR = timedelta(hours=1)


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return factories.make_piece(car=car, by=owner, name="Coolant pipe")


@pytest.fixture
def glued(piece: Piece, owner: Person) -> Joint:
    return factories.make_joint(piece=piece, by=owner)


def _cure(
    joint: Joint, by: Person, *, ends: float | None, read: float | None, at: float = 0
) -> Joint:
    """The clock as readings have it, in hours from NOW."""
    return joints.set_cure(
        joint=joint,
        earliest=None if ends is None else NOW + ends * HOUR,
        last_reading_at=None if read is None else NOW + read * HOUR,
        by=by,
        now=NOW + at * HOUR,
    )


@pytest.mark.parametrize(
    ("how", "state"),
    [
        ("solder", "hard"),
        ("braze", "hard"),
        ("weld", "hard"),
        ("press", "hard"),
        ("glue", "curing"),
        ("filler", "curing"),
    ],
)
def test_glue_and_filler_begin_as_curing(piece: Piece, owner: Person, how: str, state: str) -> None:
    joint = factories.make_joint(piece=piece, by=owner, how=how, adhesive=None)

    assert joint.state == state
    assert joint.is_fit_for_heat(NOW) is (state == "hard")


def test_the_same_form_twice_is_one_joint(piece: Piece, owner: Person) -> None:
    key = uuid4()

    first, second = (
        joints.make_joint(piece=piece, key=key, how="weld", by=owner, now=NOW) for _ in range(2)
    )

    assert first == second
    assert Event.objects.filter(kind="joint").count() == 1


def test_a_used_form_with_something_else_in_it_is_refused(piece: Piece, owner: Person) -> None:
    key = uuid4()
    joints.make_joint(piece=piece, key=key, how="weld", by=owner, now=NOW)

    with pytest.raises(joints.JointRefused, match="used already"):
        joints.make_joint(piece=piece, key=key, how="press", by=owner, now=NOW)


@pytest.mark.parametrize(
    ("how", "metal", "glue", "says"),
    [
        ("weld", "Tin-lead 60/40", None, "Only a soldered or brazed"),
        ("braze", "Tin-lead 60/40", None, "is a soft solder"),
        ("solder", "Silver braze 55 % (Ag 155)", None, "is a silver braze"),
        ("weld", None, "Toughened acrylic, structural (sort)", "Only a glued"),
    ],
)
def test_metal_and_glue_must_go_with_how(
    piece: Piece, owner: Person, how: str, metal: str | None, glue: str | None, says: str
) -> None:
    with pytest.raises(joints.JointRefused, match=says):
        joints.make_joint(
            piece=piece,
            key=uuid4(),
            how=how,
            alloy=Alloy.objects.get(name=metal) if metal else None,
            adhesive=Adhesive.objects.get(name=glue) if glue else None,
            by=owner,
            now=NOW,
        )


@pytest.mark.parametrize(
    ("ends", "read", "at", "is_hard"),
    [
        (20, 10, 12, False),  # the clock has not ended
        (20, 19, 21, True),  # ended, the reading is two hours old
        (20, 9, 21, True),  # ended, twelve hours to the minute
        (20, 8.9, 21, False),  # ended, but nobody has read it for longer
        (20, None, 21, False),
        (None, 20, 21, False),  # too cold: the clock stands still
    ],
)
def test_a_clock_releases_only_with_a_reading_newer_than_twelve_hours(
    glued: Joint, owner: Person, ends: float | None, read: float | None, at: float, is_hard: bool
) -> None:
    joint = _cure(glued, owner, ends=ends, read=read, at=at)

    assert joint.is_curing is not is_hard
    assert joint.is_fit_for_heat(NOW + at * HOUR) is is_hard


def test_a_joint_that_hardened_stays_hard_however_long_it_lies(glued: Joint, owner: Person) -> None:
    joint = _cure(glued, owner, ends=20, read=21, at=21)

    assert joint.is_fit_for_heat(NOW + timedelta(days=90))


def test_a_foretold_end_needs_no_further_writing_when_the_reading_is_fresh(
    glued: Joint, owner: Person
) -> None:
    joint = _cure(glued, owner, ends=5, read=1, at=1)

    assert not joint.is_fit_for_heat(NOW + 4 * HOUR)
    assert joint.is_fit_for_heat(NOW + 6 * HOUR)
    assert not joint.is_fit_for_heat(NOW + 14 * HOUR)


def test_a_corrected_reading_sets_it_curing_again(glued: Joint, owner: Person) -> None:
    _cure(glued, owner, ends=20, read=21, at=21)

    joint = _cure(glued, owner, ends=30, read=21, at=22)

    assert joint.is_curing


def test_history_names_the_clock_once_and_the_end(glued: Joint, owner: Person) -> None:
    for at in (1, 2, 3):
        _cure(glued, owner, ends=20, read=at, at=at)
    _cure(glued, owner, ends=20, read=20, at=20)

    kinds = Event.objects.filter(kind__startswith="joint ").values_list("kind", flat=True)
    assert list(kinds.order_by("pk")) == ["joint curing", "joint hard"]


def test_i_looked_it_is_hard(glued: Joint, owner: Person) -> None:
    event = joints.call_hard(joint=glued, by=owner, now=NOW)

    glued.refresh_from_db()
    assert event is not None
    assert event.says.startswith("I looked, it is hard: Glued")
    assert (glued.looked_at, glued.looked_by, glued.is_curing) == (NOW, owner, False)


def test_a_cold_reading_does_not_overrule_who_looked(glued: Joint, owner: Person) -> None:
    joints.call_hard(joint=glued, by=owner, now=NOW)

    assert not _cure(glued, owner, ends=None, read=1, at=1).is_curing


def test_looking_twice_says_nothing_new(glued: Joint, owner: Person) -> None:
    joints.call_hard(joint=glued, by=owner, now=NOW)

    assert joints.call_hard(joint=glued, by=owner, now=NOW + HOUR) is None


def test_looking_can_be_taken_back(glued: Joint, owner: Person) -> None:
    event = joints.call_hard(joint=glued, by=owner, now=NOW)
    assert event is not None

    undo.undo(key=event.key, by=owner, now=NOW)

    glued.refresh_from_db()
    assert (glued.is_curing, glued.looked_at, glued.looked_by) == (True, None, None)


def test_making_a_joint_can_be_taken_back(glued: Joint, owner: Person) -> None:
    undo.undo(key=glued.key, by=owner, now=NOW)

    assert not Joint.objects.exists()


def test_a_parted_joint_is_no_longer_one_of_the_piece(
    glued: Joint, piece: Piece, owner: Person
) -> None:
    joints.part_joint(joint=glued, by=owner, now=NOW)

    assert not piece.joints.standing().exists()
    with pytest.raises(joints.JointRefused, match="taken apart already"):
        joints.part_joint(joint=glued, by=owner, now=NOW)
    with pytest.raises(joints.JointRefused, match="taken apart already"):
        joints.call_hard(joint=glued, by=owner, now=NOW)


def test_parting_can_be_taken_back(glued: Joint, piece: Piece, owner: Person) -> None:
    event = joints.part_joint(joint=glued, by=owner, now=NOW)

    undo.undo(key=event.key, by=owner, now=NOW)

    assert piece.joints.standing().get() == glued


def test_a_reading_that_moves_the_end_is_no_line_of_history(glued: Joint, owner: Person) -> None:
    for at in range(1, 11):
        _cure(glued, owner, ends=20 + 2 * at, read=at, at=at)

    assert Event.objects.filter(kind="joint curing").count() == 1


def test_history_says_when_the_clock_stalls_and_starts_again(glued: Joint, owner: Person) -> None:
    for at, ends in enumerate((20, None, None, 30)):
        _cure(glued, owner, ends=ends, read=at, at=at)

    said = Event.objects.filter(kind="joint curing").order_by("pk").values_list("text", flat=True)
    assert [text.partition("; ")[2] for text in said] == [
        f"fit for heat from {_in_words(20)} at the earliest",
        "the clock stands still",
        f"fit for heat from {_in_words(30)} at the earliest",
    ]


def _in_words(hours: float) -> str:
    here = timezone.localtime(NOW + hours * HOUR)
    return f"{here.day} {here:%b %Y, %H:%M}"


def test_a_joint_that_the_log_made_hard_keeps_who_looked(glued: Joint, owner: Person) -> None:
    _cure(glued, owner, ends=20, read=21, at=21)

    event = joints.call_hard(joint=glued, by=owner, now=NOW + 22 * HOUR)

    glued.refresh_from_db()
    assert event is not None
    assert (glued.looked_at, glued.looked_by) == (NOW + 22 * HOUR, owner)
    assert joints.call_hard(joint=glued, by=owner, now=NOW + 23 * HOUR) is None
    assert Event.objects.filter(kind="joint looked at").count() == 1


def test_what_never_cures_is_not_looked_at(piece: Piece, owner: Person) -> None:
    weld = factories.make_joint(piece=piece, by=owner, how="weld")

    assert joints.call_hard(joint=weld, by=owner, now=NOW) is None
