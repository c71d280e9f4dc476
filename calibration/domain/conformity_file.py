"""A calibration and its limits as JSON: the file of the command, read strictly, and the judgement as plain values."""

import re
from decimal import Decimal
from typing import Any, Final

from calibration.domain.conformity import (
    RULES,
    Conformity,
    ErrorLimit,
    PointConformity,
    Summary,
    class_limit,
    conformity,
)
from calibration.domain.corrections import StatedPoint
from calibration.domain.decisions import percent_text
from calibration.domain.drift import Point
from calibration.domain.figures import digits, number_fault
from calibration.domain.strict_json import JsonError, Member, read_json
from calibration.domain.units import UNITS, difference_unit

MEMBERS: Final = ("about", "source", "limits", "points", "expected")
LIMIT: Final = (
    "unit", "absolute", "relative", "low", "high", "thermocouple", "class", "rule", "guard_factor", "source",
)  # fmt: skip
POINT: Final = ("kind", "reference", "indication", "unit", "expanded_uncertainty", "coverage_factor")
EXPECTED: Final = ("points", "as_found", "as_left")
KINDS: Final = ("as found", "as left")
MOST_POINTS: Final = 1000
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?")


class ConformityFileError(ValueError):
    """A file that cannot be judged; the message is one sentence naming place and reason."""


def conformity_answer(text: str) -> dict[str, Any]:
    """Return how the points of a file stand against its limits (fixtures/conformity/README.md).

    Raises ConformityFileError, one sentence, for a file that is not of that shape.
    """
    try:
        file = Member("", read_json(text)).members(MEMBERS)
        for name in ("about", "source"):
            file[name].optional_text()
        limits = _limits(file["limits"])
        points = [_point(one) for one in file["points"].items()]
        expected = file["expected"].members(EXPECTED)
        wanted = {
            "points": [one.text() for one in expected["points"].items()],
            "as_found": expected["as_found"].optional_text(),
            "as_left": expected["as_left"].optional_text(),
        }
    except JsonError as wrong:
        raise ConformityFileError(str(wrong)) from wrong
    if not points:
        raise ConformityFileError("points: there is none, and none means nothing to judge.")
    if len(points) > MOST_POINTS:
        raise ConformityFileError(f"points: there are {len(points)}; at most {MOST_POINTS} are judged at once.")
    judged = conformity(points, limits)
    answer = conformity_json(judged)
    if not file["expected"].missing:
        answer["as_expected"] = wanted == {
            "points": [one.statement for one in judged.points],
            "as_found": judged.found.statement if judged.found else None,
            "as_left": judged.left.statement if judged.left else None,
        }
    return answer


def conformity_json(judged: Conformity) -> dict[str, Any]:
    """Return a judgement as plain JSON values: numbers as texts with their digits, probabilities as numbers."""
    return {
        "as_found": _summary_json(judged.found),
        "as_left": _summary_json(judged.left),
        "points": [_point_json(one) for one in judged.points],
    }


def _limits(member: Member) -> dict[str, ErrorLimit]:
    limits: dict[str, ErrorLimit] = {}
    for one in member.items():
        limit = _limit(one)
        if limit.unit in limits:
            raise JsonError(f"{one.place}: there is a limit in {limit.unit} already.")
        limits[limit.unit] = limit
    if not limits:
        raise JsonError(f"{member.place}: a limit is needed, and there is none.")
    return limits


def _limit(member: Member) -> ErrorLimit:
    row = member.members(LIMIT)
    rule = row["rule"].optional_text() or RULES[0]
    if rule not in RULES:
        raise JsonError(f"{row['rule'].place}: {rule!r} is no rule here; there are {', '.join(RULES)}.")
    factor = _number(row["guard_factor"])
    if factor is not None and factor < -1:
        raise JsonError(
            f"{row['guard_factor'].place}: {digits(factor)} is below -1: a band is at most U beyond the limit."
        )
    base = _of_class(row, member.place) or _of_figures(row, member.place)
    return ErrorLimit(
        base.unit, base.absolute, base.relative, base.low, base.high, rule,
        Decimal(1) if factor is None else factor, row["source"].optional_text() or base.source,
    )  # fmt: skip


def _of_class(row: dict[str, Member], place: str) -> ErrorLimit | None:
    kind = row["thermocouple"].optional_text()
    if kind is None:
        return None
    number = str(row["class"].count())
    found = class_limit(kind, number)
    if found is None:
        raise JsonError(f"{place}: thermocouples of type {kind!r} have no class {number}.")
    if any(not row[name].missing for name in ("unit", "absolute", "relative", "low", "high")):
        raise JsonError(f"{place}: a tolerance class brings its own figures; leave unit, figures and range out.")
    return found


def _of_figures(row: dict[str, Member], place: str) -> ErrorLimit:
    absolute, relative = _number(row["absolute"]), _number(row["relative"])
    low, high = _number(row["low"]), _number(row["high"])
    if absolute is None and relative is None:
        raise JsonError(f"{place}: absolute or relative is needed, or a thermocouple's class.")
    for name, figure in (("absolute", absolute), ("relative", relative)):
        if figure is not None and figure < 0:
            raise JsonError(f"{row[name].place}: {digits(figure)} is below zero.")
    if low is not None and high is not None and low > high:
        raise JsonError(f"{place}: low is above high.")
    return ErrorLimit(_unit(row["unit"]), absolute, relative, low, high)


def _point(member: Member) -> StatedPoint:
    row = member.members(POINT)
    kind = row["kind"].optional_text() or KINDS[0]
    if kind not in KINDS:
        raise JsonError(f"{row['kind'].place}: {kind!r} is neither {' nor '.join(KINDS)}.")
    reference, indication = _number(row["reference"]), _number(row["indication"])
    u, k = _number(row["expanded_uncertainty"]), _number(row["coverage_factor"])
    if reference is None or indication is None:
        missing = row["reference" if reference is None else "indication"]
        raise JsonError(f"{missing.place}: a number is needed, and it is missing.")
    if u is not None and u < 0:
        raise JsonError(f"{row['expanded_uncertainty'].place}: {digits(u)} is below zero.")
    if k is not None and k <= 0:
        raise JsonError(f"{row['coverage_factor'].place}: {digits(k)} is not above zero.")
    return StatedPoint(Point(kind == "as left", reference, indication, _unit(row["unit"]), u), k)


def _unit(member: Member) -> str:
    unit = member.text()
    if unit not in UNITS:
        raise JsonError(f"{member.place}: {unit!r} is none of {', '.join(UNITS)}.")
    return unit


def _number(member: Member) -> Decimal | None:
    """A JSON number, or a text that is one: digits with a point; None where there is none."""
    content = member.content
    if isinstance(content, str) and _NUMBER.fullmatch(content):
        number = Decimal(content)
        fault = number_fault(number)
        if fault is not None:
            raise JsonError(f"{member.place}: {fault}.")
        return number
    return member.optional_number()


def _summary_json(summary: Summary | None) -> dict[str, Any] | None:
    if summary is None:
        return None
    return {"statement": summary.statement, "holds": summary.holds, "sentence": summary.sentence}


def _point_json(one: PointConformity) -> dict[str, Any]:
    point = one.stated.point
    return {
        "kind": KINDS[point.as_left],
        "reference": digits(point.reference),
        "indication": digits(point.indication),
        "unit": point.unit,
        "error": digits(one.error),
        "error_unit": difference_unit(point.unit),
        "permitted": _text(one.permitted),
        "accepted_from": _text(one.accept_low),
        "accepted_to": _text(one.accept_high),
        "statement": one.statement,
        "holds": one.holds,
        "conformance_probability": one.probability,
        "risk": one.risk,
        "risk_text": None if one.risk is None else percent_text(one.risk),
        "reason": one.reason,
    }


def _text(value: Decimal | None) -> str | None:
    return None if value is None else digits(value)
