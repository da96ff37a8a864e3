from typing import Any

from django.db import models
from django.urls import reverse

from parts.search import folded
from parts.tags import spoken


class PartQuerySet(models.QuerySet["Part"]):
    def kept(self) -> "PartQuerySet":
        """Parts that were not thrown out."""
        return self.filter(thrown_out_at=None)

    def thrown_out(self) -> "PartQuerySet":
        return self.exclude(thrown_out_at=None)

    def of(self, car: models.Model) -> "PartQuerySet":
        return self.filter(car=car)

    def with_pieces(self) -> "PartQuerySet":
        return self.select_related("system", "car", "assembly").prefetch_related("pieces")

    def tagged(self, text: str) -> "Part | None":
        """The part whose tag was typed exactly, when it was."""
        typed = spoken(text)
        return self.filter(tag=typed).first() if 3 <= len(typed) <= 4 else None

    def in_order_of_removal(self) -> "PartQuerySet":
        return self.order_by(models.F("removal_order").asc(nulls_last=True), "pk")


class Part(models.Model):
    """A place on the car: what sits there, what held it, what it connects to.

    The thing in the hand is a ``Piece``. A part starts with one piece, and the screens speak of
    "the part" until there is a second.
    """

    class Side(models.TextChoices):
        NONE = "", "Not said"
        LEFT = "left", "Left"
        RIGHT = "right", "Right"
        CENTRE = "centre", "Centre"
        BOTH = "both", "Both"

    key = models.UUIDField(unique=True)
    car = models.ForeignKey("garage.Car", models.CASCADE, related_name="parts")
    system = models.ForeignKey(
        "garage.System", models.PROTECT, related_name="parts", verbose_name="System"
    )
    tag = models.CharField(max_length=4, unique=True, editable=False)
    name = models.CharField("What is it?", max_length=80)
    assembly = models.ForeignKey(
        "self",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="members",
        verbose_name="Belongs to assembly",
    )
    side = models.CharField("Side", max_length=6, choices=Side.choices, blank=True)
    position = models.CharField("Where it sat", max_length=120, blank=True)
    makers_number = models.CharField("Maker's number", max_length=60, blank=True)
    found_earlier = models.TextField("Earlier repairs found", max_length=2_000, blank=True)
    notes = models.TextField("Notes", max_length=10_000, blank=True)
    removal_order = models.PositiveIntegerField(null=True, blank=True, editable=False)
    search_text = models.TextField(default="", editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    thrown_out_at = models.DateTimeField(null=True, blank=True, db_index=True)

    objects = PartQuerySet.as_manager()

    class Meta:
        indexes = [models.Index(fields=["car", "system"], name="part_by_car_and_system")]

    def __str__(self) -> str:
        return f"{self.tag} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("part", args=[self.tag])

    @property
    def fitted_piece(self) -> "Any":
        """The piece that is to be fitted (one of ``pieces.all()``, so a prefetch serves it)."""
        return next(piece for piece in self.pieces.all() if piece.purpose == "to_fit")

    def piece_of(self, letter: str | None) -> "Any":
        """The piece of a letter; without one, the piece that is to be fitted; else None."""
        if not letter:
            return self.fitted_piece
        return next((piece for piece in self.pieces.all() if piece.letter == letter), None)

    def piece_numbered(self, number: str | None) -> "Any":
        """The piece of a primary key as a form sends it, else None."""
        return next((piece for piece in self.pieces.all() if str(piece.pk) == number), None)

    @property
    def where_it_sat(self) -> str:
        """ "Bulkhead, left": position and side in one line."""
        side = self.get_side_display().lower() if self.side else ""
        return ", ".join(filter(None, [self.position, side]))

    def fold_search_text(self) -> None:
        """Sets what Find looks in from the fields that name the part."""
        self.search_text = folded(
            [self.tag, self.name, self.makers_number, self.position, self.side, self.notes]
        )


class QuestionQuerySet(models.QuerySet["Question"]):
    def of(self, car: models.Model) -> "QuestionQuerySet":
        return self.filter(part__car=car, part__thrown_out_at=None)

    def unsettled(self) -> "QuestionQuerySet":
        return self.filter(settled_at=None)


class Question(models.Model):
    """A doubt whether the part is right for this car: asked of whom, answered how, settled when."""

    key = models.UUIDField(unique=True)
    part = models.ForeignKey(Part, models.CASCADE, related_name="questions")
    question = models.CharField("What do you doubt?", max_length=300)
    asked_of = models.CharField("Whom did you ask?", max_length=120, blank=True)
    asked_at = models.DateTimeField()
    answer = models.TextField("Answer", max_length=2_000, blank=True)
    settled_at = models.DateTimeField(null=True, blank=True)

    objects = QuestionQuerySet.as_manager()

    class Meta:
        ordering = ["asked_at"]

    def __str__(self) -> str:
        return self.question
