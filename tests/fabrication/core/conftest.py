"""Random pipes are judged by what they show, not by how busy the machine is."""

from hypothesis import settings

settings.register_profile("core", deadline=None)
settings.load_profile("core")
