"""Every refusal as a page in the app's look: what happened, and what to do."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string


def _page(request: HttpRequest, code: int, title: str, says: str) -> HttpResponse:
    return render(request, "error.html", {"title": title, "says": says, "code": code}, status=code)


def bad_request(request: HttpRequest, exception: Exception | None = None) -> HttpResponse:
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
    return HttpResponse(
        render_to_string(
            "error.html",
            {
                "title": "Too large to take in",
                "says": "The limit is 30 MB a form and 25 MB a photo. Send fewer photos at once.",
                "code": 413,
            },
        ),
        status=413,
    )


def too_many_tries(request: HttpRequest) -> HttpResponse:
    return _page(
        request, 429, "Too many tries", "Wait a quarter of an hour, then sign in again slowly."
    )


def broken(request: HttpRequest) -> HttpResponse:
    """Shown when our own code failed; touches no database, for that may be what failed."""
    html = render_to_string(
        "error.html",
        {
            "title": "Something broke on our side",
            "says": "Nothing you saved before is lost. Go back and try once more; if it breaks"
            " again, the lines on the server's console say why.",
            "code": 500,
        },
    )
    return HttpResponse(html, status=500)
