"""Every address of the site, with the roles that may open it."""

from allauth.account import views as account
from django.urls import include, path

from labsite.ledger.access import ANYONE, PUBLIC, route
from labsite.ledger.models import Role
from labsite.views import first_run, frame, laboratory, people, places

ADMINISTRATOR = {Role.ADMINISTRATOR}

urlpatterns = [
    route("", frame.today, name="today", may=ANYONE),
    route("find/", frame.find, name="find", may=ANYONE),
    route("counts/", frame.place_counts, name="place_counts", may=ANYONE),
    route("help/", frame.help_index, name="help", may=ANYONE),
    route("help/<slug:slug>/", frame.help_page, name="help_page", may=ANYONE),
    route("first/", first_run.first_run, name="first_run", may=PUBLIC),
    route("sign-in/", account.login, name="account_login", may=PUBLIC),
    route("sign-out/", account.logout, name="account_logout", may=ANYONE),
    route("password/", account.password_change, name="account_change_password", may=ANYONE),
    route("laboratory/", laboratory.overview, name="laboratory", may=ANYONE),
    route("laboratory/facts/", laboratory.edit_laboratory, name="laboratory_edit", may=ADMINISTRATOR),
    route("laboratory/mark/", laboratory.accreditation_mark, name="laboratory_mark", may=ANYONE),
    route("laboratory/people/new/", people.add_person, name="person_new", may=ADMINISTRATOR),
    route("laboratory/people/<int:pk>/", people.edit_person, name="person_edit", may=ADMINISTRATOR),
    route("laboratory/places/new/", places.add_place, name="place_new", may=ADMINISTRATOR),
    route("laboratory/places/<int:pk>/", places.edit_place, name="place_edit", may=ADMINISTRATOR),
    path("", include("specimens.urls")),
    path("", include("trials.urls")),
    path("", include("reports.urls")),
    path("", include("calibration.urls")),
]
