"""Bond sheets: the list, one sheet, mixing, called hard, taken apart."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.curing import bond_checks, bond_loads, bonds, faces, trusted_time
from fabrication.curing.clockwork import NoTimes
from fabrication.curing.trusted_time import TimeDoubted, machine_now
from fabrication.forms.bonds import BondForm, BondNotesForm, MixForm, bond_boxes
from fabrication.models import Bond, Clock
from garage.http import go, page
from parts.joints import JointRefused
from parts.judging import JoinRefused
from parts.models import Part, Piece
from parts.tags import spoken

TEMPLATE = "fabrication/bond.html"
REFUSED = (bonds.BondRefused, JointRefused, JoinRefused, NoTimes, TimeDoubted)


@require_safe
def bond_sheets(request: HttpRequest) -> HttpResponse:
    return _sheets(request)


def _sheets(request: HttpRequest, **more: str) -> HttpResponse:
    if request.user.car is None:
        return redirect("cars")
    found = Bond.objects.of_car(request.user.car).for_rows().newest_first()
    return page(request, "fabrication/bonds.html", {"bonds": found, **more})


@require_safe
def bond_begin(request: HttpRequest) -> HttpResponse:
    """On to a new bond of the part whose tag was typed."""
    if "tag" not in request.GET:
        return _sheets(request)
    tag = spoken(request.GET["tag"])
    part = Part.objects.kept().of(request.user.car).with_pieces().tagged(tag)
    if part is None:
        wrong = f"No part of this car has the tag {tag}." if tag else "Write a tag: K7M."
        return _sheets(request, tag=tag, tag_wrong=wrong)
    return redirect("bond_new", part.fitted_piece.pk)


@require_http_methods(["GET", "HEAD", "POST"])
def bond_new(request: HttpRequest, pk: int) -> HttpResponse:
    """A new bond of a piece: what is glued on, onto what, with what."""
    piece = get_object_or_404(Piece.objects.kept().select_related("part__car"), pk=pk)
    form = BondForm(request.POST or None, person=request.user, car=piece.part.car)
    if request.method == "POST" and form.is_valid():
        try:
            made = bonds.write_down(
                key=form.cleaned_data["key"],
                piece=piece,
                values=form.values(),
                by=request.user,
                now=timezone.now(),
            )
            return go(request, made, f"{made} is written down.")
        except bonds.OtherUnderThisKey as other:
            form.renew_key(str(other))
        except bonds.BondRefused as refused:
            form.add_error(None, str(refused))
    code = 422 if form.is_bound else 200
    return page(request, TEMPLATE, {"form": form, "piece": piece}, code=code)


@require_http_methods(["GET", "HEAD", "POST"])
def bond(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Bond.objects.for_rows(), pk=pk)
    form = _form_of(request, one)
    theirs = None
    if request.method == "POST" and form.is_valid():
        try:
            saved = bonds.save(
                bond=one,
                seen=form.cleaned_data["seen"] or 0,
                values=form.values(),
                by=request.user,
                now=timezone.now(),
            )
            return go(request, saved, f"{saved} is saved.")
        except bonds.Stale as stale:
            theirs = stale.bond
            form.add_error(None, str(stale))
            form.put("seen", str(theirs.version))
        except bonds.BondRefused as refused:
            form.add_error(None, str(refused))
    return _page(request, one, form=form, theirs=theirs, code=422 if form.is_bound else 200)


@require_POST
def bond_mix(request: HttpRequest, pk: int) -> HttpResponse:
    """Mixing starts: the pieces are joined, the joint is written down, the clock runs."""
    one = get_object_or_404(Bond.objects.for_rows(), pk=pk)
    form = MixForm(request.POST, person=request.user)
    if form.is_valid():
        now = timezone.now()
        try:
            clock = bonds.mix(
                bond=one, by=request.user, now=now, machine=machine_now(now), **form.cleaned_data
            )
            return go(request, clock, f"{one} is mixed. The clock runs.")
        except REFUSED as refused:
            form.add_error(None, str(refused))
    return _page(request, one, mix_form=form, code=422)


@require_POST
def bond_hard(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Bond.objects.for_rows(), pk=pk)
    now = timezone.now()
    try:
        bonds.call_hard(bond=one, by=request.user, now=now, machine=machine_now(now))
    except (bonds.BondRefused, JointRefused) as refused:
        return _page(request, one, refused=str(refused), code=422)
    return go(request, one, f"{one} is hard.")


@require_POST
def bond_part(request: HttpRequest, pk: int) -> HttpResponse:
    """Taken apart again, or never glued after all."""
    one = get_object_or_404(Bond.objects.for_rows(), pk=pk)
    because = request.POST.get("because", "").strip()[:120]
    try:
        bonds.part(bond=one, because=because, by=request.user, now=timezone.now())
    except (bonds.BondRefused, JointRefused) as refused:
        return _page(request, one, refused=str(refused), code=422)
    return go(request, one, f"{one} is apart. The pieces are on their own again.")


def _form_of(request: HttpRequest, one: Bond) -> BondForm | BondNotesForm:
    """The whole form until it is mixed; after that only what may still be noted."""
    boxes = bond_boxes(one, person=request.user)
    data = request.POST or None
    if one.is_mixed:
        return BondNotesForm(data, person=request.user, initial=boxes)
    return BondForm(data, person=request.user, initial=boxes, car=one.piece.part.car)


def _page(
    request: HttpRequest,
    one: Bond,
    *,
    form: Any = None,
    mix_form: MixForm | None = None,
    theirs: Bond | None = None,
    refused: str = "",
    code: int = 200,
) -> HttpResponse:
    if form is None:
        boxes = bond_boxes(one, person=request.user)
        cls = BondNotesForm if one.is_mixed else BondForm
        more = {} if one.is_mixed else {"car": one.piece.part.car}
        form = cls(person=request.user, initial=boxes, **more)
    now = timezone.now()
    clock = Clock.objects.of_bond(one).for_page().newest_first().first()
    doubt = trusted_time.doubt(now=now, machine=machine_now(now)) if clock else ""
    context = {
        "bond": one,
        "piece": one.piece,
        "form": form,
        "mix_form": mix_form or MixForm(person=request.user),
        "face": faces.face_of(clock, now=now, doubt=doubt) if clock else None,
        "findings": bond_checks.findings(one),
        "stopping": bond_checks.stops(one),
        "refusal": refused,
        "bearing": bond_loads.bearing_of(one),
        "theirs": theirs,
        "checks": bond_checks.CHECKS,
    }
    return page(request, TEMPLATE, context, code=code)
