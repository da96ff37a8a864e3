from django.db import models
from django.urls import reverse

# The systems a car is offered at first; every one can be renamed, reordered or left out.
STARTER_SYSTEMS = (
    "Cooling",
    "Fuel",
    "Brakes",
    "Steering",
    "Front suspension",
    "Rear axle",
    "Engine",
    "Gearbox",
    "Electrics",
    "Exhaust",
    "Body",
    "Seats and belts",
    "Trim",
)
# Where a loose joint hurts somebody, the torque used is asked for: common practice.
TORQUE_ASKED_FOR = {"Brakes", "Steering", "Front suspension", "Rear axle", "Seats and belts"}


class CarQuerySet(models.QuerySet["Car"]):
    def in_the_garage(self) -> "CarQuerySet":
        return self.filter(thrown_out_at=None)

    def thrown_out(self) -> "CarQuerySet":
        return self.exclude(thrown_out_at=None)

    def with_picture(self) -> "CarQuerySet":
        return self.select_related("picture")


class Car(models.Model):
    marque = models.CharField("Marque", max_length=60)
    model = models.CharField("Model", max_length=60, blank=True)
    year = models.PositiveSmallIntegerField("Year", null=True, blank=True)
    chassis_number = models.CharField("Chassis number", max_length=40, blank=True)
    engine_number = models.CharField("Engine number", max_length=40, blank=True)
    colour = models.CharField("Colour", max_length=60, blank=True)
    notes = models.TextField("Notes", max_length=10_000, blank=True)
    picture = models.ForeignKey(
        "garage.Photo", models.SET_NULL, null=True, blank=True, related_name="+"
    )
    started_on = models.DateField("Work began", null=True, blank=True)
    parts_taken_off = models.PositiveIntegerField(default=0, editable=False)
    version = models.PositiveIntegerField(default=1, editable=False)
    created_at = models.DateTimeField()
    thrown_out_at = models.DateTimeField(null=True, blank=True)

    objects = CarQuerySet.as_manager()

    class Meta:
        ordering = ["marque", "model", "year"]

    def __str__(self) -> str:
        return " ".join(filter(None, [self.marque, self.model]))

    def get_absolute_url(self) -> str:
        return reverse("car", args=[self.pk])

    @property
    def full_name(self) -> str:
        """ "1969 Hollin Wayfarer 1600 estate": as written at the head of a sheet."""
        return " ".join(filter(None, [str(self.year or ""), str(self)]))


class System(models.Model):
    """A subsystem of the car, as its owner divides it."""

    car = models.ForeignKey(Car, models.CASCADE, related_name="systems")
    name = models.CharField("Name", max_length=40)
    position = models.PositiveSmallIntegerField(default=0)
    asks_torque = models.BooleanField("Ask the torque used on every refit", default=False)

    class Meta:
        ordering = ["position", "name"]
        constraints = [
            models.UniqueConstraint(fields=["car", "name"], name="one_system_of_a_name_per_car")
        ]

    def __str__(self) -> str:
        return self.name


def give_starter_systems(car: Car) -> list[System]:
    """The starter list, saved for ``car`` in its order."""
    return System.objects.bulk_create(
        System(car=car, name=name, position=place, asks_torque=name in TORQUE_ASKED_FOR)
        for place, name in enumerate(STARTER_SYSTEMS)
    )
