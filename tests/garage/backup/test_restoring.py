"""A restore: every byte as it was, in an empty folder, or a refusal in words and no change."""

import dataclasses
import gzip
import json
import shutil
import stat
import zipfile
from collections.abc import Callable, Iterable
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.backup import archive, reading
from garage.backup.contents import ArchiveRefused
from garage.backup.restoring import restore
from tests.garage.backup.store import DATABASE, ENTRY, files_below, forge, manage
from tests.garage.backup.test_archive import dump

LATER = datetime(2026, 11, 26, 7, 2, 30, tzinfo=UTC)
RELEASED = sorted((Path(__file__).parent / "data").glob("schema-*.zip.gz"))


def test_restored_on_an_empty_machine_everything_is_as_it_was(
    made_store: Path, made_archive: Path, tmp_path: Path
) -> None:
    restore(archive=made_archive, into=tmp_path / "deep" / "new")

    new = tmp_path / "deep" / "new"
    assert dump(new / DATABASE) == dump(made_store / DATABASE)
    for top in ("photos", "prints"):
        assert files_below(new / top) == files_below(made_store / top)
    assert new.stat().st_mode & 0o777 == 0o700
    assert {path.stat().st_mode & 0o777 for path in new.rglob("*") if path.is_file()} == {0o600}
    assert [path.name for path in new.parent.iterdir()] == ["new"]


def test_a_backup_of_what_was_restored_is_equal_but_for_its_time(
    made_archive: Path, tmp_path: Path
) -> None:
    restore(archive=made_archive, into=tmp_path / "new")

    _, second = archive.make(
        data=tmp_path / "new", live=tmp_path / "new" / DATABASE, to=tmp_path / "to", now=LATER
    )

    first = reading.verify(made_archive)
    assert first.made_at != second.made_at
    assert dataclasses.replace(second, made_at=first.made_at) == first


def test_an_empty_data_folder_that_was_looked_at_keeps_its_own_key(
    made_archive: Path, tmp_path: Path
) -> None:
    (tmp_path / "data" / "tmp").mkdir(parents=True)
    (tmp_path / "data" / "secret.key").write_text("its own")

    restore(archive=made_archive, into=tmp_path / "data")

    assert (tmp_path / "data" / "secret.key").read_text() == "its own"
    assert (tmp_path / "data" / DATABASE).exists()


def test_nothing_is_restored_over_anything(made_archive: Path, tmp_path: Path) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "note.txt").write_text("mine")

    with pytest.raises(ArchiveRefused, match="is not empty, and nothing is ever written over"):
        restore(archive=made_archive, into=tmp_path / "data")

    assert files_below(tmp_path) == {"data/note.txt": b"mine"}


# ---- refused, with the reason


Change = Callable[[list[ENTRY]], Iterable[ENTRY]]


def listed(**changes: object) -> Change:
    """The list of contents with other values."""

    def change(found: list[ENTRY]) -> Iterable[ENTRY]:
        *rest, (info, content) = found
        return [*rest, (info, json.dumps(json.loads(content) | changes).encode())]

    return change


def renamed(name: str) -> Change:
    """The sheet under another name, in the list of contents too."""

    def change(found: list[ENTRY]) -> Iterable[ENTRY]:
        *rest, sheet, (info, content) = found
        files = json.loads(content)["files"]
        files[name] = files.pop(sheet[0].filename)
        moved = (zipfile.ZipInfo(name), sheet[1])
        return listed(files=files)([*rest, moved, (info, content)])

    return change


def without(word: str) -> Change:
    return lambda found: [pair for pair in found if word not in pair[0].filename]


def with_another(name: str) -> Change:
    return lambda found: [*found, (zipfile.ZipInfo(name), b"one more")]


def as_link(found: list[ENTRY]) -> Iterable[ENTRY]:
    for info, content in found:
        if info.filename.startswith("prints/"):
            info.external_attr = (stat.S_IFLNK | 0o777) << 16
        yield info, content


def one_sheet_twice(found: list[ENTRY]) -> Iterable[ENTRY]:
    again = next(info for info, _ in found if info.filename.startswith("prints/"))
    return [*found, (zipfile.ZipInfo(again.filename.upper().replace("PRINTS", "prints")), b"2")]


def one_byte_of_a_sheet(found: list[ENTRY]) -> Iterable[ENTRY]:
    *rest, (info, content), manifest = found
    return [*rest, (info, content.replace(b"handed", b"hAnded")), manifest]


def compressed(found: list[ENTRY]) -> Iterable[ENTRY]:
    for info, content in found:
        info.compress_type = zipfile.ZIP_DEFLATED
        yield info, content


NEWER = {"parts": ["0001_initial", "9999_from_next_year"]}
FORGED = {
    "a missing file": (without("prints/"), "is listed, but not in it"),
    "an extra file": (with_another("prints/more.pdf"), "is in it, but not listed"),
    "a file of another kind": (with_another("run-me.sh"), "does not belong to a garage"),
    "no list of contents": (without("manifest"), "no list of contents"),
    "no database": (without(DATABASE), "listed, but not in it"),
    "a way out": (renamed("photos/originals/../../../out.jpg"), "leads out of the garage"),
    "an absolute name": (renamed("/etc/out.jpg"), "does not stay inside"),
    "a drive": (renamed("C:/out.jpg"), "does not stay inside"),
    "a backslash": (renamed("photos\\..\\out.jpg"), "does not stay inside"),
    "a link": (as_link, "is a link"),
    "a name twice": (one_sheet_twice, "is in it twice"),
    "another content": (one_byte_of_a_sheet, "is damaged"),
    "a compressed file": (compressed, "is compressed"),
    "a newer schema": (listed(migrations=NEWER), "made by a newer Splitpin.*9999_from_next_year"),
    "a newer kind": (listed(format="splitpin backup 2"), "this Splitpin reads"),
    "a number as text": (listed(tables={"garage_photo": "3"}), "cannot be read"),
    "another field": (listed(more=1), "cannot be read"),
    "another database": (listed(dump_sha256="0" * 64), "not the one of its list"),
    "other counts": (listed(tables={"garage_photo": 4}), "other counts"),
}


@pytest.mark.parametrize("what", FORGED)
def test_what_is_not_as_it_was_made_is_refused_with_the_reason(
    made_archive: Path, tmp_path: Path, what: str
) -> None:
    change, says = FORGED[what]
    forged = forge(made_archive, tmp_path / "forged.zip", change)

    with pytest.raises(ArchiveRefused, match=says):
        restore(archive=forged, into=tmp_path / "new")

    assert [path.name for path in tmp_path.iterdir()] == ["forged.zip"]


def test_an_archive_forged_without_a_change_is_taken(made_archive: Path, tmp_path: Path) -> None:
    forged = forge(made_archive, tmp_path / "forged.zip", lambda found: found)

    assert restore(archive=forged, into=tmp_path / "new") == reading.verify(made_archive)


def test_a_bomb_is_refused_before_anything_is_unpacked(made_archive: Path, tmp_path: Path) -> None:
    bomb = tmp_path / "bomb.zip"
    with zipfile.ZipFile(bomb, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("photos/originals/aa/bomb.jpg", bytes(200 << 20))
    assert bomb.stat().st_size < 1 << 20

    with pytest.raises(ArchiveRefused, match="is compressed"):
        restore(archive=bomb, into=tmp_path / "new")

    assert [path.name for path in tmp_path.iterdir()] == ["bomb.zip"]


def test_files_that_lie_over_one_another_are_refused(made_archive: Path, tmp_path: Path) -> None:
    # As in D. Fifield, "A better zip bomb", WOOT 2019: many entries, one and the same content.
    bomb = tmp_path / "bomb.zip"
    with zipfile.ZipFile(bomb, "w") as packed:
        packed.writestr("photos/originals/aa/0.jpg", bytes(1 << 20))
        first = packed.infolist()[0]
        for number in range(1, 50):
            twin = zipfile.ZipInfo(f"photos/originals/aa/{number}.jpg")
            twin.header_offset, twin.CRC = first.header_offset, first.CRC
            twin.file_size = twin.compress_size = first.file_size
            packed.filelist.append(twin)

    with pytest.raises(ArchiveRefused, match="holds more than its size allows"):
        restore(archive=bomb, into=tmp_path / "new")


@pytest.mark.parametrize("content", [b"", b"not a zip", b"PK\x05\x06" + bytes(18)])
def test_what_is_no_archive_is_refused(tmp_path: Path, content: bytes) -> None:
    (tmp_path / "x.zip").write_bytes(content)

    with pytest.raises(ArchiveRefused, match=r"no archive at all|no list of contents"):
        restore(archive=tmp_path / "x.zip", into=tmp_path / "new")


def test_a_file_that_is_not_there_is_named_as_such(tmp_path: Path) -> None:
    with pytest.raises(ArchiveRefused, match="no such file"):
        restore(archive=tmp_path / "x.zip", into=tmp_path / "new")


@settings(max_examples=150, deadline=None, derandomize=True)
@given(where=st.floats(0, 1, exclude_max=True), bit=st.integers(0, 7), from_end=st.booleans())
def test_a_flipped_bit_is_refused_wherever_it_is(
    made_archive: Path,
    tmp_path_factory: pytest.TempPathFactory,
    where: float,
    bit: int,
    from_end: bool,
) -> None:
    content = bytearray(made_archive.read_bytes())
    # Half of them in the last tenth, where the lists are.
    at = (
        len(content) - 1 - int(where * len(content) / 10) if from_end else int(where * len(content))
    )
    content[at] ^= 1 << bit
    folder = tmp_path_factory.mktemp("flip")
    (folder / "x.zip").write_bytes(content)

    with pytest.raises(ArchiveRefused) as refused:
        restore(archive=folder / "x.zip", into=folder / "new")

    assert str(refused.value).endswith(".")
    assert not (folder / "new").exists()
    shutil.rmtree(folder)


@settings(max_examples=40, deadline=None, derandomize=True)
@given(share=st.floats(0, 1, exclude_max=True), in_the_last=st.integers(1, 200))
def test_a_cut_off_archive_is_refused(
    made_archive: Path,
    tmp_path_factory: pytest.TempPathFactory,
    share: float,
    in_the_last: int,
) -> None:
    content = made_archive.read_bytes()
    folder = tmp_path_factory.mktemp("cut")
    for length in (int(share * len(content)), len(content) - in_the_last):
        (folder / "x.zip").write_bytes(content[:length])
        with pytest.raises(ArchiveRefused):
            restore(archive=folder / "x.zip", into=folder / "new")
    shutil.rmtree(folder)


# ---- the schema as it was


def test_every_release_left_an_archive() -> None:
    assert [path.name for path in RELEASED] == ["schema-0.1.0.zip.gz", "schema-0.2.0.zip.gz"]


@pytest.mark.parametrize("released", RELEASED, ids=lambda path: path.name)
def test_an_archive_of_an_earlier_day_is_restored_and_brought_up_to_date(
    tmp_path: Path, released: Path
) -> None:
    (tmp_path / "old.zip").write_bytes(gzip.decompress(released.read_bytes()))

    manifest = restore(archive=tmp_path / "old.zip", into=tmp_path / "data")
    migrated = manage(tmp_path / "data", "migrate", "-v", "0")
    counted = manage(tmp_path / "data", "shell", "-v", "0", "-c", COUNT)
    checked = manage(tmp_path / "data", "check_store")

    assert migrated.returncode == 0, migrated.stderr
    assert counted.stdout.split() == ["4", "3", "1", "Fan"], counted.stderr
    assert checked.returncode == 0, checked.stdout
    assert manifest.tables["parts_part"] == 4


# Every column of every table is read, so one that the archive's schema lacks is found.
COUNT = """
from django.apps import apps
for model in apps.get_models():
    list(model.objects.all())
from garage.models import Photo
from parts.models import DropOff, Part
counts = [kind.objects.count() for kind in (Part, Photo, DropOff)]
print(*counts, Part.objects.get(name="Fan").name)
"""
