"""Calendar addresses: made, shown once, revoked; and the calendar itself, for whoever knows its address."""

from datetime import date, datetime
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from calibration.actions.calendars import make_calendar_address, note_reading, revoke_calendar_address
from calibration.queries.calendars import address_opened_by, addresses_shown_to
from calibration.queries.checks_due import PlannedCheck, planned_checks
from calibration.queries.due_days import DueDay, due_days
from calibration.rendering.due_calendar import CalendarDay, due_calendar
from labsite.ledger.queries import the_laboratory
from labsite.ledger.refusals import Refused
from labsite.ledger.wording import mid_sentence


def calendars(request: HttpRequest) -> HttpResponse:
    """The addresses somebody has; a new one is shown here once, in the answer to its making and never again.

    The form has no key: an answer that leads elsewhere could not show the secret without keeping it.
    """
    secret, status = "", 200
    if request.method == "POST":
        try:
            _, secret = make_calendar_address(by=request.user, at=timezone.now())  # type: ignore[arg-type]  # signed in
        except Refused as refusal:
            messages.error(request, refusal.sentence)
            status = 422
    context = {
        "addresses": addresses_shown_to(request.user),  # type: ignore[arg-type]  # signed in, as the route asks
        "new_address": settings.SITE_ADDRESS + reverse("calibration:calendar", args=[secret]) if secret else "",
    }
    response = render(request, "calibration/calendars.html", context, status=status)
    response["Cache-Control"] = "no-store"
    return response


@require_POST
def revoke(request: HttpRequest, pk: int) -> HttpResponse:
    """End an address."""
    address = get_object_or_404(addresses_shown_to(request.user), pk=pk)  # type: ignore[arg-type]  # signed in
    try:
        revoke_calendar_address(by=request.user, at=timezone.now(), address=address)  # type: ignore[arg-type]  # signed in
        messages.success(request, "The calendar address is revoked; whoever still asks for it finds nothing.")
    except Refused as refusal:
        messages.error(request, refusal.sentence)
    return redirect("calibration:calendars")


@require_safe
def calendar(request: HttpRequest, secret: str) -> HttpResponse:
    """The due days for a calendar program, which does not sign in: the address is the key; it never leads elsewhere."""
    at, address = timezone.now(), address_opened_by(secret)
    if address is None:
        response = HttpResponse("There is no calendar at this address.\n", content_type="text/plain; charset=utf-8")
        response.status_code = 404
    else:
        note_reading(address, at=at)
        content = due_calendar(
            _days(at),
            name=f"{the_laboratory().name}: calibrations",
            host=urlsplit(settings.SITE_ADDRESS).hostname or "localhost",
            at=at,
        )
        response = HttpResponse(content, content_type="text/calendar; charset=utf-8")
        response["Content-Disposition"] = 'inline; filename="calibrations.ics"'
    response["Cache-Control"] = "no-store"
    return response


def _days(at: datetime) -> list[CalendarDay]:
    """The due days, and the planned checks of rigs and of instruments that have one."""
    due = due_days(at)
    in_service = {one.instrument.pk for one in due}
    checks = [
        one for one in planned_checks(at) if one.plan.instrument_id is None or one.plan.instrument_id in in_service
    ]
    return [*map(_calibration_day, due), *(_check_day(one, one.due.due_on) for one in checks if one.due.due_on)]


def _calibration_day(due: DueDay) -> CalendarDay:
    one = due.instrument
    return CalendarDay(
        key=f"calibration-{due.calibration_id}",
        on=due.due_on,
        title=f"{one.code}: calibration due",
        lines=(f"{one.get_kind_display()}, {one.description}", "It may be used to the end of this day."),
        address=settings.SITE_ADDRESS + reverse("calibration:instrument", args=[one.number]),
    )


def _check_day(planned: PlannedCheck, on: date) -> CalendarDay:
    subject = planned.subject
    return CalendarDay(
        key=f"check-{planned.plan.pk}",
        on=on,
        title=f"{subject.code}: check due, {mid_sentence(planned.plan.get_kind_display())}",
        lines=(planned.plan.procedure,),
        address=settings.SITE_ADDRESS + reverse(f"calibration:{subject.name}", args=[subject.key]),
    )
