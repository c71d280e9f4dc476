"""Who may open which address: every route declares it, and a POST counts once."""

import uuid
from collections.abc import Callable, Set
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import IntegrityError, transaction
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect
from django.urls import URLPattern, path

from labsite.ledger.models import Role, Submission, User
from labsite.ledger.wording import mid_sentence

View = Callable[..., HttpResponse]

ANYONE = frozenset(Role.values)
"""Everybody who is signed in."""
PUBLIC: frozenset[str] = frozenset({"public"})
"""Everybody, signed in or not."""


def route(pattern: str, view: View, *, name: str, may: Set[str]) -> URLPattern:
    """One address with the roles that may open it; its POSTs are taken once per form key.

    Whoever holds none of them is refused with the roles' names as the reason.
    """

    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        if may != PUBLIC and not _holds(request, may):
            raise PermissionDenied(
                ", ".join(mid_sentence(str(Role(role).label)) for role in Role.values if role in may)
            )
        asked = [*kwargs.values(), *(value for _, values in request.GET.lists() for value in values)]
        if any("\0" in value for value in asked if isinstance(value, str)):
            raise Http404("PostgreSQL keeps no text with a NUL in it, so nothing can have this number or name.")
        key = _form_key(request)
        return view(request, *args, **kwargs) if key is None else _once(key, request, view, *args, **kwargs)

    guarded.rights = frozenset(may)  # type: ignore[attr-defined]  # read by the system check and the access tests
    guarded.login_required = may != PUBLIC  # type: ignore[attr-defined]  # read by LoginRequiredMiddleware
    return path(pattern, guarded, name=name)


def _holds(request: HttpRequest, may: Set[str]) -> bool:
    return isinstance(request.user, User) and request.user.may(*may)


def _form_key(request: HttpRequest) -> uuid.UUID | None:
    if request.method != "POST":
        return None
    try:
        return uuid.UUID(request.POST.get("form_key", ""))
    except ValueError:
        return None


def _once(key: uuid.UUID, request: HttpRequest, view: View, /, *args: Any, **kwargs: Any) -> HttpResponse:
    """Run the view in one transaction with the form's key; a second sending leads to the first one's outcome.

    A second sending that arrives while the first still runs waits for it in the database (row lock on the unique
    key). A view that answers with anything but a redirect changed nothing, so its key is given back.
    """
    by = request.user if isinstance(request.user, User) else None
    try:
        with transaction.atomic():
            submission = Submission.objects.create(key=key, by=by)
            response = view(request, *args, **kwargs)
            if isinstance(response, HttpResponseRedirect):
                submission.outcome = response.url[:500]
                submission.save(update_fields=["outcome"])
            else:
                transaction.set_rollback(True)
            return response
    except IntegrityError:
        first = Submission.objects.filter(key=key).first()
        if first is None:  # it was another constraint of the view's own
            raise
        return redirect(first.outcome if first.outcome and first.by == by else "today")
