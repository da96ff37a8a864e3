import math

from django.db import models
from django.urls import reverse

from garage.models import Person

BAR_MM = 100.0


class PrinterQuerySet(models.QuerySet["Printer"]):
    def usual_of(self, person: Person) -> "Printer | None":
        """The printer this person prints on, if they chose one."""
        return self.filter(usual_for__person=person).first()


class Printer(models.Model):
    """A printer, and by how much drawings are stretched for it: bars printed there measure true.

    ``factor_x`` holds across the sheet and ``factor_y`` along it, the sheet standing upright.
    """

    key = models.UUIDField(unique=True)
    name = models.CharField("Name", max_length=40)
    factor_x = models.FloatField("Across", default=1.0)
    factor_y = models.FloatField("Up", default=1.0)
    measured_at = models.DateTimeField()
    measured_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = PrinterQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("printer", args=[self.pk])

    @property
    def bar_x_mm(self) -> float:
        """What the level bar measured, printed without correction."""
        return BAR_MM / self.factor_x

    @property
    def bar_y_mm(self) -> float:
        """What the upright bar measured, printed without correction."""
        return BAR_MM / self.factor_y

    @property
    def is_true(self) -> bool:
        """Whether it prints true without help."""
        return math.isclose(self.factor_x, 1.0) and math.isclose(self.factor_y, 1.0)


class UsualPrinter(models.Model):
    """The printer a person prints on, so that they need not choose it each time."""

    person = models.OneToOneField("garage.Person", models.CASCADE, related_name="usual_printer")
    printer = models.ForeignKey(Printer, models.CASCADE, related_name="usual_for")

    def __str__(self) -> str:
        return f"{self.person} prints on {self.printer}"
