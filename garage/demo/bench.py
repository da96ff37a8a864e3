"""The pipes of the demo's bench: one made and compared, one half bent, two not yet begun."""

from datetime import datetime, timedelta
from uuid import uuid4

from fabrication.kit import tools
from fabrication.making import bending, comparing, made_piece
from fabrication.making.bench import Bench, bench_of
from fabrication.making.bench_steps import What
from fabrication.making.measured import ROWS, Measured
from fabrication.making.measured import Row as MeasuredRow
from fabrication.models import (
    BeadTool,
    Duty,
    Former,
    Making,
    PipeSheet,
    Tool,
    TubeStock,
)
from fabrication.pipe import pipes
from fabrication.pipe.inputs import (
    BEAD,
    CORNERS,
    FLARE,
    MIRROR,
    Corner,
    Corners,
    End,
    Length,
    Mirror,
    PipeInputs,
    Row,
    Typed,
)
from garage.demo.bench_tools import brake_tube
from garage.demo.story import Demo
from parts import places, plan
from parts.models import Kind
from parts.statuses import Move

BYPASS = "Bypass water pipe, pump to heater"
RETURN = "Heater return pipe"
BRAKE_LEFT, BRAKE_RIGHT = "Brake pipe, rear left", "Brake pipe, rear right"


def mm(value: float) -> Length:
    return Length(float(value), f"{value:g}")


def make_pipes(demo: Demo) -> None:
    """One pipe made and compared, one half bent, a left and a right brake pipe not yet begun."""
    _make_return_pipe(demo)
    _bend_bypass_pipe(demo)
    _draw_brake_pipes(demo)


def _make_return_pipe(demo: Demo) -> None:
    pipe = PipeInputs(
        (Row(mm(140), 0.0, 60.0), Row(mm(95), 0.0, 75.0)), mm(150), End(BEAD), End(BEAD)
    )
    sheet = _sheet(demo, RETURN, pipe, days=28)
    at = _evening(demo, 26)
    making = bending.begin(key=uuid4(), sheet=sheet, by=demo.wren, now=at)
    _work_on(demo, making, bends=2, at=at)
    at += timedelta(minutes=80)
    _compare(demo, making, 73.5, 151, at=at)
    at += timedelta(minutes=15)
    _compare(demo, making, 75, 150, at=at)
    bending.end(making=making, outcome="made", because="", by=demo.wren, now=at)
    old = demo.piece(RETURN)
    new = made_piece.as_piece(making=making, by=demo.wren, now=at)
    places.put(pieces=[new], place=old.place, by=demo.wren, now=at)
    plan.finish(
        step=demo.piece(RETURN).next_step,
        minutes=20,
        note="Clear of the heater box",
        by=demo.wren,
        now=_evening(demo, 25),
    )
    old.refresh_from_db()
    old.move(Move.KEEP_AS_PATTERN, by=demo.wren, now=at)


def _compare(
    demo: Demo, making: Making, second_deg: float, last_mm: float, *, at: datetime
) -> None:
    """The return pipe as measured: as it came off the former, then closed and trimmed."""
    comparing.write_down(
        key=uuid4(),
        sheet=making.sheet,
        making=making,
        wanted={
            "revision": making.revision,
            "inputs": making.inputs,
            "figures": making.figures,
        },
        measured=Measured(
            ROWS,
            made=(1, 2),
            rows=(MeasuredRow(mm(140), 0.0, 60.0), MeasuredRow(mm(95), 0.0, second_deg)),
            last=mm(last_mm),
        ),
        by=demo.wren,
        now=at,
    )


def _bend_bypass_pipe(demo: Demo) -> None:
    pipe = PipeInputs(
        (
            Row(mm(165), 0.0, 52.0),
            Row(mm(118), 90.0, 38.0),
            Row(mm(204), -55.0, 90.0),
            Row(mm(96), 140.0, 27.5),
        ),
        mm(150),
        End(BEAD, clip_width=mm(9)),
        End(BEAD, clip_width=mm(9), lost=True, guessed=mm(60)),
    )
    sheet = _sheet(demo, BYPASS, pipe, days=5)
    at = _evening(demo, 2)
    making = bending.begin(key=uuid4(), sheet=sheet, by=demo.wren, now=at)
    _work_on(demo, making, bends=2, at=at)
    tools.serve(tool=Tool.objects.get(), sheet=sheet)


def _draw_brake_pipes(demo: Demo) -> None:
    points = (
        (0, 0, 0),
        (120, 0, 0),
        (165, 0, 75),
        (165, -230, 75),
        (110, -275, 75),
        (20, -275, 35),
    )
    corners = Corners(tuple(Corner(mm(x), mm(y), mm(z)) for x, y, z in points))
    flared = {"end_a": End(FLARE), "end_b": End(FLARE)}
    left = _sheet(demo, BRAKE_LEFT, Typed(CORNERS, corners=corners, **flared), days=8)
    mirrored = Typed(MIRROR, mirror=Mirror(left.pk), **flared)
    _sheet(demo, BRAKE_RIGHT, mirrored, days=7.9)
    for name in (BRAKE_LEFT, BRAKE_RIGHT):
        for step in demo.piece(name).steps.to_do().filter(kind__in=(Kind.SEND_OUT, Kind.PREPARE)):
            because = "copper-nickel needs no coat"
            plan.leave(step=step, because=because, by=demo.wren, now=demo.ago(days=7.8))


def _sheet(demo: Demo, name: str, pipe: Typed | PipeInputs, *, days: float) -> PipeSheet:
    is_brake = name in (BRAKE_LEFT, BRAKE_RIGHT)
    stock = brake_tube() if is_brake else TubeStock.objects.get(material="steel", od_mm=22.0)
    sheet = pipes.begin_sheet(
        key=uuid4(),
        car=demo.car,
        part=demo.piece(name).part,
        head={
            "title": name,
            "duty": Duty.BRAKE if is_brake else Duty.COOLANT,
            "former": Former.objects.get(tube_od_mm=stock.od_mm),
            "stock": stock,
            "bead_tool": None if is_brake else BeadTool.objects.get(),
        },
        pipe=pipe,
        by=demo.wren,
        now=demo.ago(days=days),
    )
    return sheet


def _work_on(demo: Demo, making: Making, *, bends: int, at: datetime) -> None:
    """Ticks step by step, with two pulls for each bend, until so many bends are made.

    With all of them made, the ends are finished too.
    """
    bench = bench_of(making)
    is_all = bends == len(bench.found.marks)
    made = 0
    for number, step in enumerate(bench.steps):
        if made == bends and not is_all:
            return
        now = at + timedelta(minutes=4 * number)
        if step.what is What.PULL and step.mark:
            _pull(demo, making, bench, step.mark.bend, now)
            made += 1
        bending.tick(making=making, key=uuid4(), code=step.code, by=demo.wren, now=now)


def _pull(demo: Demo, making: Making, bench: Bench, bend: int, now: datetime) -> None:
    """First two degrees short, as the page says; then home, to what a gauge can show."""
    mark = next(mark for mark in bench.found.marks if mark.bend == bend)
    seen = ""
    for short_deg in (2.0, 0.0):
        reading = bending.write_reading(
            making=making,
            key=uuid4(),
            bend=bend,
            seen=seen,
            pulled_to_deg=round(2 * (mark.pull_deg - short_deg)) / 2,
            came_to_deg=round(2 * (mark.angle_deg - short_deg)) / 2,
            by=demo.wren,
            now=now + timedelta(minutes=1 if short_deg else 2),
        )
        seen = str(reading.key)


def _evening(demo: Demo, days: float) -> datetime:
    """Ten to six in the evening, so many days ago."""
    return demo.ago(days=days).replace(hour=17, minute=50)
