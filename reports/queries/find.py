"""Where a certificate's number leads."""

from django.urls import reverse

from reports.models import Certificate


def certificate_address(text: str) -> str | None:
    """The page of the certificate with this number (“26-0414-C1”, any case, hyphens as they come), or None."""
    wanted = "".join(character for character in text.upper() if character.isascii() and character.isalnum())
    if "C" not in wanted:
        return None
    order, _, count = wanted.partition("C")
    found = Certificate.objects.filter(number=f"{order[:2]}-{order[2:]}-C{count}").first()
    return None if found is None else reverse("reports:certificate", args=[found.number])
