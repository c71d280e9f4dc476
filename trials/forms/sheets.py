"""The form for an edition's figures: one box for each member of a parameter, typed as text with its digits."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django import forms
from django.forms import BoundField
from django.http import QueryDict
from django.utils.safestring import SafeString

from labsite.ledger.fields import DigitsFormField
from specimens.forms.fields import LineField, RemarksField
from trials.domain.criteria import Value, digits
from trials.domain.methods.base import MethodEdition
from trials.domain.parameter_changes import Change, ParameterChangeError, changed_edition
from trials.domain.statements import Parameter

WORDS = {"value": "value", "tolerance": "tolerance", "low": "lowest", "high": "highest"}
BEFORE = {"tolerance": "±", "low": "at least", "high": "at most"}


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One parameter of the form: as delivered, as it holds by the revision shown, and its boxes with words before."""

    delivered: Parameter
    shown: Parameter
    boxes: tuple[tuple[str, BoundField], ...]

    @property
    def controls(self) -> list[tuple[str, SafeString]]:
        """The boxes as they are drawn, each with its whole name for screen readers."""
        return [(before, self._control(box)) for before, box in self.boxes]

    @property
    def changed(self) -> bool:
        """Whether the revision shown differs from the edition as delivered."""
        return self.delivered.limit_text != self.shown.limit_text

    @property
    def errors(self) -> list[str]:
        """What is wrong with the boxes, in sentences."""
        return [str(error) for _, box in self.boxes for error in box.errors]

    def _control(self, box: BoundField) -> SafeString:
        attributes: dict[str, Any] = {"aria-label": box.label}
        if box.errors:
            attributes |= {"aria-invalid": "true", "aria-describedby": f"{self.delivered.key}-why"}
        return box.as_widget(attrs=attributes)


class SheetForm(forms.Form):
    """All figures of an edition; `cleaned_data["changes"]` is what differs from the edition as delivered."""

    revision_seen = forms.IntegerField(widget=forms.HiddenInput, min_value=0, max_value=10**6)
    reason = RemarksField(label="Why", max_length=300, rows=2)

    def __init__(self, delivered: MethodEdition, shown: MethodEdition, revision: int, data: Any = None) -> None:
        super().__init__(data, initial={"revision_seen": revision})
        self.delivered, self.shown = delivered, shown
        for old in delivered.parameters:
            for member in _members(delivered, old):
                self.fields[_name(old, member)] = _box(old, shown.parameter(old.key), member)

    def rows(self) -> Iterator[SheetRow]:
        """The parameters in the edition's order with their boxes."""
        for old in self.delivered.parameters:
            boxes = tuple(
                (BEFORE.get(member, ""), self[_name(old, member)]) for member in _members(self.delivered, old)
            )
            yield SheetRow(old, self.shown.parameter(old.key), boxes)

    def clean(self) -> dict[str, Any]:
        """Put the boxes together, parameter by parameter; the edition says beside a box what it cannot take."""
        cleaned = super().clean() or {}
        changes: dict[str, Change] = {}
        for old in self.delivered.parameters:
            names = {member: _name(old, member) for member in _members(self.delivered, old)}
            if all(name in cleaned for name in names.values()):
                change = {
                    member: cleaned[name]
                    for member, name in names.items()
                    if cleaned[name] is not None or getattr(old, member) is not None
                }
                try:
                    changed_edition(self.delivered, {old.key: change})
                except ParameterChangeError as wrong:
                    member = wrong.place.partition(".")[2]
                    self.add_error(names.get(member) or next(iter(names.values())), str(wrong))
                changes[old.key] = change
        return {**cleaned, "changes": changes}


def rebased(
    data: QueryDict, delivered: MethodEdition, seen: MethodEdition, newest: MethodEdition, revision: int
) -> QueryDict:
    """What was typed, laid over a newer revision: boxes left as they were take the newer figure."""
    moved = data.copy()
    moved["revision_seen"] = str(revision)
    for parameter in delivered.parameters:
        for member in _members(delivered, parameter):
            name = _name(parameter, member)
            if moved.get(name) == _text(getattr(seen.parameter(parameter.key), member)):
                moved[name] = _text(getattr(newest.parameter(parameter.key), member))
    return moved


class _KeptDigitsField(DigitsFormField):
    """A number; text left as it was shown is that number, also where a person could not type it without a doubt."""

    def clean(self, value: Any) -> Decimal | None:
        shown = self.initial
        return Decimal(shown) if shown and value == shown else super().clean(value)


def _members(edition: MethodEdition, parameter: Parameter) -> tuple[str, ...]:
    """The boxes of a parameter: the members it has as delivered; one that is not set is a limit or an uncertainty."""
    found = tuple(member for member in WORDS if getattr(parameter, member) is not None)
    uncertain = parameter.key in {limit.uncertainty for limit in edition.decided_limits}
    return found or (("value",) if uncertain else ("low", "high"))


def _name(parameter: Parameter, member: str) -> str:
    return f"{parameter.key}-{member}"


def _text(value: Value) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return digits(value) if isinstance(value, Decimal) else value


def _box(old: Parameter, shown: Parameter, member: str) -> forms.Field:
    value, now = getattr(old, member), _text(getattr(shown, member))
    label = f"{old.title}, {WORDS[member]}" + (f" in {old.unit}" if old.unit else "")
    if isinstance(value, bool):
        answers = [("yes", "yes"), ("no", "no")]
        return forms.TypedChoiceField(label=label, choices=answers, coerce=lambda word: word == "yes", initial=now)
    if isinstance(value, str) and old.choices:
        return forms.ChoiceField(label=label, choices=[(one, one) for one in old.choices], initial=now)
    if isinstance(value, str):
        return LineField(label=label, max_length=200, initial=now, width="w-m")
    return _KeptDigitsField(label=label, initial=now, required=member == "value" and value is not None)
