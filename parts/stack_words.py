"""A stack written in one line: "M8 x 25 bolt, plain washer, spring washer, nut".

What cannot be read is refused and named; nothing is guessed but the thread of a nut, which is the
bolt's.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace

from garage import units
from parts import threads
from parts.models import StackItem

What = StackItem.What
Treatment = StackItem.Treatment

# Longest first, so that "spring washer" is not read as a washer.
THINGS = {
    "self-locking nut": What.LOCK_NUT, "self locking nut": What.LOCK_NUT,
    "distance piece": What.SPACER, "the part itself": What.THE_PART,
    "spring washer": What.SPRING_WASHER, "plain washer": What.PLAIN_WASHER,
    "flat washer": What.PLAIN_WASHER, "lock washer": What.LOCK_WASHER,
    "star washer": What.LOCK_WASHER, "tab washer": What.LOCK_WASHER, "clevis pin": What.PIN,
    "cotter pin": What.PIN, "set screw": What.SCREW, "setscrew": What.SCREW, "set bolt": What.SCREW,
    "split pin": What.PIN, "lock nut": What.LOCK_NUT, "the part": What.THE_PART,
    "locknut": What.LOCK_NUT, "spacer": What.SPACER, "sleeve": What.SPACER,
    "washer": What.PLAIN_WASHER, "screw": What.SCREW, "rivet": What.RIVET, "bolt": What.BOLT,
    "stud": What.STUD, "bush": What.BUSH, "shim": What.SHIM,
    "part": What.THE_PART, "clip": What.CLIP, "nut": What.NUT, "pin": What.PIN,
}  # fmt: skip
TREATMENTS = {
    "renew": Treatment.RENEW,
    "new": Treatment.RENEW,
    "reuse": Treatment.REUSE,
    "clean": Treatment.CLEAN,
}
HEADS = {
    "hexagon head": "hexagon", "hexagon": "hexagon", "hex head": "hexagon", "hex": "hexagon",
    "countersunk": "countersunk", "csk": "countersunk", "pan head": "pan", "round head": "round",
    "cheese head": "cheese", "cap head": "cap", "socket head": "socket", "socket": "socket",
    "square head": "square", "coach": "coach",
}  # fmt: skip
MATERIALS = (
    "zinc plated", "cadmium plated", "nickel plated", "chrome plated", "stainless steel",
    "stainless", "aluminium", "bronze", "copper", "rubber", "nylon", "fibre",
    "brass", "steel", "zinc", "black",
)  # fmt: skip
CLASSES = sorted({row.name for row in threads.PROPERTY_CLASSES}, key=len, reverse=True)
SPLIT = re.compile(r"(?<![0-9])[,.]\s|(?<![0-9]),|,(?![0-9])|[;+\n]|\bthen\b")
COUNT = re.compile(r"([1-9])\s*(?:x|off)?\s*(?=$|m[0-9])")
BARE = re.compile(r"[0-9]+(?:[.,][0-9]+)?(?:\s+[0-9]+/[0-9]+)?|[0-9]+/[0-9]+")
WASHERS = (What.PLAIN_WASHER, What.SPRING_WASHER, What.LOCK_WASHER)
THICKEST_WASHER_MM = 5.0
EXAMPLE = "M8 x 25 bolt, plain washer, the part, spring washer, nut"


class CannotRead(ValueError):
    """A piece of the line that says no fastener; its words are in the message."""


@dataclass(frozen=True, slots=True)
class Written:
    """One thing as read; the length still as text, with its unit."""

    what: str
    thread: str = ""
    length: str = ""
    head: str = ""
    property_class: str = ""
    material: str = ""
    treatment: str = Treatment.CLEAN


def read_stack(text: str, *, default_unit: units.System, decimal_mark: units.Mark) -> list[Written]:
    """The things of a line in their order, from the head.

    Raises
    ------
    CannotRead
        At the first piece that is not understood whole.
    """
    things: list[Written] = []
    for piece in SPLIT.split(text):
        if said := (piece or "").strip(" ."):
            things += _read(said, default_unit, decimal_mark)
    if not things:
        raise CannotRead(f"There is no fastener in it. Write it like this: {EXAMPLE}.")
    return _nuts_follow(things)


def write_stack(items: Iterable[StackItem]) -> str:
    """The same line from a stack, for the history: "M8 x 25 mm bolt 8.8, plain washer, nut"."""
    return ", ".join(_written(item) for item in items)


def _written(item: StackItem) -> str:
    size = " x ".join(filter(None, [item.thread, length_words(item)]))
    name = {What.THE_PART: "the part", What.LOCK_WASHER: "lock washer", What.PIN: "pin"}.get(
        What(item.what), item.get_what_display().lower()
    )
    words = [size, name, item.property_class, item.material]
    return " ".join(filter(None, words))


def length_words(item: StackItem, *, decimal_mark: units.Mark = ".") -> str:
    """A length in the unit it was measured in, because a bolt is named by it."""
    if item.length_mm is None:
        return ""
    system = measured_in(item.length_mm, item.length_typed, decimal_mark=decimal_mark)
    return units.format_length(
        item.length_mm, unit=system, decimal_mark=decimal_mark, typed=item.length_typed or None
    )


def measured_in(mm: float, typed: str, *, decimal_mark: units.Mark) -> units.System:
    """Which rule the person held who typed a length that was read as ``mm``."""
    systems: tuple[units.System, ...] = ("mm", "in")
    for system in systems if typed else ():
        try:
            read = units.parse_length(typed, default_unit=system, decimal_mark=decimal_mark)
        except units.BadLength:
            continue  # typed under another decimal mark: millimetres are right for everybody
        if read.mm == mm:
            return read.system
    return "mm"


def _read(said: str, default_unit: units.System, mark: units.Mark) -> list[Written]:
    rest = " ".join(said.lower().replace("×", "x").split())
    what, rest = _take(rest, THINGS, plural=True)
    if what is None:
        raise CannotRead(f"“{said}” names no fastener. Write it like this: {EXAMPLE}.")
    treatment, rest = _take(rest, TREATMENTS)
    head, rest = _take(rest, HEADS)
    property_class, rest = _take_class(rest)
    material, rest = _take_materials(rest)
    rest = re.sub(r"\b(?:thick|long)\b", "", rest).strip(" x")
    count, rest = _take_count(rest)
    thread, length = _size(rest, said, What(what), default_unit, mark)
    one = Written(
        what, thread, length, head or "", property_class, material, treatment or Treatment.CLEAN
    )
    return [one] * count


def _take(text: str, words: dict[str, str], *, plural: bool = False) -> tuple[str | None, str]:
    """The meaning of the first word found, and the text without it."""
    ending = "(?:e?s)?" if plural else ""
    for word, meaning in words.items():
        if found := re.search(rf"(?<![\w-]){re.escape(word)}{ending}(?![\w-])", text):
            return meaning, " ".join((text[: found.start()] + " " + text[found.end() :]).split())
    return None, text


def _take_class(text: str) -> tuple[str, str]:
    if found := re.search(r"\b(?:class|grade)\s+([a-z0-9.]{1,5})\b", text):
        return found[1].upper(), " ".join(
            (text[: found.start()] + " " + text[found.end() :]).split()
        )
    for name in CLASSES:
        # A figure with a unit, or one that follows an x, is a length.
        pattern = rf"(?<![\w.x])(?<!x ){re.escape(name)}(?![\w.])(?!\s*(?:mm|in\b|\"))"
        if found := re.search(pattern, text):
            return name, " ".join((text[: found.start()] + " " + text[found.end() :]).split())
    return "", text


def _take_materials(text: str) -> tuple[str, str]:
    found = []
    for word in MATERIALS:
        meaning, text = _take(text, {word: word})
        found += [meaning] if meaning else []
    return ", ".join(found), text


def _take_count(text: str) -> tuple[int, str]:
    found = COUNT.match(text)
    return (int(found[1]), text[found.end() :].strip()) if found else (1, text)


def _size(
    rest: str, said: str, what: What, unit: units.System, mark: units.Mark
) -> tuple[str, str]:
    """Thread and length of what is left of a piece when its words are taken away."""
    if not rest:
        return "", ""
    if thread := threads.find(rest):
        return thread.designation, ""
    for cross in [*reversed(list(re.finditer(r"\s*x\s*", rest)))]:
        if thread := threads.find(rest[: cross.start()]):
            own: units.System = "mm" if thread.system.startswith("metric") else "in"
            return thread.designation, _length(rest[cross.end() :], said, own, mark)
    length = _length(rest, said, unit, mark)
    thick_mm = units.parse_length(length, default_unit=unit, decimal_mark=mark).mm
    if what in WASHERS and thick_mm > THICKEST_WASHER_MM:
        raise CannotRead(f"“{said}”: is {length} its hole or its thickness? Write M8 or 1.6 mm.")
    return "", length


def _length(text: str, said: str, unit: units.System, mark: units.Mark) -> str:
    """A length as text with its unit. Raises CannotRead for what is no length, or could be two."""
    try:
        units.parse_length(text, default_unit=unit, decimal_mark=mark)
    except units.AmbiguousLength as either:
        first, second = (reading.typed for reading in either.readings)
        raise CannotRead(
            f"“{said}”: is {text} {first} or {second}? Write it with its unit."
        ) from None
    except units.BadLength:
        raise CannotRead(
            f"“{text}” in “{said}” is no thread or length of ours. Write that one in a row."
        ) from None
    return f"{text} {unit}" if BARE.fullmatch(text) else text


def _nuts_follow(things: list[Written]) -> list[Written]:
    """Nuts without a thread take that of the bolt, screw or stud."""
    bolts = [thing.thread for thing in things if thing.what in (What.BOLT, What.SCREW, What.STUD)]
    if not bolts or not bolts[0]:
        return things
    nuts = (What.NUT, What.LOCK_NUT)
    return [
        replace(thing, thread=bolts[0]) if thing.what in nuts and not thing.thread else thing
        for thing in things
    ]
