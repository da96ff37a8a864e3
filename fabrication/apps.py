from django.apps import AppConfig


class FabricationConfig(AppConfig):
    name = "fabrication"
    verbose_name = "Fabrication"
