"""Loads the demo garage by doing, in order, what a person would have done.

Every change goes through the same verbs as on the pages, only with the days of the past. So the
demo's history, statuses and numbers are real ones, and it breaks when a verb breaks.
"""

import os
from collections.abc import Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import transaction

from garage import units
from garage.cars import add_car
from garage.demo import pictures, wayfarer
from garage.demo.wayfarer import Row
from garage.models import Car, Garage, Person, Photo, Role, System
from garage.photos import store
from parts import (
    connections,
    corners,
    countback,
    dropoff,
    fasteners,
    judging,
    lines,
    plan,
    preparation,
    refit,
    reminders,
    requirements,
    snags,
    stack_words,
    takeoff,
)
from parts.models import DropOff, Finisher, Kind, Piece, Service, StackItem
from parts.places import find_or_make
from parts.statuses import Move

DEMO_PEOPLE = (
    {"username": "wren", "name": "Wren", "role": Role.OWNER, "password": "tarn green on a dry day"},
    {"username": "ade", "name": "Ade", "role": Role.HELPER, "password": "two hands and a torch"},
    {"username": "mo", "name": "Mo", "role": Role.VIEWER, "password": "only here for the tea"},
)
WEEKS = 38
COUNT_URL = "http://127.0.0.1:8000/count/{number}/"
SIZE = (960, 720)

# What each fate asks of the route card: (route, work).
ROUTES = {
    "clean": ("refit", ""),
    "repair": ("repair", ""),
    "buy": ("buy", ""),
    "finish": ("finish", ""),
    "wait": ("send_out", "blast,powder"),
    "built": ("send_out", "blast,powder"),
    "overdue": ("send_out", "blast,powder"),
    "partly": ("send_out", "strip,plate"),
    "machine": ("send_out", "machine"),
}
CAME_BACK = ("prepare", "ready", "loose", "tight", "redo")


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture to draw: what, how it looks, when."""

    name: str
    subject: str
    look: str
    moment: str
    seed: int
    at: datetime

    def draw(self) -> bytes:
        return pictures.draw(
            self.subject,
            look=self.look,
            moment=self.moment,
            seed=self.seed,
            size=SIZE,
            taken_at=self.at,
        )


@dataclass(slots=True)
class Demo:
    """The garage as it grows: who works, on which car, which part is which."""

    now: datetime
    car: Car
    wren: Person
    ade: Person
    pieces: dict[str, Piece] = field(default_factory=dict)
    photos: dict[tuple[str, str], Photo] = field(default_factory=dict)

    def ago(self, *, days: float) -> datetime:
        return self.now - timedelta(days=days)

    def piece(self, name: str) -> Piece:
        """The piece to be fitted of the part of that name, fresh."""
        return Piece.objects.get(part__car=self.car, part__name=name, purpose="to_fit")

    def named(self, *fates: str) -> list[Row]:
        return [row for row in wayfarer.PARTS if row.fate in fates]


def load_demo(*, now: datetime) -> None:
    """The demo garage, saved. Call it on an empty, migrated database."""
    demo = _opened(now)
    _take_photos(demo)
    for turn, row in enumerate(wayfarer.PARTS):
        _log(demo, turn, row)
    for step in (_describe, _judge, _first_batch, _zinc_batch, _fit, _out_now, _odds_and_ends):
        with transaction.atomic():
            step(demo)


def _opened(now: datetime) -> Demo:
    garage = Garage.here()
    for name, value in wayfarer.GARAGE.items():
        setattr(garage, name, value)
    garage.save()
    people = [Person.objects.add(**person) for person in DEMO_PEOPLE]
    started = now - timedelta(weeks=WEEKS)
    car = add_car(car=Car(**wayfarer.CAR, started_on=started.date()), by=people[0], now=started)
    for person in people[1:]:
        person.car = car
        person.save(update_fields=["car"])
    for row in wayfarer.FINISHERS:
        services = row["services"]
        finisher = Finisher.objects.create(**{k: v for k, v in row.items() if k != "services"})
        for process, peak_c, minutes in services:
            Service.objects.create(
                finisher=finisher, process=process, peak_c=peak_c, peak_minutes=minutes
            )
    return Demo(now=now, car=car, wren=people[0], ade=people[1])


# ---- photos


def _shots(demo: Demo) -> Iterator[Shot]:
    for turn, row in enumerate(wayfarer.PARTS):
        off = _off_at(demo, turn)
        old = row.look if row.look in ("rusty", "greasy", "aluminium") else "rusty"
        if row.fate == "car" or turn % 14 == 0:
            yield Shot(row.name, row.subject, "greasy", "in_place", turn, off - timedelta(hours=1))
        if row.fate != "car":
            yield Shot(row.name, row.subject, old, "off", turn, off)
        if row.more.get("cond") in ("cracked", "broken", "seized"):
            yield Shot(row.name, row.subject, old, "damage", turn, off)
        if row.fate in CAME_BACK and row.look != "aluminium":
            coat = "satin black" if row.look == "rusty" else row.look
            yield Shot(row.name, row.subject, coat, "back", turn, demo.ago(days=88))
        if row.fate in ("tight", "loose"):
            yield Shot(row.name, row.subject, row.look, "refitted", turn, demo.ago(days=30))
    for number, (name, subject, _) in enumerate(wayfarer.CORNERS):
        yield Shot(name, subject, "greasy", "in_place", 900 + number, demo.ago(days=WEEKS * 7))
    for number in range(2):
        yield Shot(f"laid out {number}", "batch", "rusty", "off", 950 + number, demo.ago(days=20))


def _take_photos(demo: Demo) -> None:
    """Draws every picture, on all cores, and puts each through the same door as a real photo."""
    # Pictures of one subject share a solid, so they are drawn one after the other.
    shots = sorted(_shots(demo), key=lambda shot: shot.subject)
    with ProcessPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        for shot, jpeg in zip(shots, pool.map(Shot.draw, shots, chunksize=4), strict=True):
            upload = SimpleUploadedFile(f"{shot.moment}.jpg", jpeg, content_type="image/jpeg")
            photo = store.accept(upload=upload, key=uuid4(), by=demo.wren, now=shot.at)
            demo.photos[shot.name, shot.moment] = photo


def _show(demo: Demo, row: Row, moment: str, at: datetime, caption: str = "") -> None:
    if photo := demo.photos.get((row.name, moment)):
        takeoff.add_photo(
            piece=demo.piece(row.name),
            photo=photo,
            moment=moment,
            caption=caption,
            by=demo.wren,
            now=at,
        )


# ---- off the car


def _off_at(demo: Demo, turn: int) -> datetime:
    """An evening between the first week and a month ago, in the order of the table."""
    share = turn / len(wayfarer.PARTS)
    return demo.ago(days=WEEKS * 7 - share * (WEEKS * 7 - 40)).replace(hour=19, minute=turn % 60)


def _log(demo: Demo, turn: int, row: Row) -> None:
    at, more = _off_at(demo, turn), row.more
    by = demo.ade if turn % 3 == 2 else demo.wren
    with transaction.atomic():
        part = takeoff.log_part(
            key=uuid4(),
            car=demo.car,
            system=System.objects.get(car=demo.car, name=row.system),
            name=row.name,
            by=by,
            now=at,
            still_on_car=row.fate == "car",
            place=find_or_make(row.place) if row.place else None,
            quantity=int(more.get("qty", 1)),
            side=next((s for s in ("left", "right") if s in row.name.split()), ""),
            position=more.get("sat", ""),
            makers_number=more.get("no", ""),
            found_earlier=more.get("found", ""),
            piece_fields={
                "material": row.material,
                "condition": more.get("cond", ""),
                "condition_note": more.get("note", ""),
                "still_attached": more.get("attach", ""),
            },
        )
        demo.pieces[row.name] = part.pieces.get()
        _show(demo, row, "in_place", at)
        _show(demo, row, "damage", at, caption=more.get("note", "")[:120])
        _show(demo, row, "off", at)


def _describe(demo: Demo) -> None:
    """Fasteners, connections, what goes on first, doubts."""
    at = demo.ago(days=120)
    for name, holes in wayfarer.HOLES.items():
        for number, alike, where, stack, torque_nm, source in holes:
            fasteners.save_hole(
                part=demo.piece(name).part,
                key=uuid4(),
                fields={
                    "number": number,
                    "count": alike,
                    "where": where,
                    "torque_nm": torque_nm,
                    "torque_typed": f"{torque_nm:g} N m" if torque_nm else "",
                    "torque_source": source,
                },
                stack=[_stack_item(written) for written in _read(stack)],
                by=demo.wren,
                now=at,
            )
    for name, carries, end, other, port in wayfarer.CONNECTIONS:
        fields: dict[str, Any] = {"carries": carries, "end": end, "port": port, "note": ""}
        fields["other"] = demo.piece(other).part if other else None
        connections.save_connection(
            part=demo.piece(name).part, key=uuid4(), fields=fields, by=demo.wren, now=at
        )
    for first, then in wayfarer.FIRST:
        requirements.require(
            first=demo.piece(first).part, then=demo.piece(then).part, by=demo.wren, now=at
        )
    for name, question, asked_of, answer, settled in wayfarer.DOUBTS:
        asked = judging.doubt(
            part=demo.piece(name).part,
            key=uuid4(),
            question=question,
            asked_of=asked_of,
            by=demo.wren,
            now=at,
        )
        if answer:
            judging.answer(question=asked, text=answer, settled=settled, by=demo.wren, now=at)


def _read(stack: str) -> list[stack_words.Written]:
    return stack_words.read_stack(stack, default_unit="mm", decimal_mark=".")


def _stack_item(written: stack_words.Written) -> StackItem:
    length = (
        units.parse_length(written.length, default_unit="mm", decimal_mark=".")
        if written.length
        else None
    )
    return StackItem(
        what=written.what,
        thread=written.thread,
        length_mm=length.mm if length else None,
        length_typed=length.typed if length else "",
        head=written.head,
        property_class=written.property_class,
        material=written.material,
        treatment="renew" if written.what in ("spring_washer", "pin") else written.treatment,
    )


# ---- plans and batches


def _decide(demo: Demo, row: Row, route: str, work: str, at: datetime) -> Piece:
    plan.judge(
        piece=demo.piece(row.name),
        route=plan.ROUTE_BY_CODE[route],
        work=row.more.get("work", work),
        what=row.more.get("what", ""),
        why=row.more.get("note", ""),
        by=demo.wren,
        now=at,
    )
    return demo.piece(row.name)


def _judge(demo: Demo) -> None:
    for row in demo.named(*ROUTES):
        route, work = ROUTES[row.fate]
        piece = _decide(demo, row, route, work, demo.ago(days=38))
        if row.fate in ("repair", "finish"):
            plan.begin(step=piece.next_step, by=demo.wren, now=demo.ago(days=6))
    for row in demo.named("missing", "scrapped", "sold"):
        move = {"missing": Move.LOSE, "scrapped": Move.SCRAP, "sold": Move.SELL}[row.fate]
        demo.piece(row.name).move(move, by=demo.ade, now=demo.ago(days=25), note="Clear-out")
    for row in demo.named("remake"):
        old = demo.piece(row.name)
        old.move(Move.KEEP_AS_PATTERN, by=demo.wren, now=demo.ago(days=9))
        takeoff.add_piece(
            part=old.part,
            purpose="to_fit",
            origin="Made here from 22 mm tube",
            by=demo.wren,
            now=demo.ago(days=9),
            material="steel",
            place=find_or_make("Bench"),
        )
        piece = _decide(demo, row, "remake", "blast,powder", demo.ago(days=9))
        plan.begin(step=piece.next_step, by=demo.wren, now=demo.ago(days=2))


def _batch(demo: Demo, rows: list[Row], shop: str, *, started: float, **terms: Any) -> DropOff:
    at = demo.ago(days=started)
    batch = dropoff.start(
        key=uuid4(),
        car=demo.car,
        finisher=Finisher.objects.get(name=shop),
        pieces=[demo.piece(row.name) for row in rows],
        by=demo.wren,
        now=at,
        **terms,
    )
    keep = {row.name: row.more["keep"] for row in rows if "keep" in row.more}
    for line in batch.lines.select_related("piece__part"):
        if line.name in keep:
            lines.change_line(
                line=line, changes={}, masks=_masks(keep[line.name]), by=demo.wren, now=at
            )
    batch.refresh_from_db()
    return batch


def _masks(text: str) -> list[dict[str, Any]]:
    found = []
    for one in text.split(","):
        what, count, size, how = ([*one.split(":"), "", "", ""])[:4]
        found.append({"what": what, "count": int(count), "thread": size, "how": how})
    return found


def _send(demo: Demo, batch: DropOff, *, out: float, due: float) -> DropOff:
    at = demo.ago(days=out)
    return dropoff.hand_over(
        dropoff=batch,
        on=at.date(),
        due_on=demo.ago(days=due).date(),
        count_url=COUNT_URL.format(number=batch.number),
        by=demo.wren,
        now=at,
    )


def _count(demo: Demo, batch: DropOff, *, back: float, bill: str | None, **other: set[str]) -> None:
    """Counts the batch back; ``other`` names the parts to be redone or not back yet."""
    tallies = []
    for line in batch.lines.select_related("piece__part"):
        if line.name in other.get("not_yet", set()):
            continue
        result = "redo" if line.name in other.get("redo", set()) else "good"
        note = "Runs on the lower edge" if result == "redo" else ""
        tallies.append(countback.Tally(line=line, key=uuid4(), note=note, **{result: line.count}))
    countback.count(
        dropoff=batch,
        tallies=tallies,
        place=find_or_make("Shelf I, coated"),
        invoiced=Decimal(bill) if bill else None,
        by=demo.ade,
        now=demo.ago(days=back),
    )


def _first_batch(demo: Demo) -> None:
    rows = [row for row in demo.named(*CAME_BACK) if row.look not in ("aluminium", "zinc")]
    for row in rows:
        _decide(demo, row, "send_out", "blast,powder", demo.ago(days=110))
    batch = _batch(
        demo,
        rows,
        "Scarrow Coatings",
        started=104,
        colour="satin black",
        colour_code="PB-9",
        gloss="30",
        thickness_um=80,
        grit="garnet",
    )
    batch = _send(demo, batch, out=102, due=92)
    redo = {row.name for row in rows if row.fate == "redo"}
    _count(demo, batch, back=88, bill="312.00", redo=redo)
    _prepare(demo, rows, at=80)


def _zinc_batch(demo: Demo) -> None:
    rows = [row for row in demo.named(*CAME_BACK) if row.look == "zinc"]
    for row in rows:
        _decide(demo, row, "send_out", "strip,plate", demo.ago(days=70))
    batch = _batch(demo, rows, "Penhale Plating", started=66, colour="zinc, clear passivate")
    lines.add_lot(
        dropoff=batch,
        key=uuid4(),
        lot="Bolts M6 and M8, washers",
        count=64,
        weight_g=1_150,
        work="strip,plate",
        by=demo.wren,
        now=demo.ago(days=65),
    )
    batch.refresh_from_db()
    batch = _send(demo, batch, out=64, due=57)
    _count(demo, batch, back=55, bill="58.50")
    _prepare(demo, rows, at=50)


def _prepare(demo: Demo, rows: list[Row], *, at: float) -> None:
    for row in rows:
        _show(demo, row, "back", demo.ago(days=at + 5))
        if row.fate in ("prepare", "redo"):
            continue
        piece = demo.piece(row.name)
        for job in piece.preparations.to_do():
            preparation.tick_preparation(
                preparation=job, done=True, by=demo.ade, now=demo.ago(days=at)
            )
        step = demo.piece(row.name).next_step
        if step and step.kind == Kind.PREPARE:
            plan.finish(step=step, minutes=15, by=demo.ade, now=demo.ago(days=at))


def _fit(demo: Demo) -> None:
    for row in [r for r in demo.named("ready", "tight", "loose") if r.look == "aluminium"]:
        piece = _decide(demo, row, "refit", "", demo.ago(days=60))
        plan.finish(
            step=piece.next_step, minutes=40, note="Cleaned", by=demo.wren, now=demo.ago(days=58)
        )
    for number, row in enumerate(demo.named("tight", "loose")):
        at = demo.ago(days=46 - number)
        piece = demo.piece(row.name)
        if row.fate == "loose":
            refit.fit_loose(piece=piece, by=demo.ade, now=at)
        else:
            holes = piece.part.holes.with_torque()
            torques = {hole.pk: hole.torque_nm for hole in holes}
            because = "" if torques else "Torque by the manual"
            refit.fit_tight(piece=piece, torques=torques, because=because, by=demo.wren, now=at)
        _show(demo, row, "refitted", at)


def _out_now(demo: Demo) -> None:
    coat = {"colour": "satin black", "colour_code": "PB-9", "gloss": "30", "thickness_um": 80}
    overdue = _batch(
        demo, demo.named("overdue"), "Scarrow Coatings", started=22, grit="garnet", **coat
    )
    overdue.laid_out = demo.photos["laid out 0", "off"]
    overdue.save(update_fields=["laid_out"])
    _send(demo, overdue, out=19, due=5)

    partly = _batch(
        demo, demo.named("partly"), "Penhale Plating", started=12, colour="zinc, clear passivate"
    )
    partly = _send(demo, partly, out=11, due=-2)
    _count(demo, partly, back=1, bill=None, not_yet={"Anti-roll bar clamp"})

    machine = _batch(
        demo, demo.named("machine"), "Millrace Machine Shop", started=6, quoted="70.00"
    )
    _send(demo, machine, out=5, due=-9)

    _batch(demo, demo.named("built"), "Scarrow Coatings", started=1, grit="garnet", **coat)


def _odds_and_ends(demo: Demo) -> None:
    at = demo.ago(days=4)
    for system, sort, text, part in wayfarer.SNAGS:
        snags.write_down(
            key=uuid4(),
            system=System.objects.get(car=demo.car, name=system),
            sort=sort,
            text=text,
            part=demo.piece(part).part if part else None,
            by=demo.wren,
            now=at,
        )
    for name, when, days in (
        ("Upper wishbone, left", "ride_height", 14),
        ("Leaf spring, left", "ride_height", 21),
        ("Engine lifting eye", "first_heat", -1),
    ):
        reminders.remind(
            key=uuid4(),
            car=demo.car,
            when=when,
            part=demo.piece(name).part,
            due_on=(demo.now + timedelta(days=days)).date(),
            by=demo.wren,
            now=at,
        )
    for name, _, pins in wayfarer.CORNERS:
        photo = demo.photos[name, "in_place"]
        corner = corners.add_corner(
            key=uuid4(), car=demo.car, name=name, photos=[photo], by=demo.wren, now=at
        )[0]
        for x, y, part in pins:
            corners.add_pin(
                corner=corner,
                key=uuid4(),
                x=x,
                y=y,
                note=part,
                part=demo.piece(part).part,
                by=demo.wren,
                now=at,
            )
    bare = demo.piece("Horn bracket")
    bare.change({"bare_since": demo.now - timedelta(hours=20)})
