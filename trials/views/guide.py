"""The product-standard guide: its page, and the rows offered beside an order line."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from trials.queries.guide import guide_page, may_take_orders, offered_rows

MOST_TYPED = 200


def guide(request: HttpRequest) -> HttpResponse:
    """The rows that fit what is typed, as a page or as its part; evidence typed is set against each."""
    words, part_mm, evidence = (request.GET.get(name, "").strip()[:MOST_TYPED] for name in ("q", "part", "evidence"))
    page = guide_page(words, part_mm, evidence)
    template = "trials/guide.html#found" if request.headers.get("HX-Request") else "trials/guide.html"
    context = {"page": page, "takes_orders": may_take_orders(request.user)}
    return render(request, template, context, status=422 if page.fault else 200)


def guide_offer(request: HttpRequest) -> HttpResponse:
    """Rows for the product standard typed in a field of a line's form, or agreed for a line of an order."""
    field, order = request.GET.get("field", "product_standard")[:60], request.GET.get("order", "")[:7]
    typed = request.GET.get(field, "")[:MOST_TYPED]
    context = {
        "rows": offered_rows(typed),
        "typed": typed,
        "prefix": field.removesuffix("product_standard").removesuffix("-"),
        "order": order if order.isdecimal() else "",
    }
    return render(request, "trials/guide_offer.html", context)
