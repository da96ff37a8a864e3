from django.db import models


class Garage(models.Model):
    """The one garage of this installation: what stands at the head of every sheet."""

    A4, LETTER = "a4", "letter"

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    name = models.CharField("Name of the garage", max_length=80, default="Our garage")
    address = models.TextField("Address", max_length=300, blank=True)
    phone = models.CharField("Telephone", max_length=40, blank=True)
    currency = models.CharField("Currency", max_length=3, default="GBP")
    paper = models.CharField(
        "Paper", max_length=6, choices=[(A4, "A4"), (LETTER, "US Letter")], default=A4
    )
    time_zone = models.CharField("Time zone", max_length=60, default="UTC")
    tags_given = models.PositiveIntegerField(default=0, editable=False)
    dropoffs_numbered = models.PositiveIntegerField(default=0, editable=False)

    class Meta:
        constraints = [
            models.CheckConstraint(condition=models.Q(id=1), name="one_garage_per_installation")
        ]

    def __str__(self) -> str:
        return self.name

    @classmethod
    def here(cls) -> "Garage":
        """The garage, made with its defaults when asked for the first time."""
        return cls.objects.get_or_create(id=1)[0]


class SetupCode(models.Model):
    """The one-time code that makes the first owner. One row, so two posts make one owner."""

    id = models.PositiveSmallIntegerField(primary_key=True, default=1, editable=False)
    digest = models.CharField(max_length=64)
    expires_at = models.DateTimeField()
    tries_left = models.PositiveSmallIntegerField(default=5)

    class Meta:
        constraints = [models.CheckConstraint(condition=models.Q(id=1), name="one_setup_code")]

    def __str__(self) -> str:
        return f"setup code until {self.expires_at:%H:%M}"
