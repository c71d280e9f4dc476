"""The methods this program can judge, each with its figures, where they come from and who confirmed them."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from labsite.ledger.attempts import attempt
from trials.actions.methods import confirm_edition
from trials.domain.methods.base import MethodEdition
from trials.forms.authorisations import ConfirmForm
from trials.queries import method_page as page
from trials.queries import methods as queries


def methods(request: HttpRequest) -> HttpResponse:
    """All editions and whether their figures are confirmed."""
    return render(request, "trials/methods.html", {"editions": queries.listed_editions()})


def method(request: HttpRequest, edition_key: str) -> HttpResponse:
    """One edition, generated from its own statement."""
    edition = _edition(edition_key)
    return _page(request, edition, ConfirmForm(initial={"seen_sha256": queries.parameters_sha256(edition)}))


@require_POST
def confirm(request: HttpRequest, edition_key: str) -> HttpResponse:
    """A lead confirms the figures shown."""
    edition = _edition(edition_key)
    form = ConfirmForm(request.POST)
    if form.is_valid():
        done = attempt(
            form, confirm_edition, method_key=edition_key, by=request.user, at=timezone.now(), **form.cleaned_data
        )
        if done is not None:
            messages.success(request, f"The figures of {edition.standard} are confirmed.")
            return redirect("trials:method", edition_key)
    return _page(request, edition, form)


def _edition(key: str) -> MethodEdition:
    edition = queries.known_edition(key)
    if edition is None:
        raise Http404
    return edition


def _page(request: HttpRequest, edition: MethodEdition, form: ConfirmForm) -> HttpResponse:
    context = {
        "page": page.method_page(edition, timezone.now()),
        "form": form,
        "may_confirm": page.may_confirm(request.user),
    }
    return render(request, "trials/method.html", context, status=422 if form.errors else 200)
