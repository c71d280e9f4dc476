"""Forms of the counter as a person fills them in."""

import re
import uuid
from typing import Any

LINE = {
    "subject": "Front plate, PC white",
    "method_key": "glow-wire-end-product@2021",
    "severity": "glow-wire-end-product/850",
    "product_standard": "",
    "specimens_ordered": "3",
    "decision_rule": "in the standard",
    "decision_rule_note": "",
}
ITEM = {
    "description": "Front plate, PC white",
    "client_name_for_it": "Rahmen weiß",
    "material": "PC",
    "colour": "white",
    "stated_count": "3",
    "counted": "3",
    "specimens": "3",
    "thickness_mm": "3.0",
    "surface": "front",
    "conditions": ["as described"],
    "deviation": "",
}
PARCEL = {"came_at": "2026-03-10 10:22", "brought_by": "Courier, slip 7731", "parcels": "1", "outside": "sound"}
CLIENT = {
    "name": "Rosalind Fittings Ltd",
    "address": "Harbour Road 1\n00000 Nowhere",
    "country": "",
    "remarks": "",
    "contact_name": "Aoife Brannigan",
    "contact_email": "aoife@example.test",
    "contact_phone": "+00 1",
}


def rows(prefix: str, *filled: dict[str, Any]) -> dict[str, Any]:
    """A formset's fields."""
    data: dict[str, Any] = {f"{prefix}-TOTAL_FORMS": str(len(filled)), f"{prefix}-INITIAL_FORMS": "0"}
    for index, row in enumerate(filled):
        data |= {f"{prefix}-{index}-{name}": value for name, value in row.items()}
    return data


def order_form(contact: int | str, /, *lines: dict[str, Any], **changed: Any) -> dict[str, Any]:
    """The form that takes an order."""
    facts = {"contact": contact, "purchase_order": "000417", "promised_on": "", "leftovers": "", "handling": ""}
    return {"form_key": str(uuid.uuid4()), **facts, **rows("line", *(lines or (LINE,))), **changed}


def parcel_form(*items: dict[str, Any], **changed: Any) -> dict[str, Any]:
    """The form that registers a parcel."""
    return {"form_key": str(uuid.uuid4()), **PARCEL, **rows("item", *items), **changed}


def field_value(page: str, name: str) -> str | None:
    """What the input called `name` holds, empty or not; None when there is no such input."""
    found = re.search(rf'<input[^>]*name="{re.escape(name)}"[^>]*>', page)
    if found is None:
        return None
    value = re.search(r'value="([^"]*)"', found[0])
    return value[1] if value else ""
