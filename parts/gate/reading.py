"""Rows into facts: what the garage has written down about pieces, in a fixed number of questions.

A piece answers for everything joined into it. What was split off a count is the same thing as the
piece it belongs to, so that piece's answers and joints hold for it.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from typing import TypeVar

from parts.gate.facts import LEFT_ON, NO, UNKNOWN, YES, Facts, JointFact, Thing
from parts.gate.sending import Sending
from parts.heat_seeds import key_of
from parts.lines import suggested_masks
from parts.models import Answer, DropOff, Hole, Joint, Limit, Line, Mask, Material, Piece, Service

# A table nobody has filled in: as weak as leather. [C]
NOTHING_LOWER_C = 70.0
SOFT = (Material.RUBBER, Material.PLASTIC, Material.WOOD, Material.TEXTILE)
BODY_FILLER = key_of("Body filler")
Row = TypeVar("Row", Joint, Answer)


@dataclass(frozen=True, slots=True)
class Rows:
    """Everything the facts of some pieces are made of, read once."""

    joined: Mapping[int, list[Piece]]
    joints: Mapping[int, list[Joint]]
    answers: Mapping[int, list[Answer]]
    threads: Mapping[int, list[str]]
    lowest_c: float
    filler_c: float

    @classmethod
    def of(cls, pieces: Iterable[Piece]) -> "Rows":
        """The rows of these pieces and what is joined into them, level by level."""
        joined = _joined(pieces)
        everything = {*(piece for ones in joined.values() for piece in ones), *pieces}
        wanted = {piece.pk for piece in everything} | {
            piece.split_from_id for piece in everything if piece.split_from_id
        }
        limits = list(Limit.objects.filter(sort=LEFT_ON, thrown_out_at=None))
        lowest_c = min((limit.limit_c for limit in limits), default=NOTHING_LOWER_C)
        return cls(
            joined=joined,
            joints=_by_piece(Joint.objects.standing().with_metals().filter(piece__in=wanted)),
            answers=_by_piece(Answer.objects.filter(piece__in=wanted).prefetch_related("things")),
            threads=_threads({piece.part_id for piece in everything}),
            lowest_c=lowest_c,
            filler_c=next(
                (limit.limit_c for limit in limits if limit.key == BODY_FILLER), lowest_c
            ),
        )

    def whole(self, piece: Piece) -> list[Piece]:
        """The piece, and what is joined into it however deep."""
        found = [piece]
        for one in found:
            found += [inner for inner in self.joined.get(one.pk, []) if inner not in found]
        return found

    def of_piece(self, rows: Mapping[int, list[Row]], piece: Piece) -> list[Row]:
        """What stands about the piece itself, and about the one it was split off."""
        return rows.get(piece.pk, []) + rows.get(piece.split_from_id or 0, [])


def _joined(pieces: Iterable[Piece]) -> dict[int, list[Piece]]:
    found: dict[int, list[Piece]] = defaultdict(list)
    level, seen = {piece.pk for piece in pieces}, set[int]()
    while level:
        seen |= level
        inner = [
            piece
            for piece in Piece.objects.filter(joined_into__in=level)
            if piece.split_from_id != piece.joined_into_id
        ]
        for piece in inner:
            found[piece.joined_into_id or 0].append(piece)
        level = {piece.pk for piece in inner} - seen
    return found


def _by_piece(rows: Iterable[Row]) -> dict[int, list[Row]]:
    found = defaultdict(list)
    for row in rows:
        found[row.piece_id].append(row)
    return found


def _threads(parts: set[int]) -> dict[int, list[str]]:
    """Threads that sit in or on each part itself; a hole with a nut on its bolt has none."""
    by_part: dict[int, list[Hole]] = defaultdict(list)
    for hole in Hole.objects.filter(part__in=parts).with_stacks():
        by_part[hole.part_id].append(hole)
    return {
        part: [mask["thread"] for mask in suggested_masks(holes)] for part, holes in by_part.items()
    }


def facts_of(piece: Piece, rows: Rows, *, masks: Iterable[Mask] = (), now: datetime) -> Facts:
    """What is known about one piece with everything joined into it, at ``now``."""
    whole = rows.whole(piece)
    answers = [answer for one in whole for answer in rows.of_piece(rows.answers, one)]
    said = _together(rows.of_piece(rows.answers, piece), answers)
    threads = [name for one in whole for name in rows.threads.get(one.part_id, [])]
    masks = list(masks)
    threads += [mask.thread for mask in masks if mask.thread]
    if threads:
        # Written down with the fasteners, so nobody needs to be asked.
        said.setdefault("threads", YES)
    joints = [joint for one in whole for joint in rows.of_piece(rows.joints, one)]
    kept = frozenset(mask.what for mask in masks)
    return Facts(
        materials=frozenset(one.material for one in whole),
        answers=said,
        joints=tuple(_joint(joint, now) for joint in joints),
        things=_things(whole, said, answers, joints, kept, rows),
        masks=kept,
        threads=tuple(dict.fromkeys(threads)),
        thickness_mm=_least(answers, "thin"),
        play_mm=_least(answers, "bores"),
    )


def lot_facts(line: Line) -> Facts:
    """What is known about loose fasteners."""
    kept = frozenset(mask.what for mask in line.masks.all())
    return Facts(materials=frozenset({""}), strongest=line.strongest, is_lot=True, masks=kept)


def _together(own: list[Answer], every: list[Answer]) -> dict[str, str]:
    """One answer a question: the worst of all; a "no" counts when it is the whole piece's."""
    found = {answer.question: answer.says for answer in own}
    for says in (UNKNOWN, YES):
        found |= {answer.question: says for answer in every if answer.says == says}
    return found


def _least(answers: list[Answer], question: str) -> float | None:
    sizes = [
        answer.size_mm
        for answer in answers
        if answer.question == question and answer.size_mm is not None and answer.says != NO
    ]
    return min(sizes, default=None)


def _joint(joint: Joint, now: datetime) -> JointFact:
    with_what = joint.alloy or joint.adhesive
    glue = joint.adhesive
    return JointFact(
        how=joint.how,
        with_what=str(with_what) if with_what else "",
        solidus_c=joint.alloy.solidus_c if joint.alloy else None,
        adhesive=glue.code if glue else "",
        short_peak_c=glue.short_peak_c if glue else None,
        short_peak_minutes=glue.short_peak_minutes if glue else None,
        is_hard=joint.is_fit_for_heat(now),
        why_not=_why_not_hard(joint, now),
    )


def _why_not_hard(joint: Joint, now: datetime) -> str:
    if joint.is_fit_for_heat(now):
        return ""
    if joint.hard_from is None:
        return "its hardening was never timed"
    if not joint.clock_ended(now):
        return "still hardening"
    return "time is up, but nobody has read the temperature for 12 hours"


def _things(
    whole: list[Piece],
    said: Mapping[str, str],
    answers: list[Answer],
    joints: list[Joint],
    kept: frozenset[str],
    rows: Rows,
) -> tuple[Thing, ...]:
    """Everything on the piece that heat harms, by its own limit or the lowest of the table."""
    left = [answer for answer in answers if answer.question == "left_on" and answer.says != NO]
    found = [
        Thing(name=limit.name, sort=limit.sort, limit_c=limit.limit_c)
        for answer in left
        for limit in answer.things.all()
    ]
    unnamed = [one.get_material_display() for one in whole if one.material in SOFT]
    if said.get("left_on") in (YES, UNKNOWN) and not found:
        unnamed.append("Rubber or plastic")
    if Mask.What.RUBBER in kept and not found:
        unnamed.append("Rubber left in")
    weakest = Thing(name="", sort=LEFT_ON, limit_c=rows.lowest_c, assumed=True)
    found += [replace(weakest, name=name) for name in unnamed]
    if any(joint.how == Joint.How.FILLER for joint in joints):
        found.append(Thing(name="Filler", sort=LEFT_ON, limit_c=rows.filler_c))
    return tuple(found)


def sending_of(line: Line, dropoff: DropOff, services: Iterable[Service]) -> Sending:
    """The work of one line at this finisher, as agreed so far."""
    services = list(services)
    return Sending(
        processes=tuple(line.processes),
        grit=line.grit or dropoff.grit,
        heat={service.process: (service.peak_c, service.peak_minutes) for service in services},
        film_um=line.thickness_um or dropoff.thickness_um,
        remarks=". ".join([line.remarks, dropoff.remarks, *(one.note for one in services)]),
    )
