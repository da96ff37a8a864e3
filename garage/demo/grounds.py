"""What the part lies on: bench boards, concrete, paper, card, a panel; seen in perspective."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from random import Random

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from garage.demo.camera import Camera
from garage.demo.noise import VARIANTS, cloud, ramp, tinted

TEXELS = 800
_SQUARE = (TEXELS, TEXELS)


def _long_grain(variant: int, squeeze: int) -> Image.Image:
    strip = cloud(variant, (TEXELS // 8, TEXELS), 4, 0.8).resize((TEXELS * squeeze, TEXELS))
    return strip.crop((0, 0, TEXELS, TEXELS))


def _boards(
    variant: int, stops: list[tuple[float, tuple[int, int, int]]], dirt: float
) -> Image.Image:
    rng = Random(f"boards {variant} {dirt}")
    tone = Image.new("L", _SQUARE)
    y = 0
    seams: list[int] = []
    while y < TEXELS:
        tall = rng.randint(110, 200)
        grain_ = ImageChops.offset(_long_grain(rng.randrange(VARIANTS), 2), rng.randrange(1000), 0)
        shift = rng.randint(-28, 28)
        strip = grain_.crop((0, y, TEXELS, min(TEXELS, y + tall))).point(
            [max(0, min(255, k + shift)) for k in range(256)]
        )
        tone.paste(strip, (0, y))
        seams.append(y)
        y += tall
    wood = tinted(tone, ramp(stops))
    pen = ImageDraw.Draw(wood)
    for y in seams:
        pen.line((0, y, TEXELS, y), fill=(38, 27, 18), width=rng.randint(3, 6))
        for _ in range(2):
            x = rng.randrange(TEXELS)
            pen.ellipse((x, y + 16, x + 11, y + 27), fill=(52, 44, 38))
    return _stained(wood, variant, dirt)


def _stained(picture: Image.Image, variant: int, dirt: float) -> Image.Image:
    """The picture with dark oil blots where a cloud runs high."""
    low = 255 * (1 - dirt)
    table = [round(255 - 105 * max(0.0, min(1.0, (k - low) / 80))) for k in range(256)]
    blots = cloud(variant + 1, _SQUARE, 200, 0.34).point(table)
    return ImageChops.multiply(picture, Image.merge("RGB", (blots, blots, blots)))


def _bench(variant: int) -> Image.Image:
    return _boards(
        variant, [(0.0, (104, 74, 46)), (0.5, (156, 118, 78)), (1.0, (188, 152, 108))], 0.34
    )


def _old_bench(variant: int) -> Image.Image:
    return _boards(variant, [(0.0, (46, 36, 28)), (0.5, (84, 66, 50)), (1.0, (120, 98, 76))], 0.42)


def _concrete(variant: int) -> Image.Image:
    broad = cloud(variant, _SQUARE, 200, 0.5)
    fine = cloud(variant + 2, _SQUARE, 12, 0.7)
    tone = Image.blend(broad, fine, 0.3)
    floor = tinted(
        tone, ramp([(0.0, (104, 103, 101)), (0.5, (142, 141, 138)), (1.0, (178, 177, 173))])
    )
    pen = ImageDraw.Draw(floor)
    rng = Random(f"concrete {variant}")
    for _ in range(420):
        x, y, r = rng.randrange(TEXELS), rng.randrange(TEXELS), rng.choice((1, 1, 2, 2, 3))
        pen.ellipse(
            (x, y, x + r, y + r), fill=rng.choice(((70, 68, 66), (92, 90, 86), (196, 194, 188)))
        )
    return _stained(floor, variant, 0.4)


def _paper(variant: int) -> Image.Image:
    tone = cloud(variant, _SQUARE, 300, 0.3)
    sheet = tinted(tone, ramp([(0.0, (206, 203, 196)), (1.0, (232, 230, 225))]))
    pen = ImageDraw.Draw(sheet)
    for at in (340 + 30 * variant, 690):
        pen.line((at, 0, at + 9, TEXELS), fill=(196, 193, 186), width=4)
        pen.line((at + 5, 0, at + 14, TEXELS), fill=(240, 238, 233), width=4)
        pen.line((0, at - 80, TEXELS, at - 84), fill=(198, 195, 188), width=4)
        pen.line((0, at - 75, TEXELS, at - 79), fill=(240, 238, 233), width=4)
    return sheet.filter(ImageFilter.GaussianBlur(3))


def _card(variant: int) -> Image.Image:
    tone = ImageChops.blend(cloud(variant, _SQUARE, 160, 0.4), _long_grain(variant, 2), 0.5)
    sheet = tinted(tone, ramp([(0.0, (134, 122, 104)), (1.0, (170, 158, 138))]))
    pen = ImageDraw.Draw(sheet)
    for y in range(0, TEXELS, 9):
        pen.line((0, y, TEXELS, y), fill=(142, 130, 111), width=1)
    return _stained(sheet, variant, 0.26)


def _cloth(variant: int) -> Image.Image:
    tone = Image.blend(cloud(variant, _SQUARE, 90, 0.5), cloud(variant, _SQUARE, 6, 0.9), 0.3)
    return _stained(
        tinted(tone, ramp([(0.0, (58, 66, 78)), (1.0, (104, 112, 124))])), variant, 0.35
    )


def _panel(variant: int) -> Image.Image:
    tone = Image.blend(cloud(variant, _SQUARE, 120, 0.7), cloud(variant + 1, _SQUARE, 20, 0.9), 0.4)
    stops: list[tuple[float, tuple[int, int, int]]] = [
        (0.0, (14, 14, 12)),
        (0.45, (30, 33, 28)),
        (0.68, (50, 58, 48)),
        (0.85, (72, 64, 48)),
        (1.0, (92, 70, 48)),
    ]
    return tinted(tone, ramp(stops))


def _clean_panel(variant: int) -> Image.Image:
    tone = cloud(variant, _SQUARE, 160, 0.3)
    return tinted(tone, ramp([(0.0, (44, 56, 50)), (1.0, (66, 80, 72))]))


_PAINTERS: dict[str, Callable[[int], Image.Image]] = {
    "bench": _bench,
    "old bench": _old_bench,
    "concrete": _concrete,
    "paper": _paper,
    "card": _card,
    "cloth": _cloth,
    "panel": _panel,
    "clean panel": _clean_panel,
}


@lru_cache(maxsize=10)
def texture(kind: str, variant: int) -> Image.Image:
    """A square of the surface, mirrored out to twice its side so that no edge shows."""
    quarter = _PAINTERS[kind](variant)
    whole = Image.new("RGB", (TEXELS * 2, TEXELS * 2))
    flipped = quarter.transpose(Image.Transpose.FLIP_LEFT_RIGHT)
    whole.paste(quarter, (0, 0))
    whole.paste(flipped, (TEXELS, 0))
    whole.paste(
        whole.crop((0, 0, TEXELS * 2, TEXELS)).transpose(Image.Transpose.FLIP_TOP_BOTTOM),
        (0, TEXELS),
    )
    return whole


def seen(
    kind: str,
    variant: int,
    *,
    camera: Camera,
    size: tuple[int, int],
    texels_per_unit: float,
    turn: tuple[float, float],
) -> Image.Image:
    """The surface as the camera sees it; `turn` is the cosine and sine of the boards' direction."""
    s, mid = texels_per_unit, float(TEXELS)
    c, k = turn
    u, v = (c * s, k * s, mid), (-k * s, c * s, mid)
    lens = camera.texture_map(u, v)
    top = texture(kind, variant).transform(
        size, Image.Transform.PERSPECTIVE, lens, Image.Resampling.BILINEAR, fillcolor=(30, 28, 26)
    )
    a, b, c, d, e, f, g, h = lens
    covered = Image.new("L", (TEXELS * 2, TEXELS * 2), 255).transform(
        (size[0] // 4, size[1] // 4),
        Image.Transform.PERSPECTIVE,
        (a * 4, b * 4, c, d * 4, e * 4, f, g * 4, h * 4),
        Image.Resampling.NEAREST,
        fillcolor=0,
    )
    if covered.getextrema()[0] == 0:
        covered = covered.filter(ImageFilter.GaussianBlur(0.8)).resize(
            size, Image.Resampling.BILINEAR
        )
        top = Image.composite(top, _shop(variant, size), covered)
    return top


@lru_cache(maxsize=4)
def _shop(variant: int, size: tuple[int, int]) -> Image.Image:
    """The far side of the garage, out of focus: dim shapes, a shelf, a few things on it."""
    rng = Random(f"shop {variant}")
    small = tinted(
        cloud(variant, (240, 180), 60, 0.2), ramp([(0.0, (34, 32, 30)), (1.0, (84, 80, 74))])
    )
    pen = ImageDraw.Draw(small)
    pen.rectangle((0, 34, 240, 38), fill=(70, 54, 40))
    x = 0
    while x < 240:
        w, tall = rng.randint(6, 22), rng.randint(10, 30)
        tone = rng.choice(
            ((92, 52, 40), (58, 72, 84), (120, 112, 98), (44, 44, 46), (88, 84, 48), (60, 70, 58))
        )
        pen.rectangle((x, 34 - tall, x + w, 34), fill=tone)
        x += w + rng.randint(1, 12)
    return small.filter(ImageFilter.GaussianBlur(3.5)).resize(size, Image.Resampling.BICUBIC)
