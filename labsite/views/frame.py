"""The pages that belong to no app: today, find, help."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from calibration.queries.find import instrument_address
from labsite import help_pages
from labsite.ledger.models import Role, User
from labsite.ledger.numbering import NumberKind, read_number
from reports.queries.counts import certificates_needing_a_hand
from reports.queries.find import certificate_address
from specimens.queries.find import order_address, piece_address
from trials.queries.counts import hands_needed


def today(request: HttpRequest) -> HttpResponse:
    """Lead everybody to the place where their day begins."""
    person = request.user
    if isinstance(person, User) and person.roles == {Role.ADMINISTRATOR}:
        return redirect("laboratory")
    if isinstance(person, User) and person.roles and person.roles <= {Role.QUALITY, Role.ADMINISTRATOR}:
        return redirect("calibration:instruments")
    return redirect("trials:queue")


def find(request: HttpRequest) -> HttpResponse:
    """Any number, typed or scanned, leads to its page; otherwise say what was wrong with it."""
    typed = request.GET.get("number", "")[:60]
    address = instrument_address(typed) or certificate_address(typed)
    why = ""
    if address is None and typed.strip():
        try:
            number = read_number(typed)
        except ValueError as error:
            why = str(error)
        else:
            finders = {
                NumberKind.ORDER: order_address,
                NumberKind.PIECE: piece_address,
                NumberKind.INSTRUMENT: instrument_address,
            }
            address = finders[number.kind](number.digits)
            why = "" if address else f"“{typed}” is a sound number, but nothing here has it."
    if address is not None:
        return redirect(address)
    return render(request, "labsite/find.html", {"typed": typed, "why": why}, status=404 if typed.strip() else 200)


def place_counts(request: HttpRequest) -> HttpResponse:
    """How many things need a hand in each place, as parts for the frame."""
    counts = hands_needed() | {"certificates": certificates_needing_a_hand()}
    return render(request, "labsite/place_counts.html", {"counts": counts})


def help_index(request: HttpRequest) -> HttpResponse:
    """What help there is."""
    return render(request, "labsite/help.html", {"pages": help_pages.index()})


def help_page(request: HttpRequest, slug: str) -> HttpResponse:
    """One page of help."""
    page = help_pages.page(slug)
    if page is None:
        raise Http404
    return render(request, "labsite/help_page.html", {"page": page})
