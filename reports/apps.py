"""The reports app."""

from django.apps import AppConfig


class ReportsConfig(AppConfig):
    """Name and default key type."""

    name = "reports"
    default_auto_field = "django.db.models.BigAutoField"
