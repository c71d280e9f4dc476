"""Forms about who may do what by which method edition."""

from typing import Any

from django import forms

from specimens.forms.fields import DayField, LineField, RemarksField
from trials.domain.methods.registry import EDITIONS
from trials.models import Authorisation
from trials.queries.authorisations import people_to_authorise


class GrantForm(forms.Form):
    """One authorisation: who, which edition, which activity, from when to when."""

    person = forms.TypedChoiceField(label="Person", empty_value=None)
    method_key = forms.ChoiceField(label="Method edition")
    activity = forms.ChoiceField(
        label="May", choices=[(one.value, one.label) for one in Authorisation.Activity], widget=forms.RadioSelect
    )
    from_on = DayField(label="First day")
    until_on = DayField(label="Last day", required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        people = {str(person.pk): person for person in people_to_authorise()}
        person = self.fields["person"]
        assert isinstance(person, forms.TypedChoiceField)  # noqa: S101  (declared above; for the reader of types)
        person.coerce = people.get
        person.choices = [("", "choose a person"), *[(key, str(one)) for key, one in people.items()]]
        method = self.fields["method_key"]
        assert isinstance(method, forms.ChoiceField)  # noqa: S101  (declared above; for the reader of types)
        method.choices = [("", "choose an edition"), *[(key, _edition(key)) for key in EDITIONS]]


class EndForm(forms.Form):
    """Why an authorisation ends."""

    reason = LineField(label="Why it ends", max_length=300)


class ConfirmForm(forms.Form):
    """A lead compared the figures shown with the laboratory's own copy."""

    note = RemarksField(label="Copy compared with", max_length=300, rows=2)
    seen_sha256 = forms.CharField(widget=forms.HiddenInput, max_length=64)


class DayOfViewForm(forms.Form):
    """The day for which the authorisations are asked."""

    on = DayField(label="As of", required=False)


def _edition(key: str) -> str:
    return f"{EDITIONS[key].short_title}, {EDITIONS[key].standard}"
