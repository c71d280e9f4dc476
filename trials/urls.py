"""Addresses of the trials app."""

from django.urls import URLPattern

from labsite.ledger.access import ANYONE, route
from labsite.ledger.models import Role
from trials.queries.authorisations import GRANTERS
from trials.queries.bench import PERFORMERS
from trials.views import (
    authorisations,
    bench,
    budgets,
    checks,
    guide,
    jobs,
    life,
    methods,
    observations,
    queue,
    signing,
    trials,
    wire_life,
)

app_name = "trials"
_queue: list[URLPattern] = [
    route("queue/", queue.queue, name="queue", may=ANYONE),
    route("jobs/<int:pk>/", jobs.job, name="job", may=ANYONE),
    route("jobs/<int:pk>/hand-out/", jobs.hand_out, name="hand_out", may={Role.LEAD}),
    route("jobs/<int:pk>/take/", jobs.take_job, name="take_job", may=PERFORMERS),
    route("authorisations/", authorisations.authorisations, name="authorisations", may=ANYONE),
    route("authorisations/grant/", authorisations.grant, name="authorisation_grant", may=GRANTERS),
    route("authorisations/<int:pk>/end/", authorisations.end, name="authorisation_end", may=GRANTERS),
    route("methods/", methods.methods, name="methods", may=ANYONE),
    route("methods/guide/", guide.guide, name="guide", may=ANYONE),
    route("methods/guide/offer/", guide.guide_offer, name="guide_offer", may=ANYONE),
    route("methods/<str:edition_key>/", methods.method, name="method", may=ANYONE),
    route("methods/<str:edition_key>/confirm/", methods.confirm, name="method_confirm", may={Role.LEAD}),
    route("methods/<str:edition_key>/revise/", methods.revise, name="method_revise", may=GRANTERS),
    route("methods/<str:edition_key>/budgets/<str:quantity>/", budgets.budget, name="budget", may=ANYONE),
    route("methods/<str:edition_key>/budgets/<str:quantity>/new/", budgets.budget_new, name="budget_new", may=GRANTERS),
    route(
        "methods/<str:edition_key>/budgets/<str:quantity>/<int:version>/",
        budgets.budget,
        name="budget_version",
        may=ANYONE,
    ),
    route("trials/<int:pk>/", trials.trial, name="trial", may=ANYONE),
    route("checks/", checks.checks, name="checks", may=ANYONE),
    route("checks/<int:pk>/", checks.check, name="check", may=ANYONE),
    route("checks/<int:pk>/sign/", checks.check_sign, name="check_sign", may={Role.CHECKER}),
    route("specimens/<str:number>/life/", life.specimen_life, name="specimen_life", may=ANYONE),
    route("rigs/<str:code>/wire-life/", wire_life.wire_life, name="wire_life", may=ANYONE),
]
_bench: list[URLPattern] = [
    route("bench/", bench.bench, name="bench", may=ANYONE),
    route("bench/open/<str:number>/", bench.bench_open, name="bench_open", may=ANYONE),
    route("bench/<int:pk>/setup/", bench.bench_setup, name="bench_setup", may=ANYONE),
    route("bench/<int:pk>/run/", bench.bench_run, name="bench_run", may=ANYONE),
    route("bench/<int:pk>/value/", bench.bench_value, name="bench_value", may=PERFORMERS),
    route("bench/<int:pk>/state/", bench.bench_state, name="bench_state", may=ANYONE),
    route("bench/<int:pk>/events/", observations.bench_events, name="bench_events", may=PERFORMERS),
    route("bench/<int:pk>/sign/", signing.bench_sign, name="bench_sign", may=ANYONE),
    route("bench/<int:pk>/findings/", signing.bench_findings, name="bench_findings", may=PERFORMERS),
    route("bench/<int:pk>/late/", signing.bench_late, name="bench_late", may=PERFORMERS),
    route("bench/<int:pk>/photo/", signing.bench_photo, name="bench_photo", may=PERFORMERS),
    route("bench/<int:pk>/doubt/", signing.bench_doubt, name="bench_doubt", may=PERFORMERS),
    route("trials/photos/<int:pk>/", signing.trial_photo, name="trial_photo", may=ANYONE),
    route(
        "observations/<int:pk>/correct/", observations.correct_observation, name="correct_observation", may=PERFORMERS
    ),
]
urlpatterns = [*_queue, *_bench]
