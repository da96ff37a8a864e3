"""Loads the demo garage by doing, in order, what a person would have done.

Every change goes through the same verbs as on the pages, only with the days of the past. So the
demo's history, statuses and numbers are real ones, and it breaks when a verb breaks.
"""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime, timedelta
from typing import Any
from uuid import uuid4

from django.db import transaction

from garage import units
from garage.cars import add_car
from garage.demo import batches, bench, bench_brackets, bench_tools, curing, shots, wayfarer
from garage.demo.story import WEEKS, Demo, decide, off_at, show
from garage.demo.wayfarer import Row
from garage.models import Car, Garage, Person, Role, System
from parts import (
    connections,
    corners,
    fasteners,
    judging,
    plan,
    refit,
    reminders,
    requirements,
    snags,
    stack_words,
    takeoff,
)
from parts.models import Finisher, Service, StackItem
from parts.places import find_or_make
from parts.statuses import Move

DEMO_PEOPLE = (
    {"username": "wren", "name": "Wren", "role": Role.OWNER, "password": "tarn green on a dry day"},
    {"username": "ade", "name": "Ade", "role": Role.HELPER, "password": "two hands and a torch"},
    {"username": "mo", "name": "Mo", "role": Role.VIEWER, "password": "only here for the tea"},
)

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


def load_demo(
    *,
    now: datetime,
    draw: Callable[[Sequence[shots.Shot]], Iterable[bytes]] = shots.drawn_on_all_cores,
) -> None:
    """The demo garage, saved. Call it on an empty, migrated database.

    ``draw`` makes the JPEG of each shot; drawing them takes longer than everything else.
    """
    demo = _opened(now)
    shots.take_photos(demo, draw)
    for turn, row in enumerate(wayfarer.PARTS):
        _log(demo, turn, row)
    for step in (
        _describe,
        _judge,
        batches.first_batch,
        batches.zinc_batch,
        _fit,
        batches.out_now,
        _odds_and_ends,
        bench_tools.set_up,
        bench.make_pipes,
        bench_brackets.make_brackets,
        curing.glue_and_paint,
        curing.ask_of_the_oven,
    ):
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


def _log(demo: Demo, turn: int, row: Row) -> None:
    at, more = off_at(demo, turn), row.more
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
        show(demo, row, "in_place", at)
        show(demo, row, "damage", at, caption=more.get("note", "")[:120])
        show(demo, row, "off", at)


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


def _judge(demo: Demo) -> None:
    for row in demo.named(*ROUTES):
        route, work = ROUTES[row.fate]
        piece = decide(demo, row, route, work, demo.ago(days=38))
        if row.fate in ("repair", "finish"):
            plan.begin(step=piece.next_step, by=demo.wren, now=demo.ago(days=6))
    for row in demo.named("missing", "scrapped", "sold"):
        move = {"missing": Move.LOSE, "scrapped": Move.SCRAP, "sold": Move.SELL}[row.fate]
        demo.piece(row.name).move(move, by=demo.ade, now=demo.ago(days=25), note="Clear-out")
    for row in demo.named("remake"):
        piece = decide(demo, row, "remake", "", demo.ago(days=30))
        plan.begin(step=piece.next_step, by=demo.wren, now=demo.ago(days=29))


def _fit(demo: Demo) -> None:
    for row in [r for r in demo.named("ready", "tight", "loose") if r.look == "aluminium"]:
        piece = decide(demo, row, "refit", "", demo.ago(days=60))
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
        show(demo, row, "refitted", at)


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
