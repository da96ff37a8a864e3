"""Seeded noise pictures: cloudy fields for rust, concrete and dirt, and a phone's sensor grain.

Pillow's own noise filters draw from an unseeded source, so the random bytes come from `random`.
"""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise
from random import Random

from PIL import Image, ImageChops, ImageFilter, ImageOps

VARIANTS = 3


def speckle(rng: Random, size: tuple[int, int]) -> Image.Image:
    """Independent even grey values."""
    return Image.frombytes("L", size, rng.randbytes(size[0] * size[1]))


@lru_cache(maxsize=64)
def cloud(variant: int, size: tuple[int, int], cell: int, rough: float = 0.42) -> Image.Image:
    """Smooth blotches `cell` pixels wide with ever finer ones mixed in, spread over 0..255."""
    rng = Random(f"cloud {variant} {size} {cell} {rough}")
    w, h = max(2, size[0] // cell), max(2, size[1] // cell)
    field = speckle(rng, (w, h))
    while w < size[0]:
        w, h = min(size[0], w * 2), min(size[1], h * 2)
        if w * 2 > size[0]:
            w, h = size
        grown = field.resize((w, h), Image.Resampling.BICUBIC)
        field = Image.blend(grown, speckle(rng, (w, h)), rough * 0.5)
    return ImageOps.autocontrast(field, cutoff=1)


@lru_cache(maxsize=16)
def relief(variant: int, size: tuple[int, int], cell: int) -> Image.Image:
    """The cloud lit from the upper left: 128 is flat, brighter faces the light."""
    field = cloud(variant, size, cell, 0.5).filter(ImageFilter.GaussianBlur(1.0))
    moved = ImageChops.offset(field, 2, 3)
    return ImageChops.subtract(field, moved, scale=1, offset=128)


@lru_cache(maxsize=16)
def grain(variant: int, size: tuple[int, int]) -> Image.Image:
    """Sensor noise about 128, slightly clumped as a phone leaves it."""
    rng = Random(f"grain {variant} {size}")
    fine = ImageChops.add(speckle(rng, size), speckle(rng, size), scale=2)
    soft = fine.filter(ImageFilter.BoxBlur(1))
    return Image.blend(fine, soft, 0.55)


@lru_cache(maxsize=4)
def falloff(size: tuple[int, int]) -> Image.Image:
    """0 in the middle, rising to 255 in the corners."""
    return Image.radial_gradient("L").resize(size, Image.Resampling.BICUBIC)


def ramp(stops: list[tuple[float, tuple[int, int, int]]]) -> list[list[int]]:
    """Three lookup tables of 256 that run through the colour stops at positions 0..1."""
    out: list[list[int]] = [[], [], []]
    for k in range(256):
        t = k / 255
        for (p0, c0), (p1, c1) in pairwise(stops):
            if t <= p1 or (p1, c1) == stops[-1]:
                s = min(1.0, max(0.0, (t - p0) / (p1 - p0)))
                for channel in range(3):
                    out[channel].append(round(c0[channel] + (c1[channel] - c0[channel]) * s))
                break
    return out


def tinted(field: Image.Image, tables: list[list[int]]) -> Image.Image:
    """The grey field coloured through three lookup tables."""
    return Image.merge("RGB", [field.point(table) for table in tables])
