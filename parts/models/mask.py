from django.db import models


class Mask(models.Model):
    """A place to keep bare: what, how many, which thread."""

    class What(models.TextChoices):
        THREAD_FEMALE = "thread_in", "Threaded hole"
        THREAD_MALE = "thread_out", "Thread outside"
        BORE = "bore", "Bore or pivot"
        BEARING_SEAT = "bearing", "Bearing seat"
        SEAL_SEAT = "seal", "Seal seat"
        GASKET_FACE = "gasket", "Gasket face"
        WHEEL_FACE = "wheel", "Wheel or hub face"
        NUT_SEAT = "nut_seat", "Nut seat"
        CLAMPED_FACE = "clamped", "Clamped face"
        FRICTION_FACE = "friction", "Friction face"
        EARTH = "earth", "Earth point"
        NUMBER = "number", "Stamped number"
        PLATE = "plate", "Data plate"
        GREASE_NIPPLE = "nipple", "Grease nipple"
        BLEED_SCREW = "bleed", "Bleed screw"
        SPLINES = "splines", "Splines"
        BALANCE_MARK = "balance", "Balance mark"
        PASSAGE = "passage", "Oil or water passage"
        RUBBER = "rubber", "Rubber left in"
        OTHER = "other", "Other"

    line = models.ForeignKey("parts.Line", models.CASCADE, related_name="masks")
    what = models.CharField("Keep bare", max_length=10, choices=What.choices)
    count = models.PositiveSmallIntegerField("How many", default=1)
    thread = models.CharField("Thread or size", max_length=24, blank=True)
    how = models.CharField("How", max_length=60, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        """ "threaded holes M8, plug": how it reads behind its number."""
        what = PLURAL.get(self.What(self.what)) if self.count > 1 else None
        name = "" if self.what == self.What.OTHER else what or self.get_what_display().lower()
        detail = " ".join(filter(None, [name, self.thread])) or "other place"
        return f"{detail}, {self.how}" if self.how else detail


PLURAL = {
    Mask.What.THREAD_FEMALE: "threaded holes",
    Mask.What.THREAD_MALE: "threads outside",
    Mask.What.BORE: "bores or pivots",
    Mask.What.BEARING_SEAT: "bearing seats",
    Mask.What.SEAL_SEAT: "seal seats",
    Mask.What.GASKET_FACE: "gasket faces",
    Mask.What.WHEEL_FACE: "wheel or hub faces",
    Mask.What.NUT_SEAT: "nut seats",
    Mask.What.CLAMPED_FACE: "clamped faces",
    Mask.What.FRICTION_FACE: "friction faces",
    Mask.What.EARTH: "earth points",
    Mask.What.NUMBER: "stamped numbers",
    Mask.What.PLATE: "data plates",
    Mask.What.GREASE_NIPPLE: "grease nipples",
    Mask.What.BLEED_SCREW: "bleed screws",
    Mask.What.BALANCE_MARK: "balance marks",
    Mask.What.PASSAGE: "oil or water passages",
}
