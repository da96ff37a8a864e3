"""Joints of a piece: written down, called hard, taken apart."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage.http import go, page
from parts import joints as verbs
from parts.forms.heat import JointForm
from parts.models import Joint, Piece


@require_http_methods(["GET", "HEAD", "POST"])
def joint_new(request: HttpRequest, pk: int) -> HttpResponse:
    piece = get_object_or_404(Piece.objects.kept().select_related("part"), pk=pk)
    form = JointForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            joint = verbs.make_joint(
                piece=piece, by=request.user, now=timezone.now(), **form.cleaned_data
            )
            return go(request, piece, f"{joint.says}: written down.", undo=joint.key)
        except verbs.JointRefused as refused:
            form.add_error(None, str(refused))
    code = 422 if form.is_bound else 200
    return page(request, "parts/joint_new.html", {"form": form, "piece": piece}, code=code)


@require_POST
def joint_hard(request: HttpRequest, pk: int) -> HttpResponse:
    """ "I looked, it is hard"."""
    joint = _joint(pk)
    try:
        event = verbs.call_hard(joint=joint, by=request.user, now=timezone.now())
    except verbs.JointRefused as refused:
        return go(request, joint.piece, str(refused))
    said = f"{joint.says}: hard, because you looked."
    return go(request, joint.piece, said, undo=event.key if event else None)


@require_POST
def joint_apart(request: HttpRequest, pk: int) -> HttpResponse:
    joint = _joint(pk)
    try:
        event = verbs.part_joint(joint=joint, by=request.user, now=timezone.now())
    except verbs.JointRefused as refused:
        return go(request, joint.piece, str(refused))
    return go(request, joint.piece, f"{joint.says}: taken apart.", undo=event.key)


def _joint(pk: int) -> Joint:
    return get_object_or_404(Joint.objects.with_metals().select_related("piece__part"), pk=pk)
