"""What the counter is offered, and confirmations that cover exactly the figures confirmed."""

from datetime import timedelta
from decimal import Decimal

import pytest

from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from specimens.domain.atmospheres import ATMOSPHERES
from specimens.domain.offers import PlanOffer
from specimens.models import DecisionRule
from tests.factories.bench import METHOD
from tests.factories.ledger import NOON, UserFactory
from trials.actions.methods import confirm_edition
from trials.domain.methods.registry import EDITIONS
from trials.queries import methods as queries
from trials.queries.methods import edition_by_key, edition_confirmation, method_catalogue, parameters_sha256


def test_the_catalogue_offers_every_edition():
    assert method_catalogue().keys() == EDITIONS.keys()


def test_an_offer_says_what_the_counter_must_know():
    offer = method_catalogue()[METHOD]
    assert (offer.standard, offer.severity_unit, offer.specimens_needed, offer.rig_kind) == (
        "IEC 60695-2-11:2021", "°C", 1, "glow wire",
    )  # fmt: skip
    # Standard levels: IEC 60695-2-11, from general knowledge; the others are asked for by product standards.
    assert [level.value for level in offer.severities if level.standard] == [550, 650, 750, 850, 960]
    # 24 h at 15 to 35 °C: a test laboratory's public page; 4 h to the test, shown and not enforced.
    assert offer.plans == (PlanOffer("", "", "15-35/45-75", Decimal(24), Decimal(4), use_within_enforced=False),)


@pytest.mark.parametrize("key", EDITIONS)
def test_what_an_offer_names_exists(key):
    offer = method_catalogue()[key]
    assert {plan.atmosphere_key for plan in offer.plans} <= ATMOSPHERES.keys()
    assert {plan.earlier_atmosphere_key for plan in offer.plans} <= ATMOSPHERES.keys() | {None}
    assert [bool(plan.title) for plan in offer.plans] == [len(offer.plans) > 1] * len(offer.plans)
    assert set(offer.decision_rules) <= set(DecisionRule.values)


def test_the_fingerprint_changes_with_any_figure_and_its_source():
    edition = edition_by_key(METHOD)
    force = edition.parameter("force_n")
    changed = [
        edition.revised(type(force)(**{**_members(force), "tolerance": Decimal("0.1")})),
        edition.revised(type(force)(**{**_members(force), "source": "another"})),
    ]
    prints = {parameters_sha256(one) for one in (edition, *changed)}
    assert len(prints) == 3


def _members(parameter):
    return {name: getattr(parameter, name) for name in parameter.__dataclass_fields__}


def test_a_confirmation_goes_stale_when_a_figure_changes(lab, monkeypatch):
    lead = UserFactory.create(full_name="Lena Lead", roles=["lead"])
    edition = edition_by_key(METHOD)
    assert edition_confirmation(METHOD) is None
    row = confirm_edition(method_key=METHOD, seen_sha256=parameters_sha256(edition), note=" copy 2 ", by=lead, at=NOON)
    confirmed = edition_confirmation(METHOD)
    assert confirmed is not None
    assert (confirmed.row, confirmed.row.note, confirmed.current) == (row, "copy 2", True)
    assert Entry.objects.get(act="confirmed the edition").book.name == f"method:{METHOD}"
    force = edition.parameter("force_n")
    revised = edition.revised(type(force)(**{**_members(force), "tolerance": Decimal("0.2")}))
    monkeypatch.setattr(queries, "EDITIONS", {**EDITIONS, METHOD: revised})
    stale = edition_confirmation(METHOD)
    assert (stale and stale.row, stale and stale.current) == (row, False)


def test_only_a_lead_confirms_and_only_what_was_shown(lab):
    sha = parameters_sha256(edition_by_key(METHOD))
    with pytest.raises(Refused, match="Only a lead confirms"):
        confirm_edition(method_key=METHOD, seen_sha256=sha, note="", by=UserFactory.create(roles=["quality"]), at=NOON)
    with pytest.raises(Refused, match="The figures changed since this page was opened"):
        confirm_edition(
            method_key=METHOD, seen_sha256="0" * 64, note="", by=UserFactory.create(roles=["lead"]), at=NOON
        )


def test_the_latest_confirmation_holds(lab):
    lead = UserFactory.create(roles=["lead"])
    sha = parameters_sha256(edition_by_key(METHOD))
    for hours, note in ((0, "first"), (1, "second")):
        confirm_edition(method_key=METHOD, seen_sha256=sha, note=note, by=lead, at=NOON + timedelta(hours=hours))
    latest = edition_confirmation(METHOD)
    assert latest is not None
    assert latest.row.note == "second"
