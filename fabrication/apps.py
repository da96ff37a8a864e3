from django.apps import AppConfig


class FabricationConfig(AppConfig):
    name = "fabrication"
    verbose_name = "Fabrication"

    def ready(self) -> None:
        from fabrication import panels  # noqa: PLC0415  models are there only now

        panels.register()
