"""Shows moments in the laboratory's zone and leads a fresh installation to its first page."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from labsite.ledger.queries import laboratory_or_none

Handler = Callable[[HttpRequest], HttpResponse]


class LaboratoryMiddleware:
    """Load the laboratory once per request."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Activate the laboratory's zone; without a laboratory, only the first page answers."""
        laboratory = laboratory_or_none()
        request.laboratory = laboratory  # type: ignore[attr-defined]  # read by the page frame and the views
        if laboratory is None:
            first_run = reverse("first_run")
            return (
                self.get_response(request) if request.path.startswith((first_run, "/static/")) else redirect(first_run)
            )
        with timezone.override(laboratory.zone_info):
            return self.get_response(request)
