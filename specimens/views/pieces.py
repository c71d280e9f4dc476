"""Pages of items and specimens: what they are, where they are, handing them over, their photos."""

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from labsite.ledger.attempts import attempt
from labsite.ledger.downloads import file_response
from specimens.actions import custody
from specimens.actions.receipts import add_photo
from specimens.forms.receipts import HandOverForm, PhotoForm
from specimens.queries import pieces as queries


def item_page(request: HttpRequest, number: str) -> HttpResponse:
    """What the client sent, how it arrived, what was made from it, where that is."""
    item = get_object_or_404(queries.items_with_order(), number=number)
    return render(request, "specimens/item.html", queries.item_page(item))


def specimen_page(request: HttpRequest, number: str) -> HttpResponse:
    """One piece that is tested: what it is, where it is, its life."""
    specimen = get_object_or_404(queries.specimens_with_order(), number=number)
    return render(request, "specimens/specimen.html", queries.specimen_page(specimen))


def hand_over_item(request: HttpRequest, number: str) -> HttpResponse:
    """Hand an item over, with its specimens or without."""
    item = get_object_or_404(queries.items_with_order(), number=number)
    specimens = list(queries.specimens_with_order().filter(item=item))
    form = HandOverForm(request.POST or None, specimens=len(specimens))
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        taken = specimens if typed.pop("with_specimens", False) else []
        attempt(form, custody.hand_over, by=request.user, at=timezone.now(), item=item, specimens=taken, **typed)
        if not form.errors:
            messages.success(request, f"Handed over to {typed['place'] or typed['person']}.")
            return redirect("specimens:item", number)
    context = {"form": form, "piece": item, "order": item.receipt.order, "now": queries.held_now(item), "kind": "item"}
    return render(request, "specimens/hand_over.html", context, status=422 if form.errors else 200)


def hand_over_specimen(request: HttpRequest, number: str) -> HttpResponse:
    """Hand one specimen over."""
    specimen = get_object_or_404(queries.specimens_with_order(), number=number)
    form = HandOverForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        typed = form.cleaned_data
        attempt(form, custody.hand_over, by=request.user, at=timezone.now(), specimens=[specimen], **typed)
        if not form.errors:
            messages.success(request, f"Handed over to {typed['place'] or typed['person']}.")
            return redirect("specimens:specimen", number)
    context = {"form": form, "piece": specimen, "order": specimen.order_line.order, "kind": "specimen"}
    context |= {"now": queries.held_now(specimen)}
    return render(request, "specimens/hand_over.html", context, status=422 if form.errors else 200)


def new_photo(request: HttpRequest, number: str) -> HttpResponse:
    """Add a photo to an item."""
    item = get_object_or_404(queries.items_with_order(), number=number)
    form = PhotoForm(request.POST or None, request.FILES or None)
    if request.method == "POST" and form.is_valid():
        added = attempt(form, add_photo, by=request.user, at=timezone.now(), item=item, **form.cleaned_data)
        if added is not None:
            messages.success(request, "The photo is kept.")
            return redirect("specimens:item", number)
    context = {"form": form, "item": item}
    return render(request, "specimens/item_photo.html", context, status=422 if form.errors else 200)


def photo(request: HttpRequest, pk: int) -> HttpResponse:
    """The copy of a photo that may be shown; the original stays in the store."""
    return file_response(get_object_or_404(queries.photos_shown(), pk=pk).shown)
