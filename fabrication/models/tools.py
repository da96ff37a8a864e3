from datetime import date
from typing import Any

from django.db import models
from django.urls import reverse

from fabrication.kit.handle import Scale


class Former(models.Model):
    """A former bender as it stands on the bench: what is stamped on it, and what it measures.

    ``typed`` holds what was typed in the box of each length, by the field's name.
    """

    key = models.UUIDField(unique=True)
    name = models.CharField("Name", max_length=40)
    tube_od_mm = models.FloatField("Tube it takes, outside")
    stamped_radius_mm = models.FloatField("Radius stamped on it")
    measured_radius_mm = models.FloatField("Radius measured", null=True, blank=True)
    hook_mm = models.FloatField("Straight the hook needs")
    guide_mm = models.FloatField("Straight the guide needs")
    start_offset_mm = models.FloatField("Start offset", default=0.0)
    scale_rim_mm = models.FloatField("Scale, from the pivot", null=True, blank=True)
    scale_step_deg = models.FloatField("Scale, between marks", null=True, blank=True)
    scale_zero_deg = models.FloatField("Scale, before the pull", default=0.0)
    price = models.DecimalField("Price", max_digits=9, decimal_places=2, null=True, blank=True)
    supplier = models.CharField("Supplier", max_length=80, blank=True)
    bought_on = models.DateField("Bought on", null=True, blank=True)
    # Which practice bends radius and start were taken over from, and what stood there before.
    measured_from = models.JSONField(default=dict, blank=True)
    typed = models.JSONField(default=dict)

    class Meta:
        ordering = ["tube_od_mm", "name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("former", args=[self.pk])

    @property
    def radius_mm(self) -> float:
        """The centre-line radius to reckon with: measured, until then as stamped."""
        measured = self.measured_radius_mm
        return self.stamped_radius_mm if measured is None else measured

    @property
    def is_measured(self) -> bool:
        return self.measured_radius_mm is not None

    @property
    def taken_over_on(self) -> date | None:
        """When radius and start were taken over from practice bends, if they were."""
        on = self.measured_from.get("on")
        return date.fromisoformat(on) if on else None

    @property
    def scale(self) -> Scale | None:
        """The scale on its handle, when all of it is written down."""
        if not self.scale_rim_mm or not self.scale_step_deg:
            return None
        return Scale(self.scale_rim_mm, self.scale_step_deg, self.scale_zero_deg)


class Temper(models.TextChoices):
    """Names of tempers as the tables of the core have them; empty where nobody knows."""

    NOT_KNOWN = "", "Not known"
    R220 = "EN 1057 R220", "EN 1057 R220, annealed copper"
    R250 = "EN 1057 R250", "EN 1057 R250, half hard copper"
    R290 = "EN 1057 R290", "EN 1057 R290, hard copper"
    E215 = "EN 10305 E215", "EN 10305 E215 +N, steel"
    E235 = "EN 10305 E235", "EN 10305 E235 +N, steel"
    E355 = "EN 10305 E355", "EN 10305 E355 +N, steel"


class TubeStockQuerySet(models.QuerySet["TubeStock"]):
    def between(self, least_mm: float, most_mm: float) -> "TubeStockQuerySet":
        """Tube of these outside diameters, both included."""
        return self.filter(od_mm__gte=least_mm - 1e-6, od_mm__lte=most_mm + 1e-6)

    def by_kind(self) -> "TubeStockQuerySet":
        """Material by material, temper by temper, thinnest first."""
        return self.order_by("material", "temper", "od_mm", "wall_mm", "pk")

    def priced(self) -> "TubeStockQuerySet":
        """Tube that was bought or asked for: with a price or a supplier."""
        return self.exclude(price=None, supplier="")


class TubeStock(models.Model):
    """A tube that is on the rack or can be had: what it is made of, and its section."""

    class Material(models.TextChoices):
        COPPER = "copper", "Copper"
        STEEL = "steel", "Steel"
        COPPER_NICKEL = "cuni", "Copper-nickel"
        STAINLESS = "stainless", "Stainless steel"
        ALUMINIUM = "aluminium", "Aluminium"
        BRASS = "brass", "Brass"

    key = models.UUIDField(unique=True)
    material = models.CharField("Material", max_length=9, choices=Material.choices)
    temper = models.CharField("Temper", max_length=20, choices=Temper.choices, blank=True)
    od_mm = models.FloatField("Outside diameter")
    wall_mm = models.FloatField("Wall")
    bar_length_mm = models.FloatField("Length of a bar", null=True, blank=True)
    price = models.DecimalField("Price", max_digits=9, decimal_places=2, null=True, blank=True)
    supplier = models.CharField("Supplier", max_length=80, blank=True)
    source = models.CharField("Where the figures are from", max_length=120, blank=True)
    typed = models.JSONField(default=dict)

    objects = TubeStockQuerySet.as_manager()

    class Meta:
        ordering = ["material", "od_mm", "wall_mm", "pk"]

    def __str__(self) -> str:
        size = f"Ø {self.od_mm:g} × {self.wall_mm:g}"
        return f"{self.get_material_display()} {size}{f', {self.temper}' if self.temper else ''}"

    def get_absolute_url(self) -> str:
        return f"{reverse('tube_stock')}#stock-{self.pk}"

    @property
    def kind(self) -> str:
        """ "Copper, EN 1057 R250"."""
        temper = f", {self.temper}" if self.temper else ""
        return f"{self.get_material_display()}{temper}"

    @property
    def bore_mm(self) -> float:
        return self.od_mm - 2 * self.wall_mm


class Tool(models.Model):
    """Any other tool of the bench, and the jobs it served."""

    key = models.UUIDField(unique=True)
    name = models.CharField("Name", max_length=60)
    what_for = models.CharField("What it is for", max_length=120, blank=True)
    price = models.DecimalField("Price", max_digits=9, decimal_places=2, null=True, blank=True)
    supplier = models.CharField("Supplier", max_length=80, blank=True)
    bought_on = models.DateField("Bought on", null=True, blank=True)
    note = models.TextField("Note", max_length=1000, blank=True)
    pipe_sheets = models.ManyToManyField("fabrication.PipeSheet", related_name="tools")
    parts = models.ManyToManyField("parts.Part", related_name="bench_tools")

    class Meta:
        ordering = ["name", "pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("tool", args=[self.pk])


def typed_of(row: Any, name: str) -> str:
    """What was typed for a length of a row, or nothing."""
    return str(row.typed.get(name, ""))
