"""The demo's four clients and their orders: what was asked for, agreed and brought in."""

import json
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.conf import settings

from labsite.demo.days import working_hour
from labsite.demo.pictures import photo_of_pieces
from labsite.ledger.models import Place, User
from labsite.ledger.pictures import shown_picture
from labsite.ledger.queries import laboratory_day
from specimens.actions.clients import add_client
from specimens.actions.deviations import answer_deviation
from specimens.actions.orders import LineIn, sign_review, take_order
from specimens.actions.receipts import ItemIn, PhotoIn, register_receipt
from specimens.models import Contact, Order, Receipt

METHOD = "glow-wire-end-product@2021"


@dataclass(frozen=True, slots=True)
class Business:
    """One order of the demo; `taken_days_ago` and `received_days_ago` place it in time, None is not yet.

    `severity` empty is an open order; `start` is the level agreed to begin a search at.
    """

    key: str
    client: int
    taken_days_ago: int
    subject: str
    material: str
    colour: str
    thickness_mm: str
    severity: str
    specimens: int
    promised_in_days: int
    product_standard: str
    purchase_order: str
    method: str = METHOD
    start: str = ""
    believed: str = ""
    believed_spread: str = ""
    reviewed: bool = True
    received_days_ago: int | None = None
    stated: int | None = None
    deviation: str = ""
    answered: bool = False
    handling: str = ""


def scenario() -> tuple[list[dict[str, str]], list[Business]]:
    """Clients and orders as written in fixtures/demo/business.json."""
    data = json.loads((settings.FIXTURES_DIR / "demo" / "business.json").read_text(encoding="utf-8"))
    return data["clients"], [Business(**order) for order in data["orders"]]


def take_orders(people: dict[str, User], *, founded_at: datetime, now: datetime) -> dict[str, Order]:
    """Enter clients, take the orders, sign the reviews, register what came; returns the orders by key."""
    tilda = people["tilda"]
    contacts: list[Contact] = []
    clients, orders_to_take = scenario()
    for entry in clients:
        client = add_client(
            by=tilda,
            at=founded_at,
            name=entry["name"],
            address=entry["address"],
            country="Nowhere",
            remarks="",
            contact_name=entry["contact"],
            contact_email=entry["email"],
            contact_phone="+00 000 000",
        )
        contacts.append(client.contacts.get())
    orders = {}
    for business in sorted(orders_to_take, key=lambda order: -order.taken_days_ago):
        orders[business.key] = take(business, contacts[business.client], people, now=now)
    return orders


def take(business: Business, contact: Contact, people: dict[str, User], *, now: datetime) -> Order:
    """Take one order, sign its review, register what came."""
    tilda, petra = people["tilda"], people["petra"]
    taken_at = working_hour(now, business.taken_days_ago, 9, 40)
    order = take_order(
        by=tilda,
        at=taken_at,
        contact=contact,
        purchase_order=business.purchase_order,
        promised_on=laboratory_day(now) + timedelta(days=business.promised_in_days),
        leftovers="Keep six months, then discard",
        handling=business.handling,
        lines=[
            LineIn(
                method_key=business.method,
                severity=_number(business.severity),
                start_severity=_number(business.start),
                believed_severity=_number(business.believed),
                believed_spread=_number(business.believed_spread),
                specimens_ordered=business.specimens,
                decision_rule="in the standard",
                subject=business.subject,
                decision_rule_note="",
                product_standard=business.product_standard,
            )
        ],
    )
    if business.reviewed:
        sign_review(
            by=petra,
            at=taken_at + timedelta(minutes=20),
            order=order,
            version=order.version,
            requirements_understood=True,
            method_suitable=True,
            capability=True,
            agreed_with=contact.name,
            agreed_on=laboratory_day(taken_at),
            note="",
        )
    if business.received_days_ago is not None:
        _receive(business, order, people, working_hour(now, business.received_days_ago, 11, 10))
    return order


def _number(text: str) -> Decimal | None:
    return Decimal(text) if text else None


def _receive(business: Business, order: Order, people: dict[str, User], at: datetime) -> Receipt:
    photo = photo_of_pieces(business.specimens, broken=bool(business.deviation))
    receipt = register_receipt(
        by=people["tilda"],
        at=at,
        order=order,
        came_at=at - timedelta(minutes=5),
        brought_by="Courier",
        parcels=1,
        outside=Receipt.Outside.SOUND,
        items=[
            ItemIn(
                order_line=order.lines.get(),
                description=business.subject,
                material=business.material,
                colour=business.colour,
                counted=business.specimens,
                specimens=business.specimens,
                conditions=("damaged",) if business.deviation else ("as described",),
                place=Place.objects.get(code="C-1"),
                client_name_for_it=f"{business.subject} / lot {order.number[2:6]}",
                stated_count=business.stated or business.specimens,
                thickness_mm=Decimal(business.thickness_mm),
                surface="Outer face, away from the gate",
                deviation=business.deviation,
                photo=PhotoIn("pieces.jpg", photo, shown_picture(photo, name="pieces.jpg")),
            )
        ],
    )
    if business.answered:
        item = receipt.items.get()
        answer_deviation(
            by=people["tilda"],
            at=at + timedelta(hours=3),
            deviation=item.deviations.get(),
            decision="test anyway",
            answered_by=order.contact.name,
            answer="Test the scratched one anyway, the scratch is far from the place of contact.",
        )
    return receipt
