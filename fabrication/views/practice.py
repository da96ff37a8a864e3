"""Practice bends: one written down, one taken out, and what they measured taken over."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from fabrication.forms.practice import PracticeForm, first_boxes
from fabrication.kit import practice, tools
from fabrication.models import Former, PracticeBend, TubeStock
from garage.http import go, page


@require_http_methods(["GET", "HEAD", "POST"])
def practice_new(request: HttpRequest, pk: int) -> HttpResponse:
    former = get_object_or_404(Former, pk=pk)
    boxes = first_boxes(former, request.GET.get("tube", ""))
    form = PracticeForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        try:
            made = tools.add_practice_bend(
                key=form.cleaned_data["key"],
                former=former,
                values=form.values(),
                by=request.user,
                now=timezone.now(),
            )
            return go(request, f"{former.get_absolute_url()}#tube-{made.stock_id}", "It counts.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    code = 422 if form.is_bound and form.errors else 200
    return page(
        request, "fabrication/practice_new.html", {"form": form, "former": former}, code=code
    )


@require_POST
def practice_out(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(PracticeBend.objects.for_rows(), pk=pk)
    tools.take_out(row=one, now=timezone.now())
    return go(request, _there(one), f"{one} no longer counts. It can be brought back.")


@require_POST
def practice_back(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(PracticeBend.objects.for_rows(), pk=pk)
    tools.bring_back(row=one)
    return go(request, _there(one), f"{one} counts again.")


@require_POST
def former_measured(request: HttpRequest, pk: int, stock_pk: int) -> HttpResponse:
    """Takes over radius and start offset from the practice bends with one tube."""
    former = get_object_or_404(Former, pk=pk)
    stock = get_object_or_404(TubeStock, pk=stock_pk)
    try:
        practice.use_measured(former=former, stock=stock, now=timezone.now())
    except practice.NothingMeasured as nothing:
        return go(request, former, str(nothing))
    return go(request, former, "Every tube that has no practice bend of its own reckons with that.")


@require_POST
def former_put_back(request: HttpRequest, pk: int) -> HttpResponse:
    former = get_object_or_404(Former, pk=pk)
    practice.put_back(former=former)
    return go(request, former, "The earlier radius and start offset stand there again.")


def _there(bend: PracticeBend) -> str:
    return f"{bend.former.get_absolute_url()}#tube-{bend.stock_id}"
