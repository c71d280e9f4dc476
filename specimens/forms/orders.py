"""Forms about orders, their lines and the contract review."""

from collections.abc import Iterable, Mapping
from datetime import date
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.utils import timezone

from labsite.ledger.fields import DigitsFormField
from labsite.ledger.queries import laboratory_day
from labsite.ledger.wording import mid_sentence
from specimens.actions.orders import LineIn
from specimens.domain.faults import Fault
from specimens.domain.offers import MethodOffer
from specimens.domain.order_lines import (
    Belief,
    SeverityChoice,
    belief_faults,
    chosen_severity,
    line_faults,
    method_slug,
    own_limit_fault,
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

    def clean_promised_on(self) -> date | None:
        """A day that is over cannot be promised."""
        day: date | None = self.cleaned_data["promised_on"]
        if day is not None and day < laboratory_day(timezone.now()):
            raise forms.ValidationError(f"{day.isoformat()} is over; promise a day from today on.")
        return day


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
        label="Specimens",
        low=1,
        high=500,
        required=False,
        help_text="Empty: what the method asks for; a search needs a number.",
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
        self._choices("decision_rule", [("", "Choose"), *rules] if len(rules) > 1 else rules)
        self.searches = any(offer.open_start for offer in offers.values())
        limits = [
            offer.own_limit is not None for offer in offers.values() if DecisionRule.CLIENT in offer.decision_rules
        ]
        unused = {"start_severity", "believed_severity", "believed_spread"} if not self.searches else set()
        unused |= set() if any(limits) else {"own_limit"}
        unused |= set() if limits and not all(limits) else {"decision_rule_note"}
        for name in unused:
            del self.fields[name]
        for name in ("severity", "start_severity"):
            if name in self.fields:
                self.fields[name].widget.attrs["data-narrowed-by"] = self.add_prefix("method_key")

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
        """Hold severity, start, rule and product standard against the edition; every fault is told at once."""
        cleaned = super().clean() or {}
        offer = method_offers().get(cleaned.get("method_key", ""))
        severity = self._own_level("severity", "severity", offer, cleaned)
        start = self._own_level("start_severity", "start", offer, cleaned)
        cleaned["severity_value"] = severity
        cleaned["belief"] = Belief(start, cleaned.get("believed_severity"), cleaned.get("believed_spread"))
        if offer is None:
            self._tell(belief_faults(cleaned["belief"]))
            return cleaned
        if cleaned.get("own_limit") is not None:
            self._own_limit(offer, cleaned["own_limit"], cleaned)
        self._hold(offer, cleaned)
        return cleaned

    def _own_level(self, name: str, word: str, offer: MethodOffer | None, cleaned: Mapping[str, Any]) -> Decimal | None:
        """The figure of a chosen level, None for an open order or where none can be read; it is of the edition."""
        slug, level = chosen_severity(cleaned[name]) if cleaned.get(name) else ("", None)
        if offer is not None and slug and slug != method_slug(offer.key):
            self.add_error(name, f"This {word} belongs to another method than {offer.short_standard}.")
            return None
        return level

    def _own_limit(self, offer: MethodOffer, figure: Decimal, cleaned: dict[str, Any]) -> None:
        """Lay the client's own limit over the figures agreed; it belongs to that rule alone."""
        rule, own = cleaned.get("decision_rule", ""), offer.own_limit
        fault = own_limit_fault(offer, rule, figure) if rule else None
        self._tell([fault] if fault else [])
        if fault is None and own is not None and rule == DecisionRule.CLIENT:
            before = cleaned["agreed"].get(own.key, {})
            cleaned["agreed"] = {**cleaned["agreed"], own.key: {**before, own.side: f"{figure:f}"}}

    def _hold(self, offer: MethodOffer, cleaned: dict[str, Any]) -> None:
        """Fill in the usual number of specimens and find every fault."""
        if cleaned.get("specimens_ordered") is None and not {"specimens_ordered", "severity"} & self.errors.keys():
            cleaned["specimens_ordered"] = usual_specimens(offer, cleaned["severity_value"])
            if cleaned["specimens_ordered"] is None:
                most = f" it takes {offer.most_specimens} at most." if offer.most_specimens else (
                    f" each level takes {offer.specimens_needed}."
                )  # fmt: skip
                self.add_error("specimens_ordered", f"Write how many specimens are sent for the search;{most}")
        faults = line_faults(
            offer,
            severity=cleaned["severity_value"],
            specimens_ordered=cleaned.get("specimens_ordered") or 1,
            decision_rule=cleaned.get("decision_rule", ""),
            decision_rule_note=cleaned.get("decision_rule_note", ""),
            product_standard=cleaned.get("product_standard", ""),
            own_limit=own_limit_of(offer, cleaned["agreed"]),
            belief=cleaned["belief"],
        )
        # Where the level cannot be read, nobody knows yet whether the line is a search.
        unknown = {"start_severity"} if "severity" in self.errors else set()
        self._tell(fault for fault in faults if fault.field not in unknown)

    def _tell(self, faults: Iterable[Fault]) -> None:
        """Write each fault at its field, unless the field has one already."""
        for fault in faults:
            if fault.field not in self.errors:
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
