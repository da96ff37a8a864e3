"""The settings of the tests: the site's own, on a data folder of their own, with quick hashing."""

import atexit
import os
import shutil
import tempfile

os.environ["SPLITPIN_DATA"] = tempfile.mkdtemp(prefix="splitpin-tests-")
atexit.register(shutil.rmtree, os.environ["SPLITPIN_DATA"], ignore_errors=True)
os.environ.setdefault("SPLITPIN_MIN_FREE_BYTES", "0")

from garage.settings import *  # noqa: F403, E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
WHITENOISE_AUTOREFRESH = True
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
if DATABASES["default"]["ENGINE"].endswith("sqlite3"):  # noqa: F405
    # A file, not memory: the server that a browser speaks to answers in threads, and threads
    # would share the one connection to a database in memory, transactions and all.
    DATABASES["default"]["TEST"] = {"NAME": SPLITPIN_DATA / "tests.sqlite3"}  # noqa: F405
