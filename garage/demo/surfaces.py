"""What a surface is made of: colours, pits, shine. A look names the surface of the part itself."""

from __future__ import annotations

from dataclasses import dataclass

Stops = list[tuple[float, tuple[int, int, int]]]


@dataclass(frozen=True, slots=True)
class Surface:
    """Colours run with a cloud `cell` px wide; pits, shine, sheen (mirrored sky) are 0..1."""

    stops: tuple[tuple[float, tuple[int, int, int]], ...]
    cell: int = 40
    pits: float = 0.3
    shine: float = 0.2
    hard: float = 20.0
    sheen: float = 0.1
    rough: float = 0.42


def _flat(
    r: int, g: int, b: int, spread: float = 0.1
) -> tuple[tuple[float, tuple[int, int, int]], ...]:
    low = tuple(round(c * (1 - spread)) for c in (r, g, b))
    high = tuple(min(255, round(c * (1 + spread))) for c in (r, g, b))
    return ((0.0, (low[0], low[1], low[2])), (1.0, (high[0], high[1], high[2])))


RUST = Surface(
    (
        (0.0, (30, 22, 19)),
        (0.22, (52, 34, 26)),
        (0.4, (78, 48, 34)),
        (0.55, (98, 59, 40)),
        (0.68, (118, 74, 50)),
        (0.82, (134, 94, 68)),
        (1.0, (80, 68, 61)),
    ),
    cell=80,
    pits=1.0,
    shine=0.05,
    hard=8,
    sheen=0.02,
    rough=0.42,
)
GREASE = Surface(
    (
        (0.0, (16, 15, 14)),
        (0.4, (30, 27, 24)),
        (0.6, (46, 40, 34)),
        (0.8, (66, 58, 48)),
        (1.0, (98, 90, 78)),
    ),
    cell=80,
    pits=0.7,
    shine=0.45,
    hard=18,
    sheen=0.22,
    rough=0.42,
)
BLASTED = Surface(
    _flat(116, 116, 114, 0.12), cell=30, pits=0.3, shine=0.1, hard=6, sheen=0.03, rough=0.42
)
SATIN_BLACK = Surface(_flat(36, 36, 38, 0.1), cell=30, pits=0.1, shine=0.45, hard=22, sheen=0.3)
ENGINE_GREY = Surface(_flat(78, 88, 96, 0.06), cell=60, pits=0.14, shine=0.5, hard=40, sheen=0.22)
ZINC = Surface(
    (
        (0.0, (104, 106, 106)),
        (0.5, (134, 137, 141)),
        (0.75, (150, 151, 146)),
        (1.0, (162, 158, 138)),
    ),
    cell=60,
    pits=0.12,
    shine=0.7,
    hard=40,
    sheen=0.55,
)
RED_OXIDE = Surface(_flat(108, 44, 36, 0.1), cell=60, pits=0.16, shine=0.14, hard=9, sheen=0.05)
CAST_ALUMINIUM = Surface(
    ((0.0, (106, 106, 104)), (0.5, (136, 136, 134)), (1.0, (158, 158, 155))),
    cell=30,
    pits=0.32,
    shine=0.3,
    hard=14,
    sheen=0.18,
    rough=0.42,
)
NEW_STEEL = Surface(_flat(112, 115, 120, 0.08), cell=80, pits=0.06, shine=0.85, hard=60, sheen=0.75)

LOOK_SURFACES: dict[str, Surface] = {
    "rusty": RUST,
    "greasy": GREASE,
    "blasted": BLASTED,
    "satin black": SATIN_BLACK,
    "engine grey": ENGINE_GREY,
    "zinc": ZINC,
    "red oxide": RED_OXIDE,
    "aluminium": CAST_ALUMINIUM,
    "new steel": NEW_STEEL,
}

OLD_LOOKS = frozenset({"rusty", "greasy"})

FIXED: dict[str, Surface] = {
    "steel": Surface(_flat(112, 112, 112, 0.14), cell=30, pits=0.2, shine=0.6, hard=30, sheen=0.45),
    "rubber": Surface(_flat(30, 30, 31, 0.2), cell=30, pits=0.35, shine=0.2, hard=8, sheen=0.08),
    "black": Surface(_flat(26, 26, 28, 0.12), cell=30, pits=0.12, shine=0.5, hard=26, sheen=0.22),
    "brass": Surface(_flat(128, 100, 54, 0.14), cell=30, pits=0.2, shine=0.6, hard=30, sheen=0.4),
    "copper": Surface(_flat(118, 68, 46, 0.14), cell=30, pits=0.2, shine=0.6, hard=30, sheen=0.35),
    "alloy": CAST_ALUMINIUM,
    "void": Surface(_flat(12, 11, 10, 0.4), pits=0.2, shine=0.0, sheen=0.0),
    "glass": Surface(_flat(96, 106, 108, 0.05), pits=0.0, shine=1.0, hard=80, sheen=0.9),
    "fins": Surface(_flat(34, 33, 31, 0.3), cell=24, pits=1.2, shine=0.1, sheen=0.04, rough=0.7),
    "paint": Surface(_flat(62, 84, 74, 0.14), cell=60, pits=0.3, shine=0.4, hard=24, sheen=0.16),
    "body": Surface(_flat(96, 112, 100, 0.1), cell=80, pits=0.12, shine=0.4, hard=24, sheen=0.2),
    "red": Surface(_flat(120, 36, 30, 0.1), cell=60, pits=0.1, shine=0.4, hard=24, sheen=0.16),
    "blue": Surface(_flat(56, 80, 128, 0.12), cell=60, pits=0.15, shine=0.3, hard=24, sheen=0.1),
    "cream": Surface(_flat(170, 160, 136, 0.08), cell=60, pits=0.1, shine=0.15, hard=9, sheen=0.05),
    "oldrust": RUST,
    "grease": GREASE,
    "weld": Surface(
        ((0.0, (70, 66, 70)), (0.5, (128, 126, 132)), (1.0, (176, 172, 168))),
        cell=24,
        pits=0.8,
        shine=0.7,
        hard=22,
        sheen=0.35,
    ),
    "tint": Surface(
        ((0.0, (58, 62, 92)), (0.5, (120, 92, 66)), (1.0, (150, 122, 84))),
        cell=24,
        pits=0.2,
        shine=0.5,
        hard=20,
        sheen=0.3,
    ),
    "bright": Surface(_flat(186, 186, 188, 0.14), cell=8, pits=0.6, shine=0.8, hard=14, sheen=0.4),
}


def surface_named(name: str, *, look: str) -> Surface:
    """The surface a face shows; `main` wears the look.

    Raises
    ------
    KeyError
        If the name is neither `main` nor a known fixed surface.
    """
    return LOOK_SURFACES[look] if name == "main" else FIXED[name]
