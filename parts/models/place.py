from django.db import models
from django.urls import reverse

from parts.search import folded


class PlaceQuerySet(models.QuerySet["Place"]):
    def inside(self, place: "Place") -> "PlaceQuerySet":
        """``place`` and everything that stands in it."""
        return self.filter(models.Q(pk=place.pk) | models.Q(path__startswith=f"{place.path} / "))

    def with_piece_counts(self) -> "PlaceQuerySet":
        """Adds ``piece_count``: what lies in the place itself, not in the boxes it holds."""
        kept = models.Q(pieces__part__thrown_out_at=None)
        return self.annotate(piece_count=models.Count("pieces", filter=kept)).order_by("path")

    def with_totals(self) -> "list[Place]":
        """All places in their order, each with ``piece_count`` and ``inner_count``: what lies in
        the boxes it holds, and in theirs."""
        places = list(self.with_piece_counts())
        for place in places:
            below = f"{place.path} / "
            place.inner_count = sum(  # type: ignore[attr-defined]
                inner.piece_count for inner in places if inner.path.startswith(below)
            )
        return places


class Place(models.Model):
    """A shelf, box or bag, in a tree: "Shelf A / Box 3 / Bag 31"."""

    class Kind(models.TextChoices):
        SHELF = "shelf", "Shelf"
        BOX = "box", "Box"
        BAG = "bag", "Bag"
        OTHER = "other", "Other"

    name = models.CharField("Name", max_length=40)
    kind = models.CharField("Kind", max_length=5, choices=Kind.choices, default=Kind.BOX)
    within = models.ForeignKey(
        "self",
        models.PROTECT,
        null=True,
        blank=True,
        related_name="holds",
        verbose_name="Stands in",
    )
    # The whole way down, kept by ``parts.places``: lists show it and search looks in it.
    path = models.CharField(max_length=200, unique=True, editable=False)
    search_text = models.CharField(max_length=300, editable=False, default="")

    objects = PlaceQuerySet.as_manager()

    class Meta:
        ordering = ["path"]

    def __str__(self) -> str:
        return self.path

    def get_absolute_url(self) -> str:
        return reverse("place", args=[self.pk])

    @property
    def depth(self) -> int:
        """How many places it stands in."""
        return self.path.count(" / ")

    def name_path(self) -> None:
        """Sets the path from the name and what it stands in."""
        self.path = f"{self.within.path} / {self.name}" if self.within else self.name
        self.search_text = folded([self.path])
