"""Forms about orders, their lines and the contract review."""

from collections.abc import Mapping
from typing import Any, cast

from django import forms

from labsite.ledger.fields import DigitsFormField
from labsite.ledger.wording import mid_sentence
from specimens.actions.orders import LineIn
from specimens.domain.offers import MethodOffer
from specimens.domain.order_lines import (
    Belief,
    SeverityChoice,
    chosen_severity,
    line_fault,
    method_slug,
    own_limit_of,
    severity_choices,
    specimens_words,
    start_choices,
    usual_specimens,
)
from specimens.forms.agreed import AgreedFigures
from specimens.forms.fields import CountField, DayField, LineField, RemarksField
from specimens.forms.rows import RowFormSet
from specimens.models import Contact, DecisionRule
from specimens.queries.clients import contacts_with_client
from specimens.queries.methods import method_offers


class ContactChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # no generic at run time
    """A contact; the client comes with the person, and typing the client's name finds it."""

    def label_from_instance(self, obj: Contact) -> str:
        """Client first."""
        return f"{obj.client.name}: {obj.name}"


class OrderForm(forms.Form):
    """Who orders, by when, and what else was agreed."""

    contact = ContactChoice(
        queryset=Contact.objects.none(),
        label="Client and contact",
        empty_label="Choose",
        error_messages={"required": "Choose who orders; a new client is entered first."},
        widget=forms.Select(attrs={"class": "w-full"}),
    )
    purchase_order = LineField(
        label="Purchase-order number", max_length=60, required=False, width="w-m", help_text="As the client writes it."
    )
    promised_on = DayField(label="Promised for", required=False)
    leftovers = LineField(
        label="Leftovers", max_length=200, required=False, help_text="For example: keep six months, then discard."
    )
    handling = RemarksField(
        label="Handling and hazards",
        max_length=2000,
        required=False,
        help_text="What everybody who touches the pieces must know.",
    )

    def __init__(self, *args: Any, client: int | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        contacts = contacts_with_client()
        contact = self.fields["contact"]
        assert isinstance(contact, forms.ModelChoiceField)  # noqa: S101  (narrows the type)
        contact.queryset = contacts if client is None else contacts.filter(client=client)
        if client is not None and contact.queryset.count() == 1:
            contact.initial = contact.queryset.get()


class LineForm(AgreedFigures):
    """One line: what, how, how many, by which rule."""

    subject = LineField(
        label="What is to be tested", max_length=200, error_messages={"required": "Write what is to be tested."}
    )
    method_key = forms.ChoiceField(
        label="Method and edition",
        error_messages={"required": "Choose the method and its edition."},
        widget=forms.Select(attrs={"class": "w-full"}),
    )
    severity = forms.ChoiceField(
        label="Severity, index or class", error_messages={"required": "Choose the severity, or what is searched for."}
    )
    product_standard = LineField(
        label="Product standard that asks for it",
        max_length=120,
        required=False,
        width="w-m",
        help_text="Needed for a severity “by product standard”.",
    )
    specimens_ordered = CountField(
        label="Specimens", low=1, high=500, required=False, help_text="Empty: as many as the method asks for."
    )
    start_severity = forms.ChoiceField(label="The search starts at", required=False)
    believed_severity = DigitsFormField(label="Value believed", required=False)
    believed_spread = DigitsFormField(label="Give or take", required=False)
    decision_rule = forms.ChoiceField(label="Decision rule", error_messages={"required": "Choose the decision rule."})
    own_limit = DigitsFormField(label="The client’s own limit", required=False)
    decision_rule_note = LineField(label="The client’s own rule", max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offers = method_offers()
        self._choices("method_key", [("", "Choose"), *_editions(offers)])
        self._choices("severity", [("", "Choose"), *_grouped(severity_choices(offers.values()))])
        self._choices("start_severity", [("", "as the program plans it"), *_grouped(start_choices(offers.values()))])
        offered = {rule for offer in offers.values() for rule in offer.decision_rules}
        rules = [choice for choice in DecisionRule.choices if choice[0] in offered]
        if len(rules) > 1:
            self._choices("decision_rule", [("", "Choose"), *rules])
        else:
            self._choices("decision_rule", rules)
        self.searches = any(offer.open_start for offer in offers.values())
        limits = [
            offer.own_limit is not None for offer in offers.values() if DecisionRule.CLIENT in offer.decision_rules
        ]
        unused = {"start_severity", "believed_severity", "believed_spread"} if not self.searches else set()
        unused |= set() if any(limits) else {"own_limit"}
        unused |= set() if limits and not all(limits) else {"decision_rule_note"}
        for name in unused:
            del self.fields[name]

    def _choices(self, name: str, choices: list[Any]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101  (narrows the type)
        field.choices = choices
        if len(choices) == 1:
            field.initial = choices[0][0]

    @property
    def needs(self) -> list[tuple[str, str, str]]:
        """What each method takes, in its newest edition: title, specimens, decision rules."""
        newest = {method_slug(key): offer for key, offer in sorted(method_offers().items())}
        rules = {rule: mid_sentence(str(label)) for rule, label in DecisionRule.choices}
        return [
            (
                offer.title,
                specimens_words(offer),
                ", ".join(rules[rule] for rule in offer.decision_rules),
            )
            for offer in newest.values()
        ]

    def clean(self) -> dict[str, Any]:
        """Hold severity, start, rule and product standard against the edition."""
        cleaned = super().clean() or {}
        if {"method_key", "severity", "specimens_ordered", "decision_rule"} <= cleaned.keys():
            offer = method_offers()[cleaned["method_key"]]
            slug, severity = chosen_severity(cleaned["severity"])
            begin = cleaned.get("start_severity")
            start_slug, start = chosen_severity(begin) if begin else ("", None)
            for name, word, other in (("severity", "severity", slug), ("start_severity", "start", start_slug)):
                if other and other != method_slug(offer.key):
                    self.add_error(name, f"This {word} belongs to another method than {offer.short_standard}.")
                    return cleaned
            cleaned["severity_value"] = severity
            cleaned["belief"] = Belief(start, cleaned.get("believed_severity"), cleaned.get("believed_spread"))
            self._own_limit(offer, cleaned)
            self._hold(offer, cleaned)
        return cleaned

    def _own_limit(self, offer: MethodOffer, cleaned: dict[str, Any]) -> None:
        """Lay the client's own limit over the figures agreed; it belongs to that rule alone."""
        figure, own = cleaned.get("own_limit"), offer.own_limit
        if figure is None:
            return
        if own is None or cleaned["decision_rule"] != DecisionRule.CLIENT:
            self.add_error("own_limit", "Only the rule “the client’s own limit” takes one; leave it empty.")
        else:
            before = cleaned["agreed"].get(own.key, {})
            cleaned["agreed"] = {**cleaned["agreed"], own.key: {**before, own.side: f"{figure:f}"}}

    def _hold(self, offer: MethodOffer, cleaned: dict[str, Any]) -> None:
        """Fill in the usual number of specimens and find the first fault."""
        if cleaned["specimens_ordered"] is None:
            cleaned["specimens_ordered"] = usual_specimens(offer, cleaned["severity_value"])
        if cleaned["specimens_ordered"] is None:
            most = f" it takes {offer.most_specimens} at most." if offer.most_specimens else (
                f" each level takes {offer.specimens_needed}."
            )  # fmt: skip
            self.add_error("specimens_ordered", f"Write how many specimens are sent for the search;{most}")
            return
        fault = line_fault(
            offer,
            severity=cleaned["severity_value"],
            specimens_ordered=cleaned["specimens_ordered"],
            decision_rule=cleaned["decision_rule"],
            decision_rule_note=cleaned.get("decision_rule_note", ""),
            product_standard=cleaned.get("product_standard", ""),
            own_limit=own_limit_of(offer, cleaned["agreed"]),
            belief=cleaned["belief"],
        )
        if fault is not None:
            self.add_error(fault.field if fault.field in self.fields else None, fault.sentence)

    def line(self) -> LineIn:
        """The line as typed; call it after the form was found valid."""
        typed, belief = self.cleaned_data, self.cleaned_data["belief"]
        return LineIn(
            method_key=typed["method_key"],
            severity=typed["severity_value"],
            specimens_ordered=typed["specimens_ordered"],
            decision_rule=typed["decision_rule"],
            decision_rule_note=typed.get("decision_rule_note", ""),
            product_standard=typed["product_standard"],
            subject=typed["subject"],
            start_severity=belief.start,
            believed_severity=belief.value,
            believed_spread=belief.spread,
            agreed_parameters=typed["agreed"],
        )


def _editions(offers: Mapping[str, MethodOffer]) -> list[tuple[str, list[tuple[str, str]]]]:
    """Editions grouped by method, newest first."""
    groups: dict[str, list[tuple[str, str]]] = {}
    for key, offer in sorted(offers.items(), reverse=True):
        groups.setdefault(offer.title, []).append((key, f"{offer.standard}: {offer.title}"))
    return sorted(groups.items())


def _grouped(groups: list[tuple[str, list[SeverityChoice]]]) -> list[tuple[str, list[tuple[str, str]]]]:
    return [(title, [(choice.value, choice.label) for choice in choices]) for title, choices in groups]


class LineRows(RowFormSet):
    """The first lines of an order; one is needed."""

    needed = 1


LineFormSet = cast(
    "type[LineRows]",
    forms.formset_factory(LineForm, formset=LineRows, extra=0, min_num=0, max_num=12, absolute_max=12),
)


class WithdrawForm(forms.Form):
    """Why a line is not tested."""

    reason = LineField(label="Why", max_length=300, error_messages={"required": "Write why the line is withdrawn."})


class ReviewForm(forms.Form):
    """What a lead signs."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    requirements_understood = forms.BooleanField(
        label="The requirements are defined and understood",
        error_messages={"required": "Not ticked: settle with the client what is asked for, then sign."},
    )
    method_suitable = forms.BooleanField(
        label="The method and its edition suit the purpose and are not outdated",
        error_messages={"required": "Not ticked: agree another method or edition, then sign."},
    )
    capability = forms.BooleanField(
        label="We have the people, the rig and the time",
        error_messages={"required": "Not ticked: agree another date or decline, then sign."},
    )
    agreed_with = LineField(
        label="Agreed with",
        max_length=120,
        help_text="The person at the client’s who agreed the decision rule.",
        error_messages={"required": "Write who at the client’s agreed."},
    )
    agreed_on = DayField(label="Agreed on")
    note = RemarksField(label="Note", max_length=2000, required=False)
