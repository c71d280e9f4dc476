"""Certificates of lines that were ordered open, gathered from the records: an index searched for, a best class."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta

import pytest

from labsite.demo.bench import Course, run_trial
from labsite.demo.courses import PLATE_BURNS_ON, PLATE_PASSES, lying_bar
from labsite.ledger.models import Place, User
from reports.actions.issuing import amend_certificate, issue_certificate
from reports.domain.completeness import missing_items
from reports.domain.content import CertificateContent, LineContent
from reports.models import Certificate
from reports.queries.certificates import certificate_page, content_of
from reports.queries.gathering import gathered_content
from reports.queries.pages import amend_page
from specimens.models import OrderLine, Specimen
from tests.factories.bench import Scene, bench_scene
from tests.factories.ledger import NOON, UserFactory
from trials.actions.checks import check_line
from trials.models import Authorisation
from trials.queries.results import line_standing

INDEX, CLASS = "glow-wire-flammability-index@2021", "horizontal-flame@2013"
PLATES = [PLATE_PASSES, PLATE_PASSES, PLATE_PASSES, PLATE_BURNS_ON, PLATE_BURNS_ON]
BARS = [lying_bar("158.2"), lying_bar("162.7"), lying_bar("155.9")]
CHECKED_AT, ISSUED_AT = NOON + timedelta(hours=5), NOON + timedelta(hours=6)


@dataclass
class CheckedLine:
    """A line that was tested to its end and checked, with who signs for it."""

    bench: Scene
    signatory: User
    line: OrderLine

    def content(self, number: str = "26-0001-C1") -> CertificateContent:
        """What its certificate would say now."""
        return gathered_content(self.line.order, [self.line], number=number, by=self.signatory, at=ISSUED_AT)

    def issued(self) -> Certificate:
        """Its certificate."""
        return issue_certificate(order=self.line.order, lines=[self.line], by=self.signatory, at=ISSUED_AT)


def checked_line(method: str, courses: Sequence[Course]) -> CheckedLine:
    """An open order's specimens run through the actions of the bench, one course each, then checked."""
    bench = bench_scene(NOON, method=method, severity=None, specimens=len(courses))
    line = OrderLine.objects.get(pk=bench.line.pk)
    if method == INDEX:
        line.start_severity = 850
        line.save()
    line.refresh_from_db()
    Specimen.objects.filter(order_line=line).update(thickness_mm="3.0")
    bench.rig.place = Place.objects.create(code="B-1", name="Fire room", kind=Place.Kind.BENCH)
    bench.rig.save()
    people = {act: UserFactory.create(username=act, full_name=act, roles=[role]) for act, role in ROLES.items()}
    for act, person in people.items():
        Authorisation.objects.create(
            person=person, method_key=method, activity=act, from_on=(NOON - timedelta(days=90)).date(),
            granted_at=NOON - timedelta(days=90), granted_by=bench.lead,
        )  # fmt: skip
    for place, (specimen, course) in enumerate(zip(line.specimens.order_by("number"), courses, strict=True)):
        run_trial(specimen, bench.technician, course, at=NOON + timedelta(minutes=MINUTES[method] * place))
    standing = line_standing(OrderLine.objects.get(pk=line.pk))
    check_line(
        line=OrderLine.objects.get(pk=line.pk), finding="sound", remarks="", seen_verdicts=standing.verdict_ids,
        by=people["check"], at=CHECKED_AT,
    )  # fmt: skip
    return CheckedLine(bench, people["sign"], OrderLine.objects.get(pk=line.pk))


ROLES = {"check": "checker", "sign": "signatory"}
MINUTES = {INDEX: 20, CLASS: 9}
"""Bars must be burnt within an hour of leaving their atmosphere, which they do half an hour before noon."""


def only_line(content: CertificateContent) -> LineContent:
    [line] = content.lines
    return line


def test_an_index_searched_for_is_determined_with_its_levels(db):
    """The index is the highest level at which three passed (public abstracts of IEC 60695-2-12)."""
    content = checked_line(INDEX, PLATES).content()
    line = only_line(content)
    assert (line.state, line.result, line.search, line.severity_title) == ("determined", "GWFI: 850/3.0", True, "Level")
    assert line.sentence == "GWFI: 850/3.0: all 3 passed at 850 °C, and 875 °C failed."
    assert [(one.title, one.value, one.state, len(one.specimens)) for one in line.levels] == [
        ("850 °C", "850", "passed", 3), ("875 °C", "875", "failed", 1), ("900 °C", "900", "failed", 1),
    ]  # fmt: skip
    assert [(one.severity, one.outcome) for one in line.trials] == [
        ("850 °C", "pass"), ("850 °C", "pass"), ("850 °C", "pass"), ("900 °C", "fail"), ("875 °C", "fail"),
    ]  # fmt: skip
    assert {one.share for one in line.trials} == {"counts"}
    assert missing_items(content) == ()


def test_the_best_class_is_determined_with_its_set(db):
    """HB40: at most 40 mm/min over 75 mm between the marks (public pages on IEC 60695-11-10)."""
    content = checked_line(CLASS, BARS).content()
    line = only_line(content)
    assert (line.state, line.result, line.search, line.severity) == (
        "determined",
        "HB40 at 3.0 mm",
        False,
        "Best class",
    )
    assert [(one.title, one.value, one.state, len(one.specimens)) for one in line.levels] == [
        ("first set", "", "passed", 3)
    ]
    assert [trial.severity for trial in line.trials] == ["Best class"] * 3
    assert missing_items(content) == ()


@pytest.mark.parametrize(("method", "courses"), [(INDEX, PLATES), (CLASS, BARS)])
def test_nowhere_is_it_said_to_have_passed_or_failed(db, client, method, courses):
    scene = checked_line(method, courses)
    certificate = scene.issued()
    [row] = certificate_page().rows
    assert row.states == ("determined",)
    client.force_login(scene.signatory)
    listed = client.get("/certificates/").content.decode()
    assert (">determined</span>" in listed, ">failed</span>" in listed, ">passed</span>" in listed) == (
        True,
        False,
        False,
    )
    head = client.get(f"/certificates/{certificate.number}/").content.decode().partition('<div class="page">')[0]
    assert (">determined</span>" in head, ">failed</span>" in head, ">passed</span>" in head) == (True, False, False)


def test_an_amendment_of_an_index_tells_only_what_changed(db):
    scene = checked_line(INDEX, PLATES)
    first = scene.issued()
    assert amend_page(first, scene.signatory, ISSUED_AT).changes == ()
    client = scene.line.order.client
    client.address = "Sample Street 17"
    client.save()
    later = ISSUED_AT + timedelta(days=1)
    first = Certificate.objects.get(pk=first.pk)
    amended = amend_certificate(certificate=first, reason="Typing error.", by=scene.signatory, at=later)
    amendment = content_of(amended).amendment
    assert amendment is not None
    assert amendment.changes == ("Client, address: “Sample Street 17” was “Sample Street 1”.",)
    assert amendment.results_changed is False


def test_lines_that_ended_otherwise_say_each_how(db, client):
    """One line determined, one passed, one failed on the same certificate."""
    scene = checked_line(INDEX, PLATES)
    certificate = scene.issued()
    [own] = certificate.content["lines"]
    others = [
        own | {"position": place, "subject": f"Part {place}", "state": state, "sentence": f"{word} at 850 °C: so.",
               "result": ""}
        for place, state, word in ((2, "passed", "Passed"), (3, "failed", "Failed"))
    ]  # fmt: skip
    mixed = Certificate.objects.create(
        number="26-0001-C2", order=certificate.order, content=certificate.content | {"lines": [own, *others]},
        content_sha256="", issued_at=ISSUED_AT, issued_by=scene.signatory,
    )  # fmt: skip
    row = certificate_page().rows[0]
    assert (row.certificate, row.states) == (mixed, ("determined", "passed", "failed"))
    assert row.answer == "Plug insert: GWFI: 850/3.0; Part 2: passed at 850 °C; Part 3: failed at 850 °C"
    client.force_login(scene.signatory)
    head = client.get("/certificates/26-0001-C2/").content.decode().partition('<div class="page">')[0]
    words = re.findall(r'<span class="state">.*?</svg>(\w+)</span>', head, re.DOTALL)
    assert words[:3] == ["determined", "passed", "failed"]
