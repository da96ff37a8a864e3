"""Bonds, coats and clocks to test with: made by the verbs that the pages use."""

from datetime import datetime, timedelta
from types import SimpleNamespace
from typing import Any
from uuid import uuid4

from fabrication.curing import bonds, coats, cures, feed
from fabrication.models import Bond, Clock, Coat
from garage.models import Car, Person
from parts.models import Adhesive, Piece
from tests import factories
from tests.factories import NOW

TIMES = [{"temp_c": 20, "handling_h": 4, "full_h": 24}]
CHECKED = ["offered", "bright", "abraded", "degreased", "spacer", "second", "guarded"]


def make_adhesive(name: str = "Grey two-part", **fields: Any) -> Adhesive:
    """A glue of one printed temperature: handle after 4 h, full after 24 h, at 20 C."""
    return Adhesive.objects.create(
        key=uuid4(),
        **{
            "code": Adhesive.Code.STEEL_EPOXY,
            "name": name,
            "working_minutes": 45,
            "working_at_c": 20,
            "schedule": TIMES,
            "lower_limit_c": 10,
            "upper_cap_c": 60,
            "service_max_dry_c": 120,
            "service_max_wet_c": 110,
            "lap_shear_mpa": 18,
            "gap_max_mm": 3,
            "source": "the sheet in its box",
            **fields,
        },
    )


def two_pieces(*, car: Car, by: Person) -> tuple[Piece, Piece]:
    bracket = factories.make_piece(car=car, by=by, name="Bypass bracket")
    pipe = factories.make_piece(car=car, by=by, name="Bypass pipe")
    return bracket, pipe


def bond_values(onto: Piece, adhesive: Adhesive, **fields: Any) -> dict[str, Any]:
    return {
        "onto": onto,
        "adhesive": adhesive,
        "duty": "coolant",
        "is_only_fixing": False,
        "holds_safety": False,
        "found": "hand",
        "checks": CHECKED,
        "where": "house",
        "wet": "wet",
        "trial": "held",
        **fields,
    }


def make_bond(
    *, car: Car, by: Person, adhesive: Adhesive | None = None, now: datetime = NOW, **fields: Any
) -> Bond:
    bracket, pipe = two_pieces(car=car, by=by)
    values = bond_values(pipe, adhesive or make_adhesive(), **fields)
    return bonds.write_down(key=uuid4(), piece=bracket, values=values, by=by, now=now)


def mix(bond: Bond, *, by: Person, now: datetime = NOW, temp_c: float = 20.0, **more: Any) -> Clock:
    return bonds.mix(bond=bond, key=uuid4(), temp_c=temp_c, by=by, now=now, **more)


def read(clock: Clock, *, by: Person, at: datetime, temp_c: float = 20.0, **more: Any) -> Any:
    return cures.read(clock=clock, key=uuid4(), at=at, temp_c=temp_c, by=by, **{"now": at, **more})


def make_coat(*, piece: Piece, by: Person, **fields: Any) -> Coat:
    values = {
        "what": "primer",
        "product": "",
        "has_isocyanate": False,
        "times": [{"temp_c": 20, "handling_h": 0.5, "full_h": 6}],
        "lower_limit_c": None,
        "window_h": None,
        **fields,
    }
    return coats.plan(key=uuid4(), piece=piece, values=values, by=by)


def make_bond_rows(*, car: Car, by: Person) -> dict[str, Any]:
    """One bond to be mixed, one that hardens with its clock and a reading, a coat, a calendar."""
    bond = make_bond(car=car, by=by)
    mixed = make_bond(car=car, by=by, adhesive=make_adhesive("Black two-part"))
    clock = mix(mixed, by=by)
    calendar = feed.renew(person=by, now=NOW)
    return {
        "bond": bond,
        "mixed bond": mixed,
        "clock": clock,
        "temperature": read(clock, by=by, at=NOW + timedelta(hours=1)),
        "coat": make_coat(piece=bond.piece, by=by),
        "calendar": SimpleNamespace(key=calendar.key, token=feed.token_of(calendar.nonce)),
    }
