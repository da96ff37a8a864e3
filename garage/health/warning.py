"""The one warning that stands over every page: the worst of what is known, and what to do."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from django.utils import timezone

from garage.health import clock, condition, trouble

# What is lost or altered; a stray file beside the records is for the owner's page alone.
HURT = ("missing", "cut off", "wrong size", "damaged", "swapped")


@dataclass(frozen=True, slots=True)
class Notice:
    word: str
    says: str


def warning(data: Path, now: datetime) -> Notice | None:
    """What everybody in the garage should know before they go on; None while all is well."""
    if found := trouble.noted():
        return Notice("Nothing is saved", f"{found.says} {found.do}")
    if later := clock.was_later(data, now):
        return Notice(
            "The clock went backwards",
            f"This computer's clock says {_moment(now)}, and was at {_moment(later)} before. Set "
            "it right: until then no cure is called ready, and what is written now gets a wrong "
            "time.",
        )
    lost = [one for one in condition.read(data).found if one.kind in HURT]
    if lost:
        first = f"{lost[0].file} {lost[0].says}"
        more = f" And {len(lost) - 1} more." if len(lost) > 1 else ""
        return Notice("Look in the backup", f"{first}{more} {lost[0].do}")
    return None


def _moment(at: datetime) -> str:
    return f"{timezone.localtime(at):%d.%m.%Y %H:%M}"
