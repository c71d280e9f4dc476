"""Addresses of the calibration app."""

from functools import partial

from django.urls import URLPattern

from calibration.queries.commissioning import RELEASERS, WORKERS
from calibration.queries.wires import WIRE_HANDLERS
from calibration.views import (
    calendars,
    calibrations,
    checks,
    commissioning,
    events,
    exports,
    instruments,
    intervals,
    limits,
    permits,
    rigs,
    wires,
)
from labsite.ledger.access import ANYONE, PUBLIC, route
from labsite.ledger.models import Role

app_name = "calibration"

KEEPER = {Role.QUALITY}
RIG_KEEPERS = {Role.QUALITY, Role.LEAD}
# Whoever handles an instrument takes it out of service at once; putting it back is the keeper's, as the action says.
HANDLERS = {Role.TECHNICIAN, Role.LEAD, Role.QUALITY, Role.COUNTER}
CHECKERS = {Role.TECHNICIAN, Role.LEAD, Role.QUALITY}


def check_routes(what: str, place: str) -> list[URLPattern]:
    """The addresses of the checks of an instrument or a rig."""
    at = f"{place}/<str:key>/checks/"
    return [
        route(at, partial(checks.checks, what=what), name=f"{what}_checks", may=ANYONE),
        route(f"{at}new/", partial(checks.kinds, what=what), name=f"{what}_check_kinds", may=CHECKERS),
        route(f"{at}new/<str:kind>/", partial(checks.check_new, what=what), name=f"{what}_check_new", may=CHECKERS),
        route(
            f"{at}plan/<str:kind>/", partial(checks.check_plan, what=what), name=f"{what}_check_plan", may=RIG_KEEPERS
        ),
    ]


urlpatterns = [
    *check_routes("instrument", "instruments"),
    *check_routes("rig", "rigs"),
    route("calibration/checks/<int:pk>/strike/", checks.strike, name="check_strike", may=KEEPER),
    route("calibration/", instruments.register, name="instruments", may=ANYONE),
    route("calibration/instruments.<str:ending>", exports.register_export, name="register_export", may=ANYONE),
    route("instruments/<str:number>/record.<str:ending>", exports.record_export, name="record_export", may=ANYONE),
    route("instruments/new/", instruments.instrument_new, name="instrument_new", may=KEEPER),
    route("instruments/out-of-service/", events.out_at_once, name="out_at_once", may=HANDLERS),
    route("instruments/<str:number>/", instruments.instrument, name="instrument", may=ANYONE),
    route("instruments/<str:number>/event/", events.event_new, name="event_new", may=HANDLERS),
    route("events/<int:pk>/file/", events.event_file, name="event_file", may=ANYONE),
    route("instruments/<str:number>/change/", instruments.instrument_edit, name="instrument_edit", may=KEEPER),
    route("instruments/<str:number>/permit/", permits.permit_new, name="permit_new", may=RIG_KEEPERS),
    route("calibration/permits/", permits.permits, name="permits", may=ANYONE),
    route("instruments/<str:number>/service/", instruments.service_change, name="service_change", may=HANDLERS),
    route("instruments/<str:number>/label.pdf", instruments.label, name="instrument_label", may=ANYONE),
    route(
        "instruments/<str:number>/calibrations/new/", calibrations.calibration_new, name="calibration_new", may=KEEPER
    ),
    route("instruments/<str:number>/limits/new/", limits.limit_new, name="limit_new", may=KEEPER),
    route("limits/<int:pk>/end/", limits.limit_end, name="limit_end", may=KEEPER),
    route("calibrations/<int:pk>/decide/", calibrations.decide, name="calibration_decide", may=KEEPER),
    route(
        "calibrations/<int:pk>/certificate/", calibrations.certificate_file, name="calibration_certificate", may=ANYONE
    ),
    route("calibrations/<int:pk>/interval/", intervals.interval, name="interval", may=KEEPER),
    route("calibrations/<int:pk>/data/", calibrations.data_file, name="calibration_data", may=ANYONE),
    route("calibration/calendar/", calendars.calendars, name="calendars", may=ANYONE),
    route("calibration/calendar/<int:pk>/revoke/", calendars.revoke, name="calendar_revoke", may=ANYONE),
    # A calendar program does not sign in; the secret in the address is the key.
    route("calendar/<str:secret>.ics", calendars.calendar, name="calendar", may=PUBLIC),
    route("rigs/", rigs.rigs, name="rigs", may=ANYONE),
    route("rigs/new/", rigs.rig_new, name="rig_new", may=RIG_KEEPERS),
    route("rigs/<str:code>/", rigs.rig, name="rig", may=ANYONE),
    route("rigs/<str:code>/change/", rigs.rig_edit, name="rig_edit", may=RIG_KEEPERS),
    route("rigs/<str:code>/mount/", rigs.mount, name="mount", may=RIG_KEEPERS),
    route("rigs/<str:code>/take-off/<int:pk>/", rigs.take_off, name="take_off", may=RIG_KEEPERS),
    route("rigs/<str:code>/wires/", wires.wires, name="wires", may=ANYONE),
    route("rigs/<str:code>/wires/fit/", wires.fit, name="wire_fit", may=WIRE_HANDLERS),
    route("rigs/<str:code>/wires/clean/", wires.clean, name="wire_clean", may=WIRE_HANDLERS),
    route("rigs/<str:code>/wires/measure/", wires.measure, name="wire_measure", may=WIRE_HANDLERS),
    route("rigs/<str:code>/before-use/", commissioning.commissioning_new, name="commissioning_new", may=WORKERS),
    route("before-use/<int:pk>/", commissioning.commissioning, name="commissioning", may=ANYONE),
    route("before-use/<int:pk>/findings/", commissioning.findings, name="findings", may=WORKERS),
    route("before-use/<int:pk>/lines/", commissioning.line_new, name="line_new", may=WORKERS),
    route("before-use/<int:pk>/release/", commissioning.release, name="release", may=RELEASERS),
    route("before-use/findings/<int:pk>/file/", commissioning.finding_file, name="finding_file", may=ANYONE),
]
