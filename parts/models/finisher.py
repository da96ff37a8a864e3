from collections.abc import Iterable

from django.db import models
from django.urls import reverse


class Process(models.TextChoices):
    """What an outside finisher does to a piece."""

    BLAST = "blast", "Blast"
    POWDER = "powder", "Powder coat"
    PAINT = "paint", "Wet paint"
    PLATE = "plate", "Plate"
    HOT_DIP = "hot_dip", "Hot-dip galvanise"
    PHOSPHATE = "phosphate", "Phosphate"
    STRIP = "strip", "Chemical strip"
    MACHINE = "machine", "Machine"
    WELD = "weld", "Weld"
    OTHER = "other", "Other work"


COATS = (
    Process.POWDER,
    Process.PAINT,
    Process.PLATE,
    Process.HOT_DIP,
    Process.PHOSPHATE,
)
LEAVES_BARE = (Process.BLAST, Process.STRIP)
HEATS = (Process.POWDER, Process.PAINT, Process.HOT_DIP, Process.PHOSPHATE, Process.WELD)


def as_words(processes: Iterable[Process]) -> str:
    """ "Blast then powder coat"."""
    return " then ".join(
        process.label if place == 0 else process.label.lower()
        for place, process in enumerate(processes)
    )


class FinisherQuerySet(models.QuerySet["Finisher"]):
    def in_use(self) -> "FinisherQuerySet":
        return self.filter(thrown_out_at=None)

    def with_services(self) -> "FinisherQuerySet":
        return self.prefetch_related("services")

    def with_pieces_there(self) -> "FinisherQuerySet":
        """Adds ``pieces_there``: how many rows of pieces are at each now."""
        return self.annotate(pieces_there=models.Count("pieces"))


class Finisher(models.Model):
    """An outside shop: blaster, coater, plater, machinist."""

    name = models.CharField("Name", max_length=80, unique=True)
    address = models.TextField("Address", max_length=300, blank=True)
    phone = models.CharField("Telephone", max_length=40, blank=True)
    email = models.EmailField("E-mail", blank=True)
    lead_days = models.PositiveSmallIntegerField("Days they say it takes", null=True, blank=True)
    notes = models.TextField("Notes", max_length=10_000, blank=True)
    thrown_out_at = models.DateTimeField(null=True, blank=True)

    objects = FinisherQuerySet.as_manager()

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("finisher", args=[self.pk])

    @property
    def offers(self) -> tuple[Process, ...]:
        return tuple(Process(service.process) for service in self.services.all())


class Service(models.Model):
    """One process a finisher does, and how hot the metal gets in it."""

    finisher = models.ForeignKey(Finisher, models.CASCADE, related_name="services")
    process = models.CharField("Work", max_length=10, choices=Process.choices)
    peak_c = models.PositiveSmallIntegerField("Hottest the metal gets", null=True, blank=True)
    peak_minutes = models.PositiveSmallIntegerField("Minutes at it", null=True, blank=True)
    note = models.CharField("Note", max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["finisher", "process"], name="one_service_of_a_kind_per_finisher"
            )
        ]

    def __str__(self) -> str:
        return self.get_process_display()

    @property
    def heat_in_words(self) -> str:
        """ "190 °C metal, 12 min"; empty when it was never asked."""
        if self.peak_c is None:
            return ""
        minutes = f", {self.peak_minutes} min" if self.peak_minutes else ""
        return f"{self.peak_c} °C metal{minutes}"
