"""The site itself: frame, laboratory pages, demo scenario."""

from django.apps import AppConfig


class LabsiteConfig(AppConfig):
    """Register the site's system checks."""

    name = "labsite"

    def ready(self) -> None:
        """Import the checks so that Django runs them."""
        from labsite import checks  # noqa: F401  (registered by being imported)
