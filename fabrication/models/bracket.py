"""Sheet on the rack, the strips bent to measure it, and the brackets made from it."""

from datetime import datetime
from typing import TYPE_CHECKING

from django.db import models
from django.urls import reverse

from fabrication.core.bend_allowance import StripReading, k_from_strip
from fabrication.core.errors import OutOfRange
from fabrication.core.sheet_materials import GRADES, Grade
from fabrication.models.sheet import PipeSheet

if TYPE_CHECKING:
    from garage.models import Car
    from parts.models import Part


class SheetGrade(models.TextChoices):
    """Names of grades as the tables of the core have them; empty where nobody knows."""

    NOT_KNOWN = "", "Not known"
    DC01 = "DC01", "DC01, cold-rolled mild steel"
    DC04 = "DC04", "DC04, mild steel for deep drawing"
    DX51D = "DX51D +Z", "DX51D +Z, zinc-coated steel"
    S235 = "S235", "S235, structural steel"
    S355 = "S355", "S355, structural steel"
    A304 = "1.4301", "1.4301 (304), stainless"
    A5251 = "5251 H22", "5251 H22, aluminium"
    A5083 = "5083 O", "5083 O, aluminium"
    A6082 = "6082 T6", "6082 T6, aluminium"
    CU_SOFT = "Cu soft", "Copper, soft"
    CU_HALF_HARD = "Cu half hard", "Copper, half hard"
    BRASS = "CuZn37 half hard", "CuZn37, half-hard brass"


class Coating(models.TextChoices):
    """What lies on the sheet as bought."""

    BARE = "bare", "Bare"
    OILED = "oiled", "Bare, oiled"
    ZINC = "zinc", "Zinc"
    PAINT = "paint", "Paint or primer"
    FOIL = "foil", "Protective foil"
    UNKNOWN = "unknown", "Not known"


class SheetStockQuerySet(models.QuerySet["SheetStock"]):
    def of_thickness(self, least_mm: float, most_mm: float) -> "SheetStockQuerySet":
        """Sheet of these thicknesses, both included."""
        return self.filter(thickness_mm__gte=least_mm - 1e-6, thickness_mm__lte=most_mm + 1e-6)


class SheetStock(models.Model):
    """A sheet that is at hand or can be had: what it is made of, how thick, what lies on it.

    ``offcuts`` lists pieces at hand as [length, width] in millimetres; ``typed`` holds the texts.
    """

    class Material(models.TextChoices):
        STEEL = "steel", "Steel"
        STAINLESS = "stainless", "Stainless steel"
        ALUMINIUM = "aluminium", "Aluminium"
        COPPER = "copper", "Copper"
        BRASS = "brass", "Brass"

    key = models.UUIDField(unique=True)
    material = models.CharField("Material", max_length=9, choices=Material.choices)
    grade = models.CharField("Grade", max_length=20, choices=SheetGrade.choices, blank=True)
    thickness_mm = models.FloatField("Thickness")
    coating = models.CharField("Coating", max_length=8, choices=Coating.choices, default="unknown")
    offcuts = models.JSONField(default=list)
    price = models.DecimalField("Price", max_digits=9, decimal_places=2, null=True, blank=True)
    supplier = models.CharField("Supplier", max_length=80, blank=True)
    source = models.CharField("Where the figures are from", max_length=120, blank=True)
    typed = models.JSONField(default=dict)

    objects = SheetStockQuerySet.as_manager()

    class Meta:
        ordering = ["material", "thickness_mm", "pk"]

    def __str__(self) -> str:
        name = f"{self.get_material_display()} {self.thickness_mm:g} mm"
        if self.grade:
            name += f", {self.grade}"
        return f"{name}, zinc" if self.coating == Coating.ZINC else name

    def get_absolute_url(self) -> str:
        return f"{reverse('sheet_stock')}#sheet-{self.pk}"

    @property
    def grade_row(self) -> Grade | None:
        """The grade's row in the tables, when it is known."""
        return GRADES.get(self.grade)

    @property
    def at_hand(self) -> bool:
        return bool(self.offcuts)


class TestStrip(models.Model):
    """A strip of one sheet, measured, bent on one tool, and measured again: its own K-factor."""

    __test__ = False  # no test case, whatever its name says

    key = models.UUIDField(unique=True)
    stock = models.ForeignKey(
        SheetStock, models.CASCADE, related_name="strips", verbose_name="Sheet"
    )
    tool = models.CharField("Bent on", max_length=60)
    blank_mm = models.FloatField("Strip before bending")
    leg_a_mm = models.FloatField("One leg, over the outside")
    leg_b_mm = models.FloatField("Other leg, over the outside")
    radius_mm = models.FloatField("Inside radius, measured")
    angle_deg = models.FloatField("How far it was bent", default=90.0)
    typed = models.JSONField(default=dict)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["stock", "-made_at", "pk"]

    def __str__(self) -> str:
        return f"Strip {self.pk}, {self.tool}"

    @property
    def reading(self) -> StripReading | None:
        """Its K-factor; none where the sheet's thickness was put right and they no longer fit."""
        try:
            return k_from_strip(
                blank_mm=self.blank_mm,
                leg_a_mm=self.leg_a_mm,
                leg_b_mm=self.leg_b_mm,
                radius_mm=self.radius_mm,
                thickness_mm=self.stock.thickness_mm,
                angle_deg=self.angle_deg,
            )
        except OutOfRange:
            return None


class BracketSheetQuerySet(models.QuerySet["BracketSheet"]):
    def for_rows(self) -> "BracketSheetQuerySet":
        return self.select_related("part", "stock", "pipe__stock", "strip__stock")

    def kept(self) -> "BracketSheetQuerySet":
        """Sheets that were not thrown out."""
        return self.filter(thrown_out_at=None)

    def of_car(self, car: "Car | None") -> "BracketSheetQuerySet":
        """Kept sheets of a car; without one, those that stand alone."""
        return self.kept().filter(car=car)

    def in_the_bin_of(self, car: "Car | None") -> "BracketSheetQuerySet":
        return self.exclude(thrown_out_at=None).filter(car=car)

    def of_part(self, part: "Part") -> "BracketSheetQuerySet":
        """Kept sheets of a part."""
        return self.kept().filter(part=part)

    def lying_since(self, day: datetime) -> "BracketSheetQuerySet":
        """Sheets that were in the bin already at that time."""
        return self.filter(thrown_out_at__lt=day)

    def newest_first(self) -> "BracketSheetQuerySet":
        return self.order_by("-changed_at", "-pk")


class BracketSheet(models.Model):
    """A bracket or clip to be made. ``inputs`` is one document of ``bracket_inputs``, saved whole.

    What follows from it is worked out when it is read, and is nowhere kept.
    """

    key = models.UUIDField(unique=True)
    car = models.ForeignKey(
        "garage.Car", models.CASCADE, null=True, blank=True, related_name="bracket_sheets"
    )
    part = models.ForeignKey(
        "parts.Part", models.SET_NULL, null=True, blank=True, related_name="bracket_sheets"
    )
    # The pipe that a clip goes round: its outside diameter and what runs in it.
    pipe = models.ForeignKey(
        PipeSheet, models.SET_NULL, null=True, blank=True, related_name="bracket_sheets"
    )
    title = models.CharField("What the bracket is", max_length=80)
    stock = models.ForeignKey(
        SheetStock, models.PROTECT, related_name="bracket_sheets", verbose_name="Sheet"
    )
    strip = models.ForeignKey(
        TestStrip,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="bracket_sheets",
        verbose_name="Test strip",
    )
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

    objects = BracketSheetQuerySet.as_manager()

    def __str__(self) -> str:
        return f"B{self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("bracket", args=[self.pk])
