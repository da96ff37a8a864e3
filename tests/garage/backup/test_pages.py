"""The age of the backup on every page, and the owner's copy of it."""

from datetime import timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from garage.backup import keeping
from tests.factories import PASS_PHRASE

URL = "/settings/backup/"


@pytest.fixture
def backups(tmp_path: Path, settings: Settings) -> Path:
    settings.SPLITPIN_DATA = tmp_path
    (tmp_path / "backups").mkdir()
    return tmp_path / "backups"


def put(backups: Path, *, days_ago: int, content: bytes = b"PK") -> Path:
    path = backups / keeping.name_of(timezone.now() - timedelta(days=days_ago))
    path.write_bytes(content)
    return path


@pytest.mark.parametrize(
    ("days_ago", "shown"),
    [
        (None, '<a class="nowrap red" href="/settings/condition/">No backup yet</a>'),
        (3, '<a class="nowrap" href="/settings/condition/">Last backup 3 days ago</a>'),
        (8, '<a class="nowrap red" href="/settings/condition/">Last backup 8 days ago</a>'),
    ],
)
def test_the_foot_tells_the_owner_how_old_the_last_backup_is_where_there_can_be_one(
    client_of_owner: Client, backups: Path, days_ago: int | None, shown: str
) -> None:
    if days_ago is not None:
        put(backups, days_ago=days_ago)

    foot = client_of_owner.get("/help/").content.decode()

    # Records on PostgreSQL are backed up by its own means, and its age is nothing we know.
    assert (shown in foot) == (connection.vendor == "sqlite")
    assert ("ackup" in foot.split("<footer")[1]) == (connection.vendor == "sqlite")


@pytest.mark.parametrize("who", ["client_of_helper", "client_of_viewer"])
def test_the_foot_does_not_trouble_those_who_cannot_make_one(
    request: pytest.FixtureRequest, backups: Path, who: str
) -> None:
    client: Client = request.getfixturevalue(who)

    assert "ackup" not in client.get("/help/").content.decode().split("<footer")[1]


def test_settings_tell_the_owner_how_to_keep_a_copy_on_another_disk(
    client_of_owner: Client, backups: Path
) -> None:
    put(backups, days_ago=3)

    page = client_of_owner.get("/settings/").content.decode()

    on_sqlite = connection.vendor == "sqlite"
    assert ("copy it to another disk" in page) == on_sqlite
    assert (f'href="{URL}"' in page) == on_sqlite
    assert ("back them up with pg_dump" in page) != on_sqlite


def test_the_newest_backup_is_saved_after_the_pass_phrase_is_given_again(
    client_of_owner: Client, backups: Path
) -> None:
    put(backups, days_ago=9, content=b"older")
    newest = put(backups, days_ago=3, content=b"PK the newest" * 100)

    answer = client_of_owner.post(
        URL, {"password": PASS_PHRASE}, headers={"accept-encoding": "gzip"}
    )

    assert answer.status_code == 200
    assert answer.headers["Content-Disposition"] == f'attachment; filename="{newest.name}"'
    assert answer.headers["Content-Type"] == "application/zip"
    assert answer.headers["Content-Length"] == str(newest.stat().st_size)
    assert b"".join(answer.streaming_content) == newest.read_bytes()


def test_a_wrong_pass_phrase_saves_nothing_and_the_sixth_is_not_even_heard(
    client_of_owner: Client, backups: Path
) -> None:
    put(backups, days_ago=3)

    wrong = [client_of_owner.post(URL, {"password": "not this one"}) for _ in range(5)]
    right = client_of_owner.post(URL, {"password": PASS_PHRASE})

    assert "That is not your pass-phrase" in wrong[0].content.decode()
    assert [answer.status_code for answer in wrong[:4]] == [422] * 4
    assert right.status_code == 429


def test_without_a_backup_the_page_says_how_one_is_made(
    client_of_owner: Client, backups: Path
) -> None:
    page = client_of_owner.get(URL)
    posted = client_of_owner.post(URL, {"password": PASS_PHRASE})

    assert "python3 manage.py backup" in page.content.decode()
    assert posted.status_code == 422


@pytest.mark.parametrize("who", ["client_of_helper", "client_of_viewer"])
def test_only_the_owner_may_save_it(
    request: pytest.FixtureRequest, backups: Path, who: str
) -> None:
    put(backups, days_ago=3)
    client: Client = request.getfixturevalue(who)

    assert client.get(URL).status_code == 403
    assert client.post(URL, {"password": PASS_PHRASE}).status_code == 403
