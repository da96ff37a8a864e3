"""Bonds, coats, and the clocks that both harden by."""

from typing import TYPE_CHECKING, Any

from django.db import models
from django.urls import reverse

from fabrication.models.sheet import Duty

if TYPE_CHECKING:
    from datetime import datetime

    from garage.models import Car
    from parts.models import Joint


class BondQuerySet(models.QuerySet["Bond"]):
    def for_rows(self) -> "BondQuerySet":
        return self.select_related(
            "piece__part__car", "onto__part", "adhesive", "joint__looked_by", "mixed_by"
        )

    def of_car(self, car: "Car") -> "BondQuerySet":
        return self.filter(piece__part__car=car)

    def of_part(self, part: models.Model) -> "BondQuerySet":
        """Bonds in which a piece of the part is glued, or glued onto."""
        return self.filter(models.Q(piece__part=part) | models.Q(onto__part=part))

    def newest_first(self) -> "BondQuerySet":
        return self.order_by("-changed_at", "-pk")


class Bond(models.Model):
    """One glued joint: what is glued onto what, with what, how it was prepared and proved.

    ``typed`` holds what was typed in the box of each figure, by the field's name.
    """

    class Found(models.TextChoices):
        AS_FOUND = "as_found", "As found: paint, plating, rust or oil"
        HAND = "hand", "Bright metal, abraded by hand, degreased"
        BLASTED = "blasted", "Blasted, glued within the hour"

    class Where(models.TextChoices):
        HOUSE = "house", "In the house"
        GARAGE = "garage", "In the garage"
        OTHER = "other", "Somewhere else"

    class Trial(models.TextChoices):
        NOT_YET = "", "Not tried yet"
        HELD = "held", "It held: the metal bent or the pull gave up first"
        LET_GO = "let_go", "It let go"

    class Wet(models.TextChoices):
        DRY = "dry", "Dry"
        WET = "wet", "Wet, salt or coolant"

    key = models.UUIDField(unique=True)
    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="bonds")
    onto = models.ForeignKey(
        "parts.Piece", models.CASCADE, related_name="bonds_onto", verbose_name="Glued onto"
    )
    adhesive = models.ForeignKey(
        "parts.Adhesive", models.PROTECT, related_name="bonds", verbose_name="Glue"
    )
    joint = models.OneToOneField(
        "parts.Joint", models.SET_NULL, null=True, blank=True, related_name="bond"
    )
    duty = models.CharField("What runs in it", max_length=8, choices=Duty.choices, blank=True)
    is_only_fixing = models.BooleanField("Glue alone holds it", default=False)
    holds_safety = models.BooleanField(
        "It holds a part of brakes, fuel, steering or seats", default=False
    )
    is_overhead = models.BooleanField("It hangs over somebody or over the road", default=False)
    found = models.CharField("How the metal is", max_length=8, choices=Found.choices)
    # Codes of fabrication.curing.bonds.CHECKS that were ticked.
    checks = models.JSONField(default=list)
    trial_piece = models.CharField("Test piece", max_length=200, blank=True)
    trial = models.CharField("What it did", max_length=6, choices=Trial.choices, blank=True)
    trial_note = models.CharField("What it looked like", max_length=300, blank=True)
    where = models.CharField("Where it lies while it cures", max_length=6, choices=Where.choices)
    wet = models.CharField("In use", max_length=3, choices=Wet.choices, default=Wet.WET)
    od_mm = models.FloatField("Tube, outside", null=True, blank=True)
    wrap_deg = models.FloatField("How far it wraps", null=True, blank=True)
    width_mm = models.FloatField("Width", null=True, blank=True)
    load_g = models.FloatField("What it carries", null=True, blank=True)
    shake_ratio = models.FloatField("Shaken by, times its weight", null=True, blank=True)
    arm_mm = models.FloatField("Load stands off by", null=True, blank=True)
    gap_mm = models.FloatField("Gap to fill", null=True, blank=True)
    service_c = models.FloatField("Hottest in use", null=True, blank=True)
    typed = models.JSONField(default=dict)
    clamp_note = models.CharField("How it is clamped", max_length=300, blank=True)
    mixed_at = models.DateTimeField(null=True, blank=True)
    mixed_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    parted_at = models.DateTimeField(null=True, blank=True)
    version = models.PositiveIntegerField(default=1)
    created_at = models.DateTimeField()
    changed_at = models.DateTimeField()
    changed_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    objects = BondQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=~models.Q(piece=models.F("onto")), name="a_bond_joins_two_pieces"
            )
        ]

    def __str__(self) -> str:
        return f"G{self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("bond", args=[self.pk])

    @property
    def title(self) -> str:
        return f"{self.piece.part.name} onto {self.onto.part.name}"

    @property
    def is_mixed(self) -> bool:
        return self.mixed_at is not None

    @property
    def is_parted(self) -> bool:
        return self.parted_at is not None


class CoatQuerySet(models.QuerySet["Coat"]):
    def of_piece(self, piece: models.Model) -> "CoatQuerySet":
        return self.filter(piece=piece).order_by("number", "pk")


class Coat(models.Model):
    """One coat of a finish made at home, with the times of its tin."""

    class What(models.TextChoices):
        PRIMER = "primer", "Primer"
        FILLER = "filler", "Filler primer"
        COLOUR = "colour", "Colour"
        CLEAR = "clear", "Clear coat"
        OTHER = "other", "Other"

    key = models.UUIDField(unique=True)
    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="coats")
    number = models.PositiveSmallIntegerField()
    what = models.CharField("Coat", max_length=6, choices=What.choices)
    product = models.CharField("Paint", max_length=80, blank=True)
    has_isocyanate = models.BooleanField("Two-part paint with isocyanate", default=False)
    # As fabrication.curing.clockwork reads it: next coat as "handling", handling as "full".
    times = models.JSONField(default=list)
    lower_limit_c = models.FloatField("No coat below", null=True, blank=True)
    window_h = models.FloatField("Next coat not later than", null=True, blank=True)
    put_on_at = models.DateTimeField(null=True, blank=True)

    objects = CoatQuerySet.as_manager()

    class Meta:
        ordering = ["number", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["piece", "number"], name="one_coat_of_a_number")
        ]

    def __str__(self) -> str:
        return f"Coat {self.number}, {self.get_what_display().lower()}"

    def get_absolute_url(self) -> str:
        return reverse("coats", args=[self.piece_id])


class ClockQuerySet(models.QuerySet["Clock"]):
    def for_page(self) -> "ClockQuerySet":
        return self.select_related(
            "bond__piece__part",
            "bond__onto__part",
            "bond__joint__looked_by",
            "coat__piece__part",
            "car",
        ).prefetch_related("readings__by")

    def running(self) -> "ClockQuerySet":
        """Clocks that count: nobody stopped them, and their joint is neither called hard nor
        taken apart.
        """
        return self.not_stopped().filter(bond__joint__looked_at=None, bond__joint__parted_at=None)

    def not_stopped(self) -> "ClockQuerySet":
        """Clocks that nobody stopped. Where its joint is settled, an undo lets one run again."""
        return self.filter(stopped_at=None)

    def over(self) -> "ClockQuerySet":
        """Clocks that count no more, with what ended them."""
        ended = (
            ~models.Q(stopped_at=None)
            | ~models.Q(bond__joint__looked_at=None)
            | ~models.Q(bond__joint__parted_at=None)
        )
        return self.filter(ended).select_related("bond__joint__looked_by")

    def of_car(self, car: "Car") -> "ClockQuerySet":
        return self.filter(car=car)

    def of_bond(self, bond: Bond) -> "ClockQuerySet":
        return self.filter(bond=bond)

    def of_part(self, part: models.Model) -> "ClockQuerySet":
        """Clocks of what is glued on, glued onto, or painted of a part."""
        return self.filter(
            models.Q(bond__piece__part=part)
            | models.Q(bond__onto__part=part)
            | models.Q(coat__piece__part=part)
        )

    def of_coats(self, piece: models.Model) -> "ClockQuerySet":
        """Clocks of the coats of a piece."""
        return self.filter(coat__piece=piece)

    def oldest_first(self) -> "ClockQuerySet":
        return self.order_by("started_at", "pk")

    def newest_first(self) -> "ClockQuerySet":
        return self.order_by("-started_at", "-pk")


class Clock(models.Model):
    """One thing that hardens. The log beside it says how far; ``model`` is what its sheet printed
    when the clock was started, and does not change with the sheet.
    """

    class Kind(models.TextChoices):
        BOND = "bond", "Bond"
        COAT = "coat", "Coat"

    key = models.UUIDField(unique=True)
    kind = models.CharField(max_length=4, choices=Kind.choices)
    car = models.ForeignKey("garage.Car", models.CASCADE, related_name="clocks")
    bond = models.ForeignKey(Bond, models.CASCADE, null=True, blank=True, related_name="clocks")
    coat = models.ForeignKey(Coat, models.CASCADE, null=True, blank=True, related_name="clocks")
    words = models.CharField(max_length=200)
    model = models.JSONField()
    started_at = models.DateTimeField()
    started_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    stopped_at = models.DateTimeField(null=True, blank=True)
    stopped_because = models.CharField(max_length=120, blank=True)

    objects = ClockQuerySet.as_manager()

    class Meta:
        constraints = [
            models.CheckConstraint(
                condition=models.Q(kind="bond", bond__isnull=False, coat=None)
                | models.Q(kind="coat", coat__isnull=False, bond=None),
                name="a_clock_has_one_subject",
            )
        ]
        indexes = [models.Index(fields=["car", "stopped_at"], name="clock_running")]

    def __str__(self) -> str:
        return self.words

    def get_absolute_url(self) -> str:
        return reverse("cure", args=[self.pk])

    @property
    def subject(self) -> Any:
        return self.bond or self.coat

    @property
    def is_running(self) -> bool:
        return self.over_at is None

    @property
    def over_at(self) -> "datetime | None":
        """Since when it counts no more: stopped, or its joint called hard or taken apart."""
        joint = self._joint
        settled = (joint.looked_at or joint.parted_at) if joint else None
        return self.stopped_at or settled

    @property
    def over_because(self) -> str:
        joint = self._joint
        if self.stopped_at or joint is None:
            return self.stopped_because
        if joint.looked_at:
            who = joint.looked_by.name if joint.looked_by else "Somebody"
            return f"{who} looked and called it hard"
        return "The joint was taken apart" if joint.parted_at else ""

    @property
    def _joint(self) -> "Joint | None":
        return self.bond.joint if self.bond else None

    @property
    def is_bond(self) -> bool:
        return self.kind == self.Kind.BOND

    @property
    def piece(self) -> Any:
        return self.bond.piece if self.bond else self.coat.piece

    def log(self) -> list["TemperatureReading"]:
        """The readings that count, in order of time, from what was prefetched."""
        counted = [reading for reading in self.readings.all() if reading.struck_at is None]
        return sorted(counted, key=lambda reading: reading.at)


class TemperatureReading(models.Model):
    """How warm the part was. Never edited: a wrong one is struck, and stays readable."""

    key = models.UUIDField(unique=True)
    clock = models.ForeignKey(Clock, models.CASCADE, related_name="readings")
    at = models.DateTimeField()
    temp_c = models.FloatField()
    # The lowest of the night, known to the hour; or the lowest since the reading before.
    is_lowest = models.BooleanField(default=False)
    lowest_before_c = models.FloatField(null=True, blank=True)
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    written_at = models.DateTimeField()
    struck_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["at", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["clock", "at"],
                condition=models.Q(struck_at=None),
                name="one_reading_at_a_time",
            )
        ]

    def __str__(self) -> str:
        return f"{self.temp_c:g} °C"


class TimeMark(models.Model):
    """The latest time this computer has shown, and how long it had been running then.

    One row. A clock that is behind it, or that moved on otherwise than the running time did, is
    not believed.
    """

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    at = models.DateTimeField()
    boot = models.CharField(max_length=40, blank=True)
    up_s = models.FloatField(null=True, blank=True)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(id=1), name="one_time_mark")]

    def __str__(self) -> str:
        return f"{self.at:%Y-%m-%d %H:%M:%S}"

    @classmethod
    def latest(cls) -> "TimeMark | None":
        return cls.objects.filter(id=1).first()


class CalendarFeedQuerySet(models.QuerySet["CalendarFeed"]):
    def of_person(self, person: models.Model) -> "CalendarFeedQuerySet":
        return self.filter(person=person)


class CalendarFeed(models.Model):
    """A person's own calendar address. The token in it is made from ``nonce`` and the signing
    key, so that the database alone does not open it.
    """

    key = models.UUIDField(unique=True)
    person = models.OneToOneField("garage.Person", models.CASCADE, related_name="calendar_feed")
    nonce = models.CharField(max_length=64)
    made_at = models.DateTimeField()

    objects = CalendarFeedQuerySet.as_manager()

    def __str__(self) -> str:
        return f"calendar of {self.person}"
