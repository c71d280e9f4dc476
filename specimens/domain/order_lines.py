"""What an order line may ask for: severity, decision rule and product standard against the method edition."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from specimens.domain.faults import Fault
from specimens.domain.offers import MethodOffer, OwnLimit

CLIENTS_OWN_RULE = "client's own"
MOST_SPECIMENS = 500


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


def severity_choices(offers: Iterable[MethodOffer]) -> list[tuple[str, list[SeverityChoice]]]:
    """The severities of all editions, grouped by method, rising; those only product standards ask for say so.

    Where editions of one method differ, a severity counts as standard when any of them lists it so.
    """
    groups: dict[str, tuple[str, dict[Decimal, tuple[str, bool]]]] = {}
    for offer in offers:
        _title, found = groups.setdefault(method_slug(offer.key), (offer.title, {}))
        for severity in offer.severities:
            _, standard = found.get(severity.value, ("", False))
            found[severity.value] = (severity_words(offer, severity.value), standard or severity.standard)
    return [
        (
            title,
            [
                SeverityChoice(f"{slug}/{value:f}", words if standard else f"{words}, by product standard")
                for value, (words, standard) in sorted(found.items())
            ],
        )
        for slug, (title, found) in groups.items()
    ]


def severity_choice(method_key: str, severity: Decimal | None) -> str:
    """The `SeverityChoice.value` of a severity of a method edition; empty where there is none to choose."""
    return "" if severity is None else f"{method_slug(method_key)}/{severity:f}"


def chosen_severity(choice: str) -> tuple[str, Decimal]:
    """Method slug and figure of a `SeverityChoice.value`. Raises ValueError (ArithmeticError) for anything else."""
    slug, _, figure = choice.rpartition("/")
    return slug, Decimal(figure)


def line_fault(
    offer: MethodOffer,
    *,
    severity: Decimal | None,
    specimens_ordered: int,
    decision_rule: str,
    decision_rule_note: str,
    product_standard: str,
    own_limit: Decimal | None = None,
) -> Fault | None:
    """The first thing that keeps a line from being ordered under `offer`, or None.

    `own_limit` is the client's own limit, in the unit of the offer's, where that rule is chosen.
    """
    by_value = {offered.value: offered for offered in offer.severities}
    if severity is None and not offer.open_severity:
        return Fault("severity", f"{offer.short_standard} is ordered with a severity; choose one.")
    if severity is not None and severity not in by_value:
        known = ", ".join(f"{value:f}" for value in sorted(by_value))
        return Fault(
            "severity",
            f"{offer.short_standard} has no {severity_words(offer, severity)}; it has {known} {offer.severity_unit}.",
        )
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


def _own_limit_fault(asked: OwnLimit, figure: Decimal | None) -> Fault | None:
    if figure is None:
        return Fault("own_limit", f"{asked.title}: write the client’s own limit; the method’s is {asked.standing}.")
    if figure <= 0:
        return Fault("own_limit", f"{asked.title}: a limit is above zero, not {figure:f} {asked.unit}.")
    return None
