"""Coming in, as a browser does it: setup, sign-in and its limits, sessions, pass-phrases."""

import json
import os
import re
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest
import time_machine
from axes.models import AccessAttempt
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.core.management import call_command
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from pytest_django import Settings

from garage import people
from garage.models import Garage, Person, Role
from tests import factories
from tests.factories import NOW, PASS_PHRASE
from tests.garage import setup_race

TOKEN = r'name="csrfmiddlewaretoken" value="\w+"'
NEW_PHRASE = "four drums of gear oil"


def sign_in(
    client: Client, username: str = "wren", password: str = PASS_PHRASE, **extra: str
) -> HttpResponse:
    """The answer to the sign-in form; ``extra`` are entries of the WSGI environment."""
    form = {"username": username, "password": password}
    return client.post("/sign-in/", form, **extra)


def wrong(client: Client, times: int, username: str = "wren", **extra: str) -> list[int]:
    return [sign_in(client, username, "wrong", **extra).status_code for _ in range(times)]


def is_in(client: Client) -> bool:
    return client.get("/help/").status_code == 200


# ---- the first owner ----------------------------------------------------------------------


def setup_form(code: str, **fields: str) -> dict[str, str]:
    return {
        "code": code,
        "name": "Wren",
        "username": "wren",
        "password": PASS_PHRASE,
        "garage_name": "Lock Lane garage",
        "time_zone": "Europe/London",
    } | fields


@pytest.mark.django_db
def test_a_new_garage_has_nobody_in_it() -> None:
    assert not Person.objects.exists()
    for name in ("admin", "owner", "wren"):
        assert sign_in(Client(), name, name).headers["Location"] == "/setup/"


@pytest.mark.django_db
def test_the_first_page_of_a_new_garage_leads_to_setup() -> None:
    answer = Client().get("/", follow=True)

    assert answer.redirect_chain == [("/sign-in/?next=/", 302), ("/setup/", 302)]
    assert "<h1>First owner</h1>" in answer.content.decode()


@pytest.mark.django_db
def test_the_code_of_the_console_makes_the_owner_and_lets_them_in() -> None:
    client, code = Client(), people.new_setup_code(now=NOW)

    with time_machine.travel(NOW):
        answer = client.post("/setup/", setup_form(code))
        assert is_in(client)

    owner = Person.objects.get()
    assert (answer.status_code, answer.headers["Location"]) == (302, "/cars/")
    assert (owner.username, owner.role) == ("wren", Role.OWNER)
    assert (Garage.here().name, Garage.here().time_zone) == ("Lock Lane garage", "Europe/London")


def test_setup_is_gone_once_there_is_somebody(owner: Person) -> None:
    code = people.new_setup_code(now=NOW)

    assert Client().get("/setup/").status_code == 404
    assert Client().post("/setup/", setup_form(code, username="mallory")).status_code == 404
    assert Person.objects.count() == 1


@pytest.mark.django_db
def test_a_fifth_wrong_code_stops_the_setup_until_a_new_start() -> None:
    client, code = Client(), people.new_setup_code(now=NOW)

    with time_machine.travel(NOW):
        for _ in range(5):
            assert client.post("/setup/", setup_form("0" * 32)).status_code == 422
        answer = client.post("/setup/", setup_form(code))

    assert answer.status_code == 422
    assert "used up or too old" in answer.content.decode()
    assert not Person.objects.exists()


@pytest.mark.django_db
def test_an_old_code_makes_nobody() -> None:
    code = people.new_setup_code(now=NOW)

    with time_machine.travel(NOW + timedelta(minutes=31)):
        answer = Client().post("/setup/", setup_form(code))

    assert answer.status_code == 422
    assert not Person.objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"password": "short"}, "at least 12"),
        ({"username": "wrenlofthouse", "password": "wrenlofthouse1"}, "too similar"),
        ({"password": "password1234"}, "too common"),
        ({"username": ""}, "Give a name to sign in with"),
        ({"username": "ﷺ" * 40}, "Give a shorter name"),
        ({"time_zone": "Middle/Earth"}, "Choose a time zone"),
        ({"code": ""}, "Copy the code"),
    ],
)
def test_a_setup_to_put_right_is_shown_again_and_makes_nobody(
    fields: dict[str, str], says: str
) -> None:
    code = people.new_setup_code(now=NOW)

    with time_machine.travel(NOW):
        answer = Client().post("/setup/", setup_form(code) | fields)

    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Person.objects.exists()
    assert PASS_PHRASE not in answer.content.decode()


@pytest.mark.django_db(transaction=True)
def test_two_setup_posts_at_once_make_one_owner(tmp_path: Path) -> None:
    seen = setup_race.race() if connection.vendor != "sqlite" else race_on_a_file(tmp_path)

    assert len(seen["owners"]) == 1
    assert seen["answers"] in ([302, 404], [302, 422])


def race_on_a_file(folder: Path) -> dict[str, list]:
    environ = os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings", "TMPDIR": str(folder)}
    done = subprocess.run(
        [sys.executable, "-m", setup_race.__name__], env=environ, stdout=subprocess.PIPE, check=True
    )
    return json.loads(done.stdout)


# ---- sign-in ------------------------------------------------------------------------------


def test_the_right_pass_phrase_lets_in(owner: Person) -> None:
    client = Client()

    answer = sign_in(client)

    assert (answer.status_code, answer.headers["Location"]) == (302, "/")
    assert is_in(client)


@pytest.mark.parametrize("username", ["Wren", "WREN", " wren", "ｗｒｅｎ"])
def test_a_name_may_be_spelled_anyhow(owner: Person, username: str) -> None:
    assert sign_in(Client(), username).status_code == 302


def test_a_wrong_name_and_a_wrong_pass_phrase_get_the_same_answer(owner: Person) -> None:
    first, second = (
        re.sub(TOKEN, "", sign_in(Client(), name, "wrong").content.decode())
        for name in ("wren", "nobody")
    )

    assert "The name or the pass-phrase is not right" in first
    assert first.replace('value="wren"', "") == second.replace('value="nobody"', "")
    assert "wrong" not in first


@pytest.mark.parametrize(
    "asked",
    [
        "//evil.example/",
        "https://evil.example/",
        "javascript:alert(1)",
        "evil",
        "\\\\evil",
        "/\\evil",
    ],
)
def test_sign_in_leads_to_no_page_but_ours(owner: Person, asked: str) -> None:
    form = {"username": "wren", "password": PASS_PHRASE, "next": asked}

    answer = Client().post("/sign-in/", form)

    assert (answer.status_code, answer.headers["Location"]) == (302, "/")


def test_sign_in_leads_back_to_where_one_came_from(owner: Person) -> None:
    client = Client()
    page = client.get("/sign-in/?next=/parts/%3Fq%3Dpulley%26system%3D2").content.decode()
    assert 'name="next" value="/parts/?q=pulley&amp;system=2"' in page

    form = {"username": "wren", "password": PASS_PHRASE, "next": "/parts/?q=pulley&system=2"}
    answer = client.post("/sign-in/", form)

    assert answer.headers["Location"] == "/parts/?q=pulley&system=2"


def test_a_viewer_may_sign_in_as_somebody_else(client_of_viewer: Client, owner: Person) -> None:
    answer = sign_in(client_of_viewer)

    assert answer.status_code == 302
    assert client_of_viewer.get("/people/").status_code == 200


class CountingHasher(PBKDF2PasswordHasher):
    """Django's own hasher, quick, that counts how often it had to work."""

    iterations = 10
    worked = 0

    def encode(self, password: str, salt: str, iterations: int | None = None) -> str:
        CountingHasher.worked += 1
        return super().encode(password, salt, iterations)


@pytest.mark.parametrize("username", ["wren", "nobody"])
def test_a_name_nobody_has_costs_as_much_hashing_as_a_known_one(
    db: None, settings: Settings, username: str
) -> None:
    settings.PASSWORD_HASHERS = [f"{__name__}.CountingHasher"]
    factories.make_person()
    CountingHasher.worked = 0

    sign_in(Client(), username, "wrong")

    assert CountingHasher.worked == 1


# ---- its limits ---------------------------------------------------------------------------


def test_five_wrong_tries_shut_out_the_right_pass_phrase_too(owner: Person) -> None:
    client = Client()

    assert wrong(client, 5) == [422, 422, 422, 422, 429]
    answer = sign_in(client)

    assert answer.status_code == 429
    assert "<h1>Too many tries</h1>" in answer.content.decode()
    assert not is_in(client)


def test_four_wrong_tries_do_not_and_a_right_one_begins_the_count_again(owner: Person) -> None:
    client = Client()

    assert wrong(client, 4) == [422] * 4
    assert sign_in(client).status_code == 302
    assert wrong(client, 4) == [422] * 4


def test_somebody_else_at_the_same_address_is_still_let_in(owner: Person, helper: Person) -> None:
    wrong(Client(), 5, "wren")

    assert sign_in(Client(), "ade").status_code == 302


def test_the_same_person_at_another_address_is_still_let_in(owner: Person) -> None:
    wrong(Client(), 5, REMOTE_ADDR="192.168.1.66")

    assert sign_in(Client(), REMOTE_ADDR="192.168.1.66").status_code == 429
    assert sign_in(Client(), REMOTE_ADDR="192.168.1.20").status_code == 302


def test_many_names_from_one_address_are_stopped_at_twenty(owner: Person) -> None:
    client = Client()
    codes = [wrong(client, 1, f"name{number}")[0] for number in range(40)]

    assert codes == [422] * 20 + [429] * 20
    assert sign_in(client).status_code == 429
    assert sign_in(Client(), REMOTE_ADDR="192.168.1.20").status_code == 302


def test_a_spoofed_address_begins_no_new_count(owner: Person) -> None:
    client = Client()
    for number in range(5):
        wrong(client, 1, HTTP_X_FORWARDED_FOR=f"203.0.113.{number}")

    answer = sign_in(client, HTTP_X_FORWARDED_FOR="203.0.113.99")

    assert answer.status_code == 429
    assert set(AccessAttempt.objects.values_list("ip_address", flat=True)) == {"127.0.0.1"}


def test_behind_our_own_proxy_each_client_has_a_count_of_its_own(
    owner: Person, settings: Settings
) -> None:
    settings.PROXIES = 1
    client = Client()
    spray = [
        wrong(client, 1, f"name{number}", HTTP_X_FORWARDED_FOR="6.6.6.6, 203.0.113.7")[0]
        for number in range(25)
    ]

    assert spray == [422] * 20 + [429] * 5
    assert sign_in(client, HTTP_X_FORWARDED_FOR="6.6.6.6, 203.0.113.7").status_code == 429
    assert sign_in(client, HTTP_X_FORWARDED_FOR="203.0.113.8").status_code == 302


def test_other_spellings_of_a_name_share_its_count(owner: Person) -> None:
    client = Client()
    spellings = ["wren", "Wren", "WREN", " wren ", "ｗｒｅｎ"]

    codes = [wrong(client, 1, spelling)[0] for spelling in spellings]

    assert codes == [422, 422, 422, 422, 429]
    assert AccessAttempt.objects.get().username == "wren"


def test_another_browser_shares_the_count(owner: Person) -> None:
    for number in range(5):
        wrong(Client(), 1, HTTP_USER_AGENT=f"Browser {number}")

    assert sign_in(Client(), HTTP_USER_AGENT="Browser 99").status_code == 429


def test_the_lock_opens_after_a_quarter_of_an_hour(owner: Person) -> None:
    with time_machine.travel(NOW, tick=False) as clock:
        wrong(Client(), 5)
        clock.shift(timedelta(minutes=14))
        assert sign_in(Client()).status_code == 429
        clock.shift(timedelta(minutes=2))
        assert sign_in(Client()).status_code == 302


def test_trying_on_while_locked_does_not_lock_for_longer(owner: Person) -> None:
    with time_machine.travel(NOW, tick=False) as clock:
        wrong(Client(), 5)
        clock.shift(timedelta(minutes=14))
        wrong(Client(), 3)
        clock.shift(timedelta(minutes=2))
        assert sign_in(Client()).status_code == 302


def test_the_address_is_free_again_after_a_quarter_of_an_hour(owner: Person) -> None:
    with time_machine.travel(NOW, tick=False) as clock:
        for number in range(20):
            wrong(Client(), 1, f"name{number}")
        assert sign_in(Client()).status_code == 429
        clock.shift(timedelta(minutes=16))
        assert sign_in(Client()).status_code == 302


def test_the_console_unlocks_everybody(owner: Person, capsys: pytest.CaptureFixture[str]) -> None:
    wrong(Client(), 5)
    for number in range(20):
        wrong(Client(), 1, f"name{number}")

    call_command("axes_reset")

    assert "attempts removed" in capsys.readouterr().out
    assert sign_in(Client()).status_code == 302


@pytest.mark.parametrize("username", ["ﷺ" * 40, "a" * 41, "'; DROP TABLE", "\u202ewren"])
def test_no_name_breaks_the_door(owner: Person, username: str) -> None:
    assert sign_in(Client(), username, "wrong").status_code == 422


# ---- sessions -----------------------------------------------------------------------------


def test_signing_in_changes_the_key_of_the_session(owner: Person) -> None:
    client = Client()
    session = client.session
    session["planted"] = "by a guest"
    session.save()
    planted = session.session_key
    client.cookies["sessionid"] = planted

    sign_in(client)

    guest = Client()
    guest.cookies["sessionid"] = planted
    assert client.cookies["sessionid"].value != planted
    assert is_in(client)
    assert not is_in(guest)


def test_the_session_cookie_is_out_of_reach_of_scripts_and_other_sites(owner: Person) -> None:
    cookie = sign_in(Client()).cookies["sessionid"]

    assert (cookie["httponly"], cookie["samesite"], cookie["path"]) == (True, "Lax", "/")


def test_signing_out_kills_the_session_for_good(owner: Person) -> None:
    client = Client()
    sign_in(client)
    key = client.cookies["sessionid"].value

    answer = client.post("/sign-out/")

    client.cookies["sessionid"] = key
    assert answer.headers["Location"] == "/sign-in/"
    assert answer.headers["Clear-Site-Data"] == '"cache"'
    assert not is_in(client)


def test_a_link_signs_nobody_out(client_of_owner: Client) -> None:
    assert client_of_owner.get("/sign-out/").status_code == 405
    assert is_in(client_of_owner)


def test_a_new_pass_phrase_ends_every_other_session(owner: Person) -> None:
    here, there = Client(), Client()
    sign_in(here)
    sign_in(there)
    form = {
        "old_password": PASS_PHRASE,
        "new_password1": NEW_PHRASE,
        "new_password2": NEW_PHRASE,
    }

    answer = here.post("/pass-phrase/", form)

    assert (answer.status_code, answer.headers["Location"]) == (302, "/settings/")
    assert is_in(here)
    assert not is_in(there)
    assert sign_in(Client()).status_code == 422
    assert sign_in(Client(), password=NEW_PHRASE).status_code == 302


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("old_password", "not the present one", "entered incorrectly"),
        ("new_password2", "something else here", "match"),
        ("new_password1", "short", "match"),
    ],
)
def test_a_pass_phrase_to_put_right_changes_nothing(
    client_of_viewer: Client, viewer: Person, field: str, value: str, says: str
) -> None:
    form = {
        "old_password": PASS_PHRASE,
        "new_password1": NEW_PHRASE,
        "new_password2": NEW_PHRASE,
    } | {field: value}

    answer = client_of_viewer.post("/pass-phrase/", form)

    viewer.refresh_from_db()
    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert viewer.check_password(PASS_PHRASE)


def test_sign_out_everywhere_leaves_only_this_browser(owner: Person, helper: Person) -> None:
    here, phone, other = Client(), Client(), Client()
    sign_in(here)
    sign_in(phone)
    sign_in(other, "ade")

    answer = here.post("/people/sign-out-everywhere/", follow=True)

    assert "1 other sign-ins ended." in answer.content.decode()
    assert (is_in(here), is_in(phone), is_in(other)) == (True, False, True)
