"""Every status a piece can have, every move between them, and nothing else.

Rule 1: whatever is true about statuses is written in this file.
Rule 2: this file knows nothing of those who use it.
A pair that is missing from ``TRANSITIONS`` is a move that cannot be made.
"""

from enum import StrEnum

from django.db.models import TextChoices


class Status(TextChoices):
    ON_CAR = "on_car", "On car"
    OFF = "off", "Off"
    AT_BENCH = "at_bench", "At bench"
    AT_FINISHER = "at_finisher", "Out"
    BACK = "back", "Back, not counted"
    READY = "ready", "Ready"
    FITTED_LOOSE = "fitted_loose", "Fitted loose"
    FITTED_TIGHT = "fitted_tight", "Fitted tight"
    MISSING = "missing", "Missing"
    PATTERN = "pattern", "Kept as pattern"
    SCRAPPED = "scrapped", "Scrapped"
    SOLD = "sold", "Sold"


# Groups, defined once. A set of statuses is a word of the trade, not a filter in a view.
IN_THE_GARAGE = (Status.OFF, Status.AT_BENCH, Status.READY, Status.PATTERN)
IN_WORK = (Status.AT_BENCH, Status.AT_FINISHER, Status.BACK)
FITTED = (Status.FITTED_LOOSE, Status.FITTED_TIGHT)
ON_THE_CAR = (Status.ON_CAR, *FITTED)
AWAY_FOR_GOOD = (Status.SCRAPPED, Status.SOLD)
CAN_BE_SENT = (Status.OFF, Status.AT_BENCH, Status.READY)


class Move(StrEnum):
    TAKE_OFF = "take off"
    PUT_ON_BENCH = "put on the bench"
    SHELVE = "put away"
    HAND_OVER = "hand over"
    TAKE_BACK = "take back"
    COLLECT = "collect"
    COUNT_IN = "count in"
    CALL_READY = "call ready"
    REOPEN = "reopen"
    FIT_LOOSE = "fit loose"
    TIGHTEN = "tighten"
    SLACKEN = "slacken"
    LOSE = "report missing"
    FIND = "find"
    KEEP_AS_PATTERN = "keep as pattern"
    RELEASE = "release"
    SCRAP = "scrap"
    SELL = "sell"
    GET_BACK = "get back"


TRANSITIONS: dict[Status, dict[Move, Status]] = {
    Status.ON_CAR: {
        Move.TAKE_OFF: Status.OFF,
    },
    Status.OFF: {
        Move.PUT_ON_BENCH: Status.AT_BENCH,
        Move.HAND_OVER: Status.AT_FINISHER,
        Move.CALL_READY: Status.READY,
        Move.LOSE: Status.MISSING,
        Move.KEEP_AS_PATTERN: Status.PATTERN,
        Move.SCRAP: Status.SCRAPPED,
        Move.SELL: Status.SOLD,
    },
    Status.AT_BENCH: {
        Move.SHELVE: Status.OFF,
        Move.HAND_OVER: Status.AT_FINISHER,
        Move.CALL_READY: Status.READY,
        Move.LOSE: Status.MISSING,
        Move.KEEP_AS_PATTERN: Status.PATTERN,
        Move.SCRAP: Status.SCRAPPED,
    },
    Status.AT_FINISHER: {
        Move.TAKE_BACK: Status.OFF,
        Move.COLLECT: Status.BACK,
        Move.COUNT_IN: Status.OFF,
        Move.LOSE: Status.MISSING,
    },
    Status.BACK: {
        Move.COUNT_IN: Status.OFF,
        Move.LOSE: Status.MISSING,
    },
    Status.READY: {
        Move.FIT_LOOSE: Status.FITTED_LOOSE,
        Move.TIGHTEN: Status.FITTED_TIGHT,
        Move.REOPEN: Status.OFF,
        Move.PUT_ON_BENCH: Status.AT_BENCH,
        Move.HAND_OVER: Status.AT_FINISHER,
        Move.LOSE: Status.MISSING,
        Move.KEEP_AS_PATTERN: Status.PATTERN,
        Move.SCRAP: Status.SCRAPPED,
        Move.SELL: Status.SOLD,
    },
    Status.FITTED_LOOSE: {
        Move.TIGHTEN: Status.FITTED_TIGHT,
        Move.TAKE_OFF: Status.OFF,
    },
    Status.FITTED_TIGHT: {
        Move.SLACKEN: Status.FITTED_LOOSE,
        Move.TAKE_OFF: Status.OFF,
    },
    Status.MISSING: {
        Move.FIND: Status.OFF,
        Move.SCRAP: Status.SCRAPPED,
    },
    Status.PATTERN: {
        Move.RELEASE: Status.OFF,
        Move.LOSE: Status.MISSING,
        Move.SCRAP: Status.SCRAPPED,
        Move.SELL: Status.SOLD,
    },
    Status.SCRAPPED: {
        Move.GET_BACK: Status.OFF,
    },
    Status.SOLD: {
        Move.GET_BACK: Status.OFF,
    },
}


class MoveNotAllowed(Exception):
    """A move that cannot be made from where the piece is."""

    def __init__(self, status: Status, move: Move) -> None:
        self.status, self.move = status, move
        super().__init__(f"You cannot {move} a piece that is {status.label.lower()}.")


def next_status(status: Status, move: Move) -> Status:
    """The status after ``move``; ``MoveNotAllowed`` when the table has no such move."""
    try:
        return TRANSITIONS[status][move]
    except KeyError:
        raise MoveNotAllowed(status, move) from None


def moves_from(status: Status) -> tuple[Move, ...]:
    """What can be done with a piece of this status, in the table's order."""
    return tuple(TRANSITIONS[status])


def as_markdown() -> str:
    """The table as it stands in ``docs/statuses.md``; a test keeps the two the same."""
    lines = ["| from | move | to |", "| --- | --- | --- |"]
    lines += [
        f"| {status.label} | {move} | {to.label} |"
        for status, moves in TRANSITIONS.items()
        for move, to in moves.items()
    ]
    return "\n".join(lines) + "\n"
