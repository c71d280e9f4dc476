"""What an order line may ask for: severity, decision rule and product standard against the method edition."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from specimens.domain.faults import Fault
from specimens.domain.offers import MethodOffer, OwnLimit

CLIENTS_OWN_RULE = "client's own"
MOST_SPECIMENS = 500
OPEN = "open"
"""Stands in a choice of severity for an order without one."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Where a search starts, and what the client believes its end to be: never judged, used to plan it."""

    start: Decimal | None = None
    value: Decimal | None = None
    spread: Decimal | None = None


NOTHING_BELIEVED = Belief()


@dataclass(frozen=True, slots=True)
class SeverityChoice:
    """One severity to choose at the counter; `value` names the method without its edition and the figure."""

    value: str
    label: str


def method_slug(key: str) -> str:
    """The method's name without the edition: "glow-wire-end-product@2021" gives "glow-wire-end-product"."""
    return key.partition("@")[0]


def severity_words(offer: MethodOffer, severity: Decimal | None) -> str:
    """A severity with its unit, digits as given: “850 °C”; its label, or what an order without one asks for."""
    if severity is None:
        return offer.open_severity
    label = next((one.label for one in offer.severities if one.value == severity), "")
    if label:
        return label
    return f"{severity:f} {offer.severity_unit}".strip()


def ordered_words(offer: MethodOffer, severity: Decimal | None, start: Decimal | None) -> str:
    """What a line asks for, with the level a search starts at: “Index search, from 650 °C”."""
    asked = severity_words(offer, severity)
    return asked if start is None else f"{asked}, from {severity_words(offer, start)}"


def believed_words(offer: MethodOffer, belief: Belief) -> str:
    """What is believed of a search's end: “850 ± 25 °C”; empty for nothing."""
    if belief.value is None:
        return ""
    spread = "" if belief.spread is None else f" ± {belief.spread:f}"
    return f"{belief.value:f}{spread} {offer.severity_unit}".strip()


def severity_choices(offers: Iterable[MethodOffer]) -> list[tuple[str, list[SeverityChoice]]]:
    """What can be ordered of all editions, grouped by method: its open order first, then its severities, rising.

    Severities only product standards ask for say so; where editions of one method differ, a severity counts as
    standard when any of them lists it so.
    """
    return [
        (title, [*_open_choice(slug, words), *(_choice(slug, value, *told) for value, told in sorted(found.items()))])
        for slug, (title, words, found) in _by_method(offers).items()
    ]


def start_choices(offers: Iterable[MethodOffer]) -> list[tuple[str, list[SeverityChoice]]]:
    """The levels a search may start at, grouped by method; methods whose open order names no start are left out."""
    groups = _by_method(offer for offer in offers if offer.open_start)
    return [
        (title, [_choice(slug, value, words, standard=True) for value, (words, _) in sorted(found.items())])
        for slug, (title, _, found) in groups.items()
    ]


def _by_method(
    offers: Iterable[MethodOffer],
) -> dict[str, tuple[str, str, dict[Decimal, tuple[str, bool]]]]:
    """By slug: the title, what the open order asks for, and each severity in words and whether it is standard."""
    groups: dict[str, tuple[str, str, dict[Decimal, tuple[str, bool]]]] = {}
    for offer in offers:
        _title, _open, found = groups.setdefault(method_slug(offer.key), (offer.title, offer.open_severity, {}))
        for severity in offer.severities:
            _, standard = found.get(severity.value, ("", False))
            found[severity.value] = (severity_words(offer, severity.value), standard or severity.standard)
    return groups


def _open_choice(slug: str, words: str) -> list[SeverityChoice]:
    return [SeverityChoice(f"{slug}/{OPEN}", words)] if words else []


def _choice(slug: str, value: Decimal, words: str, standard: bool) -> SeverityChoice:
    return SeverityChoice(f"{slug}/{value:f}", words if standard else f"{words}, by product standard")


def severity_choice(method_key: str, severity: Decimal | None) -> str:
    """The `SeverityChoice.value` of a severity of a method edition; that of its open order for None."""
    return f"{method_slug(method_key)}/{OPEN if severity is None else f'{severity:f}'}"


def chosen_severity(choice: str) -> tuple[str, Decimal | None]:
    """Method slug and figure of a `SeverityChoice.value`, None for the open order.

    Raises ValueError (ArithmeticError) for anything else.
    """
    slug, _, figure = choice.rpartition("/")
    return slug, None if figure == OPEN else Decimal(figure)


def own_limit_of(offer: MethodOffer, agreed: Mapping[str, Mapping[str, Any]]) -> Decimal | None:
    """The client's own limit among a line's agreed figures, as a number; None where there is none."""
    if offer.own_limit is None:
        return None
    figure = agreed.get(offer.own_limit.key, {}).get(offer.own_limit.side)
    return None if figure is None else Decimal(figure)


def usual_specimens(offer: MethodOffer, severity: Decimal | None) -> int | None:
    """How many specimens a line has where nobody says; None for a search, whose number nobody can tell before."""
    return None if severity is None and offer.open_start else offer.specimens_needed


def specimens_words(offer: MethodOffer) -> str:
    """How many specimens a method takes: “3 at each level; a search takes 24 at most”."""
    if not offer.open_start:
        sets = len(offer.plans)
        return (
            f"{offer.specimens_needed}, {offer.specimens_needed // sets} each way"
            if sets > 1
            else str(offer.specimens_needed)
        )
    most = f"; a search takes {offer.most_specimens} at most" if offer.most_specimens else ""
    return f"{offer.specimens_needed} at each level{most}"


def line_fault(
    offer: MethodOffer,
    *,
    severity: Decimal | None,
    specimens_ordered: int,
    decision_rule: str,
    decision_rule_note: str,
    product_standard: str,
    own_limit: Decimal | None = None,
    belief: Belief = NOTHING_BELIEVED,
) -> Fault | None:
    """The first thing that keeps a line from being ordered under `offer`, or None.

    `own_limit` is the client's own limit, in the unit of the offer's, where that rule is chosen.
    """
    by_value = {offered.value: offered for offered in offer.severities}
    fault = _belief_fault(offer, severity, belief)
    if fault is not None:
        return fault
    if severity is None and not offer.open_severity:
        return Fault("severity", f"{offer.short_standard} is ordered with a severity; choose one.")
    if severity is not None and severity not in by_value:
        known = ", ".join(offered.label or f"{value:f}" for value, offered in sorted(by_value.items()))
        has = f"it has {known} {offer.severity_unit}".rstrip()
        return Fault("severity", f"{offer.short_standard} has no {severity_words(offer, severity)}; {has}.")
    if severity is not None and not by_value[severity].standard and not product_standard:
        return Fault(
            "product_standard",
            f"{severity_words(offer, severity)} is used only where a product standard asks for it: name that standard.",
        )
    if not 1 <= specimens_ordered <= MOST_SPECIMENS:
        return Fault("specimens_ordered", f"Write a number of specimens from 1 to {MOST_SPECIMENS}.")
    if offer.decision_rules and decision_rule not in offer.decision_rules:
        offered = "; ".join(offer.decision_rules)
        return Fault("decision_rule", f"{offer.short_standard} is judged by one of these rules: {offered}.")
    if decision_rule == CLIENTS_OWN_RULE and offer.own_limit is not None:
        return _own_limit_fault(offer.own_limit, own_limit)
    if decision_rule == CLIENTS_OWN_RULE and not decision_rule_note:
        return Fault("decision_rule_note", "Write the client’s own rule: the limit and how a value is held against it.")
    return None


def _belief_fault(offer: MethodOffer, severity: Decimal | None, belief: Belief) -> Fault | None:
    """What is wrong with where a search starts, or with what is believed about its end."""
    if belief == NOTHING_BELIEVED:
        return None
    if severity is not None or not offer.open_start:
        field = "start_severity" if belief.start is not None else "believed_severity"
        return Fault(field, f"{offer.short_standard}: only a search has a start and a value believed; leave it empty.")
    if belief.start is not None and belief.start not in {offered.value for offered in offer.severities}:
        return Fault("start_severity", f"{offer.short_standard} has no level {severity_words(offer, belief.start)}.")
    if belief.value is None:
        return Fault("believed_severity", "Write the value believed that this spread belongs to.") if (
            belief.spread is not None
        ) else None  # fmt: skip
    if belief.value <= 0:
        return Fault("believed_severity", f"A value believed is above zero, not {belief.value:f}.")
    if belief.spread is not None and belief.spread < 0:
        return Fault("believed_spread", f"A spread is not below zero, as {belief.spread:f} is.")
    return None


def _own_limit_fault(asked: OwnLimit, figure: Decimal | None) -> Fault | None:
    if figure is None:
        return Fault("own_limit", f"{asked.title}: write the client’s own limit; the method’s is {asked.standing}.")
    if figure <= 0:
        return Fault("own_limit", f"{asked.title}: a limit is above zero, not {figure:f} {asked.unit}.")
    return None
