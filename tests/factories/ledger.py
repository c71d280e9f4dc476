"""The laboratory and its people, as the tests need them."""

from datetime import UTC, datetime
from typing import Any

import factory
from django.contrib.auth.hashers import make_password

from labsite.ledger.models import Laboratory, Place, RoleHolding, User

NOON = datetime(2026, 3, 10, 11, 0, tzinfo=UTC)
"""Tuesday noon in Berlin; the tests' usual moment."""


class LaboratoryFactory(factory.django.DjangoModelFactory[Laboratory]):
    """The laboratory of the tests, in Berlin's zone."""

    class Meta:
        """One row."""

        model = Laboratory
        django_get_or_create = ("pk",)

    pk = 1
    name = "Testbench Laboratory"
    address = "Probe Lane 1\n00000 Nowhere"
    zone = "Europe/Berlin"


class UserFactory(factory.django.DjangoModelFactory[User]):
    """A person; `roles=["counter", …]` gives roles."""

    class Meta:
        """Roles are added after."""

        model = User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"person{n}")
    full_name = factory.LazyAttribute(lambda person: person.username.capitalize())
    password = factory.LazyFunction(lambda: make_password("a long password"))

    @factory.post_generation
    def roles(self: Any, create: bool, extracted: list[str] | None, **kwargs: Any) -> None:
        """Hold the roles asked for."""
        for role in extracted or []:
            RoleHolding.objects.create(user=self, role=role)


class PlaceFactory(factory.django.DjangoModelFactory[Place]):
    """A shelf."""

    class Meta:
        """A place."""

        model = Place

    code = factory.Sequence(lambda n: f"P-{n}")
    name = factory.LazyAttribute(lambda place: f"Place {place.code}")
    kind = Place.Kind.SHELF
