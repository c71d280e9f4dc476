"""Accepting an incoming certificate: reasons where a check is not ok, and what was shown is kept."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from calibration.actions.calibrations import PointValues, decide_calibration, enter_calibration
from calibration.actions.limits import set_limit
from calibration.models import Calibration
from calibration.queries.acceptance import acceptance_of
from calibration.queries.instruments import calibrations_with_instruments
from calibration.queries.usability import usability
from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from tests.factories.calibration import CalibrationFactory, InstrumentFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
D = Decimal
FACTS: dict[str, Any] = {
    "calibrated_on": date(2026, 3, 2), "interval": 12, "interval_unit": "months", "calibrated_by": "Nowhere Metrology",
    "issued_on": date(2026, 3, 4), "received_on": date(2026, 3, 9), "route": "accredited laboratory",
    "accreditation_number": "K-0941", "in_scope": True, "serial_on_certificate": "S 1", "adjusted": False,
}  # fmt: skip


def point(indication: str, u: str | None = "1.1", k: str | None = "2", kind: str = "as found") -> PointValues:
    return {
        "kind": kind, "reference": D("850.0"), "indication": D(indication), "unit": "°C",
        "expanded_uncertainty": None if u is None else D(u), "coverage_factor": None if k is None else D(k),
        "coverage_probability": D("0.9545"),
    }  # fmt: skip


def entered(keeper, *points: PointValues, limited: bool = True, **facts: Any) -> Calibration:
    one = InstrumentFactory.create(code="TC-07", serial_number="S1")
    if limited:
        limit = {"unit": "°C", "absolute": D("1.5"), "relative": D("0.004"), "low": D(845), "high": D(855)}
        set_limit(by=keeper, at=NOON, instrument=one, source="IEC 60584-1:2013, class 1", **limit)  # type: ignore[arg-type]  # mixed facts
    made = enter_calibration(by=keeper, at=NOON, instrument=one, points=points, **(FACTS | facts))
    return calibrations_with_instruments().get(pk=made.pk)


def answers(calibration: Calibration) -> dict[str, str]:
    return {check.key: check.answer for check in acceptance_of(calibration, NOON).checks}


def test_a_certificate_in_order_is_accepted_without_a_reason_and_its_checks_are_kept(person):
    keeper = person("quality")
    calibration = entered(keeper, point("849.2"))
    assert set(answers(calibration).values()) == {"ok"}
    seen = acceptance_of(calibration, NOON)
    decide_calibration(by=keeper, at=NOON, calibration=calibration, decision="accepted", shown_checks=seen.fingerprint)
    kept = Calibration.objects.get().acceptance
    assert kept == seen.as_kept
    assert [one["answer"] for one in kept["checks"]] == ["ok"] * 10
    assert kept["points"] == [
        {
            "kind": "as found", "reads": "850.0 → 849.2 °C", "error": "−0.8 K", "uncertainty": "1.1 K",
            "coverage_factor": "2", "permitted": "±3.4 K", "statement": "pass", "risk": "below 0.01 %", "reason": "",
        }
    ]  # fmt: skip
    assert kept["limits"] == [
        {
            "unit": "°C",
            "permitted": "1.5 K or 0.4 % of the value, the larger, from 845 to 855 °C",
            "rule": "simple acceptance",
            "r": "1",
            "source": "IEC 60584-1:2013, class 1",
        }
    ]
    entry = Entry.objects.filter(book__name=calibration.instrument.book).latest("pk")
    assert entry.data["checks"]["as found"] == "ok"


def test_accepting_what_is_not_ok_needs_a_reason_that_names_it(person):
    keeper = person("quality")
    calibration = entered(keeper, point("846.1"), serial_on_certificate="S2")
    with pytest.raises(Refused) as refusal:
        decide_calibration(by=keeper, at=NOON, calibration=calibration, decision="accepted")
    assert (refusal.value.field, refusal.value.sentence) == (
        "reason",
        (
            "Write why it is accepted all the same. "
            "The certificate says S2, the instrument is registered as S1. "
            "As found it is out of its limits: it read 3.9 K low at 850.0 °C, 3.4 K are permitted."
        ),
    )
    assert Calibration.objects.get().awaits
    made = decide_calibration(
        by=keeper, at=NOON, calibration=calibration, decision="accepted", reason="misprint, confirmed by telephone"
    )
    assert usability(calibration.instrument, NOON).usable
    assert made.acceptance["checks"][7]["answer"] == "not ok"


def test_rejecting_what_came_back_wrong_leaves_it_unusable_with_its_checks_kept(person):
    keeper = person("quality")
    calibration = entered(keeper, point("846.1"))
    decide_calibration(by=keeper, at=NOON, calibration=calibration, decision="rejected", reason="out as found")
    answer = usability(calibration.instrument, NOON)
    assert (answer.usable, answer.status.value) == (False, "rejected")
    assert Calibration.objects.get().acceptance["points"][0]["statement"] == "fail"


def test_what_changed_since_it_was_shown_is_shown_again_before_anybody_decides(person):
    keeper = person("quality")
    calibration = entered(keeper, point("849.2"))
    seen = acceptance_of(calibration, NOON).fingerprint
    set_limit(by=keeper, at=NOON, instrument=calibration.instrument, unit="°C", absolute=D("0.5"), source="own")
    with pytest.raises(Refused, match="came out otherwise since this page was opened"):
        decide_calibration(by=keeper, at=NOON, calibration=calibration, decision="accepted", shown_checks=seen)
    assert Calibration.objects.get().awaits


def test_an_old_calibration_without_any_of_it_is_accepted_as_before(person):
    keeper, old = person("quality"), CalibrationFactory.create()
    calibration = calibrations_with_instruments().get(pk=old.pk)
    assert "not ok" not in answers(calibration).values()
    decide_calibration(by=keeper, at=old.entered_at, calibration=calibration, decision="accepted")
    assert Calibration.objects.get().decision == "accepted"


@pytest.mark.parametrize(
    ("points", "adjusted", "expected"),
    [
        ((), False, {"uncertainty": "not known", "as found": "not known", "range": "not ok"}),
        ((point("849.9", kind="as left"),), True, {"as found": "not known", "as left": "ok", "range": "ok"}),
        ((point("849.9", kind="as left"),), False, {"as found": "ok", "range": "ok"}),
        ((point("849.9"), point("853.5")), False, {"as found": "not ok"}),
        ((point("849.9", k=None),), False, {"coverage factor": "not ok", "uncertainty": "ok"}),
        ((point("849.9", u=None, k=None),), False, {"uncertainty": "not ok"}),
        ((point("849.9", u="1.104"),), False, {"digits": "not ok"}),
    ],
)
def test_edges_of_what_is_entered(person, points, adjusted: bool, expected: dict[str, str]):
    found = answers(entered(person("quality"), *points, adjusted=adjusted))
    assert {key: found.get(key) for key in expected} == expected


def test_without_limits_nothing_is_judged_and_nothing_is_wrong(person):
    found = answers(entered(person("quality"), point("700"), limited=False))
    assert (found["as found"], found["range"]) == ("not known", "not known")


def test_the_checks_take_two_reads_however_many_points(person, django_assert_num_queries):
    calibration = entered(person("quality"), *[point("849.2")] * 5)
    with django_assert_num_queries(2):
        acceptance_of(calibration, NOON)


@pytest.mark.parametrize(
    ("facts", "field", "words"),
    [
        ({"chain": "thermocouple"}, "chain_with", "A chain is calibrated with a temperature indicator"),
        ({"standard": "itself"}, "standard", "is no standard for itself"),
    ],
)
def test_chain_and_standard_are_other_instruments(person, facts: dict[str, str], field: str, words: str):
    keeper, one = person("quality"), InstrumentFactory.create()
    other = InstrumentFactory.create()
    partner = {"chain_with": other} if "chain" in facts else {"standard": one}
    with pytest.raises(Refused, match=words) as refusal:
        enter_calibration(by=keeper, at=NOON, instrument=one, **(FACTS | partner))
    assert refusal.value.field == field


def test_a_unit_that_is_not_listed_is_refused(person):
    with pytest.raises(Refused, match="“degC” is none of the units used here"):
        enter_calibration(
            by=person("quality"), at=NOON, instrument=InstrumentFactory.create(),
            points=[point("849") | {"unit": "degC"}], **FACTS,
        )  # fmt: skip


def test_what_the_certificate_says_stands_in_the_ledger(person):
    keeper, standard = person("quality"), InstrumentFactory.create(code="REF-1")
    made = entered(keeper, standard=standard, route="in house", route_evidence="P-12")
    facts = Entry.objects.filter(book__name=made.instrument.book, act="entered a calibration").get().data["after"]
    named = ("issued on", "received on", "route", "route evidence", "in scope", "adjusted", "standard")
    assert [facts[name] for name in named] == ["2026-03-04", "2026-03-09", "in house", "P-12", "yes", "no", "REF-1"]
    assert "calibrated with" not in facts
