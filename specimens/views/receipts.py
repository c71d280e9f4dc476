"""Receiving a parcel, printing its labels, recording the client's answer to a deviation."""

from django.contrib import messages
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone

from labsite.ledger.attempts import attempt
from specimens.actions import deviations, receipts
from specimens.domain.counter_words import counted, registered_words, sentence
from specimens.forms.receipts import AnswerForm, ItemFormSet, ParcelForm
from specimens.forms.rows import one_more_row, typed_values
from specimens.queries import orders as queries
from specimens.queries.pieces import deviations_with_answer, label_pieces
from specimens.rendering.labels import labels_pdf


def receive(request: HttpRequest, number: str) -> HttpResponse:
    """Register one parcel: the parcel, its items and the specimens made from them."""
    order = queries.order_by_number(number)
    if order is None:
        raise Http404
    context = queries.order_page(order)
    lines = queries.lines_in_work().filter(order=order)
    rows = [queries.item_defaults(facts) for facts in context["live"] if facts.missing] or [
        queries.item_defaults(facts) for facts in context["live"]
    ]
    now = timezone.localtime()
    start = {"came_at": now.replace(second=0, microsecond=0), "parcels": 1}
    form = ParcelForm(request.POST or None, initial=start)
    items = ItemFormSet(
        request.POST or None, request.FILES or None, initial=rows, prefix="item", form_kwargs={"lines": lines}
    )
    if "add_row" in request.POST:
        more = {"order_line": context["live"][0].line.pk} if context["live"] else {}
        context |= {"form": ParcelForm(initial=typed_values(form)), "items": one_more_row(items, more)}
        context |= {"photos_lost": bool(request.FILES)}
        return render(request, "specimens/receive.html", context)
    if request.method == "POST" and all([form.is_valid(), items.is_valid()]):
        typed = [row.item() for row in items.filled]
        receipt = attempt(
            form,
            receipts.register_receipt,
            by=request.user,
            at=timezone.now(),
            order=order,
            items=typed,
            **form.cleaned_data,
        )
        if receipt is not None:
            messages.success(request, registered_words(len(typed), sum(item.specimens for item in typed)))
            return redirect(f"{reverse('specimens:order', args=[order.number])}?receipt={receipt.pk}")
    wrong = request.method == "POST"
    context |= {"form": form, "items": items, "wrong": wrong, "photos_lost": wrong and bool(request.FILES)}
    context |= {"fault_words": _fault_words([form, *items]) if wrong else ""}
    return render(request, "specimens/receive.html", context, status=422 if wrong else 200)


def labels(request: HttpRequest, number: str) -> HttpResponse:
    """The labels of an order, of one parcel (?receipt=) or of one piece (?piece=), a page each."""
    receipt, piece = request.GET.get("receipt", ""), request.GET.get("piece", "")[:10]
    if receipt and not (receipt.isdecimal() and len(receipt) < 19):
        raise Http404
    pieces = label_pieces(number, receipt=int(receipt) if receipt else None, piece=piece)
    if not pieces:
        raise Http404("No label to print.")
    response = HttpResponse(labels_pdf(pieces), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="labels-{number}.pdf"'
    response["Cache-Control"] = "private, no-store"
    return response


def answer_deviation(request: HttpRequest, pk: int) -> HttpResponse:
    """Record what the client says to a deviation."""
    deviation = get_object_or_404(deviations_with_answer(), pk=pk)
    order = deviation.item.order_line.order
    form = AnswerForm(request.POST or None)
    if request.method == "POST" and form.is_valid():
        answer = attempt(
            form,
            deviations.answer_deviation,
            by=request.user,
            at=timezone.now(),
            deviation=deviation,
            **form.cleaned_data,
        )
        if answer is not None:
            messages.success(request, "The client’s answer is recorded.")
            return redirect("specimens:order", order.number)
    context = {"form": form, "deviation": deviation, "order": order, "item": deviation.item}
    return render(request, "specimens/deviation.html", context, status=422 if form.errors else 200)


def _fault_words(forms: list[Form]) -> str:
    count = sum(name != "__all__" for form in forms for name in form.errors)
    needs = f"{counted(count, 'field needs', 'fields need')} a look" if count else "something needs a look"
    return sentence(f"{needs} before the labels can print")
