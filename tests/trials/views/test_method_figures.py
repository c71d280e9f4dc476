"""The page on which an edition's figures are changed, and where the revisions are read."""

import re
from decimal import Decimal

import pytest

from tests.factories.bench import METHOD
from tests.factories.ledger import NOON
from trials.actions.methods import revise_sheet
from trials.models import ParameterSheet

ADDRESS = f"/methods/{METHOD}/revise/"


def typed(browser, **changed):
    """Everything the form holds as shown, with some boxes typed anew."""
    page = browser.get(ADDRESS).content.decode()
    boxes = dict(re.findall(r'<input type="text" name="([^"]+)" value="([^"]*)"', page))
    boxes |= {
        name: re.findall(r'<option value="([^"]*)" selected', choices)[0]
        for name, choices in re.findall(r'<select name="([^"]+)".*?>(.*?)</select>', page, flags=re.DOTALL)
    }
    seen = re.findall(r'name="revision_seen" value="(\d+)"', page)
    return {**boxes, "revision_seen": seen[0], "reason": "our copy says so", **changed}


def test_every_figure_has_its_boxes_and_pressing_without_a_change_is_refused(signed_in):
    browser = signed_in("lead")
    answer = browser.post(ADDRESS, typed(browser))
    assert answer.status_code == 422
    assert "Nothing is changed: all figures are those of the newest revision." in answer.content.decode()


def test_a_lead_changes_one_figure_and_reads_it_on_the_method_page(signed_in):
    browser = signed_in("lead")
    answer = browser.post(ADDRESS, typed(browser, **{"force_n-tolerance": "0,05", "judge_scorching-value": "yes"}))
    assert (answer.status_code, answer.url) == (302, f"/methods/{METHOD}/")
    assert ParameterSheet.objects.get().changes == {
        "force_n": {"tolerance": "0.05"},
        "judge_scorching": {"value": True},
    }
    page = browser.get(answer.url).content.decode()
    assert "0.95 ± 0.05 N<small>" in page
    assert "as delivered: 0.95 ± 0.10 N" in page
    assert '<span class="was">0.95 ± 0.10 N</span> 0.95 ± 0.05 N' in page
    assert "our copy says so" in page
    assert "2 are the laboratory’s own" in page


@pytest.mark.parametrize(
    ("box", "text", "sentence"),
    [
        ("force_n-tolerance", "little", "“little” is not a number."),
        ("force_n-tolerance", "-0.1", "a tolerance is not below zero."),
        ("tissue_g_m2-low", "40", "the lowest value, 40, is above the highest."),
        ("board_mm-low", "", "cannot do without a limit here."),
        ("application_s-value", "", "This field is required."),
        ("specimens_needed-value", "1.5", "a whole number is needed, not 1.5."),
    ],
)
def test_a_wrong_figure_is_answered_beside_its_box_and_all_typing_stays(signed_in, box, text, sentence):
    browser = signed_in("lead")
    answer = browser.post(ADDRESS, typed(browser, **{box: text, "light_lx-high": "15"}))
    page = answer.content.decode()
    assert answer.status_code == 422
    key = box.partition("-")[0]
    why = re.search(rf'<p class="why" id="{key}-why">([^<]*)</p>', page)
    assert why is not None
    assert sentence in why[1]
    assert 'name="light_lx-high" value="15"' in page
    assert ParameterSheet.objects.count() == 0


def test_a_revision_made_meanwhile_is_shown_beside_the_typing(signed_in):
    browser, other = signed_in("lead"), signed_in("quality")
    mine = typed(browser, **{"light_lx-high": "15"})
    theirs = typed(other, **{"force_n-tolerance": "0.05"})
    assert other.post(ADDRESS, theirs).status_code == 302
    answer = browser.post(ADDRESS, mine)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Somebody made revision 1 since this page was opened." in page
    assert 'name="light_lx-high" value="15"' in page
    assert 'name="force_n-tolerance" value="0.05"' in page
    again = {**mine, "force_n-tolerance": "0.05", "revision_seen": "1"}
    assert browser.post(ADDRESS, again).status_code == 302
    assert ParameterSheet.objects.get(revision=2).changes == {
        "force_n": {"tolerance": "0.05"},
        "light_lx": {"high": "15"},
    }


def test_others_do_not_change_figures(signed_in):
    browser = signed_in("technician")
    assert browser.get(ADDRESS).status_code == 403
    assert "Change figures" not in browser.get(f"/methods/{METHOD}/").content.decode()


def test_an_edition_nobody_knows_is_not_found(signed_in):
    assert signed_in("lead").get("/methods/nothing@1/revise/").status_code == 404


@pytest.mark.parametrize("count", [1, 3])
def test_the_method_page_asks_as_often_for_many_revisions(signed_in, django_assert_num_queries, count):
    browser = signed_in("lead")
    for number in range(count):
        changes = {"light_lx": {"high": Decimal(15 + number)}}
        revise_sheet(by=browser.person, at=NOON, method_key=METHOD, revision_seen=number, changes=changes, reason="why")
    with django_assert_num_queries(11):
        browser.get(f"/methods/{METHOD}/")
