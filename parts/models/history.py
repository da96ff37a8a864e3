from datetime import datetime
from decimal import Decimal
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

from django.db import models

if TYPE_CHECKING:
    from garage.models import Car, Person
    from parts.models.part import Part
    from parts.models.piece import Piece


# How an event's kind stands at the head of its line; where the text says all, there is no head.
HEADS = {
    "take off": "Taken off",
    "put on the bench": "On the bench",
    "hand over": "Handed over",
    "collect": "Collected",
    "count in": "Counted back",
    "call ready": "Ready to go on",
    "reopen": "Not ready after all",
    "fit loose": "Fitted, loose",
    "tighten": "Fitted, tight",
    "slacken": "Slackened",
    "report missing": "Missing",
    "find": "Found",
    "keep as pattern": "Kept as pattern",
    "release": "No longer a pattern",
    "scrap": "Scrapped",
    "sell": "Sold",
    "get back": "Got back",
    "take back": "Taken back",
    "judge": "",
    "plan": "",
    "pin": "",
    "join": "",
    "listed": "Listed, still on the car",
    "step done": "Done",
    "step left": "Left",
    "step opened again": "To do again",
    "joint": "Joined",
    "joint curing": "Hardening",
    "joint hard": "Hard",
    "joint looked at": "I looked, it is hard",
    "joint parted": "Joint taken apart",
    "answered": "Asked",
    "send anyway": "Sent anyway",
    "change": "Changed",
    "take apart": "Taken apart",
    "throw out": "Thrown out",
    "bring back": "Brought back",
}


class EventQuerySet(models.QuerySet["Event"]):
    def write(
        self,
        *,
        kind: str,
        by: "Person | None",
        at: datetime,
        piece: "Piece | None" = None,
        part: "Part | None" = None,
        car: "Car | None" = None,
        key: UUID | None = None,
        changes: dict[str, Any] | None = None,
        **fields: Any,
    ) -> "Event":
        """One line of history. It is never edited afterwards."""
        part = part or (piece.part if piece else None)
        car_id = car.pk if car else part.car_id if part else None
        return self.create(
            key=key or uuid4(),
            piece=piece,
            part=part,
            car_id=car_id,
            kind=kind,
            by=by,
            at=at,
            changes=changes or {},
            **fields,
        )

    def of(self, car: models.Model) -> "EventQuerySet":
        return self.filter(car=car)

    def for_lines(self) -> "EventQuerySet":
        """Everything a line of the day book shows, newest first."""
        return self.select_related("piece", "part", "by").order_by("-at", "-pk")

    def standing(self) -> "EventQuerySet":
        """Events that were not taken back, and did not take another back."""
        return self.filter(undone_by=None, undoes=None)

    def cost(self) -> Decimal:
        """What all of them cost together."""
        return self.aggregate(total=models.Sum("cost"))["total"] or Decimal()


class Event(models.Model):
    """Who did what, when, and what it changed. History replays to the present state."""

    key = models.UUIDField(unique=True)
    car = models.ForeignKey("garage.Car", models.CASCADE, null=True, related_name="events")
    part = models.ForeignKey("parts.Part", models.CASCADE, null=True, related_name="events")
    piece = models.ForeignKey("parts.Piece", models.CASCADE, null=True, related_name="events")
    at = models.DateTimeField(db_index=True)
    by = models.ForeignKey("garage.Person", models.SET_NULL, null=True, related_name="+")
    kind = models.CharField(max_length=40)
    text = models.TextField(blank=True, default="")
    before = models.CharField(max_length=12, blank=True, default="")
    after = models.CharField(max_length=12, blank=True, default="")
    # {field: [before, after]} of the piece; what undo puts back.
    changes = models.JSONField(default=dict)
    cost = models.DecimalField(max_digits=9, decimal_places=2, null=True, blank=True)
    minutes = models.PositiveIntegerField(null=True, blank=True)
    batch = models.UUIDField(null=True, blank=True, db_index=True)
    undoes = models.OneToOneField(
        "self", models.CASCADE, null=True, blank=True, related_name="undone_by"
    )

    objects = EventQuerySet.as_manager()

    class Meta:
        indexes = [
            models.Index(fields=["car", "-at"], name="event_day_book"),
            models.Index(fields=["piece", "at"], name="event_by_piece"),
        ]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M} {self.kind}"

    @property
    def says(self) -> str:
        """The line as it stands in the day book: "Put away: Shelf A / Box 3"."""
        head = HEADS.get(self.kind, self.kind[:1].upper() + self.kind[1:])
        return ": ".join(filter(None, [head, self.text]))


class Draft(models.Model):
    """Text that was refused because somebody else had saved meanwhile. Kept until it is settled."""

    part = models.ForeignKey("parts.Part", models.CASCADE, related_name="drafts")
    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="drafts")
    by = models.ForeignKey("garage.Person", models.CASCADE, related_name="+")
    at = models.DateTimeField()
    base_version = models.PositiveIntegerField()
    # {field: {"label": …, "base": …, "mine": …}}
    fields = models.JSONField()
    settled_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-at"]

    def __str__(self) -> str:
        return f"draft of {self.part_id}, {self.at:%Y-%m-%d %H:%M}"
