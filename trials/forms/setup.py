"""The set-up values of a trial as one form; what it asks is read from the method edition."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.http import QueryDict

from labsite.ledger.wording import capitalised
from trials.forms.bench import YES_NO
from trials.queries.bench_setup import FieldState


class _LaterField(forms.CharField):
    """A text that is marked as needed where it is, and may be saved empty meanwhile."""

    def validate(self, value: Any) -> None:
        """Nothing is asked for here: the start waits for what is missing."""


class SetupForm(forms.Form):
    """All set-up values of a trial as one form, for a device without script and for looking over.

    The page sends beside each value what it showed, as `seen_<key>`; only what the person changed is a value.
    """

    use_required_attribute = False

    def __init__(self, states: Sequence[FieldState], typed: QueryDict | None = None, **kwargs: Any) -> None:
        super().__init__(typed, **kwargs)
        self.seen: dict[str, str] = {}
        self.values: dict[str, str] = {}
        shown = QueryDict(mutable=True) if typed is None else typed.copy()
        for state in states:
            key = state.field.key
            # The id is what the script looks up; typed texts go to the action as they are.
            self.fields[key] = _setup_field(state)
            self.initial[key] = state.value
            if key not in shown:
                continue
            seen, text = str(shown.get(f"seen_{key}", "")), str(shown[key])
            if text.strip() != seen.strip():
                self.seen[key], self.values[key] = seen, text
            else:
                shown[key] = state.value  # untouched: what holds by now is shown, should the form come back
        if typed is not None:
            self.data = shown


def _setup_field(state: FieldState) -> forms.Field:
    field = state.field
    limit = f"{state.limit}. " if state.limit and field.kind == "number" else ""
    label = f"{field.title}, {field.unit}" if field.unit else field.title
    widget: forms.Widget = forms.TextInput(attrs={"class": "w-l", "autocomplete": "off"})
    if field.kind == "number":
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "w-s"})
    elif field.kind == "yes-no":
        widget = forms.Select(choices=YES_NO)
    elif field.kind == "choice":
        widget = forms.Select(choices=[("", "not said"), *((choice, choice) for choice in field.choices)])
    needed = "Needed. " if field.required else ""
    hint = f"{needed}{capitalised(limit)}{capitalised(field.prompt)}"
    return _LaterField(label=label, required=field.required, help_text=hint, widget=widget, max_length=200)
