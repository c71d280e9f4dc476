"""What the frame around every page needs."""

from typing import Any

from django.http import HttpRequest
from django.utils import timezone

PLACES = (
    ("Counter", "specimens:counter"),
    ("Queue", "trials:queue"),
    ("Bench", "trials:bench"),
    ("Certificates", "reports:certificates"),
    ("Calibration", "calibration:instruments"),
)
_PLACE_OF_NAMESPACE = {"specimens": "Counter", "reports": "Certificates", "calibration": "Calibration"}


def page_frame(request: HttpRequest) -> dict[str, Any]:
    """The laboratory, the moment, the places and which of them this page belongs to."""
    match = request.resolver_match
    here = None
    if match is not None:
        here = _PLACE_OF_NAMESPACE.get(match.namespace)
        if match.namespace == "trials":
            here = "Bench" if (match.url_name or "").startswith("bench") else "Queue"
        if match.namespace == "reports" and (match.url_name or "").startswith("trace"):
            here = "Calibration"
    return {
        "laboratory": getattr(request, "laboratory", None),
        "moment": timezone.now(),
        "places": [(title, name, title == here) for title, name in PLACES],
    }
