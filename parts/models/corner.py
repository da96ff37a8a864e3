from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models
from django.urls import reverse


class Corner(models.Model):
    """One photo of a whole corner of the car, to hang numbered pins on."""

    key = models.UUIDField(unique=True)
    car = models.ForeignKey("garage.Car", models.CASCADE, related_name="corners")
    name = models.CharField("What does it show?", max_length=80)
    photo = models.OneToOneField("garage.Photo", models.PROTECT, related_name="of_corner")
    created_at = models.DateTimeField()

    class Meta:
        ordering = ["-created_at"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("corner", args=[self.pk])


_SHARE = [MinValueValidator(0.0), MaxValueValidator(1.0)]


class Pin(models.Model):
    """A numbered pin in a corner photo, at a share of its width and height from the top left."""

    key = models.UUIDField(unique=True)
    corner = models.ForeignKey(Corner, models.CASCADE, related_name="pins")
    number = models.PositiveSmallIntegerField()
    x = models.FloatField(validators=_SHARE)
    y = models.FloatField(validators=_SHARE)
    note = models.CharField("What is it?", max_length=80, blank=True)
    part = models.ForeignKey(
        "parts.Part", models.SET_NULL, null=True, blank=True, related_name="pins"
    )

    class Meta:
        ordering = ["number"]
        constraints = [
            models.UniqueConstraint(fields=["corner", "number"], name="one_pin_of_a_number")
        ]

    def __str__(self) -> str:
        return f"pin {self.number}"
