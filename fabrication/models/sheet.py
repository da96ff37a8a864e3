from django.db import models
from django.urls import reverse

from fabrication.models.tools import Former, TubeStock


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
        return self.select_related("part", "former", "stock")

    def of_car(self, car: models.Model | None) -> "PipeSheetQuerySet":
        """Sheets of a car; without one, those that stand alone."""
        return self.filter(car=car)

    def of_part(self, part: models.Model) -> "PipeSheetQuerySet":
        return self.filter(part=part)

    def newest_first(self) -> "PipeSheetQuerySet":
        return self.order_by("-changed_at", "-pk")


class PipeSheet(models.Model):
    """A pipe to be made. ``inputs`` is one document of ``fabrication.inputs``, saved whole.

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
    duty = models.CharField("What runs in it", max_length=8, choices=Duty.choices)
    inputs = models.JSONField()
    version = models.PositiveIntegerField(default=1)
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
