"""`manage.py rejudge`: silence and status 0 when nothing would change, the list and status 1 when something would."""

import json
import re
from datetime import timedelta
from decimal import Decimal
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from tests.factories.bench import METHOD
from tests.factories.trials import signed_trial
from trials.actions.methods import revise_sheet
from trials.models import SignedVerdict


def run(*options):
    """What the command wrote, what it told meanwhile, and its status."""
    out, err, status = StringIO(), StringIO(), 0
    try:
        call_command("rejudge", *options, stdout=out, stderr=err)
    except CommandError as error:
        status = error.returncode
        err.write(str(error))
    return out.getvalue(), err.getvalue(), status


@pytest.fixture
def revised(scene):
    signed_trial(scene)
    changes = {"force_n": {"value": Decimal("1.00"), "tolerance": Decimal("0.03")}}
    later = scene.at + timedelta(days=1)
    revise_sheet(by=scene.lead, at=later, method_key=METHOD, revision_seen=0, changes=changes, reason="why")
    return scene


def test_the_same_figures_change_nothing(revised):
    assert run("--rows") == ("", "1 of 1\n1 verdicts judged again: the same, byte for byte.\n", 0)


def test_other_figures_list_what_would_change_in_words(revised):
    text, told, status = run("--newest")
    head, outcome, *_ = text.splitlines()
    stored = SignedVerdict.objects.get()
    assert head == (
        f"Specimen 26-0001-002-5, trial {stored.trial_id}, signed 2026-03-10 11:10 UTC by Tess Technician: "
        f"{stored.sentence} → Invalid at 850 °C: force 0.96 N is outside 1.00 ± 0.03 N."
    )
    assert outcome == "    Outcome: pass → invalid"
    assert (told, status) == ("1 of 1\n1 of 1 verdict would change.", 1)


def test_one_json_object_a_line(revised):
    text, _, status = run("--revision", "1", "--method", METHOD, "--json", "--since", "2026-03-10")
    (line,) = text.splitlines()
    found = json.loads(line)
    assert (found["method"], found["specimen"], status) == (METHOD, "2600010025", 1)
    assert found["differences"][0] == {"what": "Outcome", "before": "pass", "after": "invalid"}


def test_a_later_day_has_nothing(revised):
    assert run("--newest", "--since", "2026-03-11")[2] == 0


@pytest.mark.parametrize(
    ("options", "sentence"),
    [
        (("--method", "nothing@1"), "There is no method edition nothing@1."),
        (("--revision", "1"), "A revision belongs to one method edition: name it with --method."),
        (("--revision", "7", "--method", METHOD), f"There is no revision 7 of the figures of {METHOD}."),
    ],
)
def test_what_is_not_understood_is_refused(revised, options, sentence):
    text, told, status = run(*options)
    assert (text, status) == ("", 2)
    assert sentence in told


@pytest.mark.parametrize("typed", ["11.3.2026", "0001-01-01", "9999-12-31"])
def test_a_day_is_written_year_first_and_within_reach(db, typed):
    with pytest.raises(CommandError, match=re.escape(f"“{typed}” is no day; write year, month, day: 2026-11-25.")):
        call_command("rejudge", "--since", typed)
