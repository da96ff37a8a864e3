"""Whether a coat leaves room in a thread. Pure arithmetic.

A coat of thickness f stands on both flanks: across them the pitch diameter grows by
2 f / sin(half the form's angle), which ISO 4042 prints as four times the coat for 60 degrees.
"""

import math
from functools import lru_cache

from parts import threads


def growth_um(*, film_um: float, angle_deg: float) -> float:
    """What a coat adds to the pitch diameter of an outside thread. [um]

    Args:
        film_um: Coat on each flank. [um]
        angle_deg: Angle between the flanks. [deg]

    Source: ISO 4042 for 60 degrees (5 um adds 20, 12 um adds 48); the geometry for 55 and 47.5.

    >>> growth_um(film_um=5, angle_deg=60)
    20.0
    """
    return round(2 * film_um / math.sin(math.radians(angle_deg / 2)), 9)


def room_um(*, pitch_mm: float) -> float:
    """How far below its basic size a metric 6g screw is cut: es = 15 + 11 P. [um]

    Source: ISO 965-1; the formula from memory, it gives the printed 26, 28, 32 and 34 for
    M6, M8, M10 and M12 (rounded).
    """
    return 15 + 11 * pitch_mm


def most_film_um(*, pitch_mm: float, angle_deg: float) -> float:
    """The thickest coat that leaves an outside thread within its basic size. [um]

    For other forms than metric no allowance is printed here: the metric one of the same pitch
    stands in, which is our judgement.
    """
    return room_um(pitch_mm=pitch_mm) / growth_um(film_um=1, angle_deg=angle_deg)


@lru_cache(maxsize=512)
def thread_named(text: str) -> threads.Thread | None:
    """The thread a text names, remembered: the same few names come up for every piece."""
    return threads.find(text)
