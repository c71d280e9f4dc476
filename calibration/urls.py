"""Addresses of the calibration app."""

from calibration.queries.commissioning import RELEASERS, WORKERS
from calibration.views import calibrations, commissioning, events, instruments, intervals, limits, rigs
from labsite.ledger.access import ANYONE, route
from labsite.ledger.models import Role

app_name = "calibration"

KEEPER = {Role.QUALITY}
RIG_KEEPERS = {Role.QUALITY, Role.LEAD}
# Whoever handles an instrument takes it out of service at once; putting it back is the keeper's, as the action says.
HANDLERS = {Role.TECHNICIAN, Role.LEAD, Role.QUALITY, Role.COUNTER}

urlpatterns = [
    route("calibration/", instruments.register, name="instruments", may=ANYONE),
    route("instruments/new/", instruments.instrument_new, name="instrument_new", may=KEEPER),
    route("instruments/out-of-service/", events.out_at_once, name="out_at_once", may=HANDLERS),
    route("instruments/<str:number>/", instruments.instrument, name="instrument", may=ANYONE),
    route("instruments/<str:number>/event/", events.event_new, name="event_new", may=HANDLERS),
    route("events/<int:pk>/file/", events.event_file, name="event_file", may=ANYONE),
    route("instruments/<str:number>/change/", instruments.instrument_edit, name="instrument_edit", may=KEEPER),
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
    route("rigs/", rigs.rigs, name="rigs", may=ANYONE),
    route("rigs/new/", rigs.rig_new, name="rig_new", may=RIG_KEEPERS),
    route("rigs/<str:code>/", rigs.rig, name="rig", may=ANYONE),
    route("rigs/<str:code>/change/", rigs.rig_edit, name="rig_edit", may=RIG_KEEPERS),
    route("rigs/<str:code>/mount/", rigs.mount, name="mount", may=RIG_KEEPERS),
    route("rigs/<str:code>/take-off/<int:pk>/", rigs.take_off, name="take_off", may=RIG_KEEPERS),
    route("rigs/<str:code>/before-use/", commissioning.commissioning_new, name="commissioning_new", may=WORKERS),
    route("before-use/<int:pk>/", commissioning.commissioning, name="commissioning", may=ANYONE),
    route("before-use/<int:pk>/findings/", commissioning.findings, name="findings", may=WORKERS),
    route("before-use/<int:pk>/lines/", commissioning.line_new, name="line_new", may=WORKERS),
    route("before-use/<int:pk>/release/", commissioning.release, name="release", may=RELEASERS),
    route("before-use/findings/<int:pk>/file/", commissioning.finding_file, name="finding_file", may=ANYONE),
]
