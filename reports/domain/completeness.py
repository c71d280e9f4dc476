"""What a certificate still lacks before it may be issued, item by item of ISO/IEC 17025:2017, 7.8.2.1 a to p."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from reports.domain.content import CertificateContent, LineContent
from reports.domain.content_items import ItemContent, number_text
from reports.domain.content_trials import TrialContent

type About = Literal["laboratory", "client", "order", "item", "trial", "instrument", "line", "person"]


@dataclass(frozen=True)
class MissingItem:
    """One thing that blocks the issue. `letter` is the clause's item; `about` and `key` name the record to mend."""

    letter: str
    sentence: str
    about: About
    key: str


def missing_items(content: CertificateContent) -> tuple[MissingItem, ...]:
    """Return everything that is missing, in the order of the clause's letters; empty when it may be issued."""
    found = [*_head(content), *_foot(content)]
    for item in content.items:
        found += _item(item)
    for line in content.lines:
        found += _line(content, line)
        for trial in line.trials:
            found += _trial(line, trial)
    return tuple(sorted(found, key=lambda missing: missing.letter))


def _head(content: CertificateContent) -> Iterator[MissingItem]:
    order = content.order
    if not content.title:
        yield MissingItem("a", "The certificate has no title.", "order", order)
    for name, value in (("name", content.laboratory.name), ("address", content.laboratory.address)):
        if not value.strip():
            yield MissingItem("b", f"The laboratory’s {name} is not entered.", "laboratory", "")
    if not content.number:
        yield MissingItem("d", "The certificate has no number.", "order", order)
    for name, value in (
        ("name", content.client.name),
        ("address", content.client.address),
        ("contact", content.client.contact),
    ):
        if not value.strip():
            yield MissingItem("e", f"The client’s {name} is not entered.", "client", order)
    if not content.items:
        yield MissingItem("g", "No item is registered for what was tested.", "order", order)


def _foot(content: CertificateContent) -> Iterator[MissingItem]:
    order = content.order
    if not content.sampling:
        yield MissingItem("k", "It is not said who took the samples.", "order", order)
    if not any("only to the items tested" in statement for statement in content.statements):
        yield MissingItem("l", "It is not said that the results relate only to the items tested.", "order", order)
    if not content.lines:
        yield MissingItem("m", "There is no result to certify.", "order", order)
    if not content.external:
        yield MissingItem("p", "It is not said which results come from external providers.", "order", order)
    amendment = content.amendment
    if amendment is not None and not (amendment.reason.strip() and amendment.changes):
        yield MissingItem("n", "An amendment needs its reason and what is different.", "order", order)


def _item(item: ItemContent) -> Iterator[MissingItem]:
    name = item.description.text or "An item"
    for title, fact in (
        ("description", item.description),
        ("material", item.material),
        ("colour", item.colour),
        ("condition on arrival", item.condition),
    ):
        if not fact.text.strip():
            yield MissingItem("g", f"{name}: the {title} is not entered.", "item", item.number)
    if not item.number:
        yield MissingItem("g", f"{name}: the item has no number.", "item", item.number)
    if item.received_at is None:
        yield MissingItem("h", f"{name}: the day of receipt is not entered.", "item", item.number)
    for deviation in item.deviations:
        if not (deviation.decision and deviation.answer.strip() and deviation.answered_on):
            sentence = f"{name}: the client has not answered the deviation “{deviation.text}”."
            yield MissingItem("n", sentence, "item", item.number)


def _line(content: CertificateContent, line: LineContent) -> Iterator[MissingItem]:
    name, key = f"Line {line.position}", str(line.position)
    if not (line.method and line.standard):
        yield MissingItem("f", f"{name}: the method edition {line.method_key} is not known here.", "line", key)
    if line.state not in ("passed", "failed", "determined"):
        yield MissingItem("m", f"{name} has no result yet: {line.sentence}", "line", key)
    if line.state == "determined" and not line.result:
        yield MissingItem("m", f"{name}: what was determined is not written down.", "line", key)
    if not any(trial.share != "does not count" for trial in line.trials):
        yield MissingItem("m", f"{name}: no trial counts.", "line", key)
    agreement = line.agreement
    if not (agreement.rule and agreement.agreed_with and agreement.agreed_on and agreement.reviewed_by):
        sentence = f"{name}: no contract review signed before the test says who agreed to the decision rule, and when."
        yield MissingItem("m", sentence, "order", content.order)
    if line.checked is None:
        yield MissingItem("o", f"{name} is not checked as it stands now.", "line", key)
    if line.signed is None or line.signed.authorised_from is None:
        who = "Nobody" if line.signed is None else line.signed.name
        sentence = f"{name}: {who} is not authorised to sign certificates by {line.standard or line.method_key} today."
        yield MissingItem("o", sentence, "person", line.method_key)


def _trial(line: LineContent, trial: TrialContent) -> Iterator[MissingItem]:
    name, key = f"Specimen {number_text(trial.specimen.number)}", trial.specimen.number
    if not trial.place.strip():
        yield MissingItem("c", f"{name}: rig {trial.rig} stands at no place, so it is not known where it was tested.",
                          "trial", key)  # fmt: skip
    if not trial.performed_by:
        yield MissingItem("i", f"{name}: it is not known who tested it.", "trial", key)
    if line.search and not trial.severity:
        yield MissingItem("m", f"{name}: it is not said at which level it was tested.", "trial", key)
    if trial.outcome in ("pass", "fail"):
        for quantity in trial.quantities:
            if not quantity.text:
                yield MissingItem("m", f"{name}: {quantity.title} has neither a figure nor a word.", "trial", key)
        if not trial.criteria or not trial.quantities:
            yield MissingItem("m", f"{name}: the verdict has no criteria or no figures.", "trial", key)
        if line.conditioning_asked and trial.conditioning is None:
            yield MissingItem("m", f"{name}: no stay in the conditioning atmosphere is recorded.", "trial", key)
        if not trial.instruments:
            yield MissingItem("m", f"{name}: no instrument is recorded.", "trial", key)
    for used in trial.instruments:
        if not (used.calibrated_by.strip() and used.number):
            yield MissingItem("m", f"{name}: {used.code} does not say who calibrated it.", "instrument", used.number)
