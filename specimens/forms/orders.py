"""Forms about orders, their lines and the contract review."""

from typing import Any, cast

from django import forms

from specimens.actions.orders import LineIn
from specimens.domain.order_lines import chosen_severity, line_fault, method_slug, severity_choices
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
    severity = forms.ChoiceField(label="Severity", error_messages={"required": "Choose the severity."})
    product_standard = LineField(
        label="Product standard that asks for it",
        max_length=120,
        required=False,
        width="w-m",
        help_text="Needed for a severity “by product standard”.",
    )
    specimens_ordered = CountField(
        label="Specimens", low=1, high=500, error_messages={"required": "Write how many specimens."}
    )
    decision_rule = forms.ChoiceField(label="Decision rule", error_messages={"required": "Choose the decision rule."})
    decision_rule_note = LineField(label="The client’s own rule", max_length=300, required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        offers = method_offers()
        methods = [(key, f"{offer.standard}: {offer.title}") for key, offer in sorted(offers.items(), reverse=True)]
        self._choices("method_key", [("", "Choose"), *methods])
        severities = [
            (title, [(choice.value, choice.label) for choice in choices])
            for title, choices in severity_choices(offers.values())
        ]
        self._choices("severity", [("", "Choose"), *severities])
        offered = {rule for offer in offers.values() for rule in offer.decision_rules}
        rules = [choice for choice in DecisionRule.choices if choice[0] in offered]
        if len(rules) > 1:
            self._choices("decision_rule", [("", "Choose"), *rules])
        else:
            self._choices("decision_rule", rules)
        if DecisionRule.CLIENT not in offered:
            del self.fields["decision_rule_note"]

    def _choices(self, name: str, choices: list[Any]) -> None:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)  # noqa: S101  (narrows the type)
        field.choices = choices
        if len(choices) == 1:
            field.initial = choices[0][0]

    def clean(self) -> dict[str, Any]:
        """Hold severity, rule and product standard against the edition."""
        cleaned = super().clean() or {}
        if {"method_key", "severity", "specimens_ordered", "decision_rule"} <= cleaned.keys():
            offer = method_offers()[cleaned["method_key"]]
            slug, severity = chosen_severity(cleaned["severity"])
            if slug != method_slug(offer.key):
                self.add_error("severity", f"This severity belongs to another method than {offer.short_standard}.")
                return cleaned
            fault = line_fault(
                offer,
                severity=severity,
                specimens_ordered=cleaned["specimens_ordered"],
                decision_rule=cleaned["decision_rule"],
                decision_rule_note=cleaned.get("decision_rule_note", ""),
                product_standard=cleaned.get("product_standard", ""),
            )
            if fault is not None:
                self.add_error(fault.field if fault.field in self.fields else None, fault.sentence)
            cleaned["severity_value"] = severity
        return cleaned

    def line(self) -> LineIn:
        """The line as typed; call it after the form was found valid."""
        typed = self.cleaned_data
        return LineIn(
            method_key=typed["method_key"],
            severity=typed["severity_value"],
            specimens_ordered=typed["specimens_ordered"],
            decision_rule=typed["decision_rule"],
            decision_rule_note=typed.get("decision_rule_note", ""),
            product_standard=typed["product_standard"],
            subject=typed["subject"],
            agreed_parameters=typed["agreed"],
        )


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
