"""One machine, started by hand: the demo and development."""

import os

from labsite.settings.base import *  # noqa: F403  (settings modules extend one another)
from labsite.settings.base import RUN_TIME_DIR, STORAGES

RUN_TIME_DIR.mkdir(parents=True, exist_ok=True)

DEBUG = os.environ.get("DEBUG", "1") == "1"
SECRET_KEY = "development-only-and-never-in-production"  # noqa: S105  (no secret: production refuses to start with it)
ALLOWED_HOSTS = ["localhost", "127.0.0.1", "[::1]"]
WHITENOISE_USE_FINDERS = True
STORAGES["staticfiles"] = {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}
MAILERS = {"default": {"BACKEND": "django.core.mail.backends.console.EmailBackend"}}
DEMO_ALLOWED = True
