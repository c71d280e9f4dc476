"""The tests: quick password hashing, no outside service."""

import os
import tempfile
from pathlib import Path

from labsite.settings.base import *  # noqa: F403  (settings modules extend one another)
from labsite.settings.base import DATABASES, STORAGES

DEBUG = False
SECRET_KEY = "tests-only"  # noqa: S105  (no secret)
ALLOWED_HOSTS = ["testserver", "localhost", "127.0.0.1"]
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
WHITENOISE_AUTOREFRESH = True
MAILERS = {"default": {"BACKEND": "django.core.mail.backends.locmem.EmailBackend"}}
DEMO_ALLOWED = True

if DATABASES["default"]["ENGINE"].endswith("sqlite3"):
    # A file and not memory: threads of one test must meet as they do in real life; no power cut to survive.
    DATABASES["default"]["TEST"] = {"NAME": Path(tempfile.gettempdir()) / f"lab-test-{os.getpid()}.sqlite3"}
    DATABASES["default"]["OPTIONS"]["init_command"] += "PRAGMA synchronous=OFF;"
