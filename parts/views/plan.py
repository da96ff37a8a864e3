"""Judging a piece, its route card step by step, and the bench."""

from collections.abc import Callable
from datetime import datetime

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from garage.http import go, page
from garage.panels import panels_for
from parts import plan
from parts.forms.plan import DoneForm, JudgeForm, LeaveForm, StepForm
from parts.models import Event, Kind, Piece, Step
from parts.models.plan import BENCH_WORK, DONE_BY_COUNTING, DONE_BY_FITTING

AT_MOST = 30  # of each list on the bench page; the rest is a filter of the parts list


@require_http_methods(["GET", "HEAD", "POST"])
def judge(request: HttpRequest, pk: int) -> HttpResponse:
    piece = get_object_or_404(Piece.objects.kept().select_related("part__system"), pk=pk)
    form = JudgeForm(request.POST or None, person=request.user)
    context = {
        "form": form,
        "piece": piece,
        "routes": plan.ROUTES,
        "questions": piece.part.questions.unsettled(),
    }
    if request.method != "POST" or not form.is_valid():
        return page(request, "parts/judge.html", context, code=422 if form.is_bound else 200)
    said = form.cleaned_data
    route = plan.ROUTE_BY_CODE[said["route"]]
    try:
        plan.judge(piece=piece, by=request.user, now=timezone.now(), **said | {"route": route})
    except plan.PlannedAlready as used:
        form.renew_key(f"{used}. Save once more to judge it anew.")
        return page(request, "parts/judge.html", context, code=422)
    return go(request, piece, f"{piece.tag}: {route.label.lower()}.")


@require_http_methods(["GET", "HEAD", "POST"])
def add_step(request: HttpRequest, pk: int) -> HttpResponse:
    piece = get_object_or_404(Piece.objects.kept().select_related("part"), pk=pk)
    form = StepForm(request.POST or None, person=request.user)
    context = {"form": form, "piece": piece}
    if request.method != "POST" or not form.is_valid():
        return page(request, "parts/step_add.html", context, code=422 if form.is_bound else 200)
    said = form.cleaned_data
    kind = Kind(said["kind"])
    said |= {"kind": kind, "work": said["work"] if kind == Kind.SEND_OUT else ""}
    try:
        step = plan.add_step(piece=piece, by=request.user, now=timezone.now(), **said)
    except plan.PlannedAlready as used:
        form.renew_key(f"{used}. Save once more to add another step.")
        return page(request, "parts/step_add.html", context, code=422)
    return go(request, piece, f"{step} is on the route card.")


@require_http_methods(["GET", "HEAD", "POST"])
def step(request: HttpRequest, pk: int) -> HttpResponse:
    """One step: begin it, write it down as done, leave it, move it up or down."""
    step = get_object_or_404(Step.objects.select_related("piece__part"), pk=pk)
    if request.method != "POST":
        return _step_page(request, step)
    now = timezone.now()
    name = next((word for word in VERBS if word in request.POST), "")
    try:
        made = VERBS[name](request, step, now) if name else None
    except plan.StepRefused as refused:
        return _step_page(request, step, said=str(refused), code=422)
    if isinstance(made, HttpResponse):
        return made
    undo = made.key if made and made.changes else None
    said = f"{step.piece.tag}: {SAID.get(name, 'nothing changed')}."
    return go(request, step.piece, said, undo=undo)


SAID = {
    "begin": "begun",
    "done": "written down",
    "leave": "left",
    "open": "open again",
    "up": "moved up",
    "down": "moved down",
}


def _begin(request: HttpRequest, step: Step, now: datetime) -> None:
    plan.begin(step=step, by=request.user, now=now)


def _done(request: HttpRequest, step: Step, now: datetime) -> HttpResponse | Event:
    form = DoneForm(request.POST, person=request.user)
    if not form.is_valid():
        return _step_page(request, step, done_form=form, code=422)
    if step.kind in (DONE_BY_COUNTING, DONE_BY_FITTING):
        raise plan.StepRefused(NOT_BY_HAND[step.kind])
    return plan.finish(step=step, by=request.user, now=now, **form.cleaned_data)


def _leave(request: HttpRequest, step: Step, now: datetime) -> HttpResponse | Event:
    form = LeaveForm(request.POST, person=request.user)
    if not form.is_valid():
        return _step_page(request, step, leave_form=form, code=422)
    return plan.leave(step=step, by=request.user, now=now, **form.cleaned_data)


def _open(request: HttpRequest, step: Step, now: datetime) -> Event:
    return plan.reopen(step=step, by=request.user, now=now)


def _up(request: HttpRequest, step: Step, now: datetime) -> None:
    plan.shift(step=step, up=True, by=request.user, now=now)


def _down(request: HttpRequest, step: Step, now: datetime) -> None:
    plan.shift(step=step, up=False, by=request.user, now=now)


VERBS: dict[str, Callable[[HttpRequest, Step, datetime], HttpResponse | Event | None]] = {
    "begin": _begin,
    "done": _done,
    "leave": _leave,
    "open": _open,
    "up": _up,
    "down": _down,
}
NOT_BY_HAND: dict[str, str] = {
    Kind.SEND_OUT: "It is done when it is counted back from its drop-off.",
    Kind.REFIT: "It is done when it is fitted: use Fit it.",
}


def _step_page(request: HttpRequest, step: Step, code: int = 200, **extra: object) -> HttpResponse:
    context = {
        "step": step,
        "piece": step.piece,
        "by_hand": step.kind not in NOT_BY_HAND,
        "not_by_hand": NOT_BY_HAND.get(step.kind, ""),
        "done_form": DoneForm(person=request.user, initial={"who": request.user.name}),
        "leave_form": LeaveForm(person=request.user),
    } | extra
    return page(request, "parts/step.html", context, code=code)


@require_safe
def bench(request: HttpRequest) -> HttpResponse:
    """What lies on the bench, and what the plans say is bench work next."""
    car = request.user.car
    if car is None:
        return redirect("cars")
    kept = Piece.objects.of(car).kept().for_rows()
    context = {
        "on_bench": kept.on_the_bench().newest_first()[:AT_MOST],
        "next_up": kept.next_is(*BENCH_WORK).off_the_bench().newest_first()[:AT_MOST],
        "trial": kept.next_is(Kind.TRIAL_FIT).newest_first()[:AT_MOST],
        "to_buy": kept.next_is(Kind.BUY).newest_first()[:AT_MOST],
        "at_most": AT_MOST,
        "panels": panels_for("bench", car),
    }
    return page(request, "parts/bench.html", context)
