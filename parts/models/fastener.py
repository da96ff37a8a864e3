from django.core.validators import MaxValueValidator, MinValueValidator
from django.db import models


class HoleQuerySet(models.QuerySet["Hole"]):
    def with_stacks(self) -> "HoleQuerySet":
        return self.prefetch_related("stack")

    def with_torque(self) -> "HoleQuerySet":
        return self.exclude(torque_nm=None)


class Hole(models.Model):
    """A numbered hole of a part and how its joint is tightened.

    Holes that take the same stack may share a row: ``count`` says how many.
    """

    key = models.UUIDField(unique=True)
    part = models.ForeignKey("parts.Part", models.CASCADE, related_name="holes")
    number = models.PositiveSmallIntegerField("Hole")
    count = models.PositiveSmallIntegerField("How many alike", default=1)
    where = models.CharField("Where", max_length=80, blank=True)
    photo = models.ForeignKey(
        "parts.PartPhoto", models.SET_NULL, null=True, blank=True, related_name="holes"
    )
    x = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0.0), MaxValueValidator(1.0)]
    )
    y = models.FloatField(
        null=True, blank=True, validators=[MinValueValidator(0.0), MaxValueValidator(1.0)]
    )
    torque_nm = models.FloatField("Torque", null=True, blank=True)
    torque_typed = models.CharField(max_length=24, blank=True)
    torque_source = models.CharField("Torque from", max_length=120, blank=True)
    note = models.CharField("Note", max_length=200, blank=True)

    objects = HoleQuerySet.as_manager()

    class Meta:
        ordering = ["number", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["part", "number"], name="one_hole_of_a_number"),
            models.CheckConstraint(
                condition=models.Q(torque_nm=None) | models.Q(torque_nm__gt=0),
                name="torque_is_positive",
            ),
        ]

    def __str__(self) -> str:
        return f"hole {self.number}"


class StackItem(models.Model):
    """One thing on the bolt, counted from the head to the nut."""

    class What(models.TextChoices):
        BOLT = "bolt", "Bolt"
        SCREW = "screw", "Screw"
        STUD = "stud", "Stud"
        PLAIN_WASHER = "washer", "Plain washer"
        SPRING_WASHER = "spring_washer", "Spring washer"
        LOCK_WASHER = "lock_washer", "Lock or tab washer"
        BUSH = "bush", "Bush"
        SHIM = "shim", "Shim"
        SPACER = "spacer", "Spacer"
        THE_PART = "part", "The part itself"
        NUT = "nut", "Nut"
        LOCK_NUT = "lock_nut", "Lock nut"
        PIN = "pin", "Split pin or clevis pin"
        RIVET = "rivet", "Rivet"
        CLIP = "clip", "Clip"

    class Treatment(models.TextChoices):
        REUSE = "reuse", "Reuse"
        CLEAN = "clean", "Clean, reuse"
        RENEW = "renew", "Renew"

    THREADED = (What.BOLT, What.SCREW, What.STUD, What.NUT, What.LOCK_NUT)

    hole = models.ForeignKey(Hole, models.CASCADE, related_name="stack")
    position = models.PositiveSmallIntegerField()
    what = models.CharField("What", max_length=14, choices=What.choices)
    thread = models.CharField("Thread", max_length=24, blank=True)
    length_mm = models.FloatField("Length", null=True, blank=True)
    length_typed = models.CharField(max_length=24, blank=True)
    head = models.CharField("Head", max_length=40, blank=True)
    property_class = models.CharField("Class", max_length=10, blank=True)
    material = models.CharField("Material and plating", max_length=60, blank=True)
    treatment = models.CharField(
        "On refit", max_length=5, choices=Treatment.choices, default=Treatment.CLEAN
    )

    class Meta:
        ordering = ["position", "pk"]

    def __str__(self) -> str:
        return self.get_what_display()

    @property
    def is_threaded(self) -> bool:
        return self.what in self.THREADED


class Connection(models.Model):
    """One end of a hose, wire, cable or pipe, and the port it goes to."""

    class Carries(models.TextChoices):
        HOSE = "hose", "Hose"
        PIPE = "pipe", "Pipe"
        WIRE = "wire", "Wire"
        CABLE = "cable", "Cable"
        ROD = "rod", "Rod or link"

    key = models.UUIDField(unique=True)
    part = models.ForeignKey("parts.Part", models.CASCADE, related_name="connections")
    carries = models.CharField("What", max_length=5, choices=Carries.choices)
    end = models.CharField("This end", max_length=80)
    other = models.ForeignKey(
        "parts.Part",
        models.SET_NULL,
        null=True,
        blank=True,
        related_name="connected_to",
        verbose_name="Goes to part",
    )
    port = models.CharField("Goes to port", max_length=80)
    note = models.CharField("Note", max_length=120, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.end} to {self.port}"
