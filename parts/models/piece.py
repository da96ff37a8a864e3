from datetime import datetime
from typing import TYPE_CHECKING, Any
from uuid import UUID, uuid4

from django.db import models, transaction
from django.urls import reverse

from parts.models.history import Event
from parts.models.piece_sets import PieceQuerySet
from parts.models.piece_words import Condition, Material, Purpose
from parts.statuses import AWAY_FOR_GOOD, FITTED, Move, Status, moves_from, next_status

if TYPE_CHECKING:
    from garage.models import Person


class Piece(models.Model):
    """The thing in the hand: the old pipe kept as pattern, the new one, a spare.

    Its status changes through ``move`` and through nothing else.
    """

    part = models.ForeignKey("parts.Part", models.CASCADE, related_name="pieces")
    letter = models.CharField(max_length=1, blank=True, default="", editable=False)
    purpose = models.CharField(
        "What for", max_length=8, choices=Purpose.choices, default=Purpose.TO_FIT
    )
    status = models.CharField(max_length=12, choices=Status.choices, default=Status.ON_CAR)
    quantity = models.PositiveSmallIntegerField("How many", default=1)
    place = models.ForeignKey(
        "parts.Place",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="pieces",
        verbose_name="Put away in",
    )
    finisher = models.ForeignKey(
        "parts.Finisher", models.PROTECT, null=True, blank=True, related_name="pieces"
    )
    material = models.CharField("Material", max_length=16, choices=Material.choices, blank=True)
    condition = models.CharField("Condition", max_length=8, choices=Condition.choices, blank=True)
    condition_note = models.CharField("What is wrong with it", max_length=300, blank=True)
    still_attached = models.CharField("What is still on it", max_length=300, blank=True)
    origin = models.CharField("Where it came from", max_length=120, blank=True)
    notes = models.TextField("Notes on this piece", max_length=10_000, blank=True)
    cover = models.ForeignKey(
        "garage.Photo", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    joined_into = models.ForeignKey(
        "self", models.SET_NULL, null=True, blank=True, related_name="joined"
    )
    joined_how = models.CharField("How it is joined", max_length=120, blank=True)
    # Of several alike that came back in part: the piece this one belongs to (parts.splitting).
    split_from = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="split_off", editable=False
    )
    next_step = models.ForeignKey(
        "parts.Step", models.SET_NULL, null=True, blank=True, related_name="+", editable=False
    )
    off_at = models.DateTimeField(null=True, blank=True)
    fitted_at = models.DateTimeField(null=True, blank=True)
    bare_since = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = PieceQuerySet.as_manager()

    class Meta:
        ordering = ["part_id", "letter"]
        constraints = [
            models.UniqueConstraint(fields=["part", "letter"], name="one_piece_of_a_letter"),
            models.UniqueConstraint(
                fields=["part"],
                condition=models.Q(purpose="to_fit"),
                name="one_piece_of_a_part_is_to_be_fitted",
            ),
            models.CheckConstraint(
                condition=models.Q(status__in=Status.values), name="piece_has_a_known_status"
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gte=1), name="piece_is_at_least_one"
            ),
            models.CheckConstraint(
                condition=models.Q(finisher=None)
                | models.Q(status__in=(Status.AT_FINISHER, Status.BACK)),
                name="only_pieces_out_are_at_a_finisher",
            ),
        ]
        indexes = [
            models.Index(fields=["status", "part"], name="piece_by_status"),
            models.Index(fields=["purpose", "-part", "letter"], name="piece_newest_first"),
            models.Index(fields=["bare_since"], name="piece_by_bare_since"),
        ]

    def __str__(self) -> str:
        return f"{self.tag} {self.part.name}"

    def get_absolute_url(self) -> str:
        url = reverse("part", args=[self.part.tag])
        return f"{url}?piece={self.letter}" if self.letter else url

    @property
    def tag(self) -> str:
        """ "K7M", or "K7M b" for a further piece of the same part."""
        return f"{self.part.tag} {self.letter}".strip()

    @property
    def what_for(self) -> str:
        """What this piece is for, in words; one split off a count waits to come back to it."""
        if self.split_from_id:
            return f"waits to go back to {self.part.tag}"
        return self.get_purpose_display().lower()

    @property
    def state(self) -> Status:
        return Status(self.status)

    @property
    def is_to_fit(self) -> bool:
        return self.purpose == Purpose.TO_FIT

    @property
    def is_on_the_car(self) -> bool:
        return self.status == Status.ON_CAR

    @property
    def is_out(self) -> bool:
        return self.status in (Status.AT_FINISHER, Status.BACK)

    @property
    def is_fitted(self) -> bool:
        return self.status in FITTED

    @property
    def is_undecided(self) -> bool:
        """Off the car, and nobody has said what is to happen with it."""
        return self.status in (Status.OFF, Status.AT_BENCH) and self.next_step_id is None

    @property
    def whereabouts(self) -> str:
        """Where to go and look for it, in words."""
        if self.status in (Status.ON_CAR, *FITTED):
            return "On the car"
        if self.is_out and self.finisher:
            return self.finisher.name
        if self.status == Status.MISSING:
            return f"Last seen {self.place}" if self.place else "Nobody knows where"
        if self.status in AWAY_FOR_GOOD:
            return "Gone"
        return str(self.place) if self.place else "Not put away"

    def moves(self) -> tuple[Move, ...]:
        return moves_from(self.state)

    def can(self, move: Move) -> bool:
        return move in self.moves()

    def move(
        self,
        move: Move,
        *,
        by: "Person | None",
        now: datetime,
        note: str = "",
        batch: UUID | None = None,
        key: UUID | None = None,
        **changes: Any,
    ) -> Event:
        """The event of having moved this piece; the only way a status changes.

        Locks the row, asks the table, saves the fields the move settles (``changes`` names further
        ones, such as ``place``) and writes the event, in one transaction. Pieces joined into this
        one travel with it, and come back with it when the event is taken back.

        Raises
        ------
        MoveNotAllowed
            When the table has no such move from where the piece now is.
        """
        key = key or uuid4()
        batch = batch or key
        with transaction.atomic():
            piece = Piece.objects.select_for_update().get(pk=self.pk)
            before = piece.state
            after = next_status(before, move)
            changes = {**_settled_by(move, after, now), **changes, "status": after}
            changed = piece.change(changes)
            event = Event.objects.write(
                piece=piece,
                kind=str(move),
                text=note,
                before=before,
                after=after,
                changes=changed,
                by=by,
                at=now,
                batch=batch,
                key=key,
            )
            for joined in piece.joined.all():
                if joined.can(move):
                    joined.move(move, by=by, now=now, note=note, batch=batch, **_shared(changes))
        self.refresh_from_db()
        return event

    def change(self, changes: dict[str, Any]) -> dict[str, list[Any]]:
        """The fields that really changed, as {name: [before, after]}, after saving just those."""
        changed: dict[str, list[Any]] = {}
        for name, value in changes.items():
            attname = self._meta.get_field(name).attname
            new = value.pk if isinstance(value, models.Model) else value
            if (old := getattr(self, attname)) != new:
                setattr(self, attname, new)
                changed[attname] = [_plain(old), _plain(new)]
        if changed:
            self.save(update_fields=list(changed))
        return changed


def _settled_by(move: Move, after: Status, now: datetime) -> dict[str, Any]:
    """What a move says about the piece beyond its status."""
    settled: dict[str, Any] = {}
    if after not in (Status.AT_FINISHER, Status.BACK):
        settled["finisher"] = None
    if move is Move.TAKE_OFF:
        settled |= {"off_at": now, "fitted_at": None}
    if after in FITTED:
        settled |= {"place": None}
        if move is not Move.SLACKEN:
            settled["fitted_at"] = now
    if after in AWAY_FOR_GOOD:
        settled |= {"place": None, "bare_since": None}
    return settled


def _shared(changes: dict[str, Any]) -> dict[str, Any]:
    """Of the changes to a piece, those that hold for what is joined into it as well."""
    return {name: changes[name] for name in ("place", "finisher", "bare_since") if name in changes}


def _plain(value: Any) -> Any:
    """A value as JSON can keep it."""
    return value.isoformat() if isinstance(value, datetime) else value
