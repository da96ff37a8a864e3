"""A photo with numbered balloons over it: the pins of a corner, the holes of a part."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.urls import reverse

from garage.models import Photo
from parts.models import Corner, Hole, Part, PartPhoto

WIDE = 1000


@dataclass(frozen=True, slots=True)
class Balloon:
    """A number at a place of the layer, and where it leads."""

    number: int
    cx: int
    cy: int
    url: str
    name: str


@dataclass(frozen=True, slots=True)
class Stage:
    """A photo and the layer over it: 1000 wide, as high as the photo asks, so pins stay round."""

    photo: Photo
    shown: PartPhoto | None
    alt: str
    height: int
    balloons: tuple[Balloon, ...]


def height_of(photo: Photo) -> int:
    return round(WIDE * photo.height_px / photo.width_px)


def corner_stage(corner: Corner) -> Stage:
    """The corner's photo with its pins, each leading to its part, or to itself without one."""
    high = height_of(corner.photo)
    balloons = [
        Balloon(
            number=pin.number,
            cx=round(pin.x * WIDE),
            cy=round(pin.y * high),
            url=pin.part.get_absolute_url() if pin.part else reverse("pin", args=[pin.pk]),
            name=pin.part.name if pin.part else pin.note,
        )
        for pin in corner.pins.all()
    ]
    return Stage(
        corner.photo, None, f"{corner.name}, with {len(balloons)} pins", high, tuple(balloons)
    )


def hole_stages(part: Part, holes: Iterable[Hole], *, pinned_only: bool = False) -> list[Stage]:
    """The part's photos, newest first, each with the holes that are pinned on it; one query."""
    holes = list(holes)
    stages = []
    for shown in part.photos.kept().select_related("photo").order_by("-at", "-pk")[:12]:
        high = height_of(shown.photo)
        balloons = tuple(
            Balloon(
                number=hole.number,
                cx=round(hole.x * WIDE),
                cy=round(hole.y * high),
                url=reverse("hole", args=[hole.pk]),
                name=f"Hole {hole.number}",
            )
            for hole in holes
            if hole.photo_id == shown.pk and hole.x is not None and hole.y is not None
        )
        if balloons or not pinned_only:
            stages.append(Stage(shown.photo, shown, str(shown), high, balloons))
    return stages
