"""Pages of clients and the people there."""

from typing import Any

from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from labsite.ledger.attempts import attempt
from specimens.actions import clients as actions
from specimens.forms.clients import ContactForm, NewClientForm, VersionedClientForm, VersionedContactForm
from specimens.forms.rows import take_version
from specimens.queries import clients as queries
from specimens.queries.orders import entry_rows_of


def client_list(request: HttpRequest) -> HttpResponse:
    """All clients by name."""
    words = request.GET.get("q", "").strip()[:100]
    page = Paginator(queries.clients_found(words), queries.PAGE).get_page(request.GET.get("page"))
    return render(request, "specimens/clients.html", {"page": page, "words": words})


def client_page(request: HttpRequest, pk: int) -> HttpResponse:
    """One client with contacts and orders."""
    client = get_object_or_404(queries.clients_with_contacts(), pk=pk)
    page = Paginator(queries.orders_of_client(client), queries.PAGE).get_page(request.GET.get("page"))
    context = {"client": client, "page": page, "entries": entry_rows_of(client.book)}
    return render(request, "specimens/client.html", context)


def new_client(request: HttpRequest) -> HttpResponse:
    """Enter a client with a first contact."""
    form = NewClientForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        client = attempt(form, actions.add_client, by=request.user, at=timezone.now(), **form.cleaned_data)
        if client is not None:
            messages.success(request, f"{client.name} is entered.")
            return redirect("specimens:client", client.pk)
    return render(request, "specimens/client_form.html", {"form": form}, status=422 if form.errors else 200)


def edit_client(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a client's facts."""
    client = get_object_or_404(queries.clients_with_contacts(), pk=pk)
    initial = {key: getattr(client, key) for key in ("name", "address", "country", "remarks", "version")}
    form = VersionedClientForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, actions.change_client, by=request.user, at=timezone.now(), client=client, **form.cleaned_data
        )
        if changed is not None:
            messages.success(request, f"{changed.name} is changed. Certificates already issued stay as they are.")
            return redirect("specimens:client", changed.pk)
        take_version(form, client.version)
    context = {"form": form, "client": client}
    return render(request, "specimens/client_form.html", context, status=422 if form.errors else 200)


def new_contact(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter one more person at a client's."""
    client = get_object_or_404(queries.clients_with_contacts(), pk=pk)
    form = ContactForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        contact = attempt(
            form, actions.add_contact, by=request.user, at=timezone.now(), client=client, **form.cleaned_data
        )
        if contact is not None:
            messages.success(request, f"{contact.name} is entered.")
            return redirect("specimens:client", client.pk)
    context: dict[str, Any] = {"form": form, "client": client}
    return render(request, "specimens/client_contact.html", context, status=422 if form.errors else 200)


def edit_contact(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a person at a client's."""
    contact = get_object_or_404(queries.contacts_with_client(), pk=pk)
    initial = {"name": contact.name, "email": contact.email, "phone": contact.phone, "version": contact.client.version}
    form = VersionedContactForm(request.POST or None, initial=initial)
    if request.method == "POST" and form.is_valid():
        changed = attempt(
            form, actions.change_contact, by=request.user, at=timezone.now(), contact=contact, **form.cleaned_data
        )
        if changed is not None:
            messages.success(request, f"{changed.name} is changed.")
            return redirect("specimens:client", changed.client_id)
        take_version(form, contact.client.version)
    context = {"form": form, "client": contact.client, "contact": contact}
    return render(request, "specimens/client_contact.html", context, status=422 if form.errors else 200)
