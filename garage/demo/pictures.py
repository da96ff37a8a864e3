"""Garage photos of car parts, drawn by code for the demo data. No photo of a real thing is used."""

from __future__ import annotations

import io
from datetime import datetime
from random import Random

from PIL import ExifTags, Image, ImageChops

from garage.demo import grounds
from garage.demo.develop import coloured, finished, focus_mask, lamp_tables, tone_tables
from garage.demo.marks import PAINTERS, Marker
from garage.demo.noise import falloff, tinted
from garage.demo.render import Layers, draw_layers
from garage.demo.shadow import ShadowMap, cast, contact
from garage.demo.staging import MOMENTS, Stage, staged
from garage.demo.subjects import SUBJECTS
from garage.demo.surfaces import LOOK_SURFACES, Surface, surface_named

LOOKS = tuple(LOOK_SURFACES)

_QUALITY = 85
_MARK_SURFACES = ("void", "oldrust", "bright", "grease", "weld", "tint", "steel")


def draw(
    subject: str,
    *,
    look: str,
    moment: str,
    seed: int,
    size: tuple[int, int] = (1200, 900),
    taken_at: datetime | None = None,
) -> bytes:
    """A JPEG of the subject; the same arguments always give the same bytes.

    Raises
    ------
    ValueError
        If subject, look or moment is not one of SUBJECTS, LOOKS, MOMENTS.
    """
    for value, known in ((subject, SUBJECTS), (look, LOOKS), (moment, MOMENTS)):
        if value not in known:
            raise ValueError(f"{value!r} is not one of: {', '.join(known)}")
    rng = Random(f"{subject}|{look}|{moment}|{seed}")
    stage = staged(subject, look=look, moment=moment, rng=rng, size=size)
    return _jpeg(_photographed(stage, look, rng, size), taken_at)


def _photographed(stage: Stage, look: str, rng: Random, size: tuple[int, int]) -> Image.Image:
    used = {name for _, name, _ in stage.mesh.faces}
    if stage.spot:
        used.update(_MARK_SURFACES)
    surfaces: dict[str, Surface] = {name: surface_named(name, look=look) for name in sorted(used)}
    shadow = cast(stage.mesh, stage.lamp.toward)
    layers = draw_layers(
        stage.mesh,
        camera=stage.camera,
        lamp=stage.lamp,
        shadow=shadow,
        surfaces=surfaces,
        size=size,
    )
    if stage.spot:
        _mark(stage, layers, rng)
    part, mask = coloured(layers, surfaces, stage.film, rng)
    picture = _ground(stage, shadow, rng, size)
    picture.paste(part, (0, 0), mask)
    focus = focus_mask(layers, size, stage.sharp_row, layers.grey_depth(stage.focus_depth))
    return finished(picture, focus, stage.film, rng)


def _mark(stage: Stage, layers: Layers, rng: Random) -> None:
    if stage.spot is None:
        return
    marker = Marker(layers, stage.camera, stage.spot, stage.mark_scale)
    PAINTERS[stage.mark](marker, rng)
    marker.close()


def _ground(stage: Stage, shadow: ShadowMap, rng: Random, size: tuple[int, int]) -> Image.Image:
    """The bench top with the lamp's pool of light, the cast shadow and the dark under the part."""
    lamp = stage.lamp
    dark = 170 * (lamp.room * 0.85 + lamp.fill * 0.5)
    lit = dark + 170 * lamp.key * lamp.toward[2]
    table = [min(255, round(lit + (dark - lit) * min(1.0, k / 235))) for k in range(256)]
    light = shadow.on_ground(stage.camera, size, stage.softness_px).point(table)
    close = contact(stage.mesh, stage.camera, size).point(
        [255 - round(k * 0.62) for k in range(256)]
    )
    light = ImageChops.multiply(light, close)
    w, h = size
    x, y = round(w * rng.uniform(0.15, 0.6)), round(h * rng.uniform(0.15, 0.6))
    pool = falloff((w * 2, h * 2)).crop((x, y, x + w, y + h))
    light = ImageChops.multiply(light, pool.point([255 - round(k * 0.55) for k in range(256)]))
    top = grounds.seen(
        stage.ground,
        rng.randrange(2),
        camera=stage.camera,
        size=size,
        texels_per_unit=stage.texels_per_unit,
        turn=stage.ground_turn,
    )
    return ImageChops.multiply(top, tinted(light, lamp_tables(stage.film))).point(
        tone_tables(stage.film.exposure) * 3
    )


def _jpeg(picture: Image.Image, taken_at: datetime | None) -> bytes:
    out = io.BytesIO()
    if taken_at is None:
        picture.save(out, "JPEG", quality=_QUALITY)
        return out.getvalue()
    exif = Image.Exif()
    details = exif.get_ifd(ExifTags.IFD.Exif)
    details[ExifTags.Base.DateTimeOriginal] = taken_at.strftime("%Y:%m:%d %H:%M:%S")
    if taken_at.tzinfo is not None:
        zone = taken_at.strftime("%z")
        details[ExifTags.Base.OffsetTimeOriginal] = f"{zone[:3]}:{zone[3:5]}"
    picture.save(out, "JPEG", quality=_QUALITY, exif=exif)
    return out.getvalue()
