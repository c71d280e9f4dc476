"""The specimens app."""

from django.apps import AppConfig


class SpecimensConfig(AppConfig):
    """Name and default key type."""

    name = "specimens"
    default_auto_field = "django.db.models.BigAutoField"
