"""Tags every template may use: shapes, numbers, moments, form fields."""

import uuid
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django import template
from django.forms import BoundField, CheckboxInput, CheckboxSelectMultiple, ClearableFileInput, RadioSelect
from django.template import Context
from django.template.defaultfilters import stringfilter
from django.template.loader import render_to_string
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString, mark_safe

from labsite.ledger.numbering import grouped
from labsite.ledger.wording import capitalised, mid_sentence

register = template.Library()
register.filter("mid_sentence", stringfilter(mid_sentence))
register.filter("capitalised", stringfilter(capitalised))


@register.simple_tag
def shape(name: str) -> SafeString:
    """A status or verdict shape; always beside its word."""
    return format_html(
        '<svg class="shape" viewBox="0 0 26 15" aria-hidden="true"><use href="#s-{}"/></svg>', name.replace(" ", "-")
    )


@register.simple_tag
def state(name: str, word: str) -> SafeString:
    """A status: its shape and its word."""
    css = "state hand" if name == "hand" else "state"
    return format_html('<span class="{}">{}{}</span>', css, shape(name), word)


_VERDICT_SHAPES = {
    "pass": "pass",
    "fail": "fail",
    "invalid": "void",
    "not judged": "open",
    "passed": "pass",
    "failed": "fail",
    "determined": "done",
}


@register.simple_tag
def verdict(outcome: str) -> SafeString:
    """A verdict word with its shape."""
    return format_html('<span class="state">{}{}</span>', shape(_VERDICT_SHAPES.get(outcome, "open")), outcome)


@register.filter
def no(digits: str) -> SafeString:
    """A number as people read it, its check digit pale."""
    body, check = grouped(str(digits))
    return format_html('<span class="no">{}<i>-{}</i></span>', body, check)


@register.filter
def plain_no(digits: str) -> str:
    """A number as text, check digit included."""
    return "-".join(grouped(str(digits)))


@register.filter
def moment(value: datetime | None) -> str:
    """A moment at the laboratory: Wed 25 Nov 10:40, with the year where it is another one."""
    if value is None:
        return ""
    local = timezone.localtime(value)
    year = "" if local.year == timezone.localtime().year else f" {local.year}"
    return f"{local:%a} {local.day} {local:%b}{year} {local:%H:%M}"


@register.filter
def day(value: date | datetime | None) -> str:
    """A day: 25 Nov 2026."""
    if value is None:
        return ""
    if isinstance(value, datetime):
        value = timezone.localtime(value).date()
    return f"{value.day} {value:%b %Y}"


@register.filter
def hours(seconds: float | None) -> str:
    """A duration in hours and minutes: 36 h 25 min; never rounded up to more than there is."""
    if seconds is None:
        return ""
    whole, minutes = divmod(int(seconds) // 60, 60)
    return f"{whole} h {minutes:02d} min" if whole else f"{minutes} min"


@register.filter
def digits(value: Decimal | None) -> str:
    """A number as typed."""
    return "" if value is None else format(value, "f")


@register.filter
def signed(value: Decimal | None) -> str:
    """A number as typed with its sign: +1.20, −0.30."""
    return "" if value is None else format(value, "+f").replace("-", "−") if value else format(value, "f")


@register.simple_tag
def form_key() -> SafeString:
    """A hidden key by which a form that is sent twice counts once."""
    return format_html('<input type="hidden" name="form_key" value="{}">', uuid.uuid4())


_GROUPED_WIDGETS = (RadioSelect, CheckboxSelectMultiple)


@register.simple_tag(takes_context=True)
def field(context: Context, bound: BoundField, hint: str = "") -> SafeString:
    """A form field with its label, hint and error, each tied to it for screen readers."""
    widget = bound.field.widget
    attributes: dict[str, Any] = {}
    described = []
    hint = hint or str(bound.help_text)
    if hint:
        described.append(f"{bound.auto_id}-hint")
    if bound.errors:
        described.append(f"{bound.auto_id}-why")
        attributes["aria-invalid"] = "true"
    if described:
        attributes["aria-describedby"] = " ".join(described)
    return mark_safe(  # noqa: S308  (rendered by a template that escapes)
        render_to_string(
            "labsite/field.html",
            {
                "bound": bound,
                "hint": hint,
                "control": bound.as_widget(attrs=attributes),
                "grouped": isinstance(widget, _GROUPED_WIDGETS),
                "tick": isinstance(widget, CheckboxInput),
                "file": isinstance(widget, ClearableFileInput),
                "optional": not bound.field.required
                and not isinstance(widget, (CheckboxInput, CheckboxSelectMultiple)),
            },
        )
    )
