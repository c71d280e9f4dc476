"""The counter's page, orders, their lines and the contract review."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from labsite.ledger.attempts import attempt
from labsite.ledger.numbering import grouped
from labsite.ledger.refusals import Refused
from specimens.actions import orders as actions
from specimens.forms.agreed import filled_values, guide_values
from specimens.forms.orders import LineForm, LineFormSet, LineRows, OrderForm, ReviewForm, WithdrawForm
from specimens.forms.rows import one_more_row, take_version, typed_values
from specimens.queries import counter as counter_queries
from specimens.queries import orders as queries


def counter(request: HttpRequest) -> HttpResponse:
    """What needs a hand at the counter, what is expected, what came in; all orders by pages."""
    words, before = request.GET.get("q", "").strip()[:100], request.GET.get("before", "")[:7]
    context = counter_queries.counter_page(at=timezone.now(), words=words, before=before)
    return render(request, "specimens/counter.html", context)


def new_order(request: HttpRequest) -> HttpResponse:
    """Take an order with its first lines."""
    chosen = request.GET.get("client", "")
    client = int(chosen) if chosen.isdecimal() and len(chosen) < 10 else None
    form = OrderForm(request.POST or None, client=client)
    lines = (
        LineFormSet(request.POST or None, prefix="line")
        if request.POST
        else LineFormSet(initial=[_guided(request)], prefix="line")
    )
    if "add_row" in request.POST:
        again = {"form": OrderForm(initial=typed_values(form), client=client), "lines": one_more_row(lines, {})}
        return render(request, "specimens/order_form.html", again)
    if "guide" in request.POST:
        again = {"form": OrderForm(initial=typed_values(form), client=client), "lines": _guided_rows(request, lines)}
        return render(request, "specimens/order_form.html", again)
    valid = request.method == "POST" and all([form.is_valid(), lines.is_valid()])
    if valid:
        typed = [row.line() for row in lines.filled]
        order = attempt(form, actions.take_order, by=request.user, at=timezone.now(), lines=typed, **form.cleaned_data)
        if order is not None:
            messages.success(request, f"Order {'-'.join(grouped(order.number))} is taken.")
            return redirect("specimens:order", order.number)
    wrong = request.method == "POST"
    context: dict[str, Any] = {"form": form, "lines": lines, "wrong": wrong}
    return render(request, "specimens/order_form.html", context, status=422 if wrong else 200)


def order_page(request: HttpRequest, number: str) -> HttpResponse:
    """One order: where it stands, its lines, parcels, deviations and everything done."""
    order = queries.order_by_number(number)
    if order is None:
        raise Http404
    context = queries.order_page(order) | {"entries": queries.entry_rows_of(order.book)}
    just_now = request.GET.get("receipt", "")
    context["fresh"] = next((row.receipt for row in context["receipts"] if str(row.receipt.pk) == just_now), None)
    return render(request, "specimens/order.html", context)


def new_line(request: HttpRequest, number: str) -> HttpResponse:
    """Add a line to an order."""
    order = queries.order_by_number(number)
    if order is None:
        raise Http404
    form = LineForm(request.POST or None, initial=_guided(request))
    if "guide" in request.POST:
        form = LineForm(initial=_guided(request, form))
    elif request.method == "POST" and form.is_valid():
        line = attempt(form, actions.add_line, by=request.user, at=timezone.now(), order=order, line=form.line())
        if line is not None:
            messages.success(request, f"Line {line.position} is added.")
            return redirect("specimens:order", order.number)
    context = {"form": form, "order": order, "review": queries.present_review(order)}
    return render(request, "specimens/line_form.html", context, status=422 if form.errors else 200)


def _guided(request: HttpRequest, form: LineForm | None = None) -> dict[str, Any]:
    """What a row of the product-standard guide fills in, over what was typed; a row that is not there is said."""
    key = request.GET.get("guide", "") if form is None else request.POST["guide"].rpartition(" ")[2]
    try:
        if form is not None:
            return filled_values(form, key)
        return guide_values(key) if key else {}
    except Refused as refusal:
        messages.error(request, refusal.sentence)
        return {} if form is None else typed_values(form)


def _guided_rows(request: HttpRequest, rows: LineRows) -> LineRows:
    """The rows as typed, one of them filled by the guide; the button names it by its prefix."""
    prefix = request.POST["guide"].partition(" ")[0]
    return LineFormSet(
        initial=[_guided(request, row) if row.prefix == prefix else typed_values(row) for row in rows], prefix="line"
    )


def withdraw(request: HttpRequest, number: str, position: int) -> HttpResponse:
    """Withdraw a line, with the reason."""
    line = get_object_or_404(queries.lines_with_order(), order__number=number, position=position)
    form = WithdrawForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        done = attempt(form, actions.withdraw_line, by=request.user, at=timezone.now(), line=line, **form.cleaned_data)
        if done is not None:
            messages.success(request, f"Line {line.position} is withdrawn.")
            return redirect("specimens:order", number)
    context = {"form": form, "line": line, "order": line.order, "review": queries.present_review(line.order)}
    return render(request, "specimens/line_withdraw.html", context, status=422 if form.errors else 200)


def sign_review(request: HttpRequest, number: str) -> HttpResponse:
    """Read the whole order on one page and sign the contract review."""
    order = queries.order_by_number(number)
    if order is None:
        raise Http404
    form = ReviewForm(request.POST or None, initial={"version": order.version, "agreed_with": order.contact.name})
    if request.method == "POST" and form.is_valid():
        review = attempt(
            form, actions.sign_review, by=request.user, at=timezone.now(), order=order, **form.cleaned_data
        )
        if review is not None:
            messages.success(request, f"The contract review of {'-'.join(grouped(order.number))} is signed.")
            return redirect("specimens:order", order.number)
        if form.cleaned_data["version"] != order.version:
            # The lines now on the page are the present ones: the next signature is for them.
            take_version(form, order.version)
    context = queries.order_page(order) | {"form": form, "own": order.taken_by == request.user}
    context["lacking"] = queries.lacking(context["live"], timezone.now())
    return render(request, "specimens/review.html", context, status=422 if form.errors else 200)
