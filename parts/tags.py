"""Tags: short codes to stamp into metal, never given twice.

A letter, a figure, a letter (K7M); when 1,024 of those are used up, one letter more (K7MA). No
character has a look-alike when it is stamped, blasted and painted: no 0 O Q, 1 I L, 2 Z, 5 S, 8 B,
6 G, U V. Neighbours in time are far apart in spelling, so that a misread tag is rarely another
part's tag.
"""

from django.db.models import F

from garage.models import Garage

LETTERS = "ACDEFHJKMNPRTWXY"
FIGURES = "3479"
# 1024 codes of three; the step is coprime to it (odd), so every code comes exactly once.
SHORT = len(LETTERS) * len(FIGURES) * len(LETTERS)
LONG = SHORT * len(LETTERS)
STEP = 389


class TagsUsedUp(Exception):
    """More parts than the tags of up to four characters can name."""


def tag_for(number: int) -> str:
    """The tag of the ``number``-th part logged, counting from 0.

    >>> tag_for(0), tag_for(1), len(tag_for(1024))
    ('A3A', 'H3H', 4)
    """
    if number < SHORT:
        return _short(number * STEP % SHORT)
    number -= SHORT
    if number >= LONG:
        raise TagsUsedUp("All tags of up to four characters are given out.")
    mixed = number * STEP % LONG
    return _short(mixed // len(LETTERS)) + LETTERS[mixed % len(LETTERS)]


def _short(place: int) -> str:
    place, last = divmod(place, len(LETTERS))
    first, figure = divmod(place, len(FIGURES))
    return LETTERS[first] + FIGURES[figure] + LETTERS[last]


def next_tag() -> str:
    """The tag the next part will most likely get: told before saving, given when saved."""
    return tag_for(Garage.here().tags_given)


def give_tag() -> str:
    """A tag nobody had before. Call it inside the transaction that saves the part."""
    garage = Garage.here()
    Garage.objects.filter(id=garage.id).update(tags_given=F("tags_given") + 1)
    garage.refresh_from_db(fields=["tags_given"])
    return tag_for(garage.tags_given - 1)


def spoken(text: str) -> str:
    """A tag as typed, folded to how it is stamped: capitals, no spaces."""
    return "".join(text.upper().split())
