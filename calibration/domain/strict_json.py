"""Strict reading of JSON text: digits kept, doubled and unknown names refused, every refusal with its place."""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Any, Final, NoReturn

from calibration.domain.figures import digits, number_fault


class JsonError(ValueError):
    """JSON that is malformed or not of the shape asked for; the message is one sentence naming the place."""


class _Missing:
    """The value of a member that is not there."""


MISSING: Final = _Missing()


def read_json(text: str) -> Any:
    """Return the values of a JSON text, every number as a Decimal with its digits; JsonError if it is malformed."""
    try:
        values = json.loads(
            text, parse_float=_number, parse_int=_number, parse_constant=_refuse_constant,
            object_pairs_hook=_without_doubles,
        )  # fmt: skip
        json.dumps(values, ensure_ascii=False, default=str).encode()
        return values
    except json.JSONDecodeError as error:
        message = f"Line {error.lineno}, column {error.colno}: this is not JSON ({error.msg})."
        raise JsonError(message) from error
    except UnicodeEncodeError:
        raise JsonError("A text holds half a character (an escape from \\ud800 to \\udfff without its pair).") from None
    except RecursionError:
        raise JsonError("The brackets are nested too deeply to be read.") from None


def _number(text: str) -> Decimal:
    try:
        return Decimal(text)
    except InvalidOperation:
        raise JsonError(f"{text[:20]} is not a number that can be judged.") from None


def _refuse_constant(name: str) -> NoReturn:
    raise JsonError(f"{name} is not a number that can be judged.")


def _without_doubles(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members: dict[str, Any] = {}
    for name, value in pairs:
        if name in members:
            raise JsonError(f"{name!r} stands twice in one object.")
        members[name] = value
    return members


@dataclass(frozen=True)
class Member:
    """One value at a named place, to be read as what is asked for; every reader raises JsonError, naming the place."""

    place: str
    content: Any = MISSING

    @property
    def missing(self) -> bool:
        """Whether the file does not have it."""
        return self.content is MISSING

    def mapping(self) -> Mapping[str, Any]:
        """Return an object's members."""
        if not isinstance(self.content, dict):
            raise self._refusal("an object in braces")
        return self.content

    def members(self, names: Iterable[str]) -> dict[str, "Member"]:
        """Return the named members, missing ones included; a name that is not asked for is refused."""
        content = {} if self.missing else self.mapping()
        known = tuple(names)
        for name in content:
            if name not in known:
                place = f"{self.place}: " if self.place else ""
                raise JsonError(f"{place}{name!r} is not known here; known are {', '.join(known)}.")
        prefix = f"{self.place}." if self.place else ""
        return {name: Member(f"{prefix}{name}", content.get(name, MISSING)) for name in known}

    def items(self) -> Sequence["Member"]:
        """Return the entries of a list; a missing list is empty."""
        if self.missing:
            return ()
        if not isinstance(self.content, list):
            raise self._refusal("a list in brackets")
        return tuple(Member(f"{self.place}[{n}]", entry) for n, entry in enumerate(self.content))

    def text(self) -> str:
        """Return a text that is not empty."""
        if not isinstance(self.content, str) or not self.content.strip():
            raise self._refusal("a text")
        return self.content

    def optional_text(self) -> str | None:
        """Return a text, or None where there is none."""
        return None if self.missing or self.content is None else self.text()

    def number(self) -> Decimal:
        """Return a finite number with its digits."""
        if not isinstance(self.content, Decimal):
            raise self._refusal("a number")
        number: Decimal = self.content
        fault = number_fault(number)
        if fault is not None:
            raise JsonError(f"{self.place}: {fault}.")
        return number

    def optional_number(self) -> Decimal | None:
        """Return a number, or None where there is none."""
        return None if self.missing or self.content is None else self.number()

    def count(self) -> int:
        """Return a whole number of at least 1 and at most 1000."""
        number = self.number()
        if number != number.to_integral_value() or not 1 <= number <= 1000:
            raise self._refusal("a whole number from 1 to 1000")
        return int(number)

    def optional_yes_no(self) -> bool | None:
        """Return true or false, or None where neither is said."""
        if self.missing or self.content is None:
            return None
        if not isinstance(self.content, bool):
            raise self._refusal("true or false")
        return self.content

    def value(self) -> Decimal | str | bool | None:
        """Return a number, a text, true, false or nothing."""
        if self.missing or self.content is None:
            return None
        if isinstance(self.content, Decimal):
            return self.number()
        if isinstance(self.content, bool | str):
            return self.content
        raise self._refusal("a number, a text, true, false or null")

    def _refusal(self, needed: str) -> JsonError:
        where = self.place or "the file"
        if self.missing:
            return JsonError(f"{where}: {needed} is needed, and it is missing.")
        shown = digits(self.content) if isinstance(self.content, Decimal) else json.dumps(self.content, default=str)
        return JsonError(f"{where}: {needed} is needed, not {shown[:60]}.")
