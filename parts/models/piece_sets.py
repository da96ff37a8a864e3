"""Named sets of pieces: what the pages ask for, in the trade's words."""

from typing import TYPE_CHECKING

from django.db import models

from parts.models.part import Question
from parts.models.piece_words import Purpose
from parts.models.plan import Kind
from parts.models.refit import Requirement
from parts.search import search_words
from parts.statuses import AWAY_FOR_GOOD, CAN_BE_SENT, FITTED, IN_WORK, ON_THE_CAR, Status

if TYPE_CHECKING:
    from parts.models.piece import Piece


class PieceQuerySet(models.QuerySet["Piece"]):
    def of(self, car: models.Model) -> "PieceQuerySet":
        return self.filter(part__car=car)

    def kept(self) -> "PieceQuerySet":
        return self.filter(part__thrown_out_at=None)

    def to_fit(self) -> "PieceQuerySet":
        return self.filter(purpose=Purpose.TO_FIT)

    def beside(self) -> "PieceQuerySet":
        """Patterns, spares, exchange pieces and scrap: everything that will not be fitted."""
        return self.exclude(purpose=Purpose.TO_FIT)

    def on_the_car(self) -> "PieceQuerySet":
        return self.filter(status=Status.ON_CAR)

    def at_finisher(self) -> "PieceQuerySet":
        return self.filter(status__in=(Status.AT_FINISHER, Status.BACK))

    def not_counted(self) -> "PieceQuerySet":
        return self.filter(status=Status.BACK)

    def on_the_bench(self) -> "PieceQuerySet":
        return self.filter(status=Status.AT_BENCH)

    def off_the_bench(self) -> "PieceQuerySet":
        return self.exclude(status=Status.AT_BENCH)

    def ready(self) -> "PieceQuerySet":
        return self.filter(status=Status.READY)

    def clear_to_go_on(self) -> "PieceQuerySet":
        """Ready, and everything that must go on before is on the car (loose counts)."""
        return self.filter(can_go_on())

    def fitted(self) -> "PieceQuerySet":
        return self.filter(status__in=FITTED)

    def loose(self) -> "PieceQuerySet":
        return self.filter(status=Status.FITTED_LOOSE)

    def missing(self) -> "PieceQuerySet":
        return self.filter(status=Status.MISSING)

    def in_work(self) -> "PieceQuerySet":
        return self.filter(status__in=IN_WORK)

    def to_be_judged(self) -> "PieceQuerySet":
        """Off the car and without a plan."""
        return self.filter(status__in=(Status.OFF, Status.AT_BENCH), next_step=None)

    def next_is(self, *kinds: str) -> "PieceQuerySet":
        return self.filter(next_step__kind__in=kinds).exclude(status__in=AWAY_FOR_GOOD)

    def doubted(self) -> "PieceQuerySet":
        """Of parts of which somebody doubts, not settled yet, that they are right for the car."""
        return self.filter(part__in=Question.objects.unsettled().values("part"))

    def bare(self) -> "PieceQuerySet":
        """Blasted steel with nothing on it yet."""
        return self.exclude(bare_since=None)

    def on_a_dropoff(self) -> "PieceQuerySet":
        """At a finisher, back and not counted, or on a sheet that is being built."""
        out = models.Q(status__in=(Status.AT_FINISHER, Status.BACK))
        return self.filter(out | models.Q(lines__dropoff__state="building")).distinct()

    def can_be_sent(self) -> "PieceQuerySet":
        return self.filter(status__in=CAN_BE_SENT, joined_into=None)

    def waiting_to_go_out(self) -> "PieceQuerySet":
        """In the garage, not on a sheet yet, and the next step is sending out."""
        return (
            self.kept()
            .can_be_sent()
            .next_is(Kind.SEND_OUT)
            .exclude(lines__dropoff__state="building")
        )

    def numbered(self, numbers: list[str]) -> "PieceQuerySet":
        """The pieces of a form's tick boxes; what is no number is left out."""
        return self.filter(
            pk__in=[int(text) for text in numbers[:500] if text.isdecimal() and len(text) < 10]
        )

    def tagged(self, tag: str) -> "Piece | None":
        """The piece of a tag as stamped: "K7M", or "K7MB" for the further piece "K7M b"."""
        whole = self.filter(part__tag=tag, letter="")
        lettered = self.filter(part__tag=tag[:-1], letter=tag[-1:].lower())
        return (whole or lettered).select_related("part").first()

    def to_be_asked(self) -> "PieceQuerySet":
        """With all that the questions about a piece need: its plan and what was answered."""
        return self.select_related("part").prefetch_related("steps", "answers__things")

    def in_place(self, place: models.Model) -> "PieceQuerySet":
        inside = models.Q(place=place) | models.Q(place__path__startswith=f"{place.path} / ")
        return self.filter(inside)

    def matching(self, query: str) -> "PieceQuerySet":
        """Pieces whose part or place holds every word of ``query``."""
        pieces = self
        for word in search_words(query):
            pieces = pieces.filter(
                models.Q(part__search_text__contains=word)
                | models.Q(place__search_text__contains=word)
            )
        return pieces

    def for_rows(self) -> "PieceQuerySet":
        """Everything a part row shows, in one query."""
        return self.select_related("part", "place", "finisher", "next_step", "cover").defer(
            "part__notes", "part__found_earlier", "part__search_text", "notes", "still_attached"
        )

    def newest_first(self) -> "PieceQuerySet":
        return self.order_by("-part_id", "letter")


def can_go_on() -> models.Q:
    """Ready, what must be on first is on the car, and not to go on with the piece it is part of.

    A part that never came off is on the car; a part in the bin holds nothing up.
    """
    # One list of what is held up, made once: asked piece by piece it takes a minute at 10,000.
    held_up = Requirement.objects.filter(
        first__thrown_out_at=None,
        first__pieces__purpose=Purpose.TO_FIT,
        first__pieces__status__in=[status for status in Status if status not in ON_THE_CAR],
    ).values("then")
    alone = models.Q(joined_into=None) | models.Q(joined_into__status__in=ON_THE_CAR)
    return models.Q(status=Status.READY) & ~models.Q(part__in=held_up) & alone
