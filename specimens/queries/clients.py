"""Reads about clients and their people."""

from django.db.models import Count, QuerySet

from specimens.models import Client, Contact, Order

PAGE = 50


def clients_with_contacts() -> QuerySet[Client]:
    """All clients by name, with their contacts."""
    return Client.objects.prefetch_related("contacts").order_by("name", "pk")


def clients_found(words: str) -> QuerySet[Client]:
    """Clients whose name contains `words`, by name, each with `order_count`."""
    found = Client.objects.annotate(order_count=Count("orders")).order_by("name", "pk")
    return found.filter(name__icontains=words) if words else found


def contacts_with_client() -> QuerySet[Contact]:
    """All contacts with their client, by the client's name and their own."""
    return Contact.objects.select_related("client").order_by("client__name", "name", "pk")


def orders_of_client(client: Client) -> QuerySet[Order]:
    """A client's orders, newest first, with the contact."""
    return client.orders.select_related("contact").order_by("-taken_at", "-pk")
