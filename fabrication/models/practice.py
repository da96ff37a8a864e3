from django.db import models

from fabrication.models.tools import Former, TubeStock


class PracticeBendQuerySet(models.QuerySet["PracticeBend"]):
    def kept(self) -> "PracticeBendQuerySet":
        return self.filter(out_at=None)

    def on(self, former: Former, stock: TubeStock) -> "PracticeBendQuerySet":
        """Bends of one former with one tube: only those speak of each other."""
        return self.filter(former=former, stock=stock)

    def for_rows(self) -> "PracticeBendQuerySet":
        return self.select_related("stock", "former")

    def in_turn(self) -> "PracticeBendQuerySet":
        return self.order_by("at", "pk")


class PracticeBend(models.Model):
    """One bend on scrap: how far it was pulled, what was left, and what was measured on it.

    The lengths are optional. A bend of up to 150 degrees tells radius and start from the piece,
    the mark and both ends to the other leg; a full return bend from its width and its back.
    """

    key = models.UUIDField(unique=True)
    former = models.ForeignKey(Former, models.PROTECT, related_name="practice_bends")
    stock = models.ForeignKey(
        TubeStock, models.PROTECT, related_name="practice_bends", verbose_name="Tube"
    )
    pulled_deg = models.FloatField("Pulled to")
    came_to_deg = models.FloatField("Came to")
    from_straight = models.BooleanField("Pulled in one go", default=True)
    mark_mm = models.FloatField("Mark", null=True, blank=True)
    piece_mm = models.FloatField("Length of the piece", null=True, blank=True)
    centre_a_mm = models.FloatField("Hooked end to centre", null=True, blank=True)
    centre_b_mm = models.FloatField("Other end to centre", null=True, blank=True)
    width_mm = models.FloatField("Width over both legs", null=True, blank=True)
    back_mm = models.FloatField("Hooked end to the back", null=True, blank=True)
    note = models.CharField("Note", max_length=200, blank=True)
    typed = models.JSONField(default=dict)
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # Thrown out, it no longer counts and can be brought back.
    out_at = models.DateTimeField(null=True, blank=True)

    objects = PracticeBendQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(pulled_deg__gt=0, came_to_deg__gt=0),
                name="practice_bend_is_a_bend",
            )
        ]

    def __str__(self) -> str:
        return f"{self.pulled_deg:g}° left {self.came_to_deg:g}°"
