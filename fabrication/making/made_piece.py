"""A made pipe becomes a piece of its part, and what the plan still wants goes on with it."""

from datetime import datetime
from uuid import uuid4

from django.db import transaction

from fabrication.models import Making
from garage.models import Person
from parts import plan, takeoff
from parts.models import Kind, Piece, Purpose, Step
from parts.models.piece_words import Material

# What a tube is made of, in the words of the parts' room; copper-nickel has none there.
_MATERIALS = {
    "copper": Material.COPPER,
    "steel": Material.STEEL,
    "stainless": Material.STAINLESS,
    "aluminium": Material.ALUMINIUM,
    "brass": Material.BRASS,
}


@transaction.atomic
def as_piece(*, making: Making, by: Person, now: datetime) -> Piece:
    """The made pipe as a piece of its part, to be fitted; the old one becomes the pattern.

    Where the plan of the old piece said to remake it, that is done, and the steps behind it go on
    with the new piece. Asked twice, it is one piece.

    Raises
    ------
    parts.splitting.SplitRefused
        When the part has as many pieces as it can have.
    """
    held = Making.objects.for_page().select_for_update(of=("self",)).get(pk=making.pk)
    if held.piece:
        return held.piece
    part = held.sheet.part
    old = part.fitted_piece
    held.piece = takeoff.add_piece(
        part=part,
        purpose=Purpose.TO_FIT,
        by=by,
        now=now,
        key=held.key,
        origin=f"Made from sheet {held}",
        material=_MATERIALS.get(held.sheet.stock.material, ""),
    )
    held.save(update_fields=["piece"])
    remade = old.steps.to_do().filter(kind=Kind.REMAKE).first()
    if remade and not old.is_out:
        _carry_on(remade, held, by=by, now=now)
    return held.piece


def _carry_on(remade: Step, making: Making, *, by: Person, now: datetime) -> None:
    """Ticks the remaking off, and moves what stands behind it to the new piece."""
    new, old = making.piece, remade.piece
    behind = list(old.steps.to_do().filter(position__gt=remade.position))
    plan.finish(step=remade, by=by, now=now, note=f"From sheet {making}")
    for step in behind:
        plan.leave(step=step, because=f"it goes on with {new.tag}", by=by, now=now)
        plan.add_step(
            piece=new,
            key=uuid4(),
            kind=Kind(step.kind),
            by=by,
            now=now,
            work=step.work,
            what=step.what,
            why=step.why,
            who=step.who,
        )
