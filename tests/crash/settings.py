"""The site's own settings, durability and all, with quick hashing of pass-phrases."""

from garage.settings import *  # noqa: F403

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}  # noqa: F405
ALLOWED_HOSTS = ["testserver"]
STATIC_ROOT.mkdir(parents=True, exist_ok=True)  # noqa: F405
LOGGING = {"version": 1, "disable_existing_loggers": True}
