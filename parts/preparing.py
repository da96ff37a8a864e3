"""What is to be done between coating and refit: put down when a coated piece comes back good."""

from collections import Counter
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction

from garage.models import Person
from parts import plan
from parts.lines import suggested_masks
from parts.models import Kind, Line, Mask, Piece, Preparation, StackItem

CHASE, EARTH, BORE, FACE, RENEW, OTHER = (
    Preparation.What.CHASE,
    Preparation.What.EARTH,
    Preparation.What.BORE,
    Preparation.What.FACE,
    Preparation.What.RENEW,
    Preparation.What.OTHER,
)
THREADS = (Mask.What.THREAD_FEMALE, Mask.What.THREAD_MALE)
# What has to be done at each kind of place, and how the job reads.
AT = {
    Mask.What.THREAD_FEMALE: (CHASE, "thread"),
    Mask.What.THREAD_MALE: (CHASE, "thread outside"),
    Mask.What.BORE: (BORE, "bore"),
    Mask.What.BEARING_SEAT: (BORE, "bearing seat"),
    Mask.What.SEAL_SEAT: (BORE, "seal seat"),
    Mask.What.PASSAGE: (BORE, "passage"),
    Mask.What.GASKET_FACE: (FACE, "gasket face"),
    Mask.What.WHEEL_FACE: (FACE, "wheel or hub face"),
    Mask.What.NUT_SEAT: (FACE, "nut seat"),
    Mask.What.CLAMPED_FACE: (FACE, "clamped face"),
    Mask.What.FRICTION_FACE: (FACE, "friction face"),
    Mask.What.EARTH: (EARTH, "earth point"),
    Mask.What.GREASE_NIPPLE: (OTHER, "grease nipple, clear it"),
    Mask.What.BLEED_SCREW: (OTHER, "bleed screw, clear it"),
    Mask.What.SPLINES: (FACE, "splines"),
}


def put_down(*, line: Line, piece: Piece, by: Person, now: datetime) -> list[Preparation]:
    """The jobs of a line that came back coated, once per line, with a Prepare step to tick them at.

    Threads that were not masked took coating, so they are chased as well as those that were.
    """
    if not line.comes_back_coated:
        return []
    with transaction.atomic():
        made = []
        for place, (what, number, text) in enumerate(_jobs(line, piece)):
            job, new = Preparation.objects.get_or_create(
                key=_key(line, f"job {place}"),
                defaults={"piece": piece, "what": what, "count": number, "text": text[:120]},
            )
            made += [job] if new else []
        prepares = piece.steps.to_do().filter(kind=Kind.PREPARE)
        if made and not prepares.exists():
            plan.add_step(piece=piece, key=_key(line, "prepare"), kind=Kind.PREPARE, by=by, now=now)
    return made


def _jobs(line: Line, piece: Piece) -> list[tuple[str, int, str]]:
    holes = list(piece.part.holes.with_stacks())
    masks = list(line.masks.all())
    jobs = [_job(mask.what, mask.count, mask.thread) for mask in masks if mask.what in AT]
    masked = {mask.thread for mask in masks if mask.what in THREADS}
    jobs += [
        _job(hint["what"], hint["count"], hint["thread"])
        for hint in suggested_masks(holes)
        if hint["thread"] not in masked
    ]
    if line.plug:
        jobs.append((BORE, 1, f"plugs out: {line.plug}"))
    renewed: Counter[str] = Counter()
    for hole in holes:
        for item in hole.stack.all():
            if item.treatment == StackItem.Treatment.RENEW:
                renewed[_fastener(item)] += hole.count
    return jobs + [(RENEW, number, f"New: {number} × {name}") for name, number in renewed.items()]


def _job(what: str, count: int, thread: str) -> tuple[str, int, str]:
    kind, name = AT[Mask.What(what)]
    return kind, count, f"{count} × {name} {thread}".strip()


def _fastener(item: StackItem) -> str:
    length = item.length_typed or (f"{item.length_mm:g} mm" if item.length_mm else "")
    detail = " × ".join(filter(None, [item.thread, length]))
    return f"{item.get_what_display().lower()} {detail}".strip()


def _key(line: Line, what: str) -> UUID:
    return uuid5(line.key, what)
