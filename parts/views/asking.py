"""Before pieces join a drop-off: on to the questions about those with one open."""

from collections.abc import Iterable
from urllib.parse import urlencode

from django.http import HttpRequest
from django.urls import reverse

from parts import questions
from parts.models import DropOff, Finisher, Piece


def to_be_asked(
    request: HttpRequest, pieces: Iterable[Piece], finisher: Finisher
) -> tuple[list[Piece], list[Piece]]:
    """The pieces with a question open, and the others.

    Only a form that asks for it ("ask") is led there: the pages do, and each of their questions can
    be left for later.
    """
    rows = list(Piece.objects.to_be_asked().numbered([str(piece.pk) for piece in pieces]))
    waiting = questions.unasked(rows, finisher) if "ask" in request.POST else []
    return waiting, [piece for piece in rows if piece not in waiting]


def ask_url(dropoff: DropOff, pieces: Iterable[Piece]) -> str:
    """The page that asks about these pieces, one after the other."""
    chosen = urlencode([("pieces", piece.pk) for piece in pieces])
    return f"{reverse('dropoff_ask', args=[dropoff.number])}?{chosen}"
