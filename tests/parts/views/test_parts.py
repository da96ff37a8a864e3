"""One part: its page, changing it, further pieces, doubts, the bin, moves, joining."""

import re
from html import unescape
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import connections, judging, plan, refit, reminders, requirements, snags, takeoff
from parts.models import Draft, Event, Hole, Part, Piece, Preparation, StackItem
from parts.statuses import Status
from tests.factories import NOW, make_part, make_photo, make_piece, make_place, system_of


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


@pytest.fixture
def part(owner: Person, car: Car) -> Part:
    return make_part(car=car, by=owner, name="Water pump", place=make_place("Shelf A / Box 1"))


@pytest.fixture
def piece(part: Part) -> Piece:
    return part.pieces.get()


def fill(part: Part, by: Person, numbers: range) -> None:
    """Gives the part one more of everything its page can show for each of ``numbers``."""
    piece = part.pieces.to_fit().get()
    system = part.system
    for number in numbers:
        other = make_part(car=part.car, by=by, name=f"Bracket {number}", system=system)
        photo = make_photo(by=by, colour=f"#{number}0{number}040")
        takeoff.add_photo(piece=piece, photo=photo, moment="damage", by=by, now=NOW)
        hole = Hole.objects.create(key=uuid4(), part=part, number=number + 1, torque_nm=18)
        StackItem.objects.create(hole=hole, position=0, what="bolt", thread="M8")
        plan.add_step(
            piece=piece, key=uuid4(), kind="repair", what=f"Stud {number}", by=by, now=NOW
        )
        fields = {"carries": "hose", "end": f"End {number}", "port": "Inlet", "note": ""}
        connections.save_connection(
            part=part, key=uuid4(), fields=fields | {"other": other}, by=by, now=NOW
        )
        judging.doubt(
            part=part, key=uuid4(), question=f"Doubt {number}?", asked_of="", by=by, now=NOW
        )
        requirements.require(first=other, then=part, by=by, now=NOW)
        snags.write_down(
            key=uuid4(),
            system=system,
            sort="snag",
            text=f"Snag {number}",
            part=part,
            by=by,
            now=NOW,
        )
        reminders.remind(
            key=uuid4(), car=part.car, when="first_heat", part=part, due_on=None, by=by, now=NOW
        )
        Preparation.objects.create(key=uuid4(), piece=piece, what="chase", text=f"Chase {number}")
        joined = make_piece(car=part.car, by=by, name=f"Clip {number}", system=system)
        judging.join(piece=joined, into=part, how="clipped", by=by, now=NOW)
        takeoff.add_piece(part=part, purpose="spare", by=by, now=NOW, origin="breaker")


# ---- the page


def test_a_new_part_teaches_what_belongs_on_its_page(client_of_owner: Client, part: Part) -> None:
    page = text_of(client_of_owner.get(part.get_absolute_url()))

    for said in (
        "Is it right for this car, is it sound, can it still be had?",
        "No photo yet",
        "No fasteners written down",
        "Hoses, wires and pipes: this end goes to that port.",
        "No doubt written down.",
        "Decide what is to be done",
        "Shelf A / Box 1",
    ):
        assert said in page
    assert "Bare steel" not in page
    assert "To be done" not in page


def test_a_full_part_shows_everything_that_is_known(
    client_of_owner: Client, part: Part, piece: Piece, owner: Person
) -> None:
    fill(part, owner, range(2))
    Part.objects.filter(pk=part.pk).update(
        position="Front of the block", side="left", makers_number="22A-416", notes="Weeps"
    )
    piece.refresh_from_db()
    piece.change({"material": "cast_iron", "condition": "cracked", "bare_since": NOW})

    page = text_of(client_of_owner.get(part.get_absolute_url()))

    for said in (
        "Front of the block, left",
        "22A-416",
        "Weeps",
        "Cast iron",
        "Cracked",
        "Stud 1",
        "You are here",
        "Damage",
        "End 1",
        "Doubt 1?",
        "Goes on after",
        "Bracket 1",
        "Travels with it",
        "Clip 1, clipped",
        "Snag 1",
        "Tighten again after the first heat",
        "Chase 1",
        "18 N m",
        "Bare steel",
        f"{part.tag} c, spare",
    ):
        assert said in page


def test_the_page_takes_as_many_queries_for_three_of_everything_as_for_one(
    client_of_owner: Client,
    part: Part,
    owner: Person,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    fill(part, owner, range(1))
    client_of_owner.get(part.get_absolute_url())
    with django_assert_num_queries(38):
        client_of_owner.get(part.get_absolute_url())

    fill(part, owner, range(1, 3))

    with django_assert_num_queries(38):
        page = text_of(client_of_owner.get(part.get_absolute_url()))
    assert page.count("Travels with it") == 3
    assert f"{part.tag} d, spare" in page


def test_a_viewer_looks_and_is_offered_nothing_to_press(
    client_of_viewer: Client, part: Part, owner: Person
) -> None:
    fill(part, owner, range(1))

    page = text_of(client_of_viewer.get(part.get_absolute_url()))

    forms = re.findall(r'action="([^"]*)"', page)
    assert set(forms) <= {reverse("parts"), reverse("sign_out")}
    assert "Not settled" in page


def test_a_tag_is_found_however_it_is_written_and_an_unknown_one_is_not(
    client_of_owner: Client, part: Part
) -> None:
    assert client_of_owner.get(f"/parts/{part.tag.lower()}/").status_code == 200
    assert client_of_owner.get("/parts/QQQ/").status_code == 404
    answer = client_of_owner.get(part.get_absolute_url(), {"piece": "x"})
    assert answer.headers["Location"] == part.get_absolute_url()


@pytest.mark.parametrize(
    ("moves", "words"),
    [
        ((), "Decide what is to be done"),
        (("repair",), "Repair: begin or done"),
        (("send_out",), "Put it on a drop-off"),
        (("ready",), "Fit it"),
        (("ready", "loose"), "Tighten it"),
        (("ready", "tight"), ""),
    ],
)
def test_the_main_button_is_the_one_thing_to_do_next(
    client_of_owner: Client, piece: Piece, owner: Person, moves: tuple[str, ...], words: str
) -> None:
    for move in moves:
        if move == "ready":
            plan.add_step(piece=piece, key=uuid4(), kind="refit", by=owner, now=NOW)
        elif move == "loose":
            refit.fit_loose(piece=piece, by=owner, now=NOW)
        elif move == "tight":
            refit.fit_tight(piece=piece, torques={}, because="clips", by=owner, now=NOW)
        else:
            plan.judge(piece=piece, route=plan.ROUTE_BY_CODE[move], work="blast", by=owner, now=NOW)
        piece.refresh_from_db()

    page = text_of(client_of_owner.get(piece.get_absolute_url()))

    found = re.findall(r'class="button button-main" href="[^"]*">([^<]*)</a>', page)
    assert found == ([words] if words else [])


def test_what_was_spent_forgets_what_was_taken_back(
    client_of_owner: Client, piece: Piece, owner: Person
) -> None:
    from decimal import Decimal

    from parts import undo

    for cost in ("40.00", "6.20"):
        step = plan.add_step(piece=piece, key=uuid4(), kind="repair", what=cost, by=owner, now=NOW)
        done = plan.finish(step=step, cost=Decimal(cost), by=owner, now=NOW)
    assert "£46.20" in text_of(client_of_owner.get(piece.get_absolute_url()))

    undo.undo(key=done.key, by=owner, now=NOW)

    page = text_of(client_of_owner.get(piece.get_absolute_url()))
    assert "£46.20" not in page
    assert '<td class="num">£40.00</td></tr></tfoot>' in page


# ---- changing it


def form_of(client: Client, url: str) -> dict[str, str]:
    """What a browser would send if nothing was touched."""
    page = client.get(url).content.decode()
    form = re.search(r'<form class="sheet-form".*?</form>', page, re.DOTALL)
    assert form
    sent = {}
    for field in re.findall(r"<input [^>]*>", form[0]):
        name, value = (re.search(rf'{what}="([^"]*)"', field) for what in ("name", "value"))
        sent[name[1]] = value[1] if value else ""
    for name, inside in re.findall(r'<select name="(\w+)".*?>(.*?)</select>', form[0], re.DOTALL):
        chosen = re.search(r'<option value="([^"]*)" selected>', inside)
        sent[name] = chosen[1] if chosen else ""
    for name, text in re.findall(r'<textarea name="(\w+)".*?>(.*?)</textarea>', form[0], re.DOTALL):
        sent[name] = text.strip()
    return sent


def change_url(part: Part) -> str:
    return reverse("part_change", args=[part.tag])


def test_a_form_sent_untouched_changes_nothing(client_of_owner: Client, part: Part) -> None:
    before = Event.objects.count()

    answer = client_of_owner.post(change_url(part), form_of(client_of_owner, change_url(part)))

    assert answer.status_code == 302
    assert Event.objects.count() == before
    assert Part.objects.get(pk=part.pk).version == 1


def test_a_change_saves_what_was_changed_and_history_says_it_in_words(
    client_of_owner: Client, part: Part, car: Car
) -> None:
    form = form_of(client_of_owner, change_url(part))
    body = system_of(car, "Body")

    client_of_owner.post(
        change_url(part), form | {"system": str(body.pk), "condition": "worn", "quantity": "2"}
    )

    part.refresh_from_db()
    piece = part.pieces.get()
    assert (part.system, piece.condition, piece.quantity) == (body, "worn", 2)
    said = Event.objects.get(kind="change").text
    assert "System: Body (was: Cooling" in said or "System: Body (was: " in said
    assert "Condition: Worn (was: nothing)" in said
    assert "How many alike: 2 (was: 1)" in said


def test_a_refused_change_keeps_what_was_typed(client_of_owner: Client, part: Part) -> None:
    form = form_of(client_of_owner, change_url(part))

    answer = client_of_owner.post(
        change_url(part), form | {"name": "", "notes": "Weeps at the gasket", "assembly": "QQQ"}
    )

    page = text_of(answer)
    assert answer.status_code == 422
    assert "Give the part a name" in page
    assert "No part of this car has the tag QQQ" in page
    assert "Weeps at the gasket</textarea>" in page
    assert 'name="initial-name" value="Water pump"' in page
    part.refresh_from_db()
    assert (part.name, part.notes) == ("Water pump", "")


def test_two_people_who_change_different_lines_both_keep_theirs(
    client_of_owner: Client, client_of_helper: Client, part: Part
) -> None:
    mine, theirs = (
        form_of(client, change_url(part)) for client in (client_of_owner, client_of_helper)
    )
    client_of_helper.post(change_url(part), theirs | {"position": "Front of the block"})

    answer = client_of_owner.post(change_url(part), mine | {"notes": "Weeps"}, follow=True)

    part.refresh_from_db()
    assert (part.position, part.notes) == ("Front of the block", "Weeps")
    assert "Somebody else's changes are kept as well." in text_of(answer)


@pytest.fixture
def clashed(client_of_owner: Client, client_of_helper: Client, part: Part, car: Car) -> str:
    """The address of a clash: ade saved notes and system first, wren's form met them."""
    mine, theirs = (
        form_of(client, change_url(part)) for client in (client_of_owner, client_of_helper)
    )
    brakes, body = (str(system_of(car, name).pk) for name in ("Brakes", "Body"))
    client_of_helper.post(change_url(part), theirs | {"notes": "From ade", "system": brakes})
    answer = client_of_owner.post(change_url(part), mine | {"notes": "From wren", "system": body})
    return str(answer.headers["Location"])


def test_a_clash_shows_both_texts_in_words(
    client_of_owner: Client, clashed: str, part: Part
) -> None:
    answer = client_of_owner.get(clashed)

    page = text_of(answer)
    assert answer.status_code == 409
    for text in ("From ade", "From wren", "<dd>Brakes</dd>", "<dd>Body</dd>"):
        assert text in page
    assert 'name="system" value="both"' not in page
    part.refresh_from_db()
    assert part.notes == "From ade"


def test_a_clash_waits_on_the_page_of_the_part_until_it_is_settled(
    client_of_owner: Client, clashed: str, part: Part
) -> None:
    assert clashed in text_of(client_of_owner.get(part.get_absolute_url()))

    client_of_owner.post(clashed, {"notes": "theirs", "system": "theirs"})

    assert clashed not in text_of(client_of_owner.get(part.get_absolute_url()))


def test_a_clash_settled_twice_by_a_double_tap_is_settled_once(
    client_of_owner: Client, clashed: str, part: Part
) -> None:
    for _ in range(2):
        client_of_owner.post(clashed, {"notes": "both", "system": "mine"})

    part.refresh_from_db()
    assert (part.notes, part.system.name) == ("From ade\nFrom wren", "Body")
    assert Draft.objects.get().settled_at
    assert "System: Body (was: Brakes)" in Event.objects.filter(kind="change").latest("pk").text


def test_an_assembly_that_lies_in_the_bin_can_be_taken_out_of_the_form(
    client_of_owner: Client, part: Part, car: Car, owner: Person
) -> None:
    assembly = make_part(car=car, by=owner, name="Pump assembly")
    Part.objects.filter(pk=part.pk).update(assembly=assembly)
    judging.throw_out(part=assembly, by=owner, now=NOW)
    form = form_of(client_of_owner, change_url(part))
    assert form["assembly"] == assembly.tag

    answer = client_of_owner.post(change_url(part), form | {"assembly": ""})

    assert answer.status_code == 302
    part.refresh_from_db()
    assert part.assembly is None


@pytest.mark.parametrize("nonsense", ["abc", "", "9" * 40])
def test_a_form_that_was_tampered_with_breaks_nothing(
    client_of_owner: Client, part: Part, car: Car, nonsense: str
) -> None:
    form = form_of(client_of_owner, change_url(part))
    seen = {"initial-system": nonsense, "initial-assembly": nonsense, "initial-quantity": nonsense}

    answer = client_of_owner.post(change_url(part), form | seen)

    assert answer.status_code == 302
    assert Part.objects.get(pk=part.pk).system_id == part.system_id


def test_a_part_cannot_belong_to_what_belongs_to_it(
    client_of_owner: Client, part: Part, car: Car, owner: Person
) -> None:
    inner = make_part(car=car, by=owner, name="Impeller")
    Part.objects.filter(pk=inner.pk).update(assembly=part)

    answer = client_of_owner.post(
        change_url(part), form_of(client_of_owner, change_url(part)) | {"assembly": inner.tag}
    )

    assert answer.status_code == 422
    assert "A part cannot belong to itself." in text_of(answer)


# ---- a further piece


def new_piece(**changes: str) -> dict[str, str]:
    form = {"key": str(uuid4()), "purpose": "to_fit", "origin": "Made here", "quantity": "1"}
    return form | {"place": "Bench", "cost": "12.50"} | changes


def test_a_further_piece_is_added_once_with_its_cost(client_of_helper: Client, part: Part) -> None:
    form = new_piece()

    for _ in range(2):
        answer = client_of_helper.post(reverse("piece_add", args=[part.tag]), form)
        assert answer.headers["Location"] == f"{part.get_absolute_url()}?piece=b"

    made = part.pieces.get(letter="b")
    assert (made.purpose, made.origin, str(made.place)) == ("to_fit", "Made here", "Bench")
    assert part.pieces.get(letter="").purpose == "pattern"
    assert str(Event.objects.get(kind="piece added").cost) == "12.50"


def test_a_used_form_with_another_piece_on_it_asks_once_more(
    client_of_owner: Client, part: Part
) -> None:
    form = new_piece()
    url = reverse("piece_add", args=[part.tag])
    client_of_owner.post(url, form)

    answer = client_of_owner.post(url, form | {"origin": "Bought"})

    page = text_of(answer)
    assert answer.status_code == 422
    assert "saved as" in page
    assert 'value="Bought"' in page
    assert form["key"] not in page
    assert part.pieces.count() == 2


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"place": " / "}, "Give the place a name."),
        ({"place": "B" * 60}, "at most 40 letters"),
        ({"quantity": "0"}, "greater than or equal to 1"),
        ({"cost": "twelve"}, "twelve"),
        ({"purpose": ""}, "required"),
    ],
)
def test_a_wrong_piece_is_refused_with_what_was_typed(
    client_of_owner: Client, part: Part, wrong: dict[str, str], says: str
) -> None:
    answer = client_of_owner.post(reverse("piece_add", args=[part.tag]), new_piece(**wrong))

    page = text_of(answer)
    assert answer.status_code == 422
    assert says in page
    assert 'value="Made here"' in page
    assert part.pieces.count() == 1


def test_a_part_has_as_many_pieces_as_there_are_letters(
    client_of_owner: Client, part: Part
) -> None:
    url = reverse("piece_add", args=[part.tag])
    letters = "bcdefghijklmnopqrstuvwxyza"[:25]
    Piece.objects.bulk_create(
        Piece(part=part, letter=letter, purpose="spare", status=Status.OFF) for letter in letters
    )

    answer = client_of_owner.post(url, new_piece(purpose="spare"))

    assert answer.status_code == 422
    assert "no letter is left" in text_of(answer)
