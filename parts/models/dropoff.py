from datetime import date
from typing import TYPE_CHECKING

from django.db import models
from django.urls import reverse

from parts.models.finisher import COATS, LEAVES_BARE, Process, as_words

if TYPE_CHECKING:
    from parts.models.heat import SentAnyway
    from parts.models.piece import Piece


class DropOffQuerySet(models.QuerySet["DropOff"]):
    def of(self, car: models.Model) -> "DropOffQuerySet":
        return self.filter(car=car)

    def with_finisher(self) -> "DropOffQuerySet":
        return self.select_related("finisher")

    def being_built(self) -> "DropOffQuerySet":
        return self.filter(state=DropOff.State.BUILDING)

    def out(self) -> "DropOffQuerySet":
        return self.filter(state=DropOff.State.OUT)

    def at(self, finisher: models.Model) -> "DropOffQuerySet":
        return self.filter(finisher=finisher)

    def due_first(self) -> "DropOffQuerySet":
        return self.order_by(models.F("due_on").asc(nulls_last=True), "number")

    def came_back_whole(self) -> "DropOffQuerySet":
        """Closed because everything was counted, not by a reason."""
        return self.filter(state=DropOff.State.CLOSED, closed_because="").exclude(hand_over_on=None)

    def may_be_counted(self) -> "DropOffQuerySet":
        """Out, or closed with a reason while something was still out."""
        late = models.Q(state=DropOff.State.CLOSED, closed_because__gt="")
        return self.filter(models.Q(state=DropOff.State.OUT) | late)

    def over(self) -> "DropOffQuerySet":
        return self.filter(state__in=(DropOff.State.CLOSED, DropOff.State.VOID))

    def overdue(self, today: date) -> "DropOffQuerySet":
        """Out longer than was said. What is home and waits to be counted is not late."""
        return self.out().filter(due_on__lt=today, collected_at=None)

    def with_counts(self) -> "DropOffQuerySet":
        """Adds ``pieces_sent`` and ``pieces_counted``."""
        sent = (
            Line.objects.filter(dropoff=models.OuterRef("pk"))
            .values("dropoff")
            .annotate(total=models.Sum("count"))
            .values("total")
        )
        counted = (
            Count.objects.filter(line__dropoff=models.OuterRef("pk"))
            .values("line__dropoff")
            .annotate(
                found=models.Sum(
                    models.F("good") + models.F("redo") + models.F("missing") + models.F("unsound")
                )
            )
            .values("found")
        )
        zero = models.Value(0)
        return self.annotate(
            pieces_sent=models.functions.Coalesce(models.Subquery(sent), zero),
            pieces_counted=models.functions.Coalesce(models.Subquery(counted), zero),
        )


class DropOff(models.Model):
    """A batch of pieces for one finisher, and the sheet that goes with it."""

    class State(models.TextChoices):
        BUILDING = "building", "Not handed over yet"
        OUT = "out", "Out"
        CLOSED = "closed", "Closed"
        VOID = "void", "Taken back"

    key = models.UUIDField(unique=True)
    number = models.PositiveIntegerField(unique=True, editable=False)
    car = models.ForeignKey("garage.Car", models.CASCADE, related_name="dropoffs")
    finisher = models.ForeignKey(
        "parts.Finisher", models.PROTECT, related_name="dropoffs", verbose_name="Finisher"
    )
    state = models.CharField(max_length=8, choices=State.choices, default=State.BUILDING)
    colour = models.CharField("Colour", max_length=60, blank=True)
    colour_code = models.CharField("Colour code", max_length=30, blank=True)
    gloss = models.CharField("Gloss", max_length=30, blank=True)
    thickness_um = models.PositiveSmallIntegerField("Thickness", null=True, blank=True)
    grit = models.CharField("Grit", max_length=60, blank=True)
    hand_over_on = models.DateField("Hand over on", null=True, blank=True)
    due_on = models.DateField("Due back", null=True, blank=True)
    quoted = models.DecimalField("Quoted", max_digits=9, decimal_places=2, null=True, blank=True)
    invoiced = models.DecimalField("Invoice", max_digits=9, decimal_places=2, null=True, blank=True)
    remarks = models.TextField("Remarks for the finisher", max_length=2_000, blank=True)
    laid_out = models.ForeignKey(
        "garage.Photo", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    handed_over_at = models.DateTimeField(null=True, blank=True)
    collected_at = models.DateTimeField(null=True, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_because = models.CharField("Closed, because", max_length=300, blank=True)
    # The PDF as it was handed over, relative to the data folder; kept even when taken back.
    sheet_file = models.CharField(max_length=120, blank=True, editable=False)
    sheet_sha256 = models.CharField(max_length=64, blank=True, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)

    objects = DropOffQuerySet.as_manager()

    class Meta:
        ordering = ["-number"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state="building") | ~models.Q(handed_over_at=None),
                name="dropoff_out_was_handed_over",
            )
        ]

    def __str__(self) -> str:
        return f"Drop-off {self.number}"

    def get_absolute_url(self) -> str:
        return reverse("dropoff", args=[self.number])

    @property
    def is_being_built(self) -> bool:
        return self.state == self.State.BUILDING

    @property
    def is_out(self) -> bool:
        return self.state == self.State.OUT

    @property
    def pieces_left(self) -> int:
        """Pieces still out; only of rows read ``with_counts``."""
        return self.pieces_sent - self.pieces_counted  # type: ignore[attr-defined, no-any-return]

    @property
    def finish(self) -> str:
        """ "satin black, code PB-9, gloss 30, 80 µm": what holds unless a line says other."""
        return finish_in_words(self.colour, self.colour_code, self.gloss, self.thickness_um)


def finish_in_words(colour: str, code: str, gloss: str, thickness_um: int | None) -> str:
    """One line for colour, code, gloss and thickness; what is not known is left out."""
    return ", ".join(
        filter(
            None,
            [
                colour,
                f"code {code}" if code else "",
                f"gloss {gloss}" if gloss else "",
                f"{thickness_um} µm" if thickness_um else "",
            ],
        )
    )


class LineQuerySet(models.QuerySet["Line"]):
    def being_built(self) -> "LineQuerySet":
        return self.filter(dropoff__state=DropOff.State.BUILDING)

    def for_sheet(self) -> "LineQuerySet":
        """Everything a line of the sheet shows, in the sheet's order."""
        return self.select_related(
            "piece__part", "piece__cover", "photo", "step", "sent_anyway__by"
        ).prefetch_related("masks", "counts", "piece__joined__part")


class Strongest(models.TextChoices):
    """The hardest thing in a lot of loose fasteners, as the heads say; acid makes it brittle."""

    UP_TO_8_8 = "8.8", "8.8 or softer"
    UP_TO_10_9 = "10.9", "10.9"
    HARDEST = "12.9", "12.9, circlips or springs"
    UNKNOWN = "unknown", "Don't know"


class Line(models.Model):
    """One line of a drop-off: a piece with what is joined into it, or a lot of loose fasteners."""

    key = models.UUIDField(unique=True)
    dropoff = models.ForeignKey(DropOff, models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    piece = models.ForeignKey(
        "parts.Piece", models.PROTECT, null=True, blank=True, related_name="lines"
    )
    step = models.ForeignKey(
        "parts.Step", models.SET_NULL, null=True, blank=True, related_name="lines"
    )
    # Carries what is still out after the good ones of several alike came back.
    rest = models.ForeignKey(
        "parts.Piece", models.PROTECT, null=True, blank=True, related_name="+", editable=False
    )
    # Of a lot of loose fasteners: what it is and what it weighs.
    lot = models.CharField("What is in the lot", max_length=120, blank=True)
    weight_g = models.PositiveIntegerField("Weight", null=True, blank=True)
    strongest = models.CharField(
        "Strongest bolt in it", max_length=7, choices=Strongest.choices, blank=True
    )
    count = models.PositiveSmallIntegerField("How many", default=1)
    work = models.CharField("Work wanted, in order", max_length=80, blank=True)
    grit = models.CharField("Grit", max_length=60, blank=True)
    colour = models.CharField("Colour", max_length=60, blank=True)
    colour_code = models.CharField("Colour code", max_length=30, blank=True)
    gloss = models.CharField("Gloss", max_length=30, blank=True)
    thickness_um = models.PositiveSmallIntegerField("Thickness", null=True, blank=True)
    hang_by = models.CharField("Hang it by", max_length=120, blank=True)
    plug = models.CharField("Bores to plug", max_length=120, blank=True)
    tag_stays = models.BooleanField("Metal tag stays on", default=True)
    remarks = models.CharField("Remarks", max_length=300, blank=True)
    photo = models.ForeignKey(
        "garage.Photo", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = LineQuerySet.as_manager()

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(count__gte=1), name="line_is_at_least_one"),
            models.UniqueConstraint(fields=["dropoff", "piece"], name="a_piece_once_on_a_dropoff"),
            models.CheckConstraint(
                condition=models.Q(piece=None, lot__gt="")
                | (~models.Q(piece=None) & models.Q(lot="")),
                name="line_is_a_piece_or_a_lot",
            ),
        ]

    def __str__(self) -> str:
        return str(self.piece) if self.piece else self.lot

    @property
    def name(self) -> str:
        return self.piece.part.name if self.piece else self.lot

    @property
    def processes(self) -> tuple[Process, ...]:
        return tuple(Process(code) for code in self.work.split(",") if code)

    @property
    def work_in_words(self) -> str:
        return as_words(self.processes)

    @property
    def finish(self) -> str:
        """What this line wants other than the drop-off as a whole."""
        return finish_in_words(self.colour, self.colour_code, self.gloss, self.thickness_um)

    @property
    def comes_back_bare(self) -> bool:
        """Whether the work strips the metal and puts nothing on it."""
        works = set(self.processes)
        return bool(works & set(LEAVES_BARE)) and not works & set(COATS)

    @property
    def comes_back_coated(self) -> bool:
        return bool(set(self.processes) & set(COATS))

    @property
    def contents(self) -> "list[Piece]":
        """What is joined into the piece and goes with it; served by prefetch ``piece__joined``."""
        return (
            [one for one in self.piece.joined.all() if one.split_from_id != self.piece_id]
            if self.piece
            else []
        )

    @property
    def word(self) -> "SentAnyway | None":
        """The owner's word against what stops it, None where nobody gave one."""
        return getattr(self, "sent_anyway", None)

    @property
    def picture(self) -> "object | None":
        """The photo that stands for the line: its own, or its piece's."""
        return self.photo or (self.piece.cover if self.piece else None)

    @property
    def counted(self) -> int:
        return sum(count.total for count in self.counts.all())

    @property
    def still_out(self) -> int:
        return self.count - self.counted


class Count(models.Model):
    """What was found when (part of) a line came back. Counts are added, never edited."""

    key = models.UUIDField(unique=True)
    line = models.ForeignKey(Line, models.CASCADE, related_name="counts")
    at = models.DateTimeField()
    by = models.ForeignKey("garage.Person", models.SET_NULL, null=True, related_name="+")
    good = models.PositiveSmallIntegerField("Good", default=0)
    redo = models.PositiveSmallIntegerField("To be redone", default=0)
    missing = models.PositiveSmallIntegerField("Missing", default=0)
    unsound = models.PositiveSmallIntegerField("Found unsound", default=0)
    note = models.CharField("What is wrong?", max_length=300, blank=True)
    photo = models.ForeignKey(
        "garage.Photo", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(good__gt=0)
                | models.Q(redo__gt=0)
                | models.Q(missing__gt=0)
                | models.Q(unsound__gt=0),
                name="count_counts_something",
            )
        ]

    def __str__(self) -> str:
        return f"{self.total} of line {self.line_id}"

    @property
    def total(self) -> int:
        return self.good + self.redo + self.missing + self.unsound
