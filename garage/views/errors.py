"""Every refusal as a page in the app's look: what happened, and what to do."""

import sys

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string

from garage.health import trouble


def _page(request: HttpRequest, code: int, title: str, says: str) -> HttpResponse:
    return render(request, "error.html", {"title": title, "says": says, "code": code}, status=code)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    """Also where the session could not be saved: Django takes that for a session that is gone."""
    if exception is not None and (answer := _of_the_disk(exception)):
        return answer
    return _page(request, 400, "That was not understood", "Go back and try again from the page.")


def not_allowed(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page(
        request, 403, "Not for you to change", "Ask the owner of this garage for the role you need."
    )


def stale_form(request: HttpRequest, reason: str = "") -> HttpResponse:
    return _page(
        request,
        403,
        "This form is too old",
        "You signed in again since it was opened. Go back, reload the page and save once more:"
        " your browser still holds what you typed.",
    )


def not_found(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
    return _page(request, 404, "Not here", "There is no such page, or it was thrown out. Try Find.")


def too_large(request: HttpRequest) -> HttpResponse:
    return _bare_page(
        413,
        "Too large to take in",
        "The limit is 30 MB a form and 25 MB a photo. Send fewer photos at once.",
    )


def too_many_tries(request: HttpRequest) -> HttpResponse:
    return _page(
        request, 429, "Too many tries", "Wait a quarter of an hour, then sign in again slowly."
    )


def broken(request: HttpRequest) -> HttpResponse:
    """Shown when something failed that no view answers for: our own code, or the disk."""
    error = sys.exc_info()[1]
    if error is not None and (answer := _of_the_disk(error)):
        return answer
    return _bare_page(
        500,
        "Something broke on our side",
        "Nothing you saved before is lost. Go back and try once more; if it breaks"
        " again, the lines on the server's console say why.",
    )


def _of_the_disk(error: BaseException) -> HttpResponse | None:
    """The page for a disk that is full or fails; None for any other error."""
    if trouble.is_full(error):
        return _bare_page(
            507,
            "The disk is full",
            "This was not saved. Make room on the disk with the garage, go back, and save once"
            " more: your browser still holds what you typed.",
        )
    if found := trouble.note(error):
        # An error while the last bytes are settled leaves open whether they are there.
        return _closed(found, "It is not certain that this was saved, and nothing more is")
    return None


def nothing_is_saved(found: trouble.Trouble) -> HttpResponse:
    """Refuses to write on a disk that has failed before."""
    return _closed(found, "So this was not saved, and nothing is")


def _closed(found: trouble.Trouble, this: str) -> HttpResponse:
    return _bare_page(
        503,
        "Nothing is saved for now",
        f"{found.says} {this} until Splitpin is started anew. {found.do} What you typed is still "
        "in your browser: go back and copy it.",
    )


def _bare_page(code: int, title: str, says: str) -> HttpResponse:
    """A page that touches no database, for that may be what failed."""
    html = render_to_string("error.html", {"title": title, "says": says, "code": code})
    return HttpResponse(html, status=code)
