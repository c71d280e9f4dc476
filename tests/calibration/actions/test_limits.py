"""Setting and ending what is permitted of an instrument: the newest row of a unit holds, the history stays."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest

from calibration.actions.limits import end_limit, set_limit
from calibration.models import InstrumentLimit
from calibration.queries.limits import instrument_limits, limits_of
from labsite.ledger.models import Entry
from labsite.ledger.queries import ledger_faults
from labsite.ledger.refusals import Refused
from tests.factories.calibration import InstrumentFactory
from tests.factories.ledger import NOON

pytestmark = pytest.mark.django_db
D = Decimal
CLASS_1: dict[str, Any] = {
    "unit": "°C", "absolute": D("1.5"), "relative": D("0.004"), "low": D(550), "high": D(960), "source": "IEC 60584-1",
}  # fmt: skip
LATER = NOON + timedelta(days=30)


def test_a_limit_holds_from_its_moment_on_with_its_digits_and_its_entry(person):
    keeper, one = person("quality"), InstrumentFactory.create()
    made = set_limit(by=keeper, at=NOON, instrument=one, **CLASS_1)
    stored = InstrumentLimit.objects.get()
    assert [str(stored.absolute), str(stored.relative), stored.decision_rule] == ["1.5", "0.004", "simple acceptance"]
    assert instrument_limits(one, NOON - timedelta(seconds=1)).in_force == {}
    assert instrument_limits(one, NOON).in_force == {"°C": made}
    entry = Entry.objects.get(book__name=one.book)
    assert (entry.act, entry.by) == ("set the limit in °C", keeper)
    assert entry.data["after"] == {
        "permitted": "1.5 K or 0.4 % of the value, the larger, from 550 to 960 °C",
        "rule": "simple acceptance",
        "drift allowance": "",
        "source": "IEC 60584-1",
    }
    assert list(ledger_faults()) == []


def test_the_newest_row_of_a_unit_holds_and_the_others_stay_in_the_history(person):
    keeper, one = person("quality"), InstrumentFactory.create()
    first = set_limit(by=keeper, at=NOON, instrument=one, **CLASS_1)
    humidity = set_limit(by=keeper, at=NOON, instrument=one, unit="% RH", absolute=D(3), source="own")
    second = set_limit(
        by=keeper, at=LATER, instrument=one, unit="°C", absolute=D(2), source="own", decision_rule="guard band",
        guard_factor=D("0.83"), drift_allowance=D("0.5"),
    )  # fmt: skip
    assert instrument_limits(one, NOON).in_force == {"% RH": humidity, "°C": first}
    found = instrument_limits(one, LATER)
    assert found.in_force == {"% RH": humidity, "°C": second}
    assert [row.pk for row in found.history] == [second.pk, humidity.pk, first.pk]
    assert [(row.pk, words) for row, words in found.earlier] == [(first.pk, found.earlier[0][1])]
    assert found.permitted("°C", D(850)) == 2
    assert found.permitted("N", D(1)) is None
    assert Entry.objects.filter(book__name=one.book).latest("pk").data["after"]["rule"] == "guard band, r = 0.83"


def test_an_ended_limit_holds_until_then_and_can_be_set_again(person):
    keeper, one = person("quality"), InstrumentFactory.create()
    made = set_limit(by=keeper, at=NOON, instrument=one, **CLASS_1)
    end_limit(by=keeper, at=LATER, limit=made, reason="no longer judged here")
    assert instrument_limits(one, LATER - timedelta(seconds=1)).in_force == {"°C": made}
    assert instrument_limits(one, LATER).in_force == {}
    with pytest.raises(Refused, match="does not hold any more"):
        end_limit(by=keeper, at=LATER, limit=made, reason="again")
    again = set_limit(by=keeper, at=LATER, instrument=one, **CLASS_1)
    assert limits_of([one.pk], LATER)[one.pk] == {"°C": again}


@pytest.mark.parametrize(
    ("change", "field", "sentence"),
    [
        (
            {"unit": "kN"},
            "unit",
            "“kN” is none of the units used here: °C, K, N, s, mm, g, % RH, lx, A, V, kPa, µm, mV.",
        ),
        (
            {"absolute": None, "relative": None},
            "absolute",
            "Write what is permitted: a figure, a share of the value, or both.",
        ),
        ({"absolute": D("-0.1")}, "absolute", "What is permitted is not below zero."),
        ({"relative": D("-0.1")}, "relative_percent", "What is permitted is not below zero."),
        ({"drift_allowance": D(-1)}, "drift_allowance", "What is permitted is not below zero."),
        ({"low": D(960)}, "high", "The range ends at 960, which is not above its beginning, 960."),
        (
            {"decision_rule": "client's own"},
            "decision_rule",
            "An instrument is judged by one of these rules: simple acceptance, guard band.",
        ),
        ({"decision_rule": "guard band"}, "guard_factor", "A guard band needs its factor r; w = r U."),
        (
            {"decision_rule": "guard band", "guard_factor": D("-1.1")},
            "guard_factor",
            "A factor is -1 or more: a guard band is at most U beyond the limit.",
        ),
    ],
)
def test_a_limit_that_makes_no_sense_is_refused(person, change: dict[str, Any], field: str, sentence: str):
    with pytest.raises(Refused) as refusal:
        set_limit(by=person("quality"), at=NOON, instrument=InstrumentFactory.create(), **(CLASS_1 | change))
    assert (refusal.value.field, refusal.value.sentence) == (field, sentence)
    assert InstrumentLimit.objects.count() == 0


def test_ending_needs_a_reason(person):
    keeper = person("quality")
    made = set_limit(by=keeper, at=NOON, instrument=InstrumentFactory.create(), **CLASS_1)
    with pytest.raises(Refused) as refusal:
        end_limit(by=keeper, at=LATER, limit=made, reason=" ")
    assert refusal.value.field == "reason"


@pytest.mark.parametrize("count", [1, 3])
def test_limits_of_many_take_one_read(person, django_assert_num_queries, count: int):
    ones = [InstrumentFactory.create() for _ in range(count)]
    keeper = person("quality")
    for one in ones:
        set_limit(by=keeper, at=NOON, instrument=one, **CLASS_1)
    with django_assert_num_queries(1):
        assert len([row for key in limits_of([one.pk for one in ones], NOON).values() for row in key]) == count
