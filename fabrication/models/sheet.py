from typing import TYPE_CHECKING

from django.db import models
from django.urls import reverse

from fabrication.models.beads import BeadTool
from fabrication.models.tools import Former, TubeStock

if TYPE_CHECKING:
    from garage.models import Car
    from parts.models import Part


class Duty(models.TextChoices):
    """What runs in the pipe."""

    COOLANT = "coolant", "Coolant"
    FUEL = "fuel", "Fuel"
    BRAKE = "brake", "Brake"
    CLUTCH = "clutch", "Clutch"
    POWER_STEERING = "steering", "Power steering"
    OTHER = "other", "Something else"


class PipeSheetQuerySet(models.QuerySet["PipeSheet"]):
    def for_rows(self) -> "PipeSheetQuerySet":
        return self.select_related("part", "former", "stock", "bead_tool")

    def kept(self) -> "PipeSheetQuerySet":
        """Sheets that were not thrown out."""
        return self.filter(thrown_out_at=None)

    def thrown_out(self) -> "PipeSheetQuerySet":
        return self.exclude(thrown_out_at=None)

    def of_car(self, car: "Car | None") -> "PipeSheetQuerySet":
        """Kept sheets of a car; without one, those that stand alone."""
        return self.kept().filter(car=car)

    def in_the_bin_of(self, car: "Car | None") -> "PipeSheetQuerySet":
        return self.thrown_out().filter(car=car)

    def of_part(self, part: "Part") -> "PipeSheetQuerySet":
        """Kept sheets of a part."""
        return self.kept().filter(part=part)

    def to_mirror(self, car: "Car | None", *, but: int | None) -> "PipeSheetQuerySet":
        """Sheets of a car whose mirror image a sheet may be: never its own."""
        return self.filter(car=car).exclude(pk=but)

    def newest_first(self) -> "PipeSheetQuerySet":
        return self.order_by("-changed_at", "-pk")


class PipeSheet(models.Model):
    """A pipe to be made. ``inputs`` is one document of ``fabrication.pipe.inputs``, saved whole.

    What follows from it is worked out when it is read, and is nowhere kept.
    """

    key = models.UUIDField(unique=True)
    car = models.ForeignKey(
        "garage.Car", models.CASCADE, null=True, blank=True, related_name="pipe_sheets"
    )
    part = models.ForeignKey(
        "parts.Part", models.SET_NULL, null=True, blank=True, related_name="pipe_sheets"
    )
    title = models.CharField("What the pipe is", max_length=80)
    former = models.ForeignKey(Former, models.PROTECT, related_name="pipe_sheets")
    stock = models.ForeignKey(
        TubeStock, models.PROTECT, related_name="pipe_sheets", verbose_name="Tube"
    )
    bead_tool = models.ForeignKey(
        BeadTool,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="pipe_sheets",
        verbose_name="Bead tool",
    )
    duty = models.CharField("What runs in it", max_length=8, choices=Duty.choices)
    inputs = models.JSONField()
    version = models.PositiveIntegerField(default=1)
    # In the bin since; brought back it is as it was.
    thrown_out_at = models.DateTimeField(null=True, blank=True, db_index=True)
    thrown_out_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    created_at = models.DateTimeField()
    created_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    changed_at = models.DateTimeField()
    changed_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = PipeSheetQuerySet.as_manager()

    def __str__(self) -> str:
        return f"P{self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("pipe", args=[self.pk])


class PipeRevisionQuerySet(models.QuerySet["PipeRevision"]):
    def newest_first(self) -> "PipeRevisionQuerySet":
        return self.select_related("by").order_by("-version")


class PipeRevision(models.Model):
    """A pipe sheet as it was before a later save, kept whole."""

    sheet = models.ForeignKey(PipeSheet, models.CASCADE, related_name="revisions")
    version = models.PositiveIntegerField()
    title = models.CharField(max_length=80)
    former = models.ForeignKey(Former, models.PROTECT, related_name="+")
    stock = models.ForeignKey(TubeStock, models.PROTECT, related_name="+")
    bead_tool = models.ForeignKey(BeadTool, models.PROTECT, null=True, blank=True, related_name="+")
    duty = models.CharField(max_length=8, choices=Duty.choices)
    inputs = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = PipeRevisionQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["sheet", "version"], name="one_row_a_pipe_revision")
        ]

    def __str__(self) -> str:
        return f"{self.sheet}, revision {self.version}"
