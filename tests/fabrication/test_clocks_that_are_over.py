"""A joint that is settled on the part's page ends the clock of its bond, on every page."""

from datetime import timedelta

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from fabrication.curing import bonds, cures, faces
from fabrication.curing.faces import Stage
from fabrication.models import Bond, Clock
from garage.models import Car, Person
from parts import joints, undo
from parts.models import Event, Joint
from tests.fabrication.bond_rows import make_bond, mix, read
from tests.factories import NOW

HOUR = timedelta(hours=1)


@pytest.fixture
def clock(car: Car, owner: Person) -> Clock:
    return mix(make_bond(car=car, by=owner), by=owner)


def joint_of(clock: Clock) -> Joint:
    return Joint.objects.get(bond__clocks=clock)


def face_of(clock: Clock) -> faces.Face:
    return faces.face_of(Clock.objects.for_page().get(pk=clock.pk), now=NOW + 2 * HOUR, doubt="")


def test_a_clock_runs_until_its_joint_is_called_hard_and_says_by_whom(
    clock: Clock, car: Car, owner: Person
) -> None:
    before = face_of(clock)

    joints.call_hard(joint=joint_of(clock), by=owner, now=NOW + HOUR)

    face = face_of(clock)
    assert before.ends_at is not None
    assert (face.stage, face.ends_at) == (Stage.STOPPED, None)
    assert (face.words.says, face.words.until) == ("Over", "Wren looked and called it hard")
    assert face.clock.over_at == NOW + HOUR
    assert faces.running(car, now=NOW + 2 * HOUR) == []


def test_a_clock_is_over_when_its_joint_was_taken_apart(clock: Clock, owner: Person) -> None:
    joints.part_joint(joint=joint_of(clock), by=owner, now=NOW + HOUR)

    face = face_of(clock)
    assert face.stage is Stage.STOPPED
    assert face.words.until == "The joint was taken apart"


def test_it_takes_no_more_readings(clock: Clock, owner: Person) -> None:
    joints.call_hard(joint=joint_of(clock), by=owner, now=NOW)

    with pytest.raises(cures.ReadingRefused, match="Wren looked and called it hard"):
        read(clock, by=owner, at=NOW + HOUR)


def test_it_runs_again_when_the_look_is_taken_back(clock: Clock, car: Car, owner: Person) -> None:
    event = joints.call_hard(joint=joint_of(clock), by=owner, now=NOW)
    assert event is not None

    undo.undo(key=event.key, by=owner, now=NOW)

    assert face_of(clock).ends_at is not None
    assert len(faces.running(car, now=NOW + HOUR)) == 1


def test_a_coat_has_no_joint_and_a_clock_that_was_stopped_says_why_itself(
    clock: Clock, owner: Person
) -> None:
    cures.stop(clock=clock, because="Washed off", by=owner, now=NOW)

    assert face_of(clock).words == faces.Words("Stopped", "Washed off")


def test_pages_say_that_it_is_over_and_count_nothing(
    client_of_owner: Client, clock: Clock, owner: Person
) -> None:
    joints.call_hard(joint=joint_of(clock), by=owner, now=NOW)

    with time_machine.travel(NOW + HOUR):
        urls = (clock.get_absolute_url(), clock.bond.get_absolute_url(), "/clocks/")
        pages = [client_of_owner.get(url).content.decode() for url in urls]
        told = client_of_owner.get(reverse("cure_times")).json()

    for page in pages:
        assert "Wren looked and called it hard" in page
        assert "data-ends" not in page
    assert "Write it down" not in pages[0]
    assert "Nothing hardens" in pages[2]
    assert told["clocks"] == {str(clock.pk): {"stage": "stopped", "ends": None}}


def test_what_the_log_made_hard_is_looked_at_by_somebody_who_is_kept(
    clock: Clock, owner: Person
) -> None:
    for at in range(2, 25, 2):
        read(clock, by=owner, at=NOW + at * HOUR)
    assert not joint_of(clock).is_curing

    bonds.call_hard(bond=Bond.objects.get(), by=owner, now=NOW + 24 * HOUR)

    joint = joint_of(clock)
    assert (joint.looked_at, joint.looked_by) == (NOW + 24 * HOUR, owner)
    assert Event.objects.filter(kind="joint looked at").count() == 1


def test_a_bond_that_cures_through_a_day_is_two_lines_of_history(
    clock: Clock, owner: Person
) -> None:
    for at in range(2, 25, 2):
        read(clock, by=owner, at=NOW + at * HOUR, temp_c=20 + at / 8)

    said = [
        event.kind
        for event in Event.objects.order_by("pk")
        if event.kind in ("joint curing", "joint hard")
    ]
    assert said == ["joint curing", "joint hard"]
