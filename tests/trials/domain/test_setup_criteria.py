"""Set-up criteria: a yes that is no longer asked for decides nothing, and a time past its limit never looks inside."""

from decimal import Decimal

import pytest

from trials.domain.methods.registry import EDITIONS
from trials.domain.parameter_changes import changed_edition
from trials.domain.records import Conditioning, TrialRecord
from trials.domain.setup_criteria import conditioning_criteria, setup_criterion

D = Decimal
SWITCHES = [
    (key, field.key)
    for key, edition in sorted(EDITIONS.items())
    for field in edition.setup_fields
    if field.kind == "yes-no" and field.parameter
]
OUT = [
    (key, need.key)
    for key, edition in sorted(EDITIONS.items())
    for need in edition.conditionings
    if need.use_within_hours
]


@pytest.mark.parametrize(("key", "name"), SWITCHES)
def test_a_yes_that_is_not_asked_for_any_more_decides_nothing(key, name):
    edition = EDITIONS[key]
    field = edition.fields_by_key[name]
    answers = (True, False, None)

    def decided(judged_by):
        found = [setup_criterion(judged_by, field, TrialRecord(key, None, {name: answer})) for answer in answers]
        return [(one.holds, one.limit, one.enforced) for one in found]

    assert [holds for holds, limit, _ in decided(edition) if limit == "yes"] == [True, False, None]
    off = changed_edition(edition, {field.parameter: {"value": False}})
    assert decided(off) == [
        (True, "not asked for", False),
        (True, "not asked for", False),
        (None, "not asked for", False),
    ]


@pytest.mark.parametrize(("key", "plan"), OUT)
def test_a_second_past_the_window_is_not_written_as_the_window_itself(key, plan):
    edition = EDITIONS[key]
    limit = edition.parameter(edition.conditioning_called(plan).use_within_hours)
    assert limit.high is not None
    minutes = limit.high * 60
    texts = []
    for out in (minutes, minutes + D(1) / 60):
        record = TrialRecord(key, None, conditioning=Conditioning(D(10**7), out, plan, D(10**7)))
        criterion = conditioning_criteria(edition, record)[-1]
        texts.append((criterion.holds, criterion.found))
    assert [holds for holds, _ in texts] == [True, False]
    assert texts[0][1] != texts[1][1]
