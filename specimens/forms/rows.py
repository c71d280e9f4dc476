"""Forms shown again with what was typed: one more row on request, or a newer version number."""

from collections.abc import Mapping
from typing import Any

from django import forms


class RowFormSet(forms.BaseFormSet):  # type: ignore[type-arg]  # no generic at run time
    """Rows of which `needed` must be filled in; the others may stay as they are."""

    needed = 0

    def get_form_kwargs(self, index: int | None) -> dict[str, Any]:
        """Rows beyond the needed ones may be left alone."""
        return {**super().get_form_kwargs(index), "empty_permitted": index is None or index >= self.needed}

    @property
    def filled(self) -> list[Any]:
        """The forms somebody filled in, after checking."""
        return [form for index, form in enumerate(self.forms) if index < self.needed or form.has_changed()]


def typed_values(form: forms.BaseForm) -> dict[str, Any]:
    """What was typed into a bound form, unchecked; files cannot be handed back to a browser."""
    return {
        name: field.widget.value_from_datadict(form.data, form.files, form.add_prefix(name))
        for name, field in form.fields.items()
        if not isinstance(field, forms.FileField)
    }


def one_more_row(rows: RowFormSet, more: Mapping[str, Any]) -> RowFormSet:
    """The same rows with what was typed, unchecked, and one new row with the values `more`."""
    initial = [*(typed_values(form) for form in rows.forms), dict(more)]
    return type(rows)(initial=initial, prefix=rows.prefix, form_kwargs=rows.form_kwargs)


def take_version(form: forms.BaseForm, version: int) -> None:
    """Let a bound form stand for the present version: what changed was shown, so the next sending means it."""
    typed: Any = form.data.copy()  # type: ignore[attr-defined]  # a QueryDict
    typed["version"] = str(version)
    form.data = typed
