"""A laboratory's own server, behind a proxy that ends TLS."""

import os

from django.core.exceptions import ImproperlyConfigured

from labsite.settings.base import *  # noqa: F403  (settings modules extend one another)
from labsite.settings.mail import mailers


def needed(name: str) -> str:
    """Return the environment's value of `name`, or stop with a sentence."""
    value = os.environ.get(name, "")
    if not value:
        raise ImproperlyConfigured(f"Set the environment variable {name} before starting in production.")
    return value


DEBUG = False
SECRET_KEY = needed("SECRET_KEY")
ALLOWED_HOSTS = needed("ALLOWED_HOSTS").split(",")
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if not host.startswith((".", "*"))]
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_SSL_REDIRECT = True
SECURE_HSTS_SECONDS = 365 * 24 * 60 * 60
SECURE_HSTS_INCLUDE_SUBDOMAINS = True
SECURE_HSTS_PRELOAD = True
SESSION_COOKIE_SECURE = True
CSRF_COOKIE_SECURE = True
SITE_ADDRESS = (os.environ.get("SITE_ADDRESS") or f"https://{ALLOWED_HOSTS[0].lstrip('.')}").rstrip("/")
MAILERS = mailers(os.environ)
DEMO_ALLOWED = False
