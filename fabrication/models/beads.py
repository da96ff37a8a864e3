from django.db import models
from django.urls import reverse

from fabrication.models.tools import TubeStock


class BeadToolQuerySet(models.QuerySet["BeadTool"]):
    def taking(self, stock: TubeStock) -> "BeadToolQuerySet":
        """Tools made for this outside diameter."""
        return self.filter(
            tube_od_least_mm__lte=stock.od_mm + 1e-6, tube_od_most_mm__gte=stock.od_mm - 1e-6
        )

    def with_tests(self) -> "BeadToolQuerySet":
        return self.prefetch_related(
            models.Prefetch("tests", BeadTest.objects.kept().in_turn(), to_attr="kept_tests")
        )


class BeadTool(models.Model):
    """A tool that presses or rolls a bead, bought or made at home.

    Depths run from the tube's end, as it is when the tool goes in, to the centre of the bead.
    """

    key = models.UUIDField(unique=True)
    name = models.CharField("Name", max_length=40)
    tube_od_least_mm = models.FloatField("Tube it takes, outside, from")
    tube_od_most_mm = models.FloatField("Tube it takes, outside, to")
    bore_least_mm = models.FloatField("Narrowest bore it enters", null=True, blank=True)
    stop_offset_mm = models.FloatField("Bead centre beyond the stop's reading", default=0.0)
    shallowest_mm = models.FloatField("Shallowest bead", default=0.0)
    deepest_mm = models.FloatField("Deepest bead")
    straight_mm = models.FloatField("Straight it needs")
    needs_reaming = models.BooleanField("Needs a reamed bore", default=False)
    after_bend = models.BooleanField("Goes on after a bend", default=True)
    price = models.DecimalField("Price", max_digits=9, decimal_places=2, null=True, blank=True)
    supplier = models.CharField("Supplier", max_length=80, blank=True)
    bought_on = models.DateField("Bought on", null=True, blank=True)
    note = models.TextField("Note", max_length=1000, blank=True)
    typed = models.JSONField(default=dict)

    objects = BeadToolQuerySet.as_manager()

    class Meta:
        ordering = ["tube_od_least_mm", "name", "pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("bead_tool", args=[self.pk])


class BeadTestQuerySet(models.QuerySet["BeadTest"]):
    def kept(self) -> "BeadTestQuerySet":
        return self.filter(out_at=None)

    def taken_out(self) -> "BeadTestQuerySet":
        return self.exclude(out_at=None)

    def for_rows(self) -> "BeadTestQuerySet":
        return self.select_related("stock", "tool")

    def in_turn(self) -> "BeadTestQuerySet":
        return self.select_related("stock").order_by("at", "pk")


class BeadTest(models.Model):
    """A bead on a test piece: what the stop read, and what came of it."""

    key = models.UUIDField(unique=True)
    tool = models.ForeignKey(BeadTool, models.PROTECT, related_name="tests")
    stock = models.ForeignKey(
        TubeStock, models.PROTECT, related_name="bead_tests", verbose_name="Tube"
    )
    stop_mm = models.FloatField("Stop read")
    centre_mm = models.FloatField("End to bead centre")
    height_mm = models.FloatField("Height")
    width_mm = models.FloatField("Width")
    eaten_mm = models.FloatField("Length eaten", null=True, blank=True)
    note = models.CharField("Note", max_length=200, blank=True)
    typed = models.JSONField(default=dict)
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # Thrown out, it no longer counts and can be brought back.
    out_at = models.DateTimeField(null=True, blank=True)

    objects = BeadTestQuerySet.as_manager()

    def __str__(self) -> str:
        return f"Stop {self.stop_mm:g}, bead at {self.centre_mm:g}"
