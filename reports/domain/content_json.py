"""The canonical form of a certificate's content: JSON values in, dataclasses out, and the same bytes every time."""

import json
import types
import typing
from collections.abc import Iterator, Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date, datetime
from functools import cache
from typing import Any

from reports.domain.content import READABLE, CertificateContent


class ContentError(ValueError):
    """Stored content that is not what this program wrote; the message says where."""


def content_json(content: CertificateContent) -> dict[str, Any]:
    """Return the content as plain JSON values; days and moments are ISO 8601 texts, figures texts with their digits."""
    plain: dict[str, Any] = _plain(content)
    return plain


def content_bytes(plain: Mapping[str, Any]) -> bytes:
    """Return the one canonical form: UTF-8, members sorted by name, no spaces."""
    text = json.dumps(plain, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.encode()


def content_from_json(plain: Mapping[str, Any]) -> CertificateContent:
    """Return the content that `content_json` wrote; ContentError for a foreign schema, member or type."""
    if plain.get("schema") not in READABLE:
        read = ", ".join(map(str, READABLE))
        raise ContentError(f"The content is written by schema {plain.get('schema')!r}; {read} are read here.")
    content: CertificateContent = _read(CertificateContent, plain, "content")
    return content


def texts(content: CertificateContent) -> Iterator[tuple[str, str]]:
    """Yield every text with its place, for instance ("client name", "…"), in the order of the content."""
    yield from _texts(content, "")


def _plain(value: Any) -> Any:
    if is_dataclass(value):
        shown = ((field.name, getattr(value, field.name), field.default) for field in fields(value))
        return {name: _plain(own) for name, own, usual in shown if usual is MISSING or own != usual}
    if isinstance(value, tuple):
        return [_plain(one) for one in value]
    return value.isoformat() if isinstance(value, date) else value


def _texts(value: Any, place: str) -> Iterator[tuple[str, str]]:
    if is_dataclass(value):
        for field in fields(value):
            name = field.name.replace("_", " ")
            yield from _texts(
                getattr(value, field.name), place if name == "text" and place else f"{place} {name}".strip()
            )
    elif isinstance(value, tuple):
        for one in value:
            yield from _texts(one, place)
    elif isinstance(value, str):
        yield place, value


@cache
def _hints(kind: type) -> dict[str, Any]:
    return typing.get_type_hints(kind)


def _read(kind: Any, value: Any, place: str) -> Any:
    """Read `value` as `kind`: a dataclass, tuple, union, literal, alias, date, datetime or a plain JSON type."""
    if isinstance(kind, typing.TypeAliasType):
        return _read(kind.__value__, value, place)
    if is_dataclass(kind):
        return _read_dataclass(typing.cast("type", kind), value, place)
    origin, arguments = typing.get_origin(kind), typing.get_args(kind)
    if origin in (typing.Union, types.UnionType):
        return _read_union(arguments, value, place)
    if origin is tuple:
        if not isinstance(value, list):
            raise ContentError(f"{place}: a list is needed.")
        return tuple(_read(arguments[0], one, f"{place}[{index}]") for index, one in enumerate(value))
    if origin is typing.Literal:
        if value not in arguments:
            raise ContentError(f"{place}: {value!r} is none of {', '.join(map(str, arguments))}.")
        return value
    if kind in (date, datetime):
        try:
            return kind.fromisoformat(value)
        except (TypeError, ValueError):
            raise ContentError(f"{place}: {value!r} is not a {kind.__name__}.") from None
    if type(value) is not kind:
        raise ContentError(f"{place}: {value!r} is not {kind.__name__}.")
    return value


def _read_dataclass(kind: type, value: Any, place: str) -> Any:
    """Read every member; one that has a default and equals it is not written, so that it may be missing."""
    hints = _hints(kind)
    needed = {field.name for field in fields(kind) if field.default is MISSING}
    if not isinstance(value, dict) or not needed <= value.keys() <= hints.keys():
        raise ContentError(f"{place}: other members than {', '.join(hints)}.")
    return kind(**{name: _read(hint, value[name], f"{place}.{name}") for name, hint in hints.items() if name in value})


def _read_union(kinds: tuple[Any, ...], value: Any, place: str) -> Any:
    """Something or nothing: the only union the content has."""
    if value is None:
        return None
    (kind,) = (kind for kind in kinds if kind is not type(None))
    return _read(kind, value, place)
