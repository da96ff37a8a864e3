"""Handing over, taking back, closing, and the sheet itself."""

from datetime import timedelta
from typing import Any

from django.conf import settings
from django.http import FileResponse, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.forms import key_of
from garage.http import go, page
from garage.paper import PAPERS, PaperNotPossible
from parts import dropoff as verbs
from parts import sheets
from parts.checking import check_lines
from parts.forms.dropoffs import HandOverForm, ReasonForm
from parts.models import DropOff
from parts.views.dropoffs import dropoff_of, dropoff_page


def count_url(request: HttpRequest, one: DropOff) -> str:
    """What the code opens: under the public address, else under the one this page was asked at."""
    path = reverse("count", args=[one.number])
    base = settings.SPLITPIN_PUBLIC_URL
    return f"{base}{path}" if base else request.build_absolute_uri(path)


@require_safe
def sheet(request: HttpRequest, number: int) -> HttpResponse | FileResponse:
    """The PDF: as handed over once it was, as it would be now before that."""
    one = dropoff_of(number)
    name = f"drop-off-{one.number}-{slugify(one.finisher.name)[:60] or 'finisher'}.pdf"
    if kept := verbs.kept_sheet(one):
        if not kept.is_file():
            return HttpResponse(
                "The kept sheet's file is missing.", status=404, content_type="text/plain"
            )
        return FileResponse(kept.open("rb"), filename=name, content_type="application/pdf")
    size = request.GET.get("paper", "")
    try:
        pdf = sheets.dropoff_sheet(
            one,
            count_url=count_url(request, one),
            by=request.user,
            now=timezone.now(),
            paper_size=size if size in PAPERS else "",
        )
    except PaperNotPossible as impossible:
        return dropoff_page(request, one, pick_problem=str(impossible), code=503)
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


@require_http_methods(["GET", "HEAD", "POST"])
def hand_over(request: HttpRequest, number: int) -> HttpResponse:
    one = dropoff_of(number)
    if request.method != "POST":
        today = timezone.localdate()
        due = verbs.due_day(one.finisher, handed_over=today)
        form = HandOverForm(person=request.user, initial={"hand_over_on": today, "due_on": due})
        return _hand_over_page(request, one, form)
    form = HandOverForm(request.POST, person=request.user)
    if form.is_valid():
        try:
            verbs.hand_over(
                dropoff=one,
                on=form.cleaned_data["hand_over_on"],
                due_on=form.cleaned_data["due_on"],
                count_url=count_url(request, one),
                by=request.user,
                now=timezone.now(),
            )
            return go(
                request,
                one,
                f"{one} is handed over. Print the sheet, and count the pieces together.",
            )
        except (*verbs.REFUSALS, PaperNotPossible) as refused:
            form.add_error(None, str(refused))
    return _hand_over_page(request, one, form, code=422)


def _hand_over_page(
    request: HttpRequest, one: DropOff, form: HandOverForm, code: int = 200
) -> HttpResponse:
    lines = list(one.lines.for_sheet())
    found = check_lines(one, lines, now=timezone.now()) if one.is_being_built else []
    context: dict[str, Any] = {
        "dropoff": one,
        "form": form,
        "lines": lines,
        "held": [each.line for each in found if each.is_held],
        "sent": sum(line.count for line in lines),
        "really": verbs.really_takes_days(one.finisher),
        "tomorrow": timezone.localdate() + timedelta(days=1),
    }
    return page(request, "parts/dropoff_handover.html", context, code=code)


TAKE_BACK = {
    "head": "Take the drop-off back",
    "button": "Take it back",
    "says": "All pieces are off again and lie where they lay before. The number and the sheet are "
    "kept, marked as taken back. Nothing of it may be counted yet.",
    "done": "is taken back. Its number and sheet are kept.",
}
CLOSE = {
    "head": "Close the drop-off",
    "button": "Close it",
    "says": "It closes by itself when the last piece is counted. Closing it earlier needs a "
    "reason, which is kept; what was never counted stays out, and can still be counted later.",
    "done": "is closed.",
}


@require_http_methods(["GET", "HEAD", "POST"])
def take_back(request: HttpRequest, number: int) -> HttpResponse:
    return _end(request, dropoff_of(number), verb=verbs.take_back, words=TAKE_BACK)


@require_http_methods(["GET", "HEAD", "POST"])
def close(request: HttpRequest, number: int) -> HttpResponse:
    return _end(request, dropoff_of(number), verb=verbs.close, words=CLOSE)


def _end(request: HttpRequest, one: DropOff, *, verb: Any, words: dict[str, str]) -> HttpResponse:
    form = ReasonForm(request.POST or None, person=request.user)
    code = 200
    if request.method == "POST" and form.is_valid():
        try:
            verb(
                dropoff=one,
                because=form.cleaned_data["because"],
                by=request.user,
                now=timezone.now(),
            )
            return go(request, one, f"{one} {words['done']}")
        except verbs.REFUSALS as refused:
            form.add_error("because", str(refused))
    if request.method == "POST":
        code = 422
    return page(
        request, "parts/dropoff_end.html", {"dropoff": one, "form": form, "words": words}, code=code
    )


@require_POST
def again(request: HttpRequest, number: int) -> HttpResponse:
    """A new drop-off with the lines of one that was taken back."""
    one = get_object_or_404(DropOff.objects.with_finisher().select_related("car"), number=number)
    key = key_of(request)
    if key is None:
        return dropoff_page(
            request, one, pick_problem="Reload the page and try once more.", code=422
        )
    try:
        new = verbs.start_again(dropoff=one, key=key, by=request.user, now=timezone.now())
    except verbs.REFUSALS as refused:
        return dropoff_page(request, one, pick_problem=str(refused), code=422)
    return go(request, new, f"{new} has the lines of {str(one).lower()}.")
