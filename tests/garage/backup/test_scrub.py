"""The scrub: each of seven planted damages found by its name, and not a byte changed by it."""

import hashlib
from collections.abc import Callable
from pathlib import Path

import pytest
from pytest_django import Settings

from garage.backup.scrub import Finding, scrub
from garage.models import Person, Photo
from tests import factories

SHEET = b"%PDF-1.7\nas handed over\n%%EOF\n"
PRINTS = {"prints/dropoff-1.pdf": hashlib.sha256(SHEET).hexdigest()}


@pytest.fixture
def data(tmp_path: Path, settings: Settings) -> Path:
    settings.SPLITPIN_DATA = tmp_path
    settings.SPLITPIN_MIN_FREE_BYTES = 0
    (tmp_path / "prints").mkdir()
    (tmp_path / "prints" / "dropoff-1.pdf").write_bytes(SHEET)
    return tmp_path


@pytest.fixture
def photos(data: Path, owner: Person) -> list[Path]:
    """Where the originals of two photos lie."""
    kept = [factories.make_photo(by=owner, colour=colour) for colour in ("#345678", "#8a5a2b")]
    return [data / "photos" / photo.file for photo in kept]


def look(data: Path) -> list[Finding]:
    return scrub(data=data, prints=PRINTS)


def everything(data: Path) -> dict[str, tuple[bytes, int]]:
    files = (path for path in data.rglob("*") if path.is_file())
    return {str(path): (path.read_bytes(), path.stat().st_mtime_ns) for path in files}


def flip_a_bit(first: Path, second: Path) -> None:
    content = bytearray(first.read_bytes())
    content[len(content) // 2] ^= 1
    first.write_bytes(content)


def swap(first: Path, second: Path) -> None:
    one, other = first.read_bytes(), second.read_bytes()
    first.write_bytes(other)
    second.write_bytes(one)


def put_a_stray(first: Path, second: Path) -> None:
    first.with_name("0123456789abcdef0123456789abcdef.jpg").write_bytes(b"a photo of nobody")


DAMAGES: dict[str, Callable[[Path, Path], object]] = {
    "damaged": flip_a_bit,
    "cut off": lambda first, second: first.write_bytes(first.read_bytes()[:-10]),
    "missing": lambda first, second: first.unlink(),
    "swapped": swap,
    "extra": lambda first, second: (first.parents[2] / "holiday.mov").write_bytes(b"mine"),
    "no record": put_a_stray,
    "wrong size": lambda first, second: first.write_bytes(first.read_bytes() + b"tail"),
}


def test_a_sound_store_has_nothing_to_find(data: Path, photos: list[Path]) -> None:
    assert look(data) == []


@pytest.mark.parametrize("kind", DAMAGES)
def test_each_damage_is_found_by_name_with_what_to_do_and_left_as_it_is(
    data: Path, photos: list[Path], kind: str
) -> None:
    DAMAGES[kind](*photos)
    before = everything(data)

    findings = look(data)

    assert {finding.kind for finding in findings} == {kind}
    assert len(findings) == (2 if kind == "swapped" else 1)
    assert all(finding.says.endswith(".") and finding.do.endswith(".") for finding in findings)
    assert everything(data) == before
    assert Photo.objects.count() == 2


def test_a_swapped_photo_says_whose_it_holds(data: Path, photos: list[Path]) -> None:
    swap(*photos)

    says = {finding.file: finding.says for finding in look(data)}

    first, second = (path.relative_to(data).as_posix() for path in photos)
    assert says == {
        first: f"holds what belongs into {second}.",
        second: f"holds what belongs into {first}.",
    }


def test_a_row_without_its_file_names_the_file(data: Path, photos: list[Path]) -> None:
    photos[0].unlink()

    assert [finding.file for finding in look(data)] == [photos[0].relative_to(data).as_posix()]


@pytest.mark.parametrize(
    ("kind", "damage"),
    [
        ("missing", lambda sheet: sheet.unlink()),
        ("damaged", lambda sheet: sheet.write_bytes(SHEET.replace(b"handed", b"hAnded"))),
        ("extra", lambda sheet: sheet.with_name("dropoff-2.pdf").write_bytes(SHEET)),
    ],
)
def test_sheets_are_looked_at_too(
    data: Path, photos: list[Path], kind: str, damage: Callable[[Path], object]
) -> None:
    damage(data / "prints" / "dropoff-1.pdf")

    assert [finding.kind for finding in look(data)] == [kind]


def test_a_picture_that_is_not_shown_is_told(data: Path, photos: list[Path]) -> None:
    stem = photos[0].stem
    (data / "photos" / "shown" / stem[:2] / f"{stem}-320.jpg").write_bytes(b"")

    assert [finding.kind for finding in look(data)] == ["not shown"]


def test_what_is_on_its_way_or_in_quarantine_is_no_finding(data: Path, photos: list[Path]) -> None:
    for folder in ("tmp", "quarantine/2026-11-25"):
        (data / "photos" / folder).mkdir(parents=True, exist_ok=True)
        (data / "photos" / folder / "x.jpg").write_bytes(b"x")
    (data / "prints" / "0123.part").write_bytes(b"half a sheet")

    assert look(data) == []
