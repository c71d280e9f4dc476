"""The trials app."""

from django.apps import AppConfig


class TrialsConfig(AppConfig):
    """Name and default key type."""

    name = "trials"
    default_auto_field = "django.db.models.BigAutoField"
