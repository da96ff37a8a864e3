"""Who may do what: the hand-kept tables of the access matrix, and the garage it is tried on.

``tests.garage.walker`` walks the URLconf by itself; here stands only what it cannot know. A route
with an argument that has no provider below fails by itself, and so does a name that is gone.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import uuid4

from django.conf import settings

from garage.models import Car, Garage, Person, Photo, Role
from parts import judging, plan
from parts import preparation as preparing
from parts.corners import add_corner, add_pin
from parts.dropoff import start
from parts.joints import make_joint
from parts.models import (
    Adhesive,
    Alloy,
    Connection,
    Corner,
    Draft,
    DropOff,
    Event,
    Finisher,
    Hole,
    Joint,
    Kind,
    Limit,
    Line,
    Part,
    PartPhoto,
    Piece,
    Pin,
    Place,
    Preparation,
    Question,
    Reminder,
    Requirement,
    Snag,
    StackItem,
    Step,
)
from parts.requirements import require
from parts.snags import write_down
from parts.statuses import Move, Status
from tests import factories
from tests.factories import NOW
from tests.garage.matrix_bench import BENCH, build_bench

# ---- the rules ----------------------------------------------------------------------------
# What is not listed: signed-in people look, helpers and owners change.
PUBLIC = {"cure_feed", "setup", "sign_in"}
OWNER_ONLY = {
    "backup_download",
    "car",
    "car_new",
    "car_systems",
    "car_throw_out",
    "condition",
    "condition_back_up",
    "condition_clock",
    "condition_copied",
    "line_anyway",
    "people",
    "person",
    "photo_original",
}
OWNER_MAY_POST = {"settings"}  # everybody reads it
VIEWER_MAY_POST = {"car_choose", "pass_phrase", "settings_mine", "sign_out", "sign_out_everywhere"}

# Answers that are right although they are no 2xx, 3xx or 422.
OTHER_ANSWERS = {
    "setup": {404},  # there is an owner
    "part_clash": {409},  # two texts that differ
    "take_back": {404},  # no such event
    "condition_back_up": {404, 409},  # PostgreSQL; records in the middle of a change
}


@dataclass
class World:
    """One row of everything that an address can name."""

    owner: Person
    helper: Person
    viewer: Person
    car: Car
    photo: Photo
    part: Part
    listed: Part
    binned: Part
    ready: Piece
    loose: Piece
    shot: PartPhoto
    question: Question
    place: Place
    step: Step
    draft: Draft
    event: Event
    hole: Hole
    joint: Joint
    connection: Connection
    corner: Corner
    pin: Pin
    finisher: Finisher
    building: DropOff
    line: Line
    out: DropOff
    snag: Snag
    reminder: Reminder
    preparation: Preparation
    requirement: Requirement
    bench: dict[str, Any]

    @property
    def piece(self) -> Piece:
        return self.part.fitted_piece

    @property
    def people(self) -> dict[str, Person | None]:
        return {
            "anonymous": None,
            "viewer": self.viewer,
            "helper": self.helper,
            "owner": self.owner,
        }


Provider = Callable[[World], Any]
PROVIDERS: dict[tuple[str, str], Provider] = {}


def _provide(kwarg: str, names: Iterable[str], provider: Provider) -> None:
    PROVIDERS.update({(name, kwarg): provider for name in names})


_provide(
    "tag",
    [
        "part",
        "part_change",
        "part_clash",
        "piece_add",
        "part_questions",
        "part_throw_out",
        "part_photos",
        "requirements",
        "holes",
        "hole_new",
        "connections",
        "connection_new",
    ],
    lambda world: world.part.tag,
)
_provide("tag", ["take_off_listed"], lambda world: world.listed.tag)
_provide("tag", ["part_bring_back"], lambda world: world.binned.tag)
_provide("pk", ["part_clash"], lambda world: world.draft.pk)
_provide("pk", ["part_photo"], lambda world: world.shot.pk)
_provide(
    "pk",
    [
        "piece_move",
        "piece_join",
        "piece_judge",
        "piece_questions",
        "joint_new",
        "step_add",
        "prepare",
        "trial_fit",
    ],
    lambda world: world.piece.pk,
)
_provide("pk", ["refit_piece", "fit"], lambda world: world.ready.pk)
_provide("pk", ["slacken"], lambda world: world.loose.pk)
_provide("pk", ["step"], lambda world: world.step.pk)
_provide("pk", ["place"], lambda world: world.place.pk)
_provide("pk", ["hole"], lambda world: world.hole.pk)
_provide("pk", ["connection"], lambda world: world.connection.pk)
_provide("pk", ["corner", "pin_new"], lambda world: world.corner.pk)
_provide("pk", ["pin"], lambda world: world.pin.pk)
_provide("pk", ["finisher", "finisher_change"], lambda world: world.finisher.pk)
_provide(
    "number",
    [
        "dropoff",
        "dropoff_ask",
        "dropoff_laid_out",
        "dropoff_hand_over",
        "dropoff_pieces",
        "dropoff_tag",
        "dropoff_lots",
    ],
    lambda world: world.building.number,
)
_provide(
    "number",
    [
        "dropoff_sheet",
        "dropoff_take_back",
        "dropoff_again",
        "dropoff_close",
        "dropoff_collect",
        "count",
    ],
    lambda world: world.out.number,
)
_provide("pk", ["dropoff_line", "dropoff_line_off", "line_anyway"], lambda world: world.line.pk)
_provide("pk", ["joint_hard", "joint_apart"], lambda world: world.joint.pk)
_provide("pk", ["adhesive"], lambda world: Adhesive.objects.first().pk)
_provide("pk", ["alloy"], lambda world: Alloy.objects.first().pk)
_provide("pk", ["limit"], lambda world: Limit.objects.first().pk)
_provide("pk", ["snag"], lambda world: world.snag.pk)
_provide("pk", ["reminder"], lambda world: world.reminder.pk)
_provide("pk", ["preparation"], lambda world: world.preparation.pk)
_provide("pk", ["person"], lambda world: world.helper.pk)
_provide("pk", ["car", "car_choose", "car_systems", "car_throw_out"], lambda world: world.car.pk)
_provide("key", ["photo", "photo_original"], lambda world: world.photo.key)
_provide("size", ["photo"], lambda world: 320)
for _routes, _argument, _row, _attribute in BENCH:
    _provide(
        _argument,
        _routes,
        lambda world, row=_row, name=_attribute: getattr(world.bench[row], name),
    )


# ---- the garage ---------------------------------------------------------------------------


def build_world() -> World:
    """A garage in the middle of the job, made by the verbs that the pages use."""
    Garage.here()
    factories.sow_heat()
    people = {
        role: factories.make_person(username=username, role=role)
        for role, username in ((Role.OWNER, "wren"), (Role.HELPER, "ade"), (Role.VIEWER, "mo"))
    }
    owner, car = people[Role.OWNER], factories.make_car()
    for person in people.values():
        person.car = car
        person.save(update_fields=["car"])
    place = factories.make_place()
    photo = factories.make_photo(by=owner)
    part = factories.make_part(car=car, by=owner, place=place, photos=[photo])
    listed = factories.make_part(car=car, by=owner, name="Fan shroud", still_on_car=True)
    binned = factories.make_part(car=car, by=owner, name="Rusted clip")
    judging.throw_out(part=binned, by=owner, now=NOW)
    piece = part.fitted_piece
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["remake"], by=owner, now=NOW)
    return World(
        owner=owner,
        helper=people[Role.HELPER],
        viewer=people[Role.VIEWER],
        car=car,
        photo=photo,
        part=part,
        listed=listed,
        binned=binned,
        place=place,
        shot=PartPhoto.objects.get(photo=photo),
        step=piece.steps.first(),
        event=Event.objects.filter(piece=piece).first(),
        bench=build_bench(car, part, owner),
        **_pieces_on_the_way(car, owner),
        **_what_a_part_has(part, listed, owner),
        **_what_is_out(car, owner),
        **_what_is_left_to_do(car, part, listed, owner),
    )


def _pieces_on_the_way(car: Car, by: Person) -> dict[str, Any]:
    """A piece that can go on, and one that is on and loose; others in further statuses."""
    names = ("Bonnet spring", "Drop arm", "Backing plate", "Pulley", "Bracket")
    pieces = [factories.make_piece(car=car, by=by, name=name) for name in names]
    ready, loose, tight, lost, pattern = pieces
    for piece in (ready, loose, tight):
        plan.add_step(piece=piece, key=uuid4(), kind=Kind.REFIT, by=by, now=NOW)
        piece.refresh_from_db()
        if piece.status != Status.READY:
            piece.move(Move.CALL_READY, by=by, now=NOW)
    loose.move(Move.FIT_LOOSE, by=by, now=NOW)
    tight.move(Move.TIGHTEN, by=by, now=NOW)
    lost.move(Move.LOSE, by=by, now=NOW)
    pattern.move(Move.KEEP_AS_PATTERN, by=by, now=NOW)
    return {"ready": ready, "loose": loose}


def _what_a_part_has(part: Part, other: Part, by: Person) -> dict[str, Any]:
    piece = part.fitted_piece
    hole = Hole.objects.create(key=uuid4(), part=part, number=1, torque_nm=22.0, torque_typed="22")
    StackItem.objects.create(hole=hole, position=1, what=StackItem.What.BOLT, thread="M8")
    draft = Draft.objects.create(
        part=part,
        piece=piece,
        by=by,
        at=NOW,
        base_version=1,
        fields={"notes": {"label": "Notes", "base": "", "mine": "chased"}},
    )
    joint = make_joint(piece=piece, key=uuid4(), how=Joint.How.GLUE, by=by, now=NOW)
    return {
        "hole": hole,
        "joint": joint,
        "draft": draft,
        "question": judging.doubt(
            part=part, key=uuid4(), question="Right one?", asked_of="Ilse", by=by, now=NOW
        ),
        "connection": Connection.objects.create(
            key=uuid4(), part=part, carries="hose", end="Lower spigot", port="Pump", other=other
        ),
        "requirement": _required(other, part, by),
        "preparation": preparing.add_preparation(
            piece=piece, key=uuid4(), what="chase", text="M8 threads", count=2, by=by, now=NOW
        ),
    }


def _required(first: Part, then: Part, by: Person) -> Requirement:
    require(first=first, then=then, by=by, now=NOW)
    return Requirement.objects.get()


def _what_is_out(car: Car, by: Person) -> dict[str, Any]:
    """A drop-off that is being built, and one that was handed over with its sheet."""
    finisher = factories.make_finisher()
    building, out = (
        start(
            key=uuid4(),
            car=car,
            finisher=finisher,
            pieces=[factories.make_piece(car=car, by=by, name=name)],
            by=by,
            now=NOW,
        )
        for name in ("Pedal box", "Air cleaner lid")
    )
    sheet = settings.SPLITPIN_DATA / "prints" / f"dropoff-{out.number}.pdf"
    sheet.parent.mkdir(parents=True, exist_ok=True)
    sheet.write_bytes(b"%PDF-1.7\n%%EOF\n")
    piece = out.lines.get().piece
    piece.move(Move.HAND_OVER, by=by, now=NOW, finisher=finisher, place=None)
    out.state, out.handed_over_at, out.due_on = DropOff.State.OUT, NOW, date(2026, 11, 20)
    out.sheet_file = f"prints/{sheet.name}"
    out.save()
    return {
        "finisher": finisher,
        "building": building,
        "line": building.lines.get(),
        "out": out,
    }


def _what_is_left_to_do(car: Car, part: Part, listed: Part, by: Person) -> dict[str, Any]:
    corner = add_corner(
        key=uuid4(),
        car=car,
        name="Engine bay, left",
        photos=[factories.make_photo(by=by, colour="#445566")],
        by=by,
        now=NOW,
    )[0]
    return {
        "corner": corner,
        "pin": add_pin(
            corner=corner, key=uuid4(), x=0.4, y=0.5, note="Shroud", by=by, now=NOW, part=listed
        ),
        "snag": write_down(
            key=uuid4(), system=part.system, text="Weeps at the hose", by=by, now=NOW
        ),
        "reminder": Reminder.objects.create(
            key=uuid4(), car=car, part=part, when=Reminder.When.RIDE_HEIGHT, created_at=NOW
        ),
    }
