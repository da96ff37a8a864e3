"""How often a test repeats itself: a few times for every commit, more often before a release."""

import os

RELEASE = os.environ.get("SPLITPIN_RELEASE_TESTS") == "1"


def often(each_commit: int, *, release: int) -> int:
    """So many times; ``manage.py release_check`` asks for the larger number."""
    return release if RELEASE else each_commit
