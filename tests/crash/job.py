"""A small garage, and the deeds that a crash may come upon: what is done, and what must hold after.

Each deed leaves the garage wholly as before or wholly as after. ``wrong`` says what does not hold.
"""

import gzip
import hashlib
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID, uuid5

from django.apps import apps
from django.conf import settings
from django.core.management import call_command
from django.db import connection
from django.test import Client

from garage.backup import automatic, keeping, reading, restoring
from garage.health import trouble
from garage.management.commands.start import open_store
from garage.models import Car, Garage, Person, Photo
from garage.photos import folders, store, sweeper
from parts import countback, dropoff, edits, handover
from parts.models import Count, DropOff, Event, Line, Part, PartPhoto, Piece
from parts.statuses import Status
from tests import factories
from tests.garage.photos import corpus

NOW = datetime(2026, 11, 25, 16, 40, tzinfo=UTC)
# Later than any file this run writes, whatever the clock of the machine says.
SWEPT_AT = datetime.now(UTC) + timedelta(hours=1)
OLDER = Path(__file__).parents[1] / "garage/backup/data/schema-0.1.0.zip.gz"
SPACE = UUID("6a3b7d1e-6a52-4a05-9c39-1f0c9f4f7a11")
PICTURE = corpus.saved(corpus.picture(size=(64, 48)))
NEW_PICTURE = corpus.saved(corpus.picture(size=(80, 48)))


def data() -> Path:
    return Path(settings.SPLITPIN_DATA)


def database() -> Path:
    return Path(settings.DATABASES["default"]["NAME"])


def key(name: str) -> UUID:
    """The key a form carries; the same in every process of a run."""
    return uuid5(SPACE, name)


def lay_out() -> None:
    """The garage before: an owner, a car, a part with a photo, a drop-off that is out."""
    call_command("migrate", verbosity=0)
    Garage.here()
    owner = factories.make_person()
    car = factories.make_car()
    owner.car = car
    owner.save(update_fields=["car"])
    factories.make_place("Shelf A / Box 1")
    photo = store.accept(
        upload=factories.make_upload(content=PICTURE), key=key("old photo"), by=owner, now=NOW
    )
    factories.make_part(car=car, by=owner, name="Fan shroud", photos=[photo], notes="as it came")
    for name, quantity in (("Pedal box", 1), ("Clip", 4)):
        factories.make_part(car=car, by=owner, name=name, quantity=quantity)
    finisher = factories.make_finisher()
    _begin("out", car, finisher, owner, "Clip")
    _begin("next", car, finisher, owner, "Pedal box")
    handover.hand_over(
        dropoff=_dropoff("out"),
        on=date(2026, 11, 20),
        due_on=None,
        count_url="https://garage.example/out/",
        by=owner,
        now=NOW,
    )
    automatic.back_up(data=data(), live=database(), now=NOW)
    cookie = signed_in().cookies[settings.SESSION_COOKIE_NAME]
    (data() / "session").write_text(cookie.value)


def _begin(name: str, car: Car, finisher: Any, by: Person, part: str) -> None:
    piece = Piece.objects.get(part__name=part)
    dropoff.start(key=key(name), car=car, finisher=finisher, pieces=[piece], by=by, now=NOW)
    Line.objects.filter(dropoff=_dropoff(name)).update(work="blast")


def _dropoff(name: str) -> DropOff:
    return DropOff.objects.get(key=key(name))


def owner() -> Person:
    return Person.objects.get()


def signed_in() -> Client:
    """The owner at a browser; what breaks inside comes out as the page a person would see."""
    browser = Client(raise_request_exception=False)
    browser.force_login(owner(), backend="django.contrib.auth.backends.ModelBackend")
    return browser


def client() -> Client:
    """The same browser in another process: it signed in before the deed, not as a part of it."""
    browser = Client(raise_request_exception=False)
    browser.cookies[settings.SESSION_COOKIE_NAME] = (data() / "session").read_text()
    return browser


def answered(verb: Callable[[], object]) -> int:
    """The code a page would answer with for a verb that has no page of its own here."""
    try:
        verb()
    except Exception as error:  # the page for whatever broke, as garage.views.errors chooses it
        if trouble.is_full(error):
            return 507
        return 503 if trouble.note(error) else 500
    return 200


# ---- the deeds


def log_part() -> int:
    """A photo, then the part that shows it, as the take-off page sends them."""
    browser = client()
    upload = factories.make_upload(content=NEW_PICTURE)
    sent = browser.post("/photos/", {"key": str(key("new photo")), "photo": upload})
    if sent.status_code != 201:
        return sent.status_code
    form = {
        "key": str(key("new part")),
        "name": "Water pump pulley",
        "system": str(Car.objects.get().systems.first().pk),
        "quantity": "1",
        "place": "Shelf A / Box 1",
        "photos": str(key("new photo")),
    }
    return browser.post("/take-off/", form).status_code


def wrong_after_logging(acked: bool) -> Iterator[str]:
    new = Part.objects.filter(key=key("new part"))
    if acked and not new.exists():
        yield "said saved, but there is no part"
    for part in new.all():
        if not part.pieces.exists() or not Event.objects.filter(part=part).exists():
            yield "half a part"
    again = log_part()
    if again != 302 or new.count() != 1:
        yield f"the same form again answered {again}"
    if not PartPhoto.objects.filter(part__in=new, photo__key=key("new photo")).exists():
        yield "the part lacks its photo"


def edit() -> int:
    part = Part.objects.get(name="Fan shroud")
    change = edits.Change("notes", "Notes", part.notes, "chased and tried")
    return answered(
        lambda: edits.save(
            piece=part.pieces.get(),
            changes=[change],
            base_version=part.version,
            by=owner(),
            now=NOW,
        )
    )


def wrong_after_editing(acked: bool) -> Iterator[str]:
    part = Part.objects.get(name="Fan shroud")
    told = Event.objects.filter(part=part, kind="change").count()
    if (part.notes, told) not in (("as it came", 0), ("chased and tried", 1)):
        yield f"the notes say {part.notes!r} with {told} lines of history"
    if acked and part.notes != "chased and tried":
        yield "said saved, but the old text is there"


def leave_a_photo_on_a_form() -> None:
    store.accept(
        upload=factories.make_upload(content=NEW_PICTURE), key=key("unused"), by=owner(), now=NOW
    )


def delete_photo() -> int:
    return answered(lambda: store.throw_away(Photo.objects.get(key=key("unused"))))


def wrong_after_deleting(acked: bool) -> Iterator[str]:
    if acked and Photo.objects.filter(key=key("unused")).exists():
        yield "said thrown away, but it is there"
    whole = [path for path in folders.photos().rglob("*.jpg") if path.read_bytes() == NEW_PICTURE]
    if len(whole) != 1:
        yield f"the original is there {len(whole)} times"


def hand_over() -> int:
    return answered(
        lambda: handover.hand_over(
            dropoff=_dropoff("next"),
            on=date(2026, 11, 25),
            due_on=None,
            count_url="https://garage.example/out/",
            by=owner(),
            now=NOW,
        )
    )


def wrong_after_handing_over(acked: bool) -> Iterator[str]:
    gone = _dropoff("next")
    piece = Piece.objects.get(part__name="Pedal box")
    states = (gone.state, piece.status, bool(gone.sheet_file))
    whole = (
        (DropOff.State.BUILDING, Status.OFF, False),
        (DropOff.State.OUT, Status.AT_FINISHER, True),
    )
    if states not in whole:
        yield f"half handed over: {states}"
    if acked and states != whole[1]:
        yield "said handed over, but it is not"
    for one in DropOff.objects.exclude(sheet_file=""):
        sheet = data() / one.sheet_file
        if not sheet.is_file() or _sha256(sheet) != one.sheet_sha256:
            yield f"{one} is out without its sheet"


def count_back() -> int:
    line = _dropoff("out").lines.get()
    tally = countback.Tally(line, key("tally"), good=2, redo=1, missing=1)
    return answered(
        lambda: countback.count(dropoff=_dropoff("out"), tallies=[tally], by=owner(), now=NOW)
    )


def wrong_after_counting(acked: bool) -> Iterator[str]:
    counted = Count.objects.filter(key=key("tally")).exists()
    pieces = Piece.objects.filter(part__name="Clip")
    by_status = sorted((piece.status, piece.quantity) for piece in pieces)
    before = [(Status.AT_FINISHER, 4)]
    after = sorted([(Status.OFF, 2), (Status.OFF, 1), (Status.MISSING, 1)])
    if by_status != (after if counted else before):
        yield f"counted {counted}, but the pieces are {by_status}"
    if acked and not counted:
        yield "said counted, but it is not"


def back_up() -> int:
    at = NOW + timedelta(days=1)
    return answered(lambda: automatic.back_up(data=data(), live=database(), now=at))


def wrong_after_backing_up(acked: bool) -> Iterator[str]:
    kept = keeping.backups_in(keeping.folder_of(data()))
    if NOW not in {moment.replace(minute=40, second=0) for moment in kept}:
        yield "the older backup is gone"
    for path in kept.values():
        if why := _why_not_whole(path):
            yield f"{path.name}: {why}"
    if acked and len(kept) != 2:
        yield "said backed up, but there is no new one"
    later = NOW + timedelta(days=2)
    automatic.back_up(data=data(), live=database(), now=later)
    for path in data().rglob("archive.part"):
        yield f"the next backup left {path.parent.name} lying about"


def restore() -> int:
    archive = keeping.newest_in(keeping.folder_of(data()))
    return answered(lambda: restoring.restore(archive=archive, into=_restored()))


def wrong_after_restoring(acked: bool) -> Iterator[str]:
    into = _restored()
    if into.exists() and any(into.iterdir()):
        with closing(sqlite3.connect(into / "splitpin.sqlite3")) as restored:
            parts = restored.execute("SELECT count(*) FROM parts_part").fetchone()[0]
        if parts != Part.objects.count():
            yield f"half restored: {parts} parts"
        for photo in Photo.objects.all():
            if not (into / "photos" / photo.file).is_file():
                yield "restored without a photo"
    elif acked:
        yield "said restored, but the folder is empty"


def _restored() -> Path:
    return data().parent / "restored"


def sweep() -> int:
    return answered(lambda: sweeper.sweep(now=SWEPT_AT, grace=timedelta(0)))


def leave_debris() -> None:
    """A photo without one picture of it, an original without a row, a part, an old quarantine."""
    kept = Photo.objects.get()
    folders.rendition(kept.file, 320).unlink()
    stray = store.accept(
        upload=factories.make_upload(content=NEW_PICTURE), key=key("stray"), by=None, now=NOW
    )
    Photo.objects.filter(pk=stray.pk).delete()
    (folders.incoming() / "1234.part").write_bytes(PICTURE)
    old = folders.quarantine() / "2026-01-01"
    old.mkdir(parents=True)
    (old / "1234.jpg").write_bytes(PICTURE)


def wrong_after_sweeping(acked: bool) -> Iterator[str]:
    kept = Photo.objects.get()
    if acked and not folders.rendition(kept.file, 320).is_file():
        yield "said swept, but a picture was not made again"
    if acked and (folders.incoming() / "1234.part").exists():
        yield "said swept, but a temporary file is there"
    again = sweeper.sweep(now=SWEPT_AT, grace=timedelta(0))
    if again.is_alarm or not folders.rendition(kept.file, 320).is_file():
        yield "the next sweep did not finish the work"
    strays = [p for p in folders.quarantine().rglob("*.jpg") if p.read_bytes() == NEW_PICTURE]
    if len(strays) != 1:
        yield f"the original without a row is {len(strays)} times in quarantine"


def put_an_older_garage_here() -> None:
    """The archive of an earlier release, restored: its tables are not brought up to date yet."""
    connection.close()
    shutil.rmtree(data())
    archive = data().with_name("older.zip")
    archive.write_bytes(gzip.decompress(OLDER.read_bytes()))
    restoring.restore(archive=archive, into=data())
    folders.uploads().mkdir(exist_ok=True)  # as every process does when it reads its settings


def bring_up_to_date() -> int:
    return answered(lambda: open_store(data()))


def start_again() -> None:
    """What the next start does with a garage whose tables may be half brought up to date."""
    open_store(data())


def wrong_after_migrating(acked: bool) -> Iterator[str]:
    counts = (Part.objects.count(), Photo.objects.count(), DropOff.objects.count())
    if counts != (4, 3, 1):
        yield f"after bringing the tables up to date there are {counts}"
    for model in apps.get_models():
        list(model.objects.all())  # every column of every table


def nothing() -> None:
    pass


@dataclass(frozen=True, slots=True)
class Deed:
    """What is done (answering with a page's code), what is wrong after it, what goes before, and
    what the next start does before anybody looks."""

    do: Callable[[], int]
    wrong: Callable[[bool], Iterator[str]]
    before: Callable[[], None] = nothing
    mend: Callable[[], None] = nothing


DEEDS = {
    "log part": Deed(log_part, wrong_after_logging),
    "edit": Deed(edit, wrong_after_editing),
    "delete photo": Deed(delete_photo, wrong_after_deleting, leave_a_photo_on_a_form),
    "hand over": Deed(hand_over, wrong_after_handing_over),
    "count back": Deed(count_back, wrong_after_counting),
    "back up": Deed(back_up, wrong_after_backing_up),
    "restore": Deed(restore, wrong_after_restoring),
    "migrate": Deed(bring_up_to_date, wrong_after_migrating, put_an_older_garage_here, start_again),
    "sweep": Deed(sweep, wrong_after_sweeping, leave_debris),
}


# ---- what holds after every deed


def wrong_anyway() -> Iterator[str]:
    """Database sound, every row with its photo; after the sweep no file without a row."""
    with connection.cursor() as cursor:
        verdict = cursor.execute("PRAGMA integrity_check").fetchone()[0]
        if verdict != "ok":
            yield f"the database is damaged: {verdict}"
        if cursor.execute("PRAGMA foreign_key_check").fetchall():
            yield "a row points at nothing"
    yield from rows_without_photo()
    sweeper.sweep(now=SWEPT_AT, grace=timedelta(0))
    yield from left_over()


def rows_without_photo() -> Iterator[str]:
    for photo in Photo.objects.all():
        path = store.original_path(photo)
        if not path.is_file() or _sha256(path) != photo.sha256:
            yield f"row without its photo: {photo.file}"


def left_over() -> Iterator[str]:
    """Files that nobody asked for, once the sweep has run; quarantine is where they belong."""
    named = {photo.file for photo in Photo.objects.all()}
    stems = {Path(file).stem for file in named}
    for path in folders.photos().rglob("*"):
        if not path.is_file() or folders.quarantine() in path.parents:
            continue
        name = path.relative_to(folders.photos()).as_posix()
        if name not in named and path.stem.split("-")[0] not in stems:
            yield f"left over: {name}"
    for path in (*folders.uploads().rglob("*"), *folders.prints().glob("*.part")):
        if path.is_file():
            yield f"left over: {path.name}"


def _why_not_whole(path: Path) -> str:
    try:
        reading.verify(path)
    except Exception as refused:  # whatever is said against it, it is not whole
        return str(refused)
    return ""


def _sha256(path: Path) -> str:
    return hashlib.sha256(path.read_bytes()).hexdigest()
