"""Fills the disk that the garage lies on with photos and notes, and prints what each page answered.

python -m tests.crash.full_disk fill | recover | small-files
"""

import json
import re
import resource
import signal
import sys
from uuid import UUID

import django

django.setup()

from django.test import Client  # noqa: E402

from parts.models import Part, Place  # noqa: E402
from tests import factories  # noqa: E402
from tests.crash import job  # noqa: E402
from tests.garage.photos import corpus  # noqa: E402

POSTS, AFTER = 300, 20
# What a person reads, on a whole page and in a piece of one.
SENTENCE = re.compile(r"disk is (too )?full.*[Mm]ake room")


def photo(browser: Client, number: int, picture: bytes) -> dict[str, object]:
    form = {
        "key": str(UUID(int=number)),
        "photo": factories.make_upload(content=picture),
    }
    return answer("photo", browser.post("/photos/", form))


def note(browser: Client, number: int) -> dict[str, object]:
    """A line of text with no photo."""
    return answer("note", browser.post("/places/", {"path": f"Shelf N / Box {number}"}))


def page(browser: Client) -> dict[str, object]:
    return answer("page", browser.get("/parts/"))


def answer(what: str, response: object) -> dict[str, object]:
    plain = re.sub(r"<[^>]+>|\s+", " ", response.content.decode())
    says = bool(SENTENCE.search(plain))
    return {"what": what, "code": response.status_code, "says": says}


def main(how: str) -> None:
    browser = job.client()
    large = corpus.saved(corpus.picture(size=(1_600, 1_200)))
    found: list[dict[str, object]] = []
    if how == "small-files":
        # The next file may grow to 40 kB and no further: the same as a quota.
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (40_000, resource.RLIM_INFINITY))
        found = [photo(browser, 5_000 + number, large) for number in range(3)]
        resource.setrlimit(resource.RLIMIT_FSIZE, (resource.RLIM_INFINITY,) * 2)
    for number in range(POSTS if how == "fill" else 0):
        found.append(photo(browser, number, large))
        if number % 10 == 0:
            found += [note(browser, number), page(browser)]
    for number in range(AFTER if how == "recover" else 0):
        found.append(photo(browser, 10_000 + number, large))
    print(
        json.dumps(
            {
                "answers": found,
                "notes": Place.objects.filter(within__name="Shelf N").count(),
                "parts": Part.objects.count(),
                "wrong": list(job.wrong_anyway()),
            }
        )
    )


if __name__ == "__main__":
    main(sys.argv[1])
