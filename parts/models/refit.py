from datetime import date

from django.db import models


class RequirementQuerySet(models.QuerySet["Requirement"]):
    def of(self, part: models.Model) -> "RequirementQuerySet":
        """Those that name the part on either side."""
        return self.filter(models.Q(first=part) | models.Q(then=part)).select_related(
            "first", "then"
        )


class Requirement(models.Model):
    """``first`` must be on the car before ``then`` can go on."""

    first = models.ForeignKey("parts.Part", models.CASCADE, related_name="goes_on_before")
    then = models.ForeignKey("parts.Part", models.CASCADE, related_name="goes_on_after")

    objects = RequirementQuerySet.as_manager()

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["first", "then"], name="one_requirement_of_a_pair"),
            models.CheckConstraint(
                condition=~models.Q(first=models.F("then")), name="no_part_before_itself"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first_id} before {self.then_id}"


class PreparationQuerySet(models.QuerySet["Preparation"]):
    def to_do(self) -> "PreparationQuerySet":
        return self.filter(done_at=None)

    def with_piece(self) -> "PreparationQuerySet":
        return self.select_related("piece__part")


class Preparation(models.Model):
    """One small job between coating and refit: chase these threads, brighten this earth."""

    class What(models.TextChoices):
        CHASE = "chase", "Chase"
        EARTH = "earth", "Clear earth"
        BORE = "bore", "Clear bore"
        FACE = "face", "Clean face"
        RENEW = "renew", "New fasteners"
        OTHER = "other", "Other"

    key = models.UUIDField(unique=True)
    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="preparations")
    what = models.CharField(max_length=6, choices=What.choices)
    count = models.PositiveSmallIntegerField(default=1)
    text = models.CharField("What", max_length=120)
    done_at = models.DateTimeField(null=True, blank=True)

    objects = PreparationQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.text


class TorqueUsed(models.Model):
    """The torque somebody really used on a hole."""

    hole = models.ForeignKey("parts.Hole", models.CASCADE, related_name="used")
    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="torques")
    torque_nm = models.FloatField()
    at = models.DateTimeField()
    by = models.ForeignKey("garage.Person", models.SET_NULL, null=True, related_name="+")

    class Meta:
        ordering = ["at"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(torque_nm__gt=0), name="torque_used_is_positive"
            )
        ]

    def __str__(self) -> str:
        return f"{self.torque_nm} N·m"


class ReminderQuerySet(models.QuerySet["Reminder"]):
    def of(self, car: models.Model) -> "ReminderQuerySet":
        return self.filter(car=car)

    def to_do(self) -> "ReminderQuerySet":
        return self.filter(done_at=None)

    def due(self, today: date) -> "ReminderQuerySet":
        return self.to_do().filter(models.Q(due_on=None) | models.Q(due_on__lte=today))


class Reminder(models.Model):
    """Something to do to a fitted part later: at ride height, after the first heat, on a day."""

    class When(models.TextChoices):
        RIDE_HEIGHT = "ride_height", "Tighten at ride height"
        FIRST_HEAT = "first_heat", "Tighten again after the first heat"
        ON_DAY = "on_day", "On a day"

    key = models.UUIDField(unique=True)
    car = models.ForeignKey("garage.Car", models.CASCADE, related_name="reminders")
    part = models.ForeignKey(
        "parts.Part", models.CASCADE, null=True, blank=True, related_name="reminders"
    )
    when = models.CharField("When", max_length=11, choices=When.choices)
    text = models.CharField("What", max_length=200, blank=True)
    due_on = models.DateField("Look at it on", null=True, blank=True)
    created_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)

    objects = ReminderQuerySet.as_manager()

    class Meta:
        ordering = ["due_on", "created_at"]

    def __str__(self) -> str:
        return self.text or self.get_when_display()


class SnagQuerySet(models.QuerySet["Snag"]):
    def of(self, car: models.Model) -> "SnagQuerySet":
        return self.filter(car=car)

    def snags(self) -> "SnagQuerySet":
        return self.filter(sort=Snag.Sort.SNAG)

    def to_do(self) -> "SnagQuerySet":
        return self.filter(done_at=None)


class Snag(models.Model):
    """A small thing to put right later, or the next job of a system."""

    class Sort(models.TextChoices):
        SNAG = "snag", "Snag"
        NEXT = "next", "Next job"

    key = models.UUIDField(unique=True)
    car = models.ForeignKey("garage.Car", models.CASCADE, related_name="snags")
    system = models.ForeignKey("garage.System", models.CASCADE, related_name="snags")
    part = models.ForeignKey(
        "parts.Part", models.SET_NULL, null=True, blank=True, related_name="snags"
    )
    sort = models.CharField("Which", max_length=4, choices=Sort.choices, default=Sort.SNAG)
    text = models.CharField("What is to be put right?", max_length=200)
    created_at = models.DateTimeField()
    done_at = models.DateTimeField(null=True, blank=True)

    objects = SnagQuerySet.as_manager()

    class Meta:
        ordering = ["done_at", "created_at"]

    def __str__(self) -> str:
        return self.text
