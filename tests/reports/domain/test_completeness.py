"""Nothing is issued that lacks an item of ISO/IEC 17025:2017, 7.8.2.1 a to p (the list as public guides give it)."""

from dataclasses import replace

import pytest

from reports.domain.completeness import missing_items
from reports.domain.content import AgreementContent, CertificateContent
from reports.domain.content_items import Stated
from tests.reports.domain.sample import CONTENT, DEVIATION, ITEM, LINE, TRIAL

NOTHING = Stated("", "laboratory")


def with_item(**changes: object) -> CertificateContent:
    return replace(CONTENT, items=(replace(ITEM, **changes),))  # type: ignore[arg-type]


def with_line(**changes: object) -> CertificateContent:
    return replace(CONTENT, lines=(replace(LINE, **changes),))  # type: ignore[arg-type]


def with_trial(**changes: object) -> CertificateContent:
    return with_line(trials=(replace(TRIAL, **changes),))  # type: ignore[arg-type]


def test_a_complete_content_lacks_nothing():
    assert missing_items(CONTENT) == ()


@pytest.mark.parametrize(
    ("content", "letter", "sentence"),
    [
        (replace(CONTENT, title=""), "a", "The certificate has no title."),
        (
            replace(CONTENT, laboratory=replace(CONTENT.laboratory, address=" ")),
            "b",
            "The laboratory’s address is not entered.",
        ),
        (
            with_trial(place=""),
            "c",
            "Specimen 26-0001-002-5: rig GW-1 stands at no place, so it is not known where it was tested.",
        ),
        (replace(CONTENT, number=""), "d", "The certificate has no number."),
        (replace(CONTENT, client=replace(CONTENT.client, contact="")), "e", "The client’s contact is not entered."),
        (
            with_line(method="", standard=""),
            "f",
            "Line 1: the method edition glow-wire-end-product@2021 is not known here.",
        ),
        (with_item(colour=NOTHING), "g", "Plug insert: the colour is not entered."),
        (with_item(received_at=None), "h", "Plug insert: the day of receipt is not entered."),
        (with_trial(performed_by=""), "i", "Specimen 26-0001-002-5: it is not known who tested it."),
        (replace(CONTENT, sampling=""), "k", "It is not said who took the samples."),
        (
            replace(CONTENT, statements=()),
            "l",
            "It is not said that the results relate only to the items tested.",
        ),
        (with_trial(quantities=()), "m", "Specimen 26-0001-002-5: the verdict has no criteria or no figures."),
        (with_trial(instruments=()), "m", "Specimen 26-0001-002-5: no instrument is recorded."),
        (
            with_trial(conditioning=None),
            "m",
            "Specimen 26-0001-002-5: no stay in the conditioning atmosphere is recorded.",
        ),
        (
            with_line(agreement=AgreementContent("Inherent in the standard", "", "", None, "")),
            "m",
            "Line 1: no contract review signed before the test says who agreed to the decision rule, and when.",
        ),
        (
            with_line(state="hold", sentence="On hold at 850 °C."),
            "m",
            "Line 1 has no result yet: On hold at 850 °C.",
        ),
        (
            with_item(deviations=(replace(DEVIATION, answer="", answered_on=None, decision=""),)),
            "n",
            "Plug insert: the client has not answered the deviation “Cracks near the hinge.”.",
        ),
        (with_line(checked=None), "o", "Line 1 is not checked as it stands now."),
        (
            with_line(signed=replace(LINE.signed, authorised_from=None)),  # type: ignore[type-var]
            "o",
            "Line 1: Sid Signatory is not authorised to sign certificates by IEC 60695-2-11:2021 today.",
        ),
        (replace(CONTENT, external=""), "p", "It is not said which results come from external providers."),
    ],
)
def test_each_item_that_is_missing_is_named(content, letter, sentence):
    assert [(one.letter, one.sentence) for one in missing_items(content)] == [(letter, sentence)]


def test_a_certificate_without_lines_has_nothing_to_certify():
    assert [one.sentence for one in missing_items(replace(CONTENT, lines=()))] == ["There is no result to certify."]


def test_what_was_determined_must_be_written_and_every_level_said():
    determined = with_line(state="determined", sentence="GWFI: 850/3.0: found.", result="GWFI: 850/3.0")
    assert missing_items(determined) == ()
    bare = with_line(state="determined")
    assert [one.sentence for one in missing_items(bare)] == ["Line 1: what was determined is not written down."]
    searched = with_line(search=True)
    assert [one.sentence for one in missing_items(searched)] == [
        "Specimen 26-0001-002-5: it is not said at which level it was tested."
    ]
