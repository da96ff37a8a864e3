"""Holes on a page: the stack of each as lines and as a drawing."""

from collections.abc import Iterable

from django import template
from django.template import Context

from garage import units
from parts import fasteners
from parts.models import Hole, StackItem
from parts.stack_drawing import with_fractions

register = template.Library()
register.filter("fractions", with_fractions)


def _mark(context: Context) -> units.Mark:
    return getattr(getattr(context.get("request"), "user", None), "decimal_mark", ".")


@register.simple_tag(takes_context=True)
def shown_hole(context: Context, hole: Hole) -> fasteners.ShownHole:
    """One hole, read with its stack."""
    return fasteners.shown_hole(hole, _mark(context))


@register.simple_tag(takes_context=True)
def stack_size(context: Context, item: StackItem) -> str:
    """Thread and length as they were written down: an inch bolt keeps its inches."""
    return fasteners.size_words(item, _mark(context))


@register.simple_tag(takes_context=True)
def shown_holes(context: Context, holes: fasteners.Holes | Iterable[Hole]) -> fasteners.Holes:
    """The holes of one part, read with their stacks; what is shown already stays as it is."""
    if isinstance(holes, fasteners.Holes):
        return holes
    return fasteners.shown_holes(holes, _mark(context))
