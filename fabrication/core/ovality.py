"""How far the section of a bend is out of round, by a definition that is always named."""

import math
from enum import StrEnum

from .errors import OutOfRange, require_positive


class Ovality(StrEnum):
    """The three things people call ovality. They differ by a factor of two: name yours."""

    OVER_NOMINAL = "over_nominal"
    OVER_MEAN = "over_mean"
    FLATTENING = "flattening"


def ovality_ratio(
    *, definition: Ovality, largest_mm: float, smallest_mm: float, nominal_mm: float
) -> float:
    """How far a section is out of round, by a named definition.

    Parameters
    ----------
    definition : Ovality
        (max - min) / nominal; 2 (max - min) / (max + min); or (nominal - min) / nominal.
    largest_mm, smallest_mm : float
        Diameters measured across the bend, above zero, the largest not below the smallest. [mm]
    nominal_mm : float
        Outside diameter of the straight tube, above zero. [mm]

    Returns
    -------
    float
        Never compare two of them by different definitions. [-]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    ASME B31.1 and B31.3 style; BS EN 13480-4, 7.4.1; flattening as used by aviation handbooks.
    The first two recalled, not read again.

    Examples
    --------
    >>> sizes = {"largest_mm": 23, "smallest_mm": 21, "nominal_mm": 22}
    >>> round(ovality_ratio(definition=Ovality.OVER_NOMINAL, **sizes), 4)
    0.0909
    >>> round(ovality_ratio(definition=Ovality.FLATTENING, **sizes), 4)
    0.0455
    """
    require_positive(smallest_mm=smallest_mm, nominal_mm=nominal_mm)
    if not smallest_mm <= largest_mm < math.inf:
        raise OutOfRange("largest_mm", largest_mm, smallest_mm, math.inf)
    if definition is Ovality.OVER_NOMINAL:
        return (largest_mm - smallest_mm) / nominal_mm
    if definition is Ovality.OVER_MEAN:
        return 2 * (largest_mm - smallest_mm) / (largest_mm + smallest_mm)
    return (nominal_mm - smallest_mm) / nominal_mm
