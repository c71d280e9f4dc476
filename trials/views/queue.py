"""The queue: what needs a hand now, what can start, what waits."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from trials.queries.queue import queue as queue_of
from trials.rendering.today import today_svg


def queue(request: HttpRequest) -> HttpResponse:
    """Every order line in work by what it waits for."""
    now = timezone.now()
    found = queue_of(now, request.user)
    return render(request, "trials/queue.html", {"queue": found, "today": today_svg(found.rows, now)})
