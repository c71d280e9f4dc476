"""The part of a line's form that holds figures agreed in place of the edition's, as the product guide fills it.

Nothing is taken over by itself: a row is chosen, its figures stand on the form in words, and can be left out again.
"""

import json
from typing import Any

from django import forms

from labsite.ledger.refusals import Refused
from specimens.domain.order_lines import method_slug, severity_choice
from specimens.forms.rows import typed_values
from specimens.queries.methods import agreed_words, guide_offer, method_offer

MOST_CHARACTERS = 4000


class AgreedFigures(forms.Form):
    """Figures agreed for a line, hidden as JSON and shown in words, with a tick that leaves them out."""

    agreed_parameters = forms.CharField(required=False, max_length=MOST_CHARACTERS, widget=forms.HiddenInput)
    agreed_left_out = forms.BooleanField(label="Leave these figures out; the edition’s own hold", required=False)

    @property
    def agreed_words(self) -> list[str]:
        """The figures in words; none while they cannot be read, which checking the form says."""
        try:
            return agreed_words(str(self["method_key"].value() or ""), _figures(self["agreed_parameters"].value()))
        except Refused:
            return []

    def clean(self) -> dict[str, Any]:
        """Hold the figures against the edition chosen; `agreed` is what the line takes over."""
        cleaned = super().clean() or {}
        cleaned["agreed"] = {}
        if not cleaned.get("agreed_left_out") and "method_key" in cleaned:
            try:
                figures = _figures(cleaned.get("agreed_parameters"))
                agreed_words(cleaned["method_key"], figures)
                cleaned["agreed"] = figures
            except Refused as refusal:
                self.add_error("agreed_left_out", refusal.sentence)
        return cleaned


def guide_values(key: str) -> dict[str, Any]:
    """What a row of the guide fills into a line's form; refused when there is no such row."""
    offer = guide_offer(key)
    told = offer.severity is not None or bool(method_offer(offer.method_key).open_severity)
    return {
        "method_key": offer.method_key,
        "severity": severity_choice(offer.method_key, offer.severity) if told else "",
        "product_standard": offer.product_standard,
        "agreed_parameters": json.dumps(offer.agreed, sort_keys=True, ensure_ascii=False) if offer.agreed else "",
        "agreed_left_out": False,
    }


def filled_values(form: forms.BaseForm, key: str) -> dict[str, Any]:
    """What was typed into a line's form with a row of the guide laid over it.

    The product standard stays as typed, and so does another edition of the row's method.
    """
    typed, filled = typed_values(form), guide_values(key)
    if method_slug(str(typed.get("method_key") or "")) == method_slug(filled["method_key"]):
        filled["method_key"] = typed["method_key"]
    if typed.get("product_standard"):
        filled["product_standard"] = typed["product_standard"]
    return {**typed, **filled}


def _figures(text: Any) -> dict[str, Any]:
    try:
        figures = json.loads(text or "{}")
        plain = json.dumps(figures, ensure_ascii=False)
        plain.encode()  # half a character is no text
    except (ValueError, RecursionError):
        figures, plain = None, ""
    if not isinstance(figures, dict) or "\\u0000" in plain:
        raise Refused("The agreed figures cannot be read; choose the row of the guide again.")
    return figures
