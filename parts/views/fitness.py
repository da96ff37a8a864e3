"""Fit to send? The questions about a piece, before it joins a drop-off and on its own page."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage.http import asked_for, go, page
from garage.models import Person, Role
from garage.people import needs
from parts import checking, questions
from parts import dropoff as verbs
from parts.forms.heat import AnywayForm, QuestionsForm, SameForForm
from parts.models import DropOff, Line, Piece
from parts.models.finisher import Process, as_words
from parts.questions import Said
from parts.views.asking import ask_url
from parts.views.dropoffs import dropoff_of, dropoff_page

ASK = "parts/dropoff_ask.html"

# What is asked about a piece whose plan does not send it anywhere yet.
USUAL = (Process.BLAST, Process.POWDER)


@require_http_methods(["GET", "HEAD", "POST"])
def piece_questions(request: HttpRequest, pk: int) -> HttpResponse:
    """Every question about one piece, answered before or not."""
    piece = get_object_or_404(Piece.objects.kept().to_be_asked(), pk=pk)
    next_url = asked_for(request)
    works = questions.work_wanted(piece) or USUAL
    asked = questions.asked_of(piece, works)
    form = QuestionsForm(
        request.POST or None, person=request.user, piece=piece, asked=asked, works=works
    )
    if request.method == "POST" and form.is_valid():
        questions.answer(piece=piece, said=form.said(), by=request.user, now=timezone.now())
        return go(request, next_url or piece, f"What is on {piece.tag} is written down.")
    context = {"form": form, "piece": piece, "work": as_words(works), "next": next_url}
    return page(request, "parts/piece_questions.html", context, code=422 if form.is_bound else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def dropoff_ask(request: HttpRequest, number: int) -> HttpResponse:
    """The open questions about the first of the chosen pieces; with the answers it joins."""
    one = dropoff_of(number)
    chosen = Piece.objects.of(one.car).to_be_asked().numbered(request.GET.getlist("pieces"))
    waiting = questions.unasked(chosen, one.finisher)
    if not waiting:
        return go(request, one)
    data = request.POST if request.method == "POST" else None
    asking = Asking.of(waiting, one, request.user, data)
    if data is None:
        return page(request, ASK, asking.context(one))
    if not asking.is_right:
        return page(request, ASK, asking.context(one), code=422)
    joining = asking.joining
    try:
        for piece in joining if asking.said else ():
            questions.answer(piece=piece, said=asking.said, by=request.user, now=timezone.now())
        verbs.add_pieces(dropoff=one, pieces=joining, by=request.user, now=timezone.now())
    except verbs.REFUSALS as refused:
        asking.form.add_error(None, str(refused))
        return page(request, ASK, asking.context(one), code=422)
    still = [piece for piece in waiting if piece not in joining]
    return go(request, ask_url(one, still) if still else one, _joined(joining))


@dataclass(frozen=True, slots=True)
class Asking:
    """The questions about one of the pieces that wait to join, and what was answered."""

    piece: Piece
    works: tuple[Process, ...]
    form: QuestionsForm
    same: SameForForm
    left: int
    is_skipped: bool

    @classmethod
    def of(cls, waiting: list[Piece], one: DropOff, person: Person, data: Any) -> "Asking":
        piece, others = waiting[0], waiting[1:]
        works = questions.works_for(piece, one.finisher)
        asked = questions.to_ask(piece, works)
        alike = [
            other
            for other in others
            if other.material == piece.material
            and questions.to_ask(other, questions.works_for(other, one.finisher)) == asked
        ]
        rows = Piece.objects.select_related("part").numbered([str(one.pk) for one in alike])
        return cls(
            piece=piece,
            works=works,
            form=QuestionsForm(data, person=person, piece=piece, asked=asked, works=works),
            same=SameForForm(data, person=person, others=rows),
            left=len(others),
            is_skipped=data is not None and "skip" in data,
        )

    @property
    def is_right(self) -> bool:
        """Whether it can be saved as it was sent; with nothing answered it always can."""
        return self.is_skipped or all([self.form.is_valid(), self.same.is_valid()])

    @property
    def said(self) -> list[Said]:
        return [] if self.is_skipped else self.form.said()

    @property
    def joining(self) -> list[Piece]:
        alike = [] if self.is_skipped else list(self.same.cleaned_data["same"])
        return [self.piece, *alike]

    def context(self, one: DropOff) -> dict[str, Any]:
        return {
            "dropoff": one,
            "piece": self.piece,
            "form": self.form,
            "same": self.same,
            "left": self.left,
            "work": as_words(self.works),
        }


def _joined(pieces: list[Piece]) -> str:
    one = len(pieces) == 1
    return f"{pieces[0]} is on the sheet." if one else f"{len(pieces)} on the sheet now."


@needs(Role.OWNER)
@require_POST
def line_anyway(request: HttpRequest, pk: int) -> HttpResponse:
    """The owner's word that a line is sent in spite of what stops it."""
    line = get_object_or_404(Line.objects.for_sheet().select_related("dropoff"), pk=pk)
    one = dropoff_of(line.dropoff.number)
    form = AnywayForm(request.POST, person=request.user, prefix=f"line-{pk}")
    if form.is_valid():
        try:
            checking.send_anyway(
                line=line, reason=form.cleaned_data["reason"], by=request.user, now=timezone.now()
            )
            return go(request, one, f"{line} goes out all the same. The reason is on the sheet.")
        except verbs.REFUSALS as refused:
            form.add_error(None, str(refused))
    return dropoff_page(request, one, anyway_form=form, anyway_line=pk, form=form, code=422)
