"""The pages of uncertainty budgets: the one in force, every version, and the form for a new one."""

from datetime import timedelta

import pytest

from tests.factories.bench import METHOD
from tests.factories.ledger import NOON, UserFactory
from tests.factories.trials import signed_trial
from trials.actions.budgets import make_budget
from trials.models import UncertaintyBudget

# By hand: u = root(0.2^2/3 + 0.617^2) = 0.6277, nu = u^4/(0.617^4/8) = 8.6, truncated to 8, k = 2.37, U = 1.49 s.
ADDRESS = f"/methods/{METHOD}/budgets/ignites/"
ROWS = [
    {"name": "hand <b>", "distribution": "rectangular", "half_width": "0.20"},
    {"name": "clock", "distribution": "normal", "half_width": "1.234", "coverage_factor": "2", "degrees": "8"},
]


def typed(*rows, seen="0", **other):
    named = {f"rows-{at}-{name}": text for at, row in enumerate(rows) for name, text in row.items()}
    counts = {"rows-TOTAL_FORMS": str(len(rows) + 1), "rows-INITIAL_FORMS": "0"}
    asked = {"version_seen": seen, "unit": "s", "level": "95.45 %", "shape": "t", "reason": "measured anew"}
    return {**asked, **counts, **named, **other}


def made(at=NOON, rows=ROWS, seen=0):
    return make_budget(
        by=UserFactory.create(roles=["lead"]), at=at, method_key=METHOD, quantity="ignites", unit="s",
        version_seen=seen, rows=rows, level="95.45 %", shape="t", reason="first",
    )  # fmt: skip


def test_a_figure_without_a_budget_says_what_to_do(signed_in):
    page = signed_in("lead").get(ADDRESS).content.decode()
    assert "Specimen ignites has no uncertainty budget yet." in page
    assert f'href="{ADDRESS}new/"' in page


def test_the_method_page_lists_every_figure_with_a_unit(signed_in):
    page = signed_in("lead").get(f"/methods/{METHOD}/").content.decode()
    assert page.count("not stated</span>") == 9
    made()
    page = signed_in("lead").get(f"/methods/{METHOD}/").content.decode()
    assert page.count("not stated</span>") == 8
    assert "1.5 s<small>k = 2.37, 95.45 %</small>" in page


def test_a_lead_makes_a_version_and_reads_it(signed_in):
    browser = signed_in("lead")
    rows = [
        {"name": "hand", "distribution": "rectangular", "half_width": "0,20"},
        {"name": "readings", "distribution": "type A", "readings": "1.1; 1.2 1,4"},
    ]
    answer = browser.post(f"{ADDRESS}new/", typed(*rows))
    assert (answer.status_code, answer.url) == (302, ADDRESS)
    assert UncertaintyBudget.objects.get().rows == [
        {"name": "hand", "distribution": "rectangular", "half_width": "0.20"},
        {"name": "readings", "distribution": "type A", "readings": ["1.1", "1.2", "1.4"]},
    ]
    page = browser.get(ADDRESS).content.decode()
    assert "Specimen ignites: U = <span" in page
    assert "measured anew" in page


def test_every_version_stays_readable_and_a_past_day_shows_what_held(signed_in):
    made()
    made(at=NOON + timedelta(days=2), rows=ROWS[:1], seen=1)
    browser = signed_in("technician")
    now, first = browser.get(ADDRESS).content.decode(), browser.get(f"{ADDRESS}1/").content.decode()
    assert 'U = <span class="keep">0.23 s</span>, k = 2.00, 95.45 %.' in now
    assert 'U = <span class="keep">1.5 s</span>, k = 2.37, 95.45 %.' in first
    assert "by now <a" in first
    past = browser.get(ADDRESS, {"as_of": NOON.date().isoformat()}).content.decode()
    assert 'U = <span class="keep">1.5 s</span>' in past
    before = browser.get(ADDRESS, {"as_of": (NOON - timedelta(days=1)).date().isoformat()}).content.decode()
    assert "has no uncertainty budget yet" in before
    assert browser.get(f"{ADDRESS}3/").status_code == 404
    assert "hand &lt;b&gt;" in first
    assert "hand <b>" not in first


@pytest.mark.parametrize(
    ("row", "sentence"),
    [
        ({"name": "a", "distribution": "normal", "half_width": "0.1"},
         "the coverage factor k is missing, and it is never assumed."),
        ({"name": "a", "distribution": "rectangular", "half_width": "much"}, "“much” is not a number."),
        ({"name": "a", "distribution": "rectangular", "half_width": "-0.1"}, "the half-width is below zero."),
        ({"name": "a", "half_width": "0.1"}, "the distribution is missing"),
        ({"name": "a", "distribution": "type A", "readings": "1 x"}, "“x” is not a number."),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_and_stays_as_typed(signed_in, row, sentence):
    answer = signed_in("lead").post(f"{ADDRESS}new/", typed(row))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert sentence in page
    assert all(f'value="{text}"' in page for name, text in row.items())
    assert not UncertaintyBudget.objects.exists()


def test_more_rows_keep_what_was_typed(signed_in):
    answer = signed_in("lead").post(f"{ADDRESS}new/", typed({"name": "hand", "half_width": "much"}, more="yes"))
    page = answer.content.decode()
    assert answer.status_code == 200
    assert ('value="hand"' in page, 'value="much"' in page, page.count('name="rows-5-name"')) == (True, True, 1)


def test_numbers_left_as_shown_are_not_asked_about(signed_in):
    made()
    browser = signed_in("lead")
    page = browser.get(f"{ADDRESS}new/").content.decode()
    assert 'value="1.234"' in page
    answer = browser.post(f"{ADDRESS}new/", typed(*ROWS, seen="1", level="99 %"))
    assert answer.status_code == 302
    assert UncertaintyBudget.objects.latest("pk").rows == ROWS


def test_somebody_was_faster(signed_in):
    made()
    browser = signed_in("lead")
    answer = browser.post(f"{ADDRESS}new/", typed(ROWS[0], seen="0"))
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody made version 1 since this page was opened." in page
    assert 'name="version_seen" value="1"' in page


@pytest.mark.parametrize("quantity", ["drips", "none"])
def test_a_figure_without_a_unit_has_no_budget(signed_in, quantity):
    assert signed_in("lead").get(f"/methods/{METHOD}/budgets/{quantity}/").status_code == 404


def test_a_trial_shows_its_figures_with_the_uncertainty_that_held(signed_in, scene):
    made(at=scene.at - timedelta(days=1))
    burning = [
        ("contact", "0.0"), ("ignites", "6.4"), ("withdrawn", "30.1"), ("flame_out", "38.6"), ("watch_ends", "60.4"),
    ]  # fmt: skip
    trial = signed_trial(scene, course=burning)
    page = signed_in("technician").get(f"/trials/{trial.pk}/").content.decode()
    assert '<td class="keep">6.4 s</td><td class="keep">(6.4 ± 1.5) s</td><td>k = 2.37, 95.45 %</td>' in page
    assert f'href="{ADDRESS}1/"' in page
