"""The product-standard guide: found by words, set against evidence, and offered beside an order line."""

import pytest
from django.urls import reverse

from labsite.ledger.refusals import Refused
from tests.specimens.typed import field_value
from trials.domain.methods.registry import EDITIONS
from trials.domain.product_guide_rows import ROWS
from trials.queries.guide import agreed_words, guide_offer
from trials.queries.methods import edition_by_key

pytestmark = pytest.mark.django_db
GUIDE, OFFER = "/methods/guide/", "/methods/guide/offer/"
JUDGED = {edition.slug for edition in EDITIONS.values()}
HOSTILE = "<script>alert(1)</script>\"'&" + "ÄÖ" * 40


def text(response):
    return " ".join(response.content.decode().split())


def test_anyone_reads_all_rows_each_with_where_it_comes_from(signed_in):
    page = signed_in("checker").get(reverse("trials:guide"))
    assert page.status_code == 200
    assert text(page).count("<tr><td>") == len(ROWS)
    assert "nothing here is taken into an order by itself" in text(page)
    assert "from memory" in text(page)
    assert "Begin an order with it" not in text(page)  # a checker takes no orders


def test_words_narrow_the_rows(signed_in):
    page = signed_in("counter").get(GUIDE, {"q": "60670-1 hollow"})
    assert f"1 of {len(ROWS)} rows" in text(page)
    assert "boxes for hollow walls" in text(page)
    assert 'href="/orders/new/?guide=60670-1-cavity"' in text(page)
    assert field_value(page.content.decode(), "q") == "60670-1 hollow"


def test_the_same_address_gives_the_part_to_htmx(signed_in):
    part = signed_in("counter").get(GUIDE, {"q": "60670-1"}, headers={"HX-Request": "true"})
    assert text(part).startswith('<section id="found"')
    assert "<html" not in text(part)


def test_nothing_found_says_what_to_try(signed_in):
    page = signed_in("counter").get(GUIDE, {"q": HOSTILE})
    assert "No row has all these words." in text(page)
    assert "<script>alert" not in text(page)


def test_evidence_is_set_against_each_row(signed_in):
    page = signed_in("counter").get(GUIDE, {"q": "30.2.3.2 750", "part": "3,0", "evidence": "GWIT 775/3.0"})
    assert "GWIT 775/3.0 replaces the test: GWIT at least 775 is asked for." in text(page)
    thin = signed_in("counter").get(GUIDE, {"q": "30.2.3.2 750", "part": "2.0", "evidence": "GWIT 775/3.0"})
    assert "Nothing typed covers 2.0 mm" in text(thin)


@pytest.mark.parametrize(
    ("typed", "sentence"),
    [
        ({"part": "3.0", "evidence": "GWIT high"}, "“GWIT high” cannot be read"),
        ({"part": "", "evidence": "GWIT 775/3.0"}, "Thickness of the part: write it in mm"),
        ({"part": "about 3", "evidence": ""}, "Thickness of the part: “about 3” is not a number"),
        ({"part": "0", "evidence": ""}, "above zero"),
    ],
)
def test_what_cannot_be_read_is_said_and_kept(signed_in, typed, sentence):
    page = signed_in("counter").get(GUIDE, typed)
    assert page.status_code == 422
    assert sentence in text(page)
    assert field_value(page.content.decode(), "evidence") == typed["evidence"]


def test_the_offer_fills_the_row_of_the_form_it_stands_in(signed_in):
    part = signed_in("counter").get(OFFER, {"field": "line-1-product_standard", "line-1-product_standard": "60670-1"})
    assert '<button class="quiet" name="guide" value="line-1 60670-1-cavity" formnovalidate>' in text(part)
    alone = signed_in("counter").get(OFFER, {"field": "product_standard", "product_standard": "EN 60670-1:2005"})
    assert 'name="guide" value=" 60670-1-cavity"' in text(alone)


def test_the_offer_at_contract_review_links_to_a_line(signed_in):
    part = signed_in("lead").get(OFFER, {"order": "2600014", "product_standard": "IEC 60670-1"})
    assert 'href="/orders/2600014/lines/new/?guide=60670-1-cavity"' in text(part)
    assert "<button" not in text(part)


@pytest.mark.parametrize("typed", ["", "the client’s own", HOSTILE])
def test_no_row_is_no_table(signed_in, typed):
    part = signed_in("counter").get(OFFER, {"product_standard": typed})
    assert part.status_code == 200
    assert "<table" not in text(part)
    assert "<script>alert" not in text(part)


def test_the_guide_reads_its_rows_without_the_database(signed_in, django_assert_max_num_queries):
    browser = signed_in("counter")
    for address, most in ((GUIDE, 8), (OFFER + "?product_standard=60335-1", 8)):
        with django_assert_max_num_queries(most):  # session, person, roles, laboratory
            browser.get(address)


@pytest.mark.parametrize("row", [row for row in ROWS if row.method in JUDGED], ids=lambda row: row.key)
def test_every_row_of_a_method_judged_here_can_fill_a_line(row):
    offer = guide_offer(row.key)
    assert edition_by_key(offer.method_key).slug == row.method
    assert offer.product_standard.startswith(row.standard)
    assert bool(agreed_words(offer.method_key, offer.agreed)) == bool(offer.agreed)


def test_a_row_of_a_method_not_judged_here_and_an_unknown_one_fill_nothing(monkeypatch):
    monkeypatch.setattr("trials.queries.guide.EDITIONS", {})
    for key in (ROWS[0].key, "no-such-row"):
        with pytest.raises(Refused, match=r"^The guide has no such row\.$"):
            guide_offer(key)


def test_agreed_figures_are_said_with_what_they_replace():
    assert agreed_words("glow-wire-end-product@2021", {"flame_line": {"value": "fails"}}) == [
        "A flame longer than the line: fails (edition: not looked at)"
    ]
