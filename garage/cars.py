"""Cars and their systems: adding, choosing, dividing, throwing out."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any

from django.db import IntegrityError, transaction
from django.db.models import ProtectedError

from garage.models import Car, Person, System
from garage.models.car import give_starter_systems


class SystemsRefused(Exception):
    """The list of systems cannot be saved like that; says why."""


def add_car(*, car: Car, by: Person, now: datetime) -> Car:
    """The car, saved with the starter list of systems and chosen by the person who added it."""
    with transaction.atomic():
        car.created_at = now
        car.save()
        give_starter_systems(car)
        choose(car=car, by=by)
    return car


def choose(*, car: Car, by: Person) -> None:
    """Makes ``car`` the one this person sees."""
    by.car = car
    by.save(update_fields=["car"])


def divide(*, car: Car, rows: Iterable[dict[str, Any]]) -> None:
    """Saves the list of systems as it was written: renamed, reordered, added, left out.

    A row whose name was emptied leaves its system out. A system that no row names was added
    after the form was opened, and stays.

    Raises
    ------
    SystemsRefused
        When a system that has parts is left out, or a name stands twice.
    """
    rows = list(rows)
    by_system = {row["pk"]: row for row in rows if row.get("pk")}
    try:
        with transaction.atomic():
            for system in System.objects.filter(car=car):
                row = by_system.get(system.pk)
                if row is None:
                    continue
                if not row.get("name"):
                    system.delete()
                    continue
                system.name, system.asks_torque = row["name"], bool(row.get("asks_torque"))
                system.position = row.get("position") or 0
                system.save()
            for row in rows:
                if row.get("name") and not row.get("pk"):
                    System.objects.create(
                        car=car,
                        name=row["name"],
                        position=row.get("position") or 999,
                        asks_torque=bool(row.get("asks_torque")),
                    )
    except ProtectedError as kept:
        parts = len(kept.protected_objects)
        raise SystemsRefused(
            f"A system you left out still has {parts} parts. Move them to another system first."
        ) from None
    except IntegrityError:
        raise SystemsRefused("Two systems have the same name.") from None


def throw_out(*, car: Car, now: datetime) -> None:
    """Takes a car out of the garage's list; everybody who saw it sees none until they choose."""
    with transaction.atomic():
        car.thrown_out_at = now
        car.save(update_fields=["thrown_out_at"])
        Person.objects.filter(car=car).update(car=None)


def bring_back(*, car: Car) -> None:
    car.thrown_out_at = None
    car.save(update_fields=["thrown_out_at"])
