"""How fast an adhesive or a paint hardens at a temperature, from what its maker printed.

The sum is that of concrete maturity: a rate that follows Arrhenius, and hours at one temperature
that are worth more or fewer hours at another. Between two printed times the sheet itself says
how fast; beyond them it is extended on the cautious side, and never below the lower limit.
"""

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass

from .errors import CoreError, OutOfRange, Problem, caution, require_finite, require_positive

GAS_J = 8.314
"""Gas constant. [J/(mol K)]"""

ZERO_C_K = 273.15

COLDEST_C, HOTTEST_C = -60.0, 400.0
"""House default: outside these a figure is a slip of the pen."""

BELOW_KJ, ABOVE_KJ = 70.0, 50.0
"""House defaults, the cautious end of the 50 to 70 kJ/mol of epoxies: slow where it is colder
than the sheet, not too quick where it is warmer and only one time is printed."""

WORKING_KJ = 55.0
"""House default: the pot thickens by it; 45 minutes at 24 C come to 20 at 35 C."""

LOWER_LIMIT_C, UPPER_CAP_C = 10.0, 60.0
"""House defaults where the sheet is silent."""

LIKELY_KJ = (15.0, 150.0)
"""House default: a sheet that quickens by less or more has a slip in it."""


@dataclass(frozen=True, slots=True)
class SheetTime:
    """One line of a data sheet: at this temperature it takes so long. [C, h]"""

    temp_c: float
    hours: float


@dataclass(frozen=True, slots=True)
class Schedule:
    """Printed times, coldest first, and the limits between which they are extended. [C, kJ/mol]

    Made by `schedule`, which refuses times that contradict each other.
    """

    times: tuple[SheetTime, ...]
    lower_limit_c: float
    upper_cap_c: float
    below_kj: float
    above_kj: float
    problems: tuple[Problem, ...] = ()

    @property
    def ref_c(self) -> float:
        """Return the printed temperature nearest to 20, the one to tell equivalent hours in. [C]"""
        return min(self.times, key=lambda line: abs(line.temp_c - 20)).temp_c

    @property
    def kinks_c(self) -> tuple[float, ...]:
        """Return the temperatures at which the rate bends or stops, coldest first. [C]"""
        printed = (line.temp_c for line in self.times)
        return tuple(sorted({self.lower_limit_c, self.upper_cap_c, *printed}))

    def hours_at(self, temp_c: float) -> float:
        """Return how long it takes at one temperature; endless below the lower limit. [h]

        >>> sheet = schedule(times=[SheetTime(20, 15), SheetTime(40, 3)])
        >>> sheet.hours_at(20), round(sheet.hours_at(30), 2), sheet.hours_at(9.9)
        (15.0, 6.53, inf)
        """
        require_finite(temp_c=temp_c)
        if temp_c < self.lower_limit_c:
            return math.inf
        first, last = self.times[0], self.times[-1]
        if temp_c <= first.temp_c:
            return _scaled(first, temp_c, self.below_kj)
        if temp_c >= last.temp_c:
            # More printed times than one: the last of them is the fastest the sheet promises.
            at_most = max(last.temp_c, min(temp_c, self.upper_cap_c))
            return last.hours if len(self.times) > 1 else _scaled(last, at_most, self.above_kj)
        above = bisect_right([line.temp_c for line in self.times], temp_c)
        return _between(self.times[above - 1], self.times[above], temp_c)

    def rate_per_h(self, temp_c: float) -> float:
        """Return the share of the whole that an hour at this temperature is worth. [1/h]"""
        return 1 / self.hours_at(temp_c)


def schedule(
    *,
    times: Iterable[SheetTime],
    lower_limit_c: float = LOWER_LIMIT_C,
    upper_cap_c: float = UPPER_CAP_C,
    below_kj: float = BELOW_KJ,
    above_kj: float = ABOVE_KJ,
) -> Schedule:
    """What a data sheet says about one event, such as full cure, at every temperature.

    Parameters
    ----------
    times : iterable of SheetTime
        Printed temperatures and times, in any order, at least one. [C, h]
    lower_limit_c : float
        Below it nothing is credited: a cold resin goes glassy before it has reacted. [C]
    upper_cap_c : float
        Above it the rate grows no further, unless hotter times are printed. [C]
    below_kj : float
        Activation energy below the coldest printed time. [kJ/mol]
    above_kj : float
        Activation energy above a single printed time; 0 for no faster than printed. [kJ/mol]

    Returns
    -------
    Schedule
        ln(time) runs straight over 1/T between printed times; a doubtful slope is a caution.

    Raises
    ------
    CoreError
        no_times; twice_printed; hotter_is_slower, when a hotter line prints a longer time.
    OutOfRange
        If a time is not above zero, or a temperature is outside -60 to 400, the cap is not above
        the lower limit, or an energy is below zero.

    Source
    ------
    Arrhenius; ASTM C1074 and EN 1992-1-1 annex B.10 reckon concrete the same way. 50 to 70 kJ/mol
    from published epoxy times (20 C 15 h to 100 C 10 min); the limits are house defaults.

    Examples
    --------
    >>> day = schedule(times=[SheetTime(20, 24)])
    >>> round(day.hours_at(10), 1), day.hours_at(20), round(day.hours_at(30), 1)
    (66.2, 24.0, 12.2)
    """
    lines = tuple(
        SheetTime(float(line.temp_c), float(line.hours))
        for line in sorted(times, key=lambda line: line.temp_c)
    )
    if not lines:
        raise CoreError("no_times", None, "The sheet prints no time yet: write one down.")
    for line in lines:
        require_positive(hours=line.hours)
        _require_temperature(temp_c=line.temp_c)
    _require_temperature(lower_limit_c=lower_limit_c, upper_cap_c=upper_cap_c)
    if upper_cap_c <= lower_limit_c:
        raise OutOfRange("upper_cap_c", upper_cap_c, lower_limit_c, HOTTEST_C)
    for energy in (below_kj, above_kj):
        if not 0 <= energy < math.inf:
            raise OutOfRange("activation energy", energy, 0, math.inf)
    _refuse_contradictions(lines)
    return Schedule(
        lines, float(lower_limit_c), float(upper_cap_c), below_kj, above_kj, _doubts(lines)
    )


def rate_factor(*, temp_c: float, ref_c: float, activation_kj: float) -> float:
    """How many hours at the reference temperature one hour at another is worth.

    Parameters
    ----------
    temp_c, ref_c : float
        The temperature it has and the one it is told in. [C]
    activation_kj : float
        Activation energy, at least zero. [kJ/mol]

    Returns
    -------
    float
        exp(-E/R (1/T - 1/Tref)) in kelvin. [-]

    Raises
    ------
    OutOfRange
        If a temperature is outside -60 to 400, or the energy is below zero.

    Source
    ------
    Arrhenius; ASTM C1074 with Q = E/R. "Twice as fast for 10 C", as adhesive makers print it, is
    51.2 kJ/mol between 20 and 30 C.

    Examples
    --------
    >>> round(rate_factor(temp_c=30, ref_c=20, activation_kj=51.2), 3)
    2.0
    """
    _require_temperature(temp_c=temp_c, ref_c=ref_c)
    if not 0 <= activation_kj < math.inf:
        raise OutOfRange("activation_kj", activation_kj, 0, math.inf)
    return math.exp(-activation_kj * 1000 / GAS_J * (1 / _kelvin(temp_c) - 1 / _kelvin(ref_c)))


def activation_kj(*, cooler: SheetTime, warmer: SheetTime) -> float:
    """How strongly heat quickens, by two lines of a sheet.

    Parameters
    ----------
    cooler, warmer : SheetTime
        Two lines at different temperatures. [C, h]

    Returns
    -------
    float
        Activation energy; negative when the warmer line takes longer. [kJ/mol]

    Raises
    ------
    OutOfRange
        If a time is not above zero or a temperature is outside -60 to 400.
    CoreError
        twice_printed, if both stand at one temperature.

    Source
    ------
    Arrhenius, solved for the energy.

    Examples
    --------
    >>> round(activation_kj(cooler=SheetTime(20, 15), warmer=SheetTime(40, 3)), 1)
    61.4
    """
    for line in (cooler, warmer):
        require_positive(hours=line.hours)
        _require_temperature(temp_c=line.temp_c)
    over = 1 / _kelvin(cooler.temp_c) - 1 / _kelvin(warmer.temp_c)
    if over == 0:
        raise CoreError("twice_printed", None, _twice(cooler.temp_c))
    return GAS_J * math.log(cooler.hours / warmer.hours) / over / 1000


def working_minutes(*, sheet_minutes: float, sheet_c: float, temp_c: float) -> float:
    """How long a mix can be worked at a temperature; colder is given no more than printed.

    Parameters
    ----------
    sheet_minutes : float
        Working time as printed, above zero. [min]
    sheet_c, temp_c : float
        The temperature it is printed for, and that of the mix. [C]

    Returns
    -------
    float
        Time until it no longer wets the metal. A large lump warms itself and goes sooner. [min]

    Raises
    ------
    OutOfRange
        If the time is not above zero or a temperature is outside -60 to 400.

    Source
    ------
    The working time shrinks as the rate grows; 55 kJ/mol is a house default. Example of a maker's
    sheet: 45 minutes at 24 C, about 20 at 35 C.

    Examples
    --------
    >>> round(working_minutes(sheet_minutes=45, sheet_c=24, temp_c=35))
    20
    >>> working_minutes(sheet_minutes=45, sheet_c=24, temp_c=12)
    45.0
    """
    require_positive(sheet_minutes=sheet_minutes)
    faster = rate_factor(temp_c=temp_c, ref_c=sheet_c, activation_kj=WORKING_KJ)
    return sheet_minutes / max(faster, 1.0)


def _kelvin(temp_c: float) -> float:
    return temp_c + ZERO_C_K


def _scaled(line: SheetTime, temp_c: float, energy_kj: float) -> float:
    over = 1 / _kelvin(temp_c) - 1 / _kelvin(line.temp_c)
    return line.hours * math.exp(energy_kj * 1000 / GAS_J * over)


def _between(cooler: SheetTime, warmer: SheetTime, temp_c: float) -> float:
    cold, warm = 1 / _kelvin(cooler.temp_c), 1 / _kelvin(warmer.temp_c)
    share = (cold - 1 / _kelvin(temp_c)) / (cold - warm)
    return cooler.hours * math.pow(warmer.hours / cooler.hours, share)


def _refuse_contradictions(lines: tuple[SheetTime, ...]) -> None:
    for index in range(1, len(lines)):
        cooler, warmer = lines[index - 1], lines[index]
        if cooler.temp_c == warmer.temp_c:
            raise CoreError("twice_printed", index, _twice(warmer.temp_c))
        if warmer.hours > cooler.hours:
            message = (
                f"{warmer.temp_c:g} C takes longer here than {cooler.temp_c:g} C. Heat never makes "
                "it slower: look at the sheet again."
            )
            raise CoreError("hotter_is_slower", index, message)


def _doubts(lines: tuple[SheetTime, ...]) -> tuple[Problem, ...]:
    low, high = LIKELY_KJ
    return tuple(
        caution(
            "unlikely_slope",
            f"From {lines[index - 1].temp_c:g} to {lines[index].temp_c:g} C these times quicken "
            "as no sheet does: look at them again.",
            index,
        )
        for index in range(1, len(lines))
        if not low <= activation_kj(cooler=lines[index - 1], warmer=lines[index]) <= high
    )


def _twice(temp_c: float) -> str:
    return f"{temp_c:g} C stands there twice."


def _require_temperature(**named: float) -> None:
    for field, value in named.items():
        if not COLDEST_C <= value <= HOTTEST_C:
            raise OutOfRange(field, value, COLDEST_C, HOTTEST_C)
