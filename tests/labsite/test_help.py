"""The in-app help: every page is shown, and what looks like markup in it is text."""

from django.urls import reverse

from labsite.help_pages import index


def test_every_page_is_listed_and_shown(signed_in):
    browser = signed_in("counter")
    listed = browser.get(reverse("help")).text
    slugs = {page.slug for page in index()}
    assert {"judge-file", "climate-file", "bench", "glow-wire-end-product"} <= slugs
    for page in index():
        assert reverse("help_page", args=[page.slug]) in listed
        assert f"<h1>{page.title}</h1>" in browser.get(reverse("help_page", args=[page.slug])).text


def test_tables_are_tables_and_markup_is_text():
    pages = {page.slug: page.html for page in index()}
    assert "<table>" in pages["judge-file"]
    assert [slug for slug, html in pages.items() if "<script" in html] == []
