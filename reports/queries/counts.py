"""How many certificates need a hand."""

from reports.queries.certificates import outdated_certificates
from reports.queries.ready import ready_orders


def certificates_needing_a_hand() -> int:
    """Orders ready for a certificate, and certificates whose trials were corrected after the issue."""
    return len(ready_orders()) + outdated_certificates().count()
