"""One trial: passed or not, what happened, and whether the set-up was right."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from trials.queries import trial_page as queries
from trials.queries.life import specimen_life
from trials.rendering.course import course_svg
from trials.rendering.events import events_svg
from trials.rendering.thread import thread_svg


def trial(request: HttpRequest, pk: int) -> HttpResponse:
    """The evidence of one trial on one page."""
    page = queries.trial_page(get_object_or_404(queries.trials_for_page(), pk=pk))
    stages = specimen_life(page.trial.specimen, timezone.now(), page.standing)
    drawn, course = "", page.course
    if course is not None and course.burns:
        drawn = course_svg(course, page.latest_s, severity=page.severity, layer=page.layer, label=course.words)
    elif course is not None:
        drawn = events_svg(course, label=course.words)
    context = {
        "page": page,
        "stages": stages,
        "thread": thread_svg(stages, label=f"Life of specimen {page.standing.specimen_text} in {len(stages)} stages"),
        "course": drawn,
        "mine": page.trial.opened_by == request.user,
    }
    return render(request, "trials/trial.html", context)
