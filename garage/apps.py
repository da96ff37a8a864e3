from django.apps import AppConfig


class GarageConfig(AppConfig):
    name = "garage"
    verbose_name = "Garage"

    def ready(self) -> None:
        from garage import checks  # noqa: F401, PLC0415  registers the system checks
