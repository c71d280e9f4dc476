"""System checks of the site: every address declares who may open it."""

from collections.abc import Iterator, Sequence
from typing import Any

from django.core.checks import CheckMessage, Error, register
from django.urls import URLPattern, URLResolver, get_resolver


def all_routes(
    patterns: Sequence[URLPattern | URLResolver] | None = None, prefix: str = ""
) -> Iterator[tuple[str, URLPattern]]:
    """Every address of the site with its pattern, nested ones spelled out."""
    for pattern in get_resolver().url_patterns if patterns is None else patterns:
        if isinstance(pattern, URLResolver):
            yield from all_routes(pattern.url_patterns, prefix + str(pattern.pattern))
        else:
            yield prefix + str(pattern.pattern), pattern


@register
def every_route_declares_rights(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    """Fail on an address that was not made with `labsite.ledger.access.route`."""
    return [
        Error(
            f"The address “{address}” does not declare who may open it; make it with route(…, may=…).",
            id="labsite.E001",
        )
        for address, pattern in all_routes()
        if not hasattr(pattern.callback, "rights")
    ]
