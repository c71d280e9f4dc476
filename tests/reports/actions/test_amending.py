"""Amending: a number of its own, every difference listed, the old one untouched."""

from datetime import timedelta
from decimal import Decimal

import pytest

from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from reports.actions.issuing import amend_certificate
from reports.models import Certificate
from reports.queries.certificates import chain_of, newest_of
from tests.factories.reports import (
    BURNS,
    CHECKED_AT,
    ISSUED_AT,
    amendment_of,
    certificate_scene,
    check_now,
    file_of,
    issued,
)
from trials.actions.observations import correct_observation
from trials.models import Observation

LATER = ISSUED_AT + timedelta(days=1)
MISTYPED = "Typing error of the laboratory."


def moved(scene, address):
    """Put the client's address right."""
    client = scene.order.client
    client.address = address
    client.save()


def amend(scene, certificate, *, at=LATER, reason=MISTYPED):
    """Amend; the file is written by others."""
    return amend_certificate(certificate=certificate, reason=reason, by=scene.signatory, at=at)


def test_an_amendment_lists_what_differs_and_leaves_the_old_one_alone(db):
    scene = certificate_scene(BURNS)
    first = issued(scene)
    before = bytes(file_of(first).content)
    moved(scene, "Sample Street 17")
    second = amend(scene, first)
    first = Certificate.objects.get(pk=first.pk)
    amendment = amendment_of(second)
    assert (second.number, second.replaces, first.replaced_by) == ("26-0001-C2", first, second)
    assert second.amendment_changes == ["Client, address: “Sample Street 17” was “Sample Street 1”."]
    assert (amendment.replaces, amendment.reason) == ("26-0001-C1", MISTYPED)
    assert amendment.results_changed is False
    assert (bytes(file_of(first).content), first.content["client"]["address"]) == (before, "Sample Street 1")
    entry = Entry.objects.filter(book__name=scene.order.book, act="amended a certificate").get()
    assert entry.data["after"]["replaces"] == "26-0001-C1"


def test_a_chain_of_three_leads_to_the_newest(db):
    scene = certificate_scene()
    first = issued(scene, written=False)
    moved(scene, "Sample Street 2")
    second = amend(scene, first)
    moved(scene, "Sample Street 3")
    third = amend(scene, second, at=LATER + timedelta(days=1))
    assert [one.number for one in chain_of(second)] == ["26-0001-C1", "26-0001-C2", "26-0001-C3"]
    assert [newest_of(one) for one in (first, second, third)] == [third, third, third]


def test_a_replaced_certificate_is_not_amended_again(db):
    scene = certificate_scene()
    first = issued(scene, written=False)
    for street in ("Sample Street 2", "Sample Street 3"):
        moved(scene, street)
        amend(scene, newest_of(first))
    with pytest.raises(Refused) as refused:
        amend(scene, first)
    assert refused.value.sentence == "26-0001-C1 is replaced already; amend 26-0001-C3, which is the newest."


def test_nothing_changed_is_no_amendment(db):
    scene = certificate_scene()
    first = issued(scene, written=False)
    with pytest.raises(Refused) as refused:
        amend(scene, first)
    assert refused.value.sentence == (
        "Nothing has changed since 26-0001-C1 was issued; mend the record first, then amend."
    )


def test_an_amendment_needs_a_reason(db):
    scene = certificate_scene()
    first = issued(scene, written=False)
    moved(scene, "Sample Street 2")
    with pytest.raises(Refused) as refused:
        amend(scene, first, reason="  ")
    assert (refused.value.sentence, refused.value.field) == (
        "An amendment needs its reason; it is printed.",
        "reason",
    )


def test_only_a_signatory_amends(db):
    scene = certificate_scene()
    first = issued(scene, written=False)
    moved(scene, "Sample Street 2")
    with pytest.raises(Refused, match="Cora Checker is no signatory"):
        amend_certificate(certificate=first, reason=MISTYPED, by=scene.checker, at=LATER)


def test_a_corrected_observation_changes_results_and_is_told_once(db):
    scene = certificate_scene(BURNS)
    first = issued(scene, written=False)
    row = Observation.objects.get(trial=scene.trials[0], kind="flame_out")
    correct_observation(
        by=scene.bench.technician, at=LATER, observation=row, t_s=Decimal("37.9"), value="bright", strike=False,
        reason="pressed late, read off the video",
    )  # fmt: skip
    check_now(scene, LATER + timedelta(hours=1))
    second = amend(scene, first, at=LATER + timedelta(hours=2), reason="An observation was corrected.")
    assert amendment_of(second).results_changed is True
    where = "Line 1, specimen 26-0001-002-5"
    assert [change.partition(":")[0] for change in second.amendment_changes] == [
        "Line 1, sentence",
        f"{where}, sentence",
        f"{where}, figure Flames end",
        f"{where}, figure Longest flame",
        f"{where}, criterion Flames and glow end in time, found",
        f"{where}, criterion Flames and glow end in time, reason",
        f"{where}, correction Flame out",
    ]


def test_amending_waits_for_a_new_check(db):
    scene = certificate_scene(BURNS)
    first = issued(scene, written=False)
    row = Observation.objects.get(trial=scene.trials[0], kind="flame_out")
    correct_observation(
        by=scene.bench.technician, at=CHECKED_AT + timedelta(days=1), observation=row, t_s=Decimal("37.9"),
        value="bright", strike=False, reason="pressed late",
    )  # fmt: skip
    with pytest.raises(Refused) as refused:
        amend(scene, first)
    assert (
        refused.value.sentence
        == "A trial of line 1 was signed anew after Cora Checker checked it; it needs a new check."
    )
