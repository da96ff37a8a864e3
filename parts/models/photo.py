from django.db import models
from django.utils import timezone


class Moment(models.TextChoices):
    IN_PLACE = "in_place", "In place"
    OFF = "off", "Off"
    DAMAGE = "damage", "Damage"
    MENDED = "mended", "Mended"
    BACK = "back", "Back"
    REFITTED = "refitted", "Refitted"


# Of these moments one picture stands for "as it was" and one for "as it is now".
BEFORE = (Moment.OFF, Moment.IN_PLACE, Moment.DAMAGE)
AFTER = (Moment.REFITTED, Moment.BACK, Moment.MENDED)


class PartPhotoQuerySet(models.QuerySet["PartPhoto"]):
    def kept(self) -> "PartPhotoQuerySet":
        return self.filter(thrown_out_at=None)


class PartPhoto(models.Model):
    """A photo of a part at one moment of its life."""

    part = models.ForeignKey("parts.Part", models.CASCADE, related_name="photos")
    piece = models.ForeignKey(
        "parts.Piece", models.CASCADE, null=True, blank=True, related_name="photos"
    )
    photo = models.OneToOneField("garage.Photo", models.PROTECT, related_name="of_part")
    moment = models.CharField("Moment", max_length=8, choices=Moment.choices, default=Moment.OFF)
    caption = models.CharField("What it shows", max_length=120, blank=True)
    at = models.DateTimeField()
    thrown_out_at = models.DateTimeField(null=True, blank=True)

    objects = PartPhotoQuerySet.as_manager()

    class Meta:
        ordering = ["at", "pk"]

    def __str__(self) -> str:
        return f"{self.get_moment_display()}, {timezone.localtime(self.at):%d %b %Y}"

    @property
    def alt(self) -> str:
        """What a screen reader says in place of the picture."""
        return f"{self.part.name}, {self.get_moment_display().lower()}" + (
            f": {self.caption}" if self.caption else ""
        )
