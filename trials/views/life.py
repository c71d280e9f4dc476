"""The thread of one specimen's life, as a part of other pages."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from trials.queries.life import specimen_life as life_of
from trials.queries.life import specimens_with_life
from trials.queries.results import line_standing, specimen_text
from trials.rendering.thread import thread_svg


def specimen_life(request: HttpRequest, number: str) -> HttpResponse:
    """The thread with its table and the trials of the specimen."""
    specimen = get_object_or_404(specimens_with_life(), number=number)
    stages = life_of(specimen, timezone.now())
    label = f"Life of specimen {specimen_text(specimen.number)} in {len(stages)} stages"
    trials = [one for one in line_standing(specimen.order_line).trials if one.trial.specimen_id == specimen.pk]
    context = {"specimen": specimen, "stages": stages, "thread": thread_svg(stages, label=label), "trials": trials}
    return render(request, "trials/life.html", context)
