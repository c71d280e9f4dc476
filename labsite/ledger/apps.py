"""People, rights, the laboratory's own facts, and the append-only ledger."""

from django.apps import AppConfig


class LedgerConfig(AppConfig):
    """Name and label."""

    name = "labsite.ledger"
    label = "ledger"
    default_auto_field = "django.db.models.BigAutoField"
