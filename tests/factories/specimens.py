"""Clients, orders, parcels, items, specimens and stays, as the tests need them."""

from decimal import Decimal
from typing import Any

import factory

from labsite.ledger.actions import take_next
from labsite.ledger.models import Place
from labsite.ledger.numbering import order_number, piece_number
from specimens.models import (
    Client,
    Contact,
    ContractReview,
    Custody,
    Deviation,
    Item,
    Order,
    OrderLine,
    Receipt,
    Specimen,
    Stay,
    StaySpecimen,
)
from tests.factories.calibration import InstrumentFactory
from tests.factories.ledger import NOON, PlaceFactory, UserFactory


class ClientFactory(factory.django.DjangoModelFactory[Client]):
    """A client without a contact."""

    class Meta:
        """A client."""

        model = Client

    name = factory.Sequence(lambda n: f"Invented Fittings {n} Ltd")
    address = "Sample Road 2\n00000 Nowhere"


class ContactFactory(factory.django.DjangoModelFactory[Contact]):
    """A person at a client of their own."""

    class Meta:
        """A contact."""

        model = Contact

    client = factory.SubFactory(ClientFactory)
    name = factory.Sequence(lambda n: f"Contact {n}")
    email = factory.Sequence(lambda n: f"contact{n}@example.test")
    phone = "+00 1234"


class OrderFactory(factory.django.DjangoModelFactory[Order]):
    """An order without lines; its number comes from the same series the program uses."""

    class Meta:
        """An order."""

        model = Order

    number = factory.LazyAttribute(
        lambda order: order_number(order.taken_at.year, take_next(f"orders:{order.taken_at.year}"))
    )
    contact = factory.SubFactory(ContactFactory)
    client = factory.SelfAttribute("contact.client")
    taken_at = NOON
    taken_by = factory.SubFactory(UserFactory)


class OrderLineFactory(factory.django.DjangoModelFactory[OrderLine]):
    """Glow wire on an end product at 850 °C, one specimen, the next position of its order."""

    class Meta:
        """A line."""

        model = OrderLine

    order = factory.SubFactory(OrderFactory)
    position = factory.LazyAttribute(lambda line: line.order.lines.count() + 1)
    method_key = "glow-wire-end-product@2021"
    severity = Decimal("850")
    specimens_ordered = 1
    decision_rule = "in the standard"
    subject = "Front plate, PC white"


class ContractReviewFactory(factory.django.DjangoModelFactory[ContractReview]):
    """The signed review of an order at its present version."""

    class Meta:
        """A review."""

        model = ContractReview

    order = factory.SubFactory(OrderFactory)
    order_version = factory.SelfAttribute("order.version")
    signed_at = NOON
    signed_by = factory.SubFactory(UserFactory)
    agreed_with = "Contact at the client’s"
    agreed_on = NOON.date()


class ReceiptFactory(factory.django.DjangoModelFactory[Receipt]):
    """One sound parcel."""

    class Meta:
        """A parcel."""

        model = Receipt

    order = factory.SubFactory(OrderFactory)
    came_at = NOON
    brought_by = "Courier"
    outside = Receipt.Outside.SOUND
    received_at = NOON
    received_by = factory.SubFactory(UserFactory)


def _next_piece(order: Order) -> str:
    return piece_number(order.number, take_next(f"pieces:{order.number}"))


class ItemFactory(factory.django.DjangoModelFactory[Item]):
    """One piece as described, for a line of its own order unless `order_line` is given."""

    class Meta:
        """An item."""

        model = Item

    order_line = factory.SubFactory(OrderLineFactory)
    receipt = factory.SubFactory(ReceiptFactory, order=factory.SelfAttribute("..order_line.order"))
    number = factory.LazyAttribute(lambda item: _next_piece(item.order_line.order))
    description = "Front plate, PC white"
    material = "PC"
    colour = "white"
    counted = 1
    condition = "as described"


class SpecimenFactory(factory.django.DjangoModelFactory[Specimen]):
    """A specimen of an item of its own; give `item` (and its line) or `item__order_line` to put it where it belongs."""

    class Meta:
        """A specimen."""

        model = Specimen

    item = factory.SubFactory(ItemFactory)
    order_line = factory.SelfAttribute("item.order_line")
    number = factory.LazyAttribute(lambda specimen: _next_piece(specimen.order_line.order))
    thickness_mm = Decimal("3.0")
    made_at = NOON


class CustodyFactory(factory.django.DjangoModelFactory[Custody]):
    """A specimen on a shelf."""

    class Meta:
        """A hand-over."""

        model = Custody

    specimen = factory.SubFactory(SpecimenFactory)
    place = factory.SubFactory(PlaceFactory)
    at = NOON
    by = factory.SubFactory(UserFactory)


class DeviationFactory(factory.django.DjangoModelFactory[Deviation]):
    """A deviation the client has not answered."""

    class Meta:
        """A deviation."""

        model = Deviation

    item = factory.SubFactory(ItemFactory)
    text = "One corner is broken off."
    raised_at = NOON
    raised_by = factory.SubFactory(UserFactory)


class StayFactory(factory.django.DjangoModelFactory[Stay]):
    """A stay in a chamber in the room atmosphere; `specimens=[…]` puts them in at `in_at`."""

    class Meta:
        """Members are added after."""

        model = Stay
        skip_postgeneration_save = True

    order_line = factory.SubFactory(OrderLineFactory)
    chamber = factory.SubFactory(PlaceFactory, kind=Place.Kind.CHAMBER)
    atmosphere_key = "15-35/45-75"
    recorder = factory.SubFactory(InstrumentFactory)

    @factory.post_generation
    def specimens(self: Stay, create: bool, extracted: list[Specimen] | None, **kwargs: Any) -> None:
        """Put specimens in, by default at the tests' usual moment (`specimens__in_at=…`)."""
        for specimen in extracted or []:
            StaySpecimen.objects.create(
                stay=self, specimen=specimen, in_at=kwargs.get("in_at", NOON), in_by=UserFactory.create()
            )
