"""The canonical form of a certificate's content."""

import hashlib
import json
from dataclasses import replace
from datetime import date

import pytest

from reports.domain.content import AmendmentContent, LevelContent
from reports.domain.content_json import ContentError, content_bytes, content_from_json, content_json, texts
from reports.domain.content_trials import QuantityContent
from tests.reports.domain.sample import CONTENT, LINE, TRIAL

AMENDMENT = AmendmentContent("26-0001-C1", date(2026, 3, 9), "Typing error.", ("Client, address.",), False)


@pytest.mark.parametrize("content", [CONTENT, replace(CONTENT, amendment=AMENDMENT)], ids=["first", "amended"])
def test_content_comes_back_as_it_was(content):
    stored = json.loads(content_bytes(content_json(content)))
    assert content_from_json(stored) == content
    assert content_bytes(content_json(content_from_json(stored))) == content_bytes(content_json(content))


def test_the_canonical_form_sorts_names_and_keeps_letters():
    assert content_bytes({"b": "°", "a": [1, None, True]}) == '{"a":[1,null,true],"b":"°"}'.encode()


def test_members_in_another_order_give_the_same_fingerprint():
    # PostgreSQL's jsonb keeps no order of members (PostgreSQL manual, 8.14.1)
    plain = content_json(CONTENT)
    turned = dict(reversed(plain.items()))
    digests = {hashlib.sha256(content_bytes(one)).hexdigest() for one in (plain, turned)}
    assert len(digests) == 1


def test_typed_digits_stay():
    stored = content_json(CONTENT)["lines"][0]["trials"][0]
    assert (stored["specimen"]["thickness"]["text"], stored["quantities"][0]["text"]) == ("3.0 mm", "30.0")


def test_moments_are_texts_with_the_offset_of_the_laboratory():
    assert content_json(CONTENT)["issued_at"] == "2026-03-10T17:00:00+01:00"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"schema": 4}, "The content is written by schema 4; 1, 2, 3 are read here."),
        ({"items": "none"}, "content.items: a list is needed."),
        ({"number": 7}, "content.number: 7 is not str."),
        ({"issued_at": "yesterday"}, "content.issued_at: 'yesterday' is not a datetime."),
    ],
)
def test_foreign_content_is_refused_naming_the_place(change, sentence):
    with pytest.raises(ContentError) as refused:
        content_from_json(content_json(CONTENT) | change)
    assert str(refused.value) == sentence


def test_an_unknown_member_is_refused():
    with pytest.raises(ContentError, match="content: other members than schema, title"):
        content_from_json(content_json(CONTENT) | {"colour": "red"})


def test_a_source_is_the_client_or_the_laboratory():
    plain = content_json(CONTENT)
    plain["items"][0]["material"]["source"] = "hearsay"
    with pytest.raises(ContentError) as refused:
        content_from_json(plain)
    assert str(refused.value) == "content.items[0].material.source: 'hearsay' is none of client, laboratory."


def test_every_text_is_named_by_its_place():
    found = dict(texts(CONTENT))
    assert (found["client name"], found["items client name"]) == ("Example Plugs", "Insert 7")


def test_a_statement_of_a_decision_rule_comes_back_and_is_left_out_where_there_is_none():
    line = CONTENT.lines[0]
    judged = replace(line.trials[0].criteria[0], statement="conditional pass", risk="risk of accepting wrongly 16 %")
    content = replace(
        CONTENT,
        lines=(
            replace(line, trials=(replace(line.trials[0], criteria=(judged,)), *line.trials[1:])),
            *CONTENT.lines[1:],
        ),
    )
    assert content_from_json(json.loads(content_bytes(content_json(content)))) == content
    plain = content_json(CONTENT)["lines"][0]["trials"][0]["criteria"][0]
    assert sorted(plain) == ["decides", "enforced", "found", "holds", "key", "limit", "reason", "title"]
    assert (judged.word, judged.why) == ("met, conditional pass", "risk of accepting wrongly 16 %")


def test_a_content_of_the_first_schema_is_still_read():
    """Members added since have their defaults, so an older content lacks them."""
    old = content_json(CONTENT) | {"schema": 1}
    assert old["lines"][0].keys().isdisjoint({"result", "levels", "search", "agreed", "figures", "severity_title"})
    read = content_from_json(old)
    assert (read.schema, read.lines[0].result, read.trials[0].severity) == (1, "", "")
    assert content_json(read) == old


def test_levels_stages_and_digits_come_back_as_they_went():
    stay = TRIAL.conditioning
    assert stay is not None
    trial = replace(
        TRIAL,
        severity="850 °C",
        departure="The client asked for it.",
        again="The corner is far from the first place.",
        point="corner",
        parameter_revision=2,
        conditioning=replace(stay, way="From the oven", earlier=stay),
        quantities=(QuantityContent("thickness", "Thickness", "d", "mm", "3.0", table=True),),
    )
    level = LevelContent("850 °C", "850.0", "passed", ("26-0001-002-5",), "1 of 3 passed")
    line = replace(LINE, result="GWFI: 850/3.0", levels=(level,), search=True, trials=(trial,))
    content = replace(CONTENT, lines=(line,))
    assert content_from_json(json.loads(content_bytes(content_json(content)))) == content
