from django.db import models
from django.urls import reverse


class PhotoQuerySet(models.QuerySet["Photo"]):
    def waiting_on_a_form(self) -> "PhotoQuerySet":
        return self.filter(in_use=False)


class Photo(models.Model):
    """A photograph kept as proof: the original as it came, byte for byte, and what is shown of it.

    ``garage.photos.store`` is the one door in and out.
    """

    key = models.UUIDField(unique=True)
    file = models.CharField(max_length=80, unique=True)
    sha256 = models.CharField(max_length=64)
    size_bytes = models.PositiveBigIntegerField()
    format = models.CharField(max_length=8)
    width_px = models.PositiveIntegerField()
    height_px = models.PositiveIntegerField()
    taken_at = models.DateTimeField(null=True, blank=True)
    received_at = models.DateTimeField()
    added_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    # False while it only waits on a form that was not saved yet; swept after 30 days.
    in_use = models.BooleanField(default=False, db_index=True)

    objects = PhotoQuerySet.as_manager()

    class Meta:
        ordering = ["-received_at"]

    def __str__(self) -> str:
        return f"photo {self.key}"

    @property
    def small(self) -> str:
        """Address of the 320 px rendition."""
        return reverse("photo", args=[self.key, 320])

    @property
    def large(self) -> str:
        """Address of the 1600 px rendition."""
        return reverse("photo", args=[self.key, 1600])
