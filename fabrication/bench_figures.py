"""Figures written out for who reads them, where no template does it: labels on drawings."""

from dataclasses import dataclass

from babel.numbers import format_decimal

from fabrication.core.table_forms import to_nearest
from garage.models import Person

MM_PER_INCH = 25.4  # exactly


@dataclass(frozen=True, slots=True)
class BenchFigures:
    """A reader's unit and region."""

    unit: str = "mm"
    region: str = "en_GB"

    @classmethod
    def of(cls, person: Person) -> "BenchFigures":
        return cls(person.units, person.region)

    def bare(self, mm: float, step_mm: float = 0.5) -> str:
        """A length without its unit, as a rule can be read."""
        if self.unit == "in":
            return format_decimal(mm / MM_PER_INCH, "0.000", locale=self.region)
        # A hair below nought is nought.
        return format_decimal(to_nearest(mm, step=step_mm) + 0.0, "0.0", locale=self.region)

    def length(self, mm: float, step_mm: float = 0.5) -> str:
        return f"{self.bare(mm, step_mm)} {self.unit}"

    def angle(self, angle_deg: float) -> str:
        said = to_nearest(angle_deg, step=0.5)
        return f"{format_decimal(said, '0.0', locale=self.region)}°"

    def number(self, value: float, pattern: str = "0.###") -> str:
        return format_decimal(value, pattern, locale=self.region)
