from django.db import models

from parts.models.finisher import Process, as_words


class Kind(models.TextChoices):
    """The steps a piece can go through, in the order they are usually done."""

    CLEAN = "clean", "Clean"
    REPAIR = "repair", "Repair"
    REMAKE = "remake", "Remake"
    BUY = "buy", "Buy"
    TRIAL_FIT = "trial_fit", "Trial fit"
    SEND_OUT = "send_out", "Send out"
    FINISH_HOME = "finish_home", "Finish at home"
    PREPARE = "prepare", "Prepare"
    REFIT = "refit", "Refit"


# Steps that are done by doing something else, so they are not ticked by hand.
DONE_BY_COUNTING = Kind.SEND_OUT
DONE_BY_FITTING = Kind.REFIT
BENCH_WORK = (Kind.CLEAN, Kind.REPAIR, Kind.REMAKE, Kind.FINISH_HOME, Kind.PREPARE)


class Progress(models.TextChoices):
    OPEN = "open", "Open"
    DOING = "doing", "Doing"
    DONE = "done", "Done"
    LEFT = "left", "Left"


class StepQuerySet(models.QuerySet["Step"]):
    def to_do(self) -> "StepQuerySet":
        return self.filter(progress__in=(Progress.OPEN, Progress.DOING))


class Step(models.Model):
    """One cell of the route card of a piece."""

    key = models.UUIDField(unique=True)
    piece = models.ForeignKey("parts.Piece", models.CASCADE, related_name="steps")
    position = models.PositiveSmallIntegerField()
    kind = models.CharField("Step", max_length=11, choices=Kind.choices)
    progress = models.CharField(max_length=5, choices=Progress.choices, default=Progress.OPEN)
    # Process codes in the order they are done: "blast,powder".
    work = models.CharField("Work wanted", max_length=80, blank=True)
    what = models.CharField("What is to be done", max_length=200, blank=True)
    why = models.CharField("Why", max_length=300, blank=True)
    who = models.CharField("Who", max_length=60, blank=True)
    cost = models.DecimalField("Cost", max_digits=9, decimal_places=2, null=True, blank=True)
    minutes = models.PositiveIntegerField("Time spent", null=True, blank=True)
    done_at = models.DateTimeField(null=True, blank=True)

    objects = StepQuerySet.as_manager()

    class Meta:
        ordering = ["position", "pk"]
        indexes = [models.Index(fields=["piece", "position"], name="step_by_piece")]

    def __str__(self) -> str:
        return self.get_kind_display()

    @property
    def processes(self) -> tuple[Process, ...]:
        return tuple(Process(code) for code in self.work.split(",") if code)

    @property
    def work_in_words(self) -> str:
        """ "Blast then powder coat"."""
        return as_words(self.processes)

    @property
    def says(self) -> str:
        """The step in one line: what is to be done, or its work, or nothing more than its name."""
        detail = self.what or self.work_in_words
        return f"{self.get_kind_display()}: {detail}" if detail else self.get_kind_display()
