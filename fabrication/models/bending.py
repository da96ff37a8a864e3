from typing import TYPE_CHECKING
from uuid import UUID

from django.db import models
from django.urls import reverse

from fabrication.models.sheet import PipeSheet
from fabrication.models.tools import Former, TubeStock

if TYPE_CHECKING:
    from garage.models import Car
    from parts.models import Part


class SheetFreezeQuerySet(models.QuerySet["SheetFreeze"]):
    def holding(self, sheet: PipeSheet) -> "SheetFreeze | None":
        """The figures a sheet is held to: the last ones kept of its present former and tube."""
        kept = self.filter(sheet=sheet, former_id=sheet.former_id, stock_id=sheet.stock_id)
        return kept.order_by("-at", "-pk").first()

    def under(self, key: UUID, former: Former, stock: TubeStock) -> "SheetFreeze | None":
        """The same for the sheet of a key and what is chosen in its form."""
        kept = self.filter(sheet__key=key, former=former, stock=stock)
        return kept.order_by("-at", "-pk").first()


class SheetFreeze(models.Model):
    """The figures of former and tube that a sheet is held to; see ``fabrication.pipe.frozen``."""

    class Why(models.TextChoices):
        PRINT = "print", "print"
        BEND = "bend", "bend"
        TAKEN = "taken", "new figures"

    sheet = models.ForeignKey(PipeSheet, models.CASCADE, related_name="freezes")
    former = models.ForeignKey(Former, models.PROTECT, related_name="+")
    stock = models.ForeignKey(TubeStock, models.PROTECT, related_name="+")
    revision = models.PositiveIntegerField()
    figures = models.JSONField()
    why = models.CharField(max_length=6, choices=Why.choices)
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = SheetFreezeQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.sheet} held since its {self.get_why_display()}"


class MakingQuerySet(models.QuerySet["Making"]):
    def of_sheet(self, sheet: PipeSheet) -> "MakingQuerySet":
        return self.filter(sheet=sheet)

    def under_way(self) -> "MakingQuerySet":
        return self.filter(ended_at=None)

    def of_car(self, car: "Car | None") -> "MakingQuerySet":
        """Pipes of a car; without one, those that stand alone."""
        return self.filter(sheet__car=car)

    def of_part(self, part: "Part") -> "MakingQuerySet":
        return self.filter(sheet__part=part)

    def made_for_a_part(self) -> "MakingQuerySet":
        return self.filter(outcome=Making.Outcome.MADE).exclude(sheet__part=None)

    def for_page(self) -> "MakingQuerySet":
        return self.select_related(
            "sheet__part",
            "sheet__former",
            "sheet__stock",
            "sheet__bead_tool",
            "begun_by",
            "ended_by",
            "piece__part",
        )

    def newest_first(self) -> "MakingQuerySet":
        return self.order_by("-begun_at", "-pk")


class Making(models.Model):
    """One pipe being made from a sheet. What it was begun with stays with it, whatever the sheet
    says later: half the bends are on the tube already."""

    class Outcome(models.TextChoices):
        MADE = "made", "Made"
        SCRAPPED = "scrapped", "Scrapped"

    key = models.UUIDField(unique=True)
    sheet = models.ForeignKey(PipeSheet, models.CASCADE, related_name="makings")
    revision = models.PositiveIntegerField()
    inputs = models.JSONField()
    figures = models.JSONField()
    # Cut length and marks as they went on the tube.
    marks = models.JSONField()
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    ended_at = models.DateTimeField(null=True, blank=True)
    ended_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    outcome = models.CharField(max_length=8, choices=Outcome.choices, blank=True, default="")
    because = models.CharField("Because", max_length=200, blank=True, default="")
    piece = models.OneToOneField(
        "parts.Piece", models.SET_NULL, null=True, blank=True, related_name="made_by"
    )

    objects = MakingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["sheet"],
                condition=models.Q(ended_at=None),
                name="one_pipe_at_a_time_from_a_sheet",
            )
        ]

    def __str__(self) -> str:
        return f"{self.sheet}, revision {self.revision}"

    def get_absolute_url(self) -> str:
        return reverse("making", args=[self.pk])

    @property
    def is_under_way(self) -> bool:
        return self.ended_at is None


class StandingQuerySet(models.QuerySet):
    """Rows that can be taken out again, and stay."""

    def standing(self) -> "StandingQuerySet":
        return self.filter(out_at=None)


class DoneStep(models.Model):
    """A step of the bench that is done, by its code in ``fabrication.making.bench_steps``."""

    key = models.UUIDField(unique=True)
    making = models.ForeignKey(Making, models.CASCADE, related_name="done_steps")
    code = models.CharField(max_length=16)
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    out_at = models.DateTimeField(null=True, blank=True)

    objects = StandingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["making", "code"],
                condition=models.Q(out_at=None),
                name="a_bench_step_is_done_once",
            )
        ]

    def __str__(self) -> str:
        return f"{self.making}: {self.code}"


class ReadingQuerySet(models.QuerySet["Reading"]):
    def standing(self) -> "ReadingQuerySet":
        return self.filter(out_at=None)

    def in_turn(self) -> "ReadingQuerySet":
        return self.select_related("by").order_by("pull", "pk")


class Reading(models.Model):
    """One pull of one bend: how far on the tool, and what the gauge said after letting go."""

    key = models.UUIDField(unique=True)
    making = models.ForeignKey(Making, models.CASCADE, related_name="readings")
    bend = models.PositiveSmallIntegerField("Bend")
    pull = models.PositiveSmallIntegerField("Pull")
    pulled_to_deg = models.FloatField("Pulled to")
    came_to_deg = models.FloatField("Came to")
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    out_at = models.DateTimeField(null=True, blank=True)

    objects = ReadingQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(pulled_to_deg__gt=0, came_to_deg__gte=0),
                name="a_pull_bends_and_never_opens",
            )
        ]

    def __str__(self) -> str:
        return f"Bend {self.bend} pulled to {self.pulled_to_deg:g}°, came to {self.came_to_deg:g}°"


class ComparisonQuerySet(models.QuerySet["Comparison"]):
    def standing(self) -> "ComparisonQuerySet":
        return self.filter(out_at=None)

    def of_sheet(self, sheet: PipeSheet) -> "ComparisonQuerySet":
        return self.filter(sheet=sheet).select_related("by")

    def for_page(self) -> "ComparisonQuerySet":
        return self.select_related("sheet__former", "sheet__stock", "sheet__part", "making", "by")

    def newest_first(self) -> "ComparisonQuerySet":
        return self.order_by("-at", "-pk")


class Comparison(models.Model):
    """A pipe as measured, beside the one that was wanted then. ``measured`` is one document of
    ``fabrication.making.measured``; what follows from it is worked out when it is read."""

    key = models.UUIDField(unique=True)
    sheet = models.ForeignKey(PipeSheet, models.CASCADE, related_name="comparisons")
    making = models.ForeignKey(
        Making, models.CASCADE, null=True, blank=True, related_name="comparisons"
    )
    revision = models.PositiveIntegerField()
    inputs = models.JSONField()
    figures = models.JSONField()
    measured = models.JSONField()
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    out_at = models.DateTimeField(null=True, blank=True)

    objects = ComparisonQuerySet.as_manager()

    def __str__(self) -> str:
        return f"{self.sheet} compared"

    def get_absolute_url(self) -> str:
        return reverse("comparison", args=[self.pk])
