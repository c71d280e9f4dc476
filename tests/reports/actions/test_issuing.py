"""Issuing a certificate: who may, of what, and what is frozen."""

from datetime import timedelta
from decimal import Decimal

import pytest

from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from reports.actions.issuing import issue_certificate, seen_fingerprint
from reports.domain.content_json import content_from_json
from reports.models import Certificate
from reports.queries.ready import draft_content
from tests.factories.ledger import NOON, UserFactory
from tests.factories.reports import (
    BURNS,
    CHECKED_AT,
    CRACKS,
    ISSUED_AT,
    LAYER_CATCHES,
    certificate_scene,
    check_now,
    deviation,
    issued,
    spread_over_lines,
)
from trials.actions.observations import correct_observation
from trials.models import Authorisation, Observation


def issue(scene, **changes):
    """Issue the scene's line, with changed arguments."""
    arguments = {"order": scene.order, "lines": [scene.line], "by": scene.signatory, "at": ISSUED_AT}
    return issue_certificate(**(arguments | changes))


def refusal(scene, **changes):
    """The sentence with which the issue is refused; nothing is written."""
    before = Entry.objects.count()
    with pytest.raises(Refused) as refused:
        issue(scene, **changes)
    assert (Certificate.objects.count(), Entry.objects.count()) == (0, before)
    return refused.value.sentence


def test_the_first_certificate_of_an_order_is_numbered_frozen_and_entered(db):
    scene = certificate_scene()
    certificate = issue(scene)
    assert (certificate.number, certificate.issued_by, certificate.pdf) == ("26-0001-C1", scene.signatory, None)
    assert list(certificate.lines.all()) == [scene.line]
    entry = Entry.objects.filter(book__name=scene.order.book).latest("sequence")
    assert (entry.act, entry.data["after"]["content sha256"]) == ("issued a certificate", certificate.content_sha256)
    assert list(ledger_faults()) == []


def test_the_content_is_what_the_records_said_at_issue(db):
    scene = certificate_scene(BURNS)
    certificate = issue(scene)
    scene.order.client.name = "Renamed Plugs"
    scene.order.client.save()
    certificate.refresh_from_db()
    content = content_from_json(certificate.content)
    assert (content.client.name, content.lines[0].state) == ("Example Plugs", "passed")
    assert content.lines[0].sentence == (
        "Passed at 850 °C: specimen 26-0001-002-5, the flame was out at 38.6 s, and the layer did not catch."
    )


def test_a_certificate_issued_late_at_night_bears_the_day_at_the_laboratory(db):
    # 23:30 at the laboratory (UTC+1) is still the same day; 22:30 UTC
    scene = certificate_scene()
    content = content_from_json(issue(scene, at=NOON.replace(hour=22, minute=30)).content)
    assert (content.issued_on.isoformat(), content.issued_at.isoformat()) == ("2026-03-10", "2026-03-10T23:30:00+01:00")


def test_a_failed_line_is_certified_as_failed(db):
    content = content_from_json(issue(certificate_scene(BURNS, LAYER_CATCHES)).content)
    assert (content.lines[0].state, [trial.outcome for trial in content.trials]) == ("failed", ["pass", "fail"])


def test_only_a_signatory_issues(db):
    scene = certificate_scene()
    assert refusal(scene, by=scene.checker) == "Cora Checker is no signatory; certificates are issued by one."


def test_a_signatory_needs_an_authorisation_for_the_edition_today(db):
    scene = certificate_scene()
    stranger = UserFactory(full_name="Sue Stranger", roles=["signatory"])
    assert "Sue Stranger" in refusal(scene, by=stranger)


def test_an_authorisation_that_ended_before_today_is_none(db):
    # the case of a right that is taken away between the test and the signature
    scene = certificate_scene()
    Authorisation.objects.filter(activity="sign").update(ended_at=NOON, ended_by=scene.bench.lead)
    assert "Sid Signatory" in refusal(scene)


def test_an_unchecked_line_is_not_issued(db):
    scene = certificate_scene(check=False)
    sentence = "Line 1 is not checked yet. Passed at 850 °C: specimen 26-0001-002-5, no flame and no glow"
    assert refusal(scene).startswith(sentence)


def test_a_line_changed_after_the_check_needs_a_new_one(db):
    scene = certificate_scene(BURNS)
    row = Observation.objects.get(trial=scene.trials[0], kind="flame_out")
    correct_observation(
        by=scene.bench.technician, at=CHECKED_AT + timedelta(hours=1), observation=row, t_s=Decimal("37.9"),
        value="bright", strike=False, reason="pressed late",
    )  # fmt: skip
    assert refusal(scene) == "A trial of line 1 was signed anew after Cora Checker checked it; it needs a new check."
    check_now(scene, CHECKED_AT + timedelta(minutes=90))
    assert issue(scene).number == "26-0001-C1"


def test_a_deviation_without_an_answer_holds_the_certificate(db):
    scene = certificate_scene()
    deviation(scene)
    assert (
        refusal(scene)
        == f"The client has not answered the deviation of item 26-0001-001-7, “{CRACKS}”. Record the answer."
    )


def test_what_is_missing_is_named(db):
    scene = certificate_scene()
    scene.bench.rig.place = None
    scene.bench.rig.save()
    assert refusal(scene) == (
        "Specimen 26-0001-002-5: rig GW-1 stands at no place, so it is not known where it was tested. "
        "It cannot be issued like this."
    )


def test_a_line_is_certified_once(db):
    scene = certificate_scene()
    issue(scene)
    with pytest.raises(Refused) as refused:
        issue(scene)
    assert refused.value.sentence == "Line 1 is certified by 26-0001-C1 already; amend that one if it is wrong."


def test_only_what_was_looked_at_is_issued(db):
    scene = certificate_scene()
    seen = seen_fingerprint(draft_content(scene.order, [scene.line], by=scene.checker, at=NOON))
    scene.order.client.address = "Elsewhere 2"
    scene.order.client.save()
    assert refusal(scene, seen=seen).startswith("Something changed since this page was opened.")
    now = seen_fingerprint(draft_content(scene.order, [scene.line], by=scene.checker, at=NOON))
    assert issue(scene, seen=now).number == "26-0001-C1"


def test_no_line_is_no_certificate(db):
    assert refusal(certificate_scene(), lines=[]) == "Choose at least one line that is checked."


def test_several_lines_share_a_certificate(db):
    scene = certificate_scene(BURNS, LAYER_CATCHES, check=False)
    lines = spread_over_lines(scene)
    content = content_from_json(issue(scene, lines=lines).content)
    assert [(line.position, line.state) for line in content.lines] == [(1, "passed"), (2, "failed")]


@pytest.mark.parametrize(
    ("name", "characters"),
    [
        # the same four names as fixtures of public bug reports use: Chinese, Arabic, Hebrew, and Latin with a ligature
        (
            "示例电器（测试）有限公司",
            "“示” (U+793A), “例” (U+4F8B), “电” (U+7535), “器” (U+5668), “（” (U+FF08) and 7 more",
        ),
        ("شركة المثال", "“ش” (U+0634), “ر” (U+0631), “ك” (U+0643), “ة” (U+0629), “ا” (U+0627) and 3 more"),
        ('דוגמה חשמל בע"מ', "“ד” (U+05D3), “ו” (U+05D5), “ג” (U+05D2), “מ” (U+05DE), “ה” (U+05D4) and 5 more"),
    ],
)
def test_a_name_that_no_font_can_print_blocks_the_issue_and_is_named(db, name, characters):
    scene = certificate_scene()
    scene.order.client.name = name
    scene.order.client.save()
    assert refusal(scene) == (
        f"Client name, “{name}”: the certificate’s fonts do not have {characters}. It cannot be issued like this."
    )


def test_a_name_in_latin_letters_of_any_country_is_printed(db):
    scene = certificate_scene()
    scene.order.client.name = "Příklad Żółw & Söhne ﬁlm GmbH"
    scene.order.client.save()
    assert issued(scene, written=False).number == "26-0001-C1"
