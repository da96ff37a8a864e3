"""Many hands on one part, and a bad line to the phone: nothing lost, nothing doubled, all shown."""

import random
import threading
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from uuid import UUID, uuid4

import pytest
from django.db import connection
from django.test import Client

from garage.models import Car, Person, Role
from parts import edits
from parts.models import Draft, Event, Part, Piece
from tests import factories
from tests.factories import NOW
from tests.figures import tell
from tests.thorough import often

pytestmark = pytest.mark.django_db(transaction=True)


@dataclass
class Tries:
    """What the writers were told."""

    saved: list[str] = field(default_factory=list)
    refused: list[Draft] = field(default_factory=list)
    broke: list[Exception] = field(default_factory=list)


def everybody_writes(
    piece: Piece, *, writers: int, edits_each: int, save: Callable[..., None]
) -> Tries:
    """Each writer reads the notes, thinks of a text of their own, and saves it, again and again."""
    told, barrier = Tries(), threading.Barrier(writers)
    people = [factories.make_person(username=f"w{n}", role=Role.HELPER) for n in range(writers)]

    def write(writer: int) -> None:
        barrier.wait(30)
        try:
            for number in range(edits_each):
                part = Part.objects.get(pk=piece.part_id)
                mine = f"{writer}-{number}"
                try:
                    save(piece, part, mine, people[writer])
                    told.saved.append(mine)
                except edits.Clash as clash:
                    told.refused.append(clash.draft)
        except Exception as error:  # told to the test, which fails on it
            told.broke.append(error)
        finally:
            connection.close()

    with ThreadPoolExecutor(writers) as pool:
        list(pool.map(write, range(writers)))
    return told


def through_the_door(piece: Piece, part: Part, mine: str, by: Person) -> None:
    change = edits.Change("notes", "Notes", part.notes, mine)
    edits.save(piece=piece, changes=[change], base_version=part.version, by=by, now=NOW)


def past_the_door(piece: Piece, part: Part, mine: str, by: Person) -> None:
    """The planted fault: what a model's plain save() does."""
    was, part.notes = part.notes, mine
    part.save()
    Event.objects.write(
        piece=piece, kind="change", text=f"Notes: {mine} (was: {was or 'nothing'})", by=by, at=NOW
    )


def lost_updates(piece: Piece) -> int:
    """Texts that somebody saved and nobody saw: each must be what the next one was written over."""
    said = Event.objects.filter(piece=piece, kind="change").order_by("pk")
    chain = [one.text.removeprefix("Notes: ").removesuffix(")").split(" (was: ") for one in said]
    seen = {was for _, was in chain}
    last = Part.objects.get(pk=piece.part_id).notes
    return sum(now not in seen and now != last for now, _ in chain)


def test_fifty_writers_lose_no_update_and_every_refused_text_can_be_read_again(
    owner: Person, car: Car, client_of_owner: Client
) -> None:
    piece = factories.make_piece(car=car, by=owner)
    writers, each = often(25, release=50), often(8, release=20)

    told = everybody_writes(piece, writers=writers, edits_each=each, save=through_the_door)

    lost = lost_updates(piece)
    tell("F5", f"updates lost, {writers} writers of {each} edits", lost, target="0", holds=not lost)
    assert told.broke == []
    assert len(told.saved) + len(told.refused) == writers * each
    assert len(told.refused) > writers  # they did get into each other's way
    assert lost == 0
    refused = {draft.fields["notes"]["mine"] for draft in told.refused}
    assert refused == {draft.fields["notes"]["mine"] for draft in Draft.objects.all()}
    assert len(refused) == len(told.refused) and not refused & set(told.saved)
    last = Part.objects.get(pk=piece.part_id).notes
    for draft in told.refused:
        (side,) = edits.sides(Draft.objects.get(pk=draft.pk))
        assert (side.theirs, side.mine) == (last, draft.fields["notes"]["mine"])
    shown = client_of_owner.get(f"/parts/{piece.part.tag}/clash/{told.refused[0].pk}/")
    page = shown.content.decode()
    assert last in page and told.refused[0].fields["notes"]["mine"] in page


def test_a_plain_save_would_lose_updates_and_is_found_out(owner: Person, car: Car) -> None:
    piece = factories.make_piece(car=car, by=owner)

    told = everybody_writes(piece, writers=10, edits_each=6, save=past_the_door)

    assert told.broke == []
    assert lost_updates(piece) > 0


# ---- a bad line: a request is lost, or its answer is, or it comes twice at once

LOST, ANSWER_LOST, TWICE = 0.25, 0.30, 0.10


def deliver(
    forms: dict[UUID, tuple[str, dict[str, str]]], *, clients: list[Client], keyed: bool, seed: int
) -> int:
    """How many deliveries it took until every form's answer had come through."""
    chance, lock = random.Random(seed), threading.Lock()
    waiting, sent = list(forms), 0

    def post(client: Client, key: UUID) -> bool:
        url, data = forms[key]
        answer = client.post(url, {**data, "key": str(key if keyed else uuid4())})
        return answer.status_code == 302

    def phone(client: Client) -> None:
        nonlocal sent
        try:
            while True:
                with lock:
                    if not waiting:
                        return
                    key = waiting.pop(0)
                    luck, again = chance.random(), chance.random() < TWICE
                if luck < LOST:
                    arrived = False
                else:
                    arrived = post(client, key)
                    if again:
                        arrived = post(client, key) or arrived
                    with lock:
                        sent += 1 + again
                    arrived = arrived and luck > LOST + ANSWER_LOST * (1 - LOST)
                if not arrived:
                    with lock:
                        waiting.append(key)
        finally:
            connection.close()

    with ThreadPoolExecutor(len(clients)) as pool:
        list(pool.map(phone, clients))
    return sent


def take_off_forms(car: Car, count: int) -> Iterator[tuple[str, dict[str, str]]]:
    system = str(car.systems.first().pk)
    for number in range(count):
        yield (
            "/take-off/",
            {"name": f"Bracket {number}", "system": system, "quantity": "1", "place": "Shelf A"},
        )


def signed_in(people: list[Person]) -> list[Client]:
    clients = []
    for person in people:
        client = Client()
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        clients.append(client)
    return clients


@pytest.fixture
def phones(car: Car) -> list[Client]:
    people = [factories.make_person(username=f"p{n}", role=Role.HELPER, car=car) for n in range(4)]
    return signed_in(people)


def test_a_thousand_deliveries_over_a_bad_line_double_nothing_and_lose_nothing(
    car: Car, phones: list[Client]
) -> None:
    records, sent, seed = 0, 0, 0
    while sent < often(250, release=1_000):
        forms = dict(zip(iter(uuid4, None), take_off_forms(car, 40), strict=False))
        seed += 1

        sent += deliver(forms, clients=phones, keyed=True, seed=seed)
        records += len(forms)

        assert Part.objects.filter(key__in=forms).count() == len(forms)
    doubled = Part.objects.count() - records
    tell(
        "F6", f"doubled or lost of {sent} flaky deliveries", doubled, target="0", holds=not doubled
    )
    assert doubled == 0


def test_without_the_form_s_own_key_there_would_be_doubles(car: Car, phones: list[Client]) -> None:
    forms = dict(zip(iter(uuid4, None), take_off_forms(car, 20), strict=False))

    deliver(forms, clients=phones, keyed=False, seed=1)

    assert Part.objects.count() > len(forms)
