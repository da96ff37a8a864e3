"""The demo's drop-offs: two long back, two out, one to be counted, one being built."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

from garage.demo.story import CAME_BACK, Demo, decide, show
from garage.demo.wayfarer import Row
from garage.photo_fields import use
from parts import checking, countback, dropoff, joints, lines, plan, preparation, questions
from parts.models import Adhesive, DropOff, Finisher, Joint, Kind, Piece
from parts.places import find_or_make

COUNT_URL = "http://127.0.0.1:8000/count/{number}/"


def first_batch(demo: Demo) -> None:
    rows = [row for row in demo.named(*CAME_BACK) if row.look not in ("aluminium", "zinc")]
    for row in rows:
        decide(demo, row, "send_out", "blast,powder", demo.ago(days=110))
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


def zinc_batch(demo: Demo) -> None:
    rows = [row for row in demo.named(*CAME_BACK) if row.look == "zinc"]
    for row in rows:
        decide(demo, row, "send_out", "strip,plate", demo.ago(days=70))
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


def out_now(demo: Demo) -> None:
    coat = {"colour": "satin black", "colour_code": "PB-9", "gloss": "30", "thickness_um": 80}
    overdue = _batch(
        demo, demo.named("overdue"), "Scarrow Coatings", started=22, grit="garnet", **coat
    )
    _lay_out(demo, overdue, "laid out 0", at=20)
    _send(demo, overdue, out=19, due=5)

    partly = _batch(
        demo, demo.named("partly"), "Penhale Plating", started=12, colour="zinc, clear passivate"
    )
    _lay_out(demo, partly, "laid out 1", at=12)
    partly = _send(demo, partly, out=11, due=-2)
    _count(demo, partly, back=1, bill=None, not_yet={"Anti-roll bar clamp"})

    machine = _batch(
        demo, demo.named("machine"), "Millrace Machine Shop", started=6, quoted="70.00"
    )
    machine = _send(demo, machine, out=5, due=-9)
    # Brought in last night, and nobody has counted yet.
    countback.collect(dropoff=machine, by=demo.ade, now=demo.ago(days=0.5))

    _batch(demo, demo.named("built"), "Scarrow Coatings", started=1, grit="garnet", **coat)
    _ask(demo)


def _prepare(demo: Demo, rows: list[Row], *, at: float) -> None:
    for row in rows:
        show(demo, row, "back", demo.ago(days=at + 5))
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


def _lay_out(demo: Demo, batch: DropOff, name: str, *, at: float) -> None:
    photo = demo.photos[name, "off"]
    dropoff.lay_out(dropoff=batch, photo=photo, by=demo.wren, now=demo.ago(days=at))
    use(photo)
    batch.refresh_from_db()


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


def _ask(demo: Demo) -> None:
    """What is on the pieces of the sheet being built: one goes with cautions, one in spite of."""
    lever, bracket, pulley = (demo.piece(row.name) for row in demo.named("built"))
    say_no_but(demo, lever, threads="yes", bores="yes")
    say_no_but(demo, bracket, glue="yes", zinc="yes")
    say_no_but(demo, pulley, bores="yes", hollow="unknown")
    glue = Adhesive.objects.create(
        key=uuid4(),
        code=Adhesive.Code.STEEL_EPOXY,
        name="Bracket epoxy, from the tin on Shelf B",
        working_minutes=45.0,
        working_at_c=24.0,
        schedule=[{"temp_c": 21.0, "handling_h": 16.0, "full_h": 168.0}],
        short_peak_c=200.0,
        short_peak_minutes=30.0,
        source="Product sheet in the tin: one coating oven of 200 °C after full cure.",
    )
    joint = joints.make_joint(
        piece=bracket,
        key=uuid4(),
        how=Joint.How.GLUE,
        adhesive=glue,
        note="stiffening strip along the foot",
        by=demo.wren,
        now=demo.ago(days=12),
    )
    joints.call_hard(joint=joint, by=demo.ade, now=demo.ago(days=2))
    batch = DropOff.objects.being_built().get()
    line = batch.lines.get(piece=pulley)
    checking.send_anyway(
        line=line,
        reason="Two halves riveted, the seam is open all round: looked with a lamp.",
        by=demo.wren,
        now=demo.ago(days=1),
    )


def say_no_but(demo: Demo, piece: Piece, **says: str) -> None:
    asked = questions.asked_of(piece, questions.work_wanted(piece))
    words = dict.fromkeys((one.code for one in asked), "no") | says
    said = [questions.Said(question=code, says=word) for code, word in words.items()]
    questions.answer(piece=piece, said=said, by=demo.wren, now=demo.ago(days=1))
