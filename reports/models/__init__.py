"""Tables of the reports app."""

from reports.models.certificates import Certificate

__all__ = ["Certificate"]
