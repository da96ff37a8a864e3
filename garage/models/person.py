from typing import Any

from django.contrib.auth.base_user import AbstractBaseUser, BaseUserManager
from django.db import models

from garage.figures import Mark


class Role(models.TextChoices):
    OWNER = "owner", "Owner"
    HELPER = "helper", "Helper"
    VIEWER = "viewer", "Viewer"

    @property
    def says(self) -> str:
        """What the role may do, in a sentence."""
        return {
            "owner": "does everything: people, cars, settings, sending a stopped piece anyway",
            "helper": "logs, photographs, moves, sends out, counts back and ticks off",
            "viewer": "looks, and changes nothing",
        }[self.value]


# Every role may do what the roles after it may do.
RANK = {Role.OWNER: 2, Role.HELPER: 1, Role.VIEWER: 0}


class PersonManager(BaseUserManager["Person"]):
    def get_queryset(self) -> models.QuerySet["Person"]:
        # Every page shows the car, so it comes with the person in one query.
        return super().get_queryset().select_related("car")

    def add(self, *, username: str, name: str, password: str, role: Role) -> "Person":
        """A new person who can sign in."""
        person = Person(username=fold_username(username), name=name, role=role)
        person.set_password(password)
        person.save()
        return person

    def get_by_natural_key(self, username: str | None) -> "Person":
        return self.get(username=fold_username(username or ""))

    def create_superuser(self, **fields: Any) -> "Person":
        """A new owner (the name Django's own commands expect)."""
        return self.add(role=Role.OWNER, **fields)


class Person(AbstractBaseUser):
    """Somebody who works in the garage or looks on."""

    REGIONS = [
        ("en_GB", "British: 25 Nov 2026, 12.5"),
        ("en_US", "American: Nov 25, 2026, 12.5"),
        ("en_AU", "Australian: 25 Nov 2026, 12.5"),
        ("de_DE", "German: 25. Nov. 2026, 12,5"),
        ("fr_FR", "French: 25 nov. 2026, 12,5"),
        ("nl_NL", "Dutch: 25 nov 2026, 12,5"),
        ("sv_SE", "Swedish: 25 nov. 2026, 12,5"),
    ]

    username = models.CharField("Name to sign in with", max_length=40, unique=True)
    name = models.CharField("Name", max_length=40)
    role = models.CharField("May", max_length=6, choices=Role.choices, default=Role.HELPER)
    is_active = models.BooleanField("May sign in", default=True)
    units = models.CharField(
        "Lengths in", max_length=2, choices=[("mm", "Millimetres"), ("in", "Inches")], default="mm"
    )
    region = models.CharField("Dates and figures", max_length=5, choices=REGIONS, default="en_GB")
    car = models.ForeignKey("garage.Car", models.SET_NULL, null=True, blank=True, related_name="+")

    USERNAME_FIELD = "username"
    REQUIRED_FIELDS = ["name"]

    objects = PersonManager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(role__in=Role.values), name="person_has_a_known_role"
            )
        ]
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def may(self, role: Role) -> bool:
        """Whether this person's role covers what ``role`` may do."""
        return RANK[Role(self.role)] >= RANK[role]

    @property
    def is_owner(self) -> bool:
        return self.role == Role.OWNER

    @property
    def works_here(self) -> bool:
        return self.may(Role.HELPER)

    @property
    def decimal_mark(self) -> Mark:
        """The decimal mark this person writes: a comma on the Continent, else a point."""
        return "." if self.region.startswith("en") else ","


def fold_username(text: str) -> str:
    """One spelling per person: case, width and outer spaces do not make another name."""
    return AbstractBaseUser.normalize_username(text).strip().casefold()
