"""The life of a rig's wire, as a part of the rig's pages."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils.safestring import mark_safe

from calibration.views.as_of import as_of
from labsite.ledger.queries import laboratory_zone
from trials.domain.wire_life import COUNTED, LEAST_TRIALS, RECENT_DAYS
from trials.queries import wire_life as queries
from trials.rendering.wire_life import wire_plot


def wire_life(request: HttpRequest, code: str) -> HttpResponse:
    """What the wire did, how its tip stands against the limits, and which current reached which level."""
    rig, asked = get_object_or_404(queries.rigs_with_wires(), code=code), as_of(request)
    life = queries.wire_life(rig, asked.at)
    context = {
        "rig": rig,
        "life": life,
        "as_of": asked,
        "counted": COUNTED,
        "least": LEAST_TRIALS,
        "days": RECENT_DAYS,
        "plot": "" if life is None else mark_safe(wire_plot(life, laboratory_zone())),  # noqa: S308  (every text in it is escaped)
    }
    return render(request, "trials/wire_life.html", context)
