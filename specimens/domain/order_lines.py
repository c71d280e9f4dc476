"""What an order line may ask for: severity, decision rule and product standard against the method edition."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from labsite.ledger.wording import mid_sentence
from specimens.domain.faults import Fault
from specimens.domain.offers import MethodOffer, OwnLimit

CLIENTS_OWN_RULE = "client's own"
RULES = {
    "in the standard": "Inherent in the standard",
    "simple acceptance": "Simple acceptance",
    "guard band": "Guard band w = U",
    CLIENTS_OWN_RULE: "The client’s own limit",
}
"""The decision rules (ISO/IEC 17025 7.1.3) and how people read them."""
MOST_SPECIMENS = 500
SPECIMENS_KEY = "specimens_needed"
"""The agreed figure with the number of specimens."""
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


def line_faults(
    offer: MethodOffer,
    *,
    severity: Decimal | None,
    specimens_ordered: int,
    decision_rule: str,
    decision_rule_note: str,
    product_standard: str,
    own_limit: Decimal | None = None,
    belief: Belief = NOTHING_BELIEVED,
) -> tuple[Fault, ...]:
    """Everything that keeps a line from being ordered under `offer`, one fault a field, in the order of the form.

    `own_limit` is the client's own limit, in the unit of the offer's, where that rule is chosen.
    """
    found = (
        _severity_fault(offer, severity, product_standard),
        None
        if 1 <= specimens_ordered <= MOST_SPECIMENS
        else Fault("specimens_ordered", f"Write a number of specimens from 1 to {MOST_SPECIMENS}."),
        _search_fault(offer, severity, belief),
        *belief_faults(belief),
        *_far_off_faults(offer, belief),
        _rule_fault(offer, decision_rule, decision_rule_note, own_limit),
    )
    first: dict[str, Fault] = {}
    for fault in found:
        if fault is not None:
            first.setdefault(fault.field, fault)
    return tuple(first.values())


def rules_offered(offer: MethodOffer) -> str:
    """The decision rules of an edition inside a sentence: “inherent in the standard”, “simple acceptance”."""
    return ", ".join(f"“{mid_sentence(RULES[rule])}”" for rule in offer.decision_rules)


def own_limit_fault(offer: MethodOffer, decision_rule: str, figure: Decimal) -> Fault | None:
    """What is wrong with a figure typed as the client's own limit; the rule itself is held by `line_faults`."""
    own = CLIENTS_OWN_RULE in offer.decision_rules
    if decision_rule == CLIENTS_OWN_RULE and not own:
        return None
    if not own:
        rules = f"{offer.short_standard} is judged by {rules_offered(offer)} and takes no limit of the client’s"
        return Fault("own_limit", f"{rules}; leave it empty.")
    if offer.own_limit is None:
        return Fault("own_limit", f"{offer.short_standard} takes the client’s own rule in words; leave this empty.")
    if decision_rule != CLIENTS_OWN_RULE:
        return Fault("own_limit", f"It holds by the rule “{mid_sentence(RULES[CLIENTS_OWN_RULE])}” alone: choose it, "
                                  "or leave this empty.")  # fmt: skip
    return None


def _severity_fault(offer: MethodOffer, severity: Decimal | None, product_standard: str) -> Fault | None:
    by_value = {offered.value: offered for offered in offer.severities}
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
    return None


def _rule_fault(offer: MethodOffer, rule: str, note: str, own_limit: Decimal | None) -> Fault | None:
    if offer.decision_rules and rule not in offer.decision_rules:
        chosen = f" not by “{mid_sentence(RULES[rule])}”" if rule in RULES else ""
        instead = f"{',' if chosen else ''}{chosen}"
        return Fault("decision_rule", f"{offer.short_standard} is judged by {rules_offered(offer)}{instead}.")
    if rule == CLIENTS_OWN_RULE and offer.own_limit is not None:
        return _own_limit_fault(offer.own_limit, own_limit)
    if rule == CLIENTS_OWN_RULE and not note:
        return Fault("decision_rule_note", "Write the client’s own rule: the limit and how a value is held against it.")
    return None


def _search_fault(offer: MethodOffer, severity: Decimal | None, belief: Belief) -> Fault | None:
    """What is wrong with a search's start, or with saying anything of a search where there is none."""
    if belief == NOTHING_BELIEVED:
        return None
    if severity is not None or not offer.open_start:
        field = "start_severity" if belief.start is not None else "believed_severity"
        return Fault(field, f"{offer.short_standard}: only a search has a start and a value believed; leave it empty.")
    if belief.start is not None and belief.start not in {offered.value for offered in offer.severities}:
        return Fault("start_severity", f"{offer.short_standard} has no level {severity_words(offer, belief.start)}.")
    return None


def belief_faults(belief: Belief) -> Iterator[Fault]:
    """What is wrong with the figures believed of a search's end, whatever the method."""
    if belief.value is None and belief.spread is not None:
        yield Fault("believed_severity", "Write the value believed that this spread belongs to.")
    if belief.value is not None and belief.value <= 0:
        yield Fault("believed_severity", f"A value believed is above zero, not {belief.value:f}.")
    if belief.spread is not None and belief.spread < 0:
        yield Fault("believed_spread", f"A spread is not below zero, as {belief.spread:f} is.")


def _far_off_faults(offer: MethodOffer, belief: Belief) -> Iterator[Fault]:
    """What is believed must be an end that the search can come to: from a step below its levels to a step above."""
    levels = sorted(offered.value for offered in offer.severities)
    if not offer.open_start or len(levels) < 2:
        return
    low, high = levels[0] - (levels[1] - levels[0]), levels[-1] + (levels[-1] - levels[-2])
    unit = offer.severity_unit
    within = f"{offer.short_standard} searches from {levels[0]:f} to {levels[-1]:f} {unit}"
    if belief.value is not None and belief.value > 0 and not low <= belief.value <= high:
        yield Fault("believed_severity", f"{within}; {belief.value:f} {unit} is far outside.")
    if belief.spread is not None and belief.spread > high - low:
        yield Fault("believed_spread", f"{within}; a spread of {belief.spread:f} {unit} says nothing.")


def too_few_words(
    offer: MethodOffer, severity: Decimal | None, ordered: int, agreed: Mapping[str, Mapping[str, Any]]
) -> str:
    """That fewer specimens are ordered than are needed, for a search than one level takes; empty where they do.

    A number of specimens agreed for the line counts in place of the method's.
    """
    own = str(agreed.get(SPECIMENS_KEY, {}).get("value", ""))
    needed = int(own) if own.isdecimal() else offer.specimens_needed
    if ordered >= needed:
        return ""
    if severity is None and offer.open_start:
        search = mid_sentence(offer.open_severity)
        takes = f"each level of the {search} takes {needed}"
        return f"{ordered} ordered, and {takes}: it cannot come to its end with these."
    return f"{ordered} ordered, and {offer.short_standard} takes {needed}: it cannot be passed with these."


def _own_limit_fault(asked: OwnLimit, figure: Decimal | None) -> Fault | None:
    if figure is None:
        return Fault("own_limit", f"{asked.title}: write the client’s own limit; the method’s is {asked.standing}.")
    if figure <= 0:
        return Fault("own_limit", f"{asked.title}: a limit is above zero, not {figure:f} {asked.unit}.")
    return None
