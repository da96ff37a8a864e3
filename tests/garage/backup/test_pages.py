"""The age of the backup on every page, and the owner's copy of it."""

from datetime import timedelta
from pathlib import Path

import pytest
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
        (None, '<span class="nowrap red">No backup yet</span>'),
        (3, '<span class="nowrap">Last backup 3 days ago</span>'),
        (8, '<span class="nowrap red">Last backup 8 days ago</span>'),
    ],
)
def test_the_foot_of_every_page_tells_how_old_the_last_backup_is(
    client_of_owner: Client, backups: Path, days_ago: int | None, shown: str
) -> None:
    if days_ago is not None:
        put(backups, days_ago=days_ago)

    assert shown in client_of_owner.get("/help/").content.decode()


def test_settings_tell_the_owner_to_copy_it_to_another_disk(
    client_of_owner: Client, backups: Path
) -> None:
    put(backups, days_ago=3)

    page = client_of_owner.get("/settings/").content.decode()

    assert "copy it to another disk" in page
    assert f'href="{URL}"' in page


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
