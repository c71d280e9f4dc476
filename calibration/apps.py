"""The calibration app."""

from django.apps import AppConfig


class CalibrationConfig(AppConfig):
    """Name and default key type."""

    name = "calibration"
    default_auto_field = "django.db.models.BigAutoField"
