"""Layers to photograph: colours, bumps, depth of field, vignette, grain."""

from __future__ import annotations

from dataclasses import dataclass
from random import Random

from PIL import Image, ImageChops, ImageFilter

from garage.demo.noise import VARIANTS, cloud, falloff, grain, ramp, relief, tinted
from garage.demo.render import OVER, Layers
from garage.demo.surfaces import Surface


@dataclass(frozen=True, slots=True)
class Film:
    """How the phone saw it: colour of lit and of shaded parts, exposure, vignette, noise, blur."""

    lit: tuple[float, float, float]
    shade: tuple[float, float, float]
    exposure: float = 1.0
    vignette: float = 0.35
    noise: float = 0.038
    blur_px: float = 5.0


def _bumpy(
    light: Image.Image, masks: dict[str, Image.Image], surfaces: dict[str, Surface], pick: int
) -> Image.Image:
    bumps = Image.new("L", light.size, 128)
    for name, mask in masks.items():
        s = surfaces[name]
        if s.pits <= 0.05:
            continue
        table = [max(0, min(255, round(128 + (k - 128) * s.pits * 0.45))) for k in range(256)]
        box = mask.getbbox()
        rough = relief(pick % 3, light.size, max(6, s.cell // 4)).crop(box).point(table)
        bumps.paste(rough, box, mask.crop(box))
    mean = ImageChops.add(light, bumps, scale=1, offset=-128)
    return ImageChops.blend(
        mean, ImageChops.multiply(light, bumps.point([min(255, k * 2) for k in range(256)])), 0.6
    )


def lamp_tables(film: Film) -> list[list[int]]:
    """Light level to colour: shaded parts take the room's colour, lit ones the lamp's."""
    out: list[list[int]] = []
    for lit, shade in zip(film.lit, film.shade, strict=True):
        row = []
        for k in range(256):
            t = min(1.0, k / 170)
            row.append(min(255, round(k * (shade + (lit - shade) * t))))
        out.append(row)
    return out


def tone_tables(exposure: float) -> list[int]:
    """Brighten by the exposure with a soft shoulder instead of hard clipping."""
    out = []
    for k in range(256):
        x = k / 255 * 2.3 * exposure
        y = x if x < 0.6 else 0.6 + 0.4 * (1 - 2.718 ** (-(x - 0.6) / 0.4))
        out.append(min(255, round(255 * y)))
    return out


def coloured(
    layers: Layers, surfaces: dict[str, Surface], film: Film, rng: Random
) -> tuple[Image.Image, Image.Image]:
    """The part in colour, and its mask, both at picture size."""
    light2, shine2, number2, depth2 = layers.canvas.split()
    light, shine, depth = light2.reduce(OVER), shine2.reduce(OVER), depth2.reduce(OVER)
    mask = number2.point([0] + [255] * 255).reduce(OVER)
    masks: dict[str, Image.Image] = {}
    colour = Image.new("RGB", light.size)
    pick = rng.randrange(VARIANTS)
    for name, number in layers.numbers.items():
        own = number2.point([255 if k == number else 0 for k in range(256)]).reduce(OVER)
        if own.getbbox() is None:
            continue
        masks[name] = own
        s = surfaces[name]
        box = own.getbbox()
        field = cloud((pick + number) % VARIANTS, light.size, s.cell, s.rough).crop(box)
        colour.paste(tinted(field, ramp(list(s.stops))), box, _firm(own.crop(box)))
    light = ImageChops.multiply(light, _crevices(depth, mask))
    light = _bumpy(light, masks, surfaces, pick)
    lit = ImageChops.multiply(colour, tinted(light, lamp_tables(film)))
    smear = cloud((pick + 2) % VARIANTS, light.size, 30, 0.6).point(
        [110 + k * 145 // 255 for k in range(256)]
    )
    shine = ImageChops.multiply(shine, smear)
    gloss = tinted(shine, [[min(255, round(k * c)) for k in range(256)] for c in film.lit])
    toned = lit.point(tone_tables(film.exposure) * 3)
    return ImageChops.screen(toned, gloss), mask


def _firm(mask: Image.Image) -> Image.Image:
    """Edge pixels count fully, so that no dark seam shows between two surfaces."""
    return mask.point([min(255, k * 3) for k in range(256)])


def _crevices(depth: Image.Image, mask: Image.Image) -> Image.Image:
    """Darkening where something close by stands nearer to the camera."""
    small = depth.reduce(4)
    wide = small.filter(ImageFilter.GaussianBlur(5)).resize(depth.size, Image.Resampling.BILINEAR)
    hidden = ImageChops.subtract(wide, depth)
    dark = hidden.point([max(60, 255 - round(max(0, k - 7) * 4.5)) for k in range(256)])
    flat = Image.new("L", depth.size, 255)
    return Image.composite(dark, flat, mask)


def focus_mask(
    layers: Layers, size: tuple[int, int], sharp_row: float, depth_focus: int
) -> Image.Image:
    """0 where sharp, 255 where fully blurred: by row on the bench, by depth on solids."""
    h = size[1]
    rows = bytes(min(255, round(max(0.0, abs(y - sharp_row) / h - 0.12) * 620)) for y in range(h))
    mask = Image.frombytes("L", (1, h), rows).resize(size)
    depth = layers.canvas.getchannel("A").reduce(OVER)
    table = [min(255, round(max(0, abs(k - depth_focus) - 90) * 1.5)) for k in range(256)]
    solid = layers.canvas.getchannel("B").point([0] + [255] * 255).reduce(OVER)
    mask.paste(depth.point(table), (0, 0), solid)
    return (
        mask.reduce(4).filter(ImageFilter.GaussianBlur(2)).resize(size, Image.Resampling.BILINEAR)
    )


def finished(picture: Image.Image, focus: Image.Image, film: Film, rng: Random) -> Image.Image:
    """The picture with lens blur, vignette and sensor noise."""
    w, h = picture.size
    soft = (
        picture.reduce(3)
        .filter(ImageFilter.GaussianBlur(film.blur_px / 3))
        .resize((w, h), Image.Resampling.BICUBIC)
    )
    picture = Image.composite(soft, picture, focus)
    picture = picture.filter(ImageFilter.BoxBlur(0.6))
    edge = falloff((w, h)).point(
        [round(255 * (1 - film.vignette * (k / 255) ** 2)) for k in range(256)]
    )
    picture = ImageChops.multiply(picture, Image.merge("RGB", (edge, edge, edge)))
    g = grain(rng.randrange(4), (w, h)).point(
        [round(128 + (k - 128) * film.noise) for k in range(256)]
    )
    if rng.random() < 0.5:
        g = g.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    return ImageChops.add(picture, Image.merge("RGB", (g, g, g)), scale=1, offset=-128)
