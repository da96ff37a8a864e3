"""What heat, grit and acid meet on a piece: its joints, what is on it, and how much each stands.

The tables (adhesives, alloys, limits) are the garage's own: they begin with published figures and
figures of ours, and anybody who works here writes over them. Each row says where it comes from.
"""

from datetime import datetime, timedelta

from django.db import models
from django.urls import reverse

# A clock that ended is believed only as long as somebody still reads the temperature.
READING_HOLDS = timedelta(hours=12)


class Adhesive(models.Model):
    """One adhesive: a product with its sheet, or a class of them where there is no sheet.

    ``schedule`` is what the sheet prints about curing, one row a temperature:
    ``{"temp_c": 20, "handling_h": 12, "full_h": 15}``; an hour it does not print is ``None``.
    ``fit_for_heat_h`` is the age in hours at the first temperature of the schedule with a full
    cure; empty means full cure. ``short_peak_c`` stays empty until a product sheet says it.
    """

    class Code(models.TextChoices):
        STEEL_EPOXY = "steel_epoxy", "Two-part epoxy, steel-filled, slow"
        GENERAL_EPOXY = "general_epoxy", "Two-part epoxy, general"
        FAST_EPOXY = "fast_epoxy", "Two-part epoxy, fast (“5 minute”)"
        ACRYLIC = "acrylic", "Toughened acrylic"
        ANAEROBIC = "anaerobic", "Retaining compound (anaerobic)"
        HOT_EPOXY = "hot_epoxy", "Two-part epoxy, high temperature"
        OTHER = "other", "Other"

    key = models.UUIDField(unique=True)
    code = models.CharField("Sort", max_length=14, choices=Code.choices)
    name = models.CharField("Name", max_length=80, unique=True)
    working_minutes = models.FloatField("Working time", null=True, blank=True)
    working_at_c = models.FloatField("Working time is at", null=True, blank=True)
    schedule = models.JSONField("Curing times", default=list, blank=True)
    lower_limit_c = models.FloatField("No cure below", null=True, blank=True)
    upper_cap_c = models.FloatField("No faster above", null=True, blank=True)
    service_max_dry_c = models.FloatField("Hottest in use, dry", null=True, blank=True)
    service_max_wet_c = models.FloatField("Hottest in use, wet", null=True, blank=True)
    short_peak_c = models.FloatField("Stands for a short time", null=True, blank=True)
    short_peak_minutes = models.FloatField("Minutes at that", null=True, blank=True)
    fit_for_heat_h = models.FloatField("Fit for heat after", null=True, blank=True)
    lap_shear_mpa = models.FloatField("Lap shear on steel", null=True, blank=True)
    gap_max_mm = models.FloatField("Widest gap", null=True, blank=True)
    source = models.CharField("Where the figures come from", max_length=300)
    is_ours = models.BooleanField("Our figure", default=False)
    thrown_out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("adhesive", args=[self.pk])


class Alloy(models.Model):
    """A solder or braze, and where it begins and ends to melt."""

    class Family(models.TextChoices):
        SOFT = "soft", "Soft solder"
        SILVER = "silver", "Silver braze"
        BRASS = "brass", "Brass braze"
        COPPER_PHOSPHORUS = "copper_p", "Copper-phosphorus braze"

    key = models.UUIDField(unique=True)
    family = models.CharField("Sort", max_length=8, choices=Family.choices)
    name = models.CharField("Name", max_length=80, unique=True)
    solidus_c = models.FloatField("Begins to melt")
    liquidus_c = models.FloatField("All melted", null=True, blank=True)
    source = models.CharField("Where the figures come from", max_length=300)
    is_ours = models.BooleanField("Our figure", default=False)
    thrown_out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["solidus_c", "name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("alloy", args=[self.pk])

    @property
    def is_soft(self) -> bool:
        return self.family == self.Family.SOFT


class Limit(models.Model):
    """A thing that may be on a piece, and the heat it stands. [C]"""

    class Sort(models.TextChoices):
        LEFT_ON = "left_on", "Rubber, plastic, filler or sealer"
        BEARING = "bearing", "Bearing"
        MAGNET = "magnet", "Magnet"
        LINING = "lining", "Tin coating or white metal"

    key = models.UUIDField(unique=True)
    sort = models.CharField("Sort", max_length=8, choices=Sort.choices)
    name = models.CharField("Name", max_length=80, unique=True)
    limit_c = models.FloatField("Stands")
    source = models.CharField("Where the figure comes from", max_length=300)
    is_ours = models.BooleanField("Our figure", default=False)
    thrown_out_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["sort", "name"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("limit", args=[self.pk])


class JointQuerySet(models.QuerySet["Joint"]):
    def standing(self) -> "JointQuerySet":
        """Joints that were not taken apart."""
        return self.filter(parted_at=None)

    def with_metals(self) -> "JointQuerySet":
        return self.select_related("alloy", "adhesive", "looked_by")


class Joint(models.Model):
    """How two things on a piece hold together, and whether that has hardened yet."""

    class How(models.TextChoices):
        SOLDER = "solder", "Soldered"
        BRAZE = "braze", "Brazed"
        WELD = "weld", "Welded"
        GLUE = "glue", "Glued"
        PRESS = "press", "Pressed or crimped"
        FILLER = "filler", "Filled"

    class State(models.TextChoices):
        CURING = "curing", "Curing"
        HARD = "hard", "Hard"

    CURES = (How.GLUE, How.FILLER)

    key = models.UUIDField(unique=True)
    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="joints")
    how = models.CharField("How", max_length=6, choices=How.choices)
    alloy = models.ForeignKey(
        Alloy, models.PROTECT, null=True, blank=True, related_name="joints", verbose_name="With"
    )
    adhesive = models.ForeignKey(
        Adhesive, models.PROTECT, null=True, blank=True, related_name="joints", verbose_name="With"
    )
    note = models.CharField("What is joined, where", max_length=200, blank=True)
    state = models.CharField(max_length=6, choices=State.choices, default=State.HARD)
    # When it is fit for heat, as the temperatures read so far have it.
    hard_from = models.DateTimeField(null=True, blank=True)
    last_reading_at = models.DateTimeField(null=True, blank=True)
    looked_at = models.DateTimeField(null=True, blank=True)
    looked_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    parted_at = models.DateTimeField(null=True, blank=True)

    objects = JointQuerySet.as_manager()

    class Meta:
        ordering = ["made_at", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(state="hard") | models.Q(how__in=("glue", "filler")),
                name="only_glue_and_filler_cure",
            ),
            models.CheckConstraint(
                condition=models.Q(alloy=None) | models.Q(how__in=("solder", "braze")),
                name="only_solder_and_braze_have_an_alloy",
            ),
            models.CheckConstraint(
                condition=models.Q(adhesive=None) | models.Q(how="glue"),
                name="only_glue_has_an_adhesive",
            ),
        ]

    def __str__(self) -> str:
        return ": ".join(filter(None, [self.says, self.note]))

    @property
    def says(self) -> str:
        """ "Soldered, tin-lead 60/40": how, and with what."""
        metal = self.alloy or self.adhesive
        return f"{self.get_how_display()}, {metal}" if metal else self.get_how_display()

    @property
    def is_standing(self) -> bool:
        return self.parted_at is None

    @property
    def is_curing(self) -> bool:
        return self.state == self.State.CURING

    def is_fit_for_heat(self, now: datetime) -> bool:
        """Whether it has hardened: called hard, or the clock ended and the readings are fresh."""
        if not self.is_curing or self.looked_at:
            return True
        return self.clock_ended(now) and self.reading_is_fresh(now)

    def clock_ended(self, now: datetime) -> bool:
        return self.hard_from is not None and self.hard_from <= now

    def reading_is_fresh(self, now: datetime) -> bool:
        return self.last_reading_at is not None and now - self.last_reading_at <= READING_HOLDS


class Answer(models.Model):
    """What somebody at the bench said about a piece: yes, no, or don't know. Asked once."""

    class Says(models.TextChoices):
        YES = "yes", "Yes"
        NO = "no", "No"
        UNKNOWN = "unknown", "Don't know"

    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="answers")
    # A code of parts.questions.
    question = models.CharField(max_length=16)
    says = models.CharField(max_length=7, choices=Says.choices)
    # Of what was left on: which things of the table.
    things = models.ManyToManyField(Limit, blank=True, related_name="+")
    # Of thin sheet its thickness, of a close fit its play across. [mm]
    size_mm = models.FloatField(null=True, blank=True)
    size_typed = models.CharField(max_length=24, blank=True)
    at = models.DateTimeField()
    by = models.ForeignKey(
        "garage.Person", models.SET_NULL, null=True, blank=True, related_name="+"
    )

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["piece", "question"], name="one_answer_to_a_question_about_a_piece"
            )
        ]

    def __str__(self) -> str:
        return f"{self.question}: {self.get_says_display()}"


class SentAnyway(models.Model):
    """Why the owner sends a line in spite of what stops it. One of a line, the last word."""

    line = models.OneToOneField("parts.Line", models.CASCADE, related_name="sent_anyway")
    reason = models.CharField("Send anyway, because", max_length=300)
    # What was known then, each "rule id: sentence"; anything new stops the line again.
    covers = models.JSONField(default=list)
    at = models.DateTimeField()
    by = models.ForeignKey("garage.Person", models.SET_NULL, null=True, related_name="+")

    def __str__(self) -> str:
        return self.reason
