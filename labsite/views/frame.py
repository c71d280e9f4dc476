"""The pages that belong to no app: today, find, help."""

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render

from calibration.queries.find import instrument_address, rig_address, serial_address
from labsite import help_pages
from labsite.ledger.models import Role, User
from labsite.ledger.numbering import NumberKind, read_number, with_check_digit
from reports.queries.counts import certificates_needing_a_hand
from reports.queries.find import certificate_address
from specimens.queries.find import chamber_address, order_address, piece_address
from trials.queries.counts import hands_needed

FINDERS = {
    NumberKind.ORDER: order_address,
    NumberKind.PIECE: piece_address,
    NumberKind.INSTRUMENT: instrument_address,
}


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
    address, why = _found(typed) if typed.strip() else (None, "")
    if address is not None:
        return redirect(address)
    return render(request, "labsite/find.html", {"typed": typed, "why": why}, status=404 if typed.strip() else 200)


def _found(typed: str) -> tuple[str | None, str]:
    """The page that a code, a number, or a number without its check digit leads to, or what is wrong with it."""
    named = instrument_address(typed) or certificate_address(typed) or rig_address(typed) or chamber_address(typed)
    if named is not None:
        return named, ""
    bare = with_check_digit(typed)
    address = None if bare is None else FINDERS[bare.kind](bare.digits)
    if address is not None:
        return address, ""
    try:
        number = read_number(typed)
    except ValueError as error:
        return serial_address(typed), str(error)
    address = FINDERS[number.kind](number.digits) or serial_address(typed)
    return address, "" if address else f"“{typed}” is a sound number, but nothing here has it."


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
