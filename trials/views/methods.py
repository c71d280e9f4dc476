"""The methods this program can judge, each with its figures, where they come from and who confirmed them."""

from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.views.decorators.http import require_POST

from labsite.ledger.attempts import attempt
from trials.actions.methods import confirm_edition, revise_sheet
from trials.domain.methods.base import MethodEdition
from trials.forms.authorisations import ConfirmForm
from trials.forms.sheets import SheetForm, rebased
from trials.queries import method_page as page
from trials.queries import methods as queries
from trials.queries.sheets import newest_edition, sheet_edition


def methods(request: HttpRequest) -> HttpResponse:
    """All editions and whether their figures are confirmed."""
    return render(request, "trials/methods.html", {"editions": queries.listed_editions()})


def method(request: HttpRequest, edition_key: str) -> HttpResponse:
    """One edition, generated from its own statement."""
    _edition(edition_key)
    _, edition = newest_edition(edition_key)
    return _page(request, edition_key, ConfirmForm(initial={"seen_sha256": queries.parameters_sha256(edition)}))


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
    return _page(request, edition_key, form)


def revise(request: HttpRequest, edition_key: str) -> HttpResponse:
    """A lead or the quality keeper makes the next revision of an edition's figures."""
    delivered = _edition(edition_key)
    revision, newest = newest_edition(edition_key)
    if request.method != "POST":
        return _revise_page(request, SheetForm(delivered, newest, revision), revision)
    form = SheetForm(delivered, newest, revision, request.POST)
    if form.is_valid():
        given = {name: form.cleaned_data[name] for name in ("revision_seen", "changes", "reason")}
        done = attempt(form, revise_sheet, by=request.user, at=timezone.now(), method_key=edition_key, **given)
        if done is not None:
            messages.success(request, f"Revision {done.revision} holds for trials opened from now on.")
            return redirect("trials:method", edition_key)
        if given["revision_seen"] < revision:
            form = _moved(request, form, sheet_edition(edition_key, given["revision_seen"]), revision)
    return _revise_page(request, form, revision)


def _moved(request: HttpRequest, refused: SheetForm, seen: MethodEdition, revision: int) -> SheetForm:
    """The refused form over the newer revision: what was typed stays, boxes left alone take the newer figure."""
    data = rebased(request.POST, refused.delivered, seen, refused.shown, revision)
    form = SheetForm(refused.delivered, refused.shown, revision, data)
    for sentence in refused.non_field_errors():
        form.add_error(None, str(sentence))
    return form


def _edition(key: str) -> MethodEdition:
    edition = queries.known_edition(key)
    if edition is None:
        raise Http404
    return edition


def _page(request: HttpRequest, edition_key: str, form: ConfirmForm) -> HttpResponse:
    context = {
        "page": page.method_page(edition_key, timezone.now()),
        "form": form,
        "may_confirm": page.may_confirm(request.user),
        "may_revise": page.may_revise(request.user),
    }
    return render(request, "trials/method.html", context, status=422 if form.errors else 200)


def _revise_page(request: HttpRequest, form: SheetForm, revision: int) -> HttpResponse:
    context: dict[str, Any] = {"edition": form.delivered, "form": form, "revision": revision}
    return render(request, "trials/method_revise.html", context, status=422 if form.errors else 200)
