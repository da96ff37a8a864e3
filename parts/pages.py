"""What the page of a part shows, gathered once for every view that shows it."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.urls import reverse

from garage.models import Person
from parts.checking import check_piece
from parts.connections import connection_lines
from parts.fasteners import holes_for
from parts.forms.parts import JoinForm, MoveForm, PhotoForm, QuestionForm
from parts.models import Event, Kind, Part, PartPhoto, Piece, Place, Progress
from parts.models.photo import AFTER, BEFORE
from parts.statuses import Move, Status

LINES = 200  # of history on a part's page


@dataclass(frozen=True, slots=True)
class Action:
    """The one thing to do next with a piece: the words of the main button and where it leads."""

    words: str
    url: str


def next_action(piece: Piece) -> Action | None:
    """The main button of a piece's page, by where it is and what its plan says."""
    tag = piece.part.tag
    if piece.status == Status.ON_CAR:
        return Action("Take it off", reverse("take_off_listed", args=[tag]))
    if piece.is_undecided:
        return Action("Decide what is to be done", reverse("piece_judge", args=[piece.pk]))
    if piece.status == Status.READY:
        return Action("Fit it", reverse("refit_piece", args=[piece.pk]))
    if piece.status == Status.FITTED_LOOSE:
        return Action("Tighten it", reverse("refit_piece", args=[piece.pk]))
    step = piece.next_step
    if step is None or piece.is_out:
        return None
    if step.kind == Kind.SEND_OUT:
        return Action("Put it on a drop-off", reverse("out"))
    if step.kind == Kind.PREPARE:
        return Action("Prepare it", reverse("prepare", args=[piece.pk]))
    return Action(f"{step.get_kind_display()}: begin or done", reverse("step", args=[step.pk]))


@dataclass(frozen=True, slots=True)
class Album:
    """The photos of a piece: one before, one after, and the rest in the order they were taken."""

    before: PartPhoto | None
    after: PartPhoto | None
    others: list[PartPhoto]

    @classmethod
    def of(cls, photos: list[PartPhoto]) -> "Album":
        before = _pick(photos, BEFORE)
        after = _pick(list(reversed(photos)), AFTER)
        pair = before if before and after else None
        shown = {photo.pk for photo in (pair, after if pair else None) if photo}
        return cls(
            before=pair,
            after=after if pair else None,
            others=[photo for photo in photos if photo.pk not in shown],
        )

    @property
    def pair(self) -> list[PartPhoto]:
        return [photo for photo in (self.before, self.after) if photo]


def _pick(photos: list[PartPhoto], moments: tuple[str, ...]) -> PartPhoto | None:
    for moment in moments:
        for photo in photos:
            if photo.moment == moment:
                return photo
    return None


def part_context(*, part: Part, piece: Piece, person: Person, now: datetime) -> dict[str, Any]:
    """Everything ``parts/part.html`` shows about one piece of a part."""
    steps = list(piece.steps.all())
    events = Event.objects.filter(part=part)
    photos = list(part.photos.kept().select_related("photo"))
    offered = [move for move in MoveForm.OFFERED if piece.can(move)]
    return {
        "part": part,
        "piece": piece,
        "pieces": list(part.pieces.all()),
        "action": next_action(piece),
        "steps": steps,
        "spent": events.standing().cost(),
        "minutes": sum(step.minutes or 0 for step in steps),
        "done": sum(step.progress in (Progress.DONE, Progress.LEFT) for step in steps),
        "album": Album.of([photo for photo in photos if photo.piece_id in (None, piece.pk)]),
        "photo_count": len(photos),
        "photo_form": PhotoForm(person=person, initial={"moment": _moment_for(piece)}),
        "holes": holes_for(part, person=person),
        "connections": connection_lines(part),
        "questions": list(part.questions.all()),
        "question_form": QuestionForm(person=person),
        "requirements": list(part.goes_on_after.select_related("first")),
        "required_by": list(part.goes_on_before.select_related("then")),
        "members": list(part.members.kept()),
        "joined": list(piece.joined.select_related("part")),
        "snags": list(part.snags.to_do()),
        "reminders": list(part.reminders.to_do()),
        "preparations": list(piece.preparations.all()),
        "fit": check_piece(piece, now=now),
        "joints": [
            (joint, joint.is_fit_for_heat(now)) for joint in piece.joints.standing().with_metals()
        ],
        "lines": list(piece.lines.select_related("dropoff__finisher").order_by("-pk")),
        "events": list(events.for_lines()[:LINES]),
        "drafts": list(part.drafts.filter(settled_at=None)),
        "moves": [(move.value, _move_words(move)) for move in offered],
        "move_form": MoveForm(person=person, initial={"place": str(piece.place or "")}),
        "join_form": JoinForm(person=person),
        "places": Place.objects.all(),
    }


def _moment_for(piece: Piece) -> str:
    if piece.is_fitted:
        return "refitted"
    if piece.status == Status.ON_CAR:
        return "in_place"
    return "back" if piece.lines.exists() else "off"


def _move_words(move: Move) -> str:
    return {
        Move.LOSE: "It is missing",
        Move.FIND: "It is found",
        Move.SCRAP: "Scrap it",
        Move.SELL: "It is sold",
        Move.GET_BACK: "Got it back",
        Move.RELEASE: "No longer needed as pattern",
    }.get(move, move.value.capitalize())
