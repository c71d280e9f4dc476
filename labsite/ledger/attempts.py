"""Running an action from a form: an expected “no” becomes an error beside the typing that stays."""

from collections.abc import Callable
from typing import Any

from django import forms

from labsite.ledger.refusals import Refused


def attempt[Result](form: forms.BaseForm, action: Callable[..., Result], **arguments: Any) -> Result | None:
    """Run `action` with `arguments`; on a refusal put its sentence on the form and return None."""
    try:
        return action(**arguments)
    except Refused as refusal:
        form.add_error(refusal.field if refusal.field in form.fields else None, refusal.sentence)
        return None
