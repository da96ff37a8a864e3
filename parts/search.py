"""Search text: what is typed and what is stored, folded the same way."""

import unicodedata
from collections.abc import Iterable


def fold(text: str) -> str:
    """Text without accents and case: "Dämpfer É" and "dampfer e" are the same.

    >>> fold("Dämpfer  LINKS ½")
    'dampfer links 1⁄2'
    """
    plain = unicodedata.normalize("NFKD", text).casefold()
    letters = (char for char in plain if not unicodedata.combining(char))
    return " ".join("".join(letters).split())


def folded(texts: Iterable[object]) -> str:
    """One searchable line out of everything that names a thing."""
    return fold(" ".join(str(text) for text in texts if text))


def search_words(query: str) -> list[str]:
    """The words a search has to find, all of them, at most eight."""
    return fold(query[:100]).split()[:8]
