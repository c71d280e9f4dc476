"""The rows of an uncertainty budget: what each says, read strictly, and the standard uncertainty it comes to."""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Context, Decimal
from statistics import mean
from types import MappingProxyType
from typing import Any, Final, Literal, get_args

Distribution = Literal["normal", "rectangular", "triangular", "arcsine", "resolution", "type A"]

DISTRIBUTIONS: Final[tuple[Distribution, ...]] = get_args(Distribution)
RECTANGLES: Final[tuple[Distribution, ...]] = ("rectangular", "resolution")
WIDE: Final = Context(prec=50)
MOST_DIGITS, MOST_READINGS, LONGEST_NAME = 15, 200, 120
MEMBERS: Final = (
    "name", "estimate", "half_width", "distribution", "coverage_factor", "sensitivity", "degrees", "readings"
)  # fmt: skip
"""What a row may say. All numbers are texts; `readings` is a list of them."""
WORDS: Mapping[str, str] = MappingProxyType(
    {
        "name": "name", "estimate": "estimate", "half_width": "half-width", "distribution": "distribution",
        "coverage_factor": "coverage factor k", "sensitivity": "sensitivity", "degrees": "degrees of freedom",
        "readings": "readings",
    }
)  # fmt: skip
WIDTHS: Mapping[str, str] = MappingProxyType({"normal": "expanded uncertainty", "resolution": "smallest step"})
"""What the half-width of a row is called where it is not one."""
_NUMBER = re.compile(r"-?[0-9]+(\.[0-9]+)?", re.ASCII)


class BudgetError(ValueError):
    """A budget that cannot be reckoned; the message is one sentence. `row` counts from 0, `member` is what is wrong."""

    def __init__(self, sentence: str, *, row: int | None = None, member: str = "") -> None:
        super().__init__(sentence)
        self.row, self.member = row, member


@dataclass(frozen=True, slots=True)
class Contribution:
    """One row of a budget, in the unit of its own input.

    `half_width` is a, of a normal distribution the expanded uncertainty with its `coverage_factor`, of a resolution the
    smallest step; None for readings (type A). `sensitivity` turns the input's unit into that of the result. `degrees`
    of freedom are None where they are without end. `estimate` is the input's value, where the result's is asked for.
    """

    name: str
    distribution: Distribution
    half_width: Decimal | None = None
    coverage_factor: Decimal | None = None
    sensitivity: Decimal = Decimal(1)
    degrees: Decimal | None = None
    readings: tuple[Decimal, ...] = ()
    estimate: Decimal | None = None

    @property
    def standard_uncertainty(self) -> Decimal:
        """u of the input: a over the divisor of its distribution, or s over the root of n.

        Source: JCGM 100:2008 4.2.3 (readings), 4.3.3 (normal with k), 4.3.7 (rectangle), 4.3.9 (triangle);
        F.2.2.1 (resolution); EA-4/02 and JCGM 101:2008 6.4.6 (arcsine).
        """
        if self.half_width is None:
            return _mean_uncertainty(self.readings)
        return WIDE.divide(self.half_width, self.divisor)

    @property
    def divisor(self) -> Decimal:
        """What the half-width is divided by; for readings 1."""
        return {
            "normal": self.coverage_factor or Decimal(1),
            "rectangular": WIDE.sqrt(Decimal(3)),
            "triangular": WIDE.sqrt(Decimal(6)),
            "arcsine": WIDE.sqrt(Decimal(2)),
            "resolution": WIDE.sqrt(Decimal(12)),
            "type A": Decimal(1),
        }[self.distribution]

    @property
    def rectangle(self) -> Decimal | None:
        """The half-width of the rectangle it is in the result, without its sign; None where it is none."""
        if self.distribution not in RECTANGLES or self.half_width is None:
            return None
        whole = abs(self.sensitivity) * self.half_width
        return whole / 2 if self.distribution == "resolution" else whole


def contributions(rows: Sequence[Mapping[str, Any]]) -> tuple[Contribution, ...]:
    """Return the rows as contributions; BudgetError, naming row and member, for what is missing, odd or impossible.

    A number is digits with one decimal point at most, 15 digits in all; an empty text stands for nothing said.
    """
    return tuple(_contribution(row, at) for at, row in enumerate(rows))


def plain_number(text: str) -> Decimal:
    """Return the number of a text; ValueError with the end of a sentence for anything else."""
    if not _NUMBER.fullmatch(text):
        raise ValueError(f"{text[:40]!r} is not a number; digits with one decimal point at most are needed")
    if sum(one.isdigit() for one in text) > MOST_DIGITS:
        raise ValueError(f"more than {MOST_DIGITS} digits are nobody’s reading")
    return Decimal(text)


def _contribution(row: Mapping[str, Any], at: int) -> Contribution:
    said = _Row(row, at)
    kind = said.distribution()
    if kind == "type A":
        said.refuse_members("half_width", "coverage_factor", "degrees", why="readings give it themselves")
        return Contribution(
            said.name, kind, readings=said.readings(), sensitivity=said.sensitivity(), degrees=said.reading_degrees(),
            estimate=said.number("estimate"),
        )  # fmt: skip
    said.refuse_members("readings", why="only type A has them")
    if kind != "normal":
        said.refuse_members("coverage_factor", why="only a normal distribution has one")
    return Contribution(
        said.name, kind, half_width=said.half_width(kind), coverage_factor=said.coverage_factor(kind),
        sensitivity=said.sensitivity(), degrees=said.degrees(), estimate=said.number("estimate"),
    )  # fmt: skip


class _Row:
    """One row as it was typed, read member by member."""

    def __init__(self, row: Mapping[str, Any], at: int) -> None:
        self.row, self.at = row, at
        unknown = [name for name in row if name not in MEMBERS]
        if unknown:
            raise self.refusal("", f"{unknown[0]!r} is not known here; known are {', '.join(MEMBERS)}")
        self.name = self.text("name")
        if not self.name:
            raise self.refusal("name", "the name is missing")
        if len(self.name) > LONGEST_NAME:
            raise self.refusal("name", f"{LONGEST_NAME} characters are kept of a name, this has {len(self.name)}")

    def refusal(self, member: str, why: str) -> BudgetError:
        name = self.row.get("name")
        called = f" ({name.strip()[:40]})" if isinstance(name, str) and name.strip() else ""
        return BudgetError(f"Row {self.at + 1}{called}: {why}.", row=self.at, member=member)

    def text(self, member: str) -> str:
        content = self.row.get(member)
        if content is not None and not isinstance(content, str):
            raise self.refusal(member, f"the {WORDS[member]} is to be a number or a text")
        return (content or "").strip()

    def number(self, member: str, words: str = "") -> Decimal | None:
        text = self.text(member)
        if not text:
            return None
        try:
            return plain_number(text)
        except ValueError as wrong:
            raise self.refusal(member, f"the {words or WORDS[member]}: {wrong}") from None

    def refuse_members(self, *members: str, why: str) -> None:
        for member in members:
            if self.row.get(member):
                raise self.refusal(member, f"a {WORDS[member].removesuffix('s')} has no place in this row, {why}")

    def distribution(self) -> Distribution:
        text = self.text("distribution")
        found = next((kind for kind in DISTRIBUTIONS if kind == text), None)
        if found is None:
            wrong = f"there is no distribution {text[:40]!r}" if text else "the distribution is missing"
            raise self.refusal("distribution", f"{wrong}; there are {', '.join(DISTRIBUTIONS)}")
        return found

    def half_width(self, kind: Distribution) -> Decimal:
        words = WIDTHS.get(kind, WORDS["half_width"])
        found = self.number("half_width", words)
        if found is None:
            raise self.refusal("half_width", f"the {words} is missing")
        if found < 0:
            raise self.refusal("half_width", f"the {words} is below zero")
        return found

    def coverage_factor(self, kind: Distribution) -> Decimal | None:
        found = self.number("coverage_factor")
        if kind == "normal" and found is None:
            raise self.refusal("coverage_factor", "the coverage factor k is missing, and it is never assumed")
        if found is not None and found <= 0:
            raise self.refusal("coverage_factor", "the coverage factor k is above zero")
        return found

    def sensitivity(self) -> Decimal:
        found = self.number("sensitivity")
        return Decimal(1) if found is None else found

    def degrees(self) -> Decimal | None:
        if self.text("degrees") == "infinite":
            return None
        found = self.number("degrees")
        if found is not None and found < 1:
            raise self.refusal("degrees", "there is at least one degree of freedom; leave it empty for without end")
        return found

    def readings(self) -> tuple[Decimal, ...]:
        content = self.row.get("readings") or []
        if not isinstance(content, list) or not all(isinstance(one, str) for one in content):
            raise self.refusal("readings", "the readings are to be a list of numbers")
        if not 2 <= len(content) <= MOST_READINGS:
            raise self.refusal("readings", f"from 2 to {MOST_READINGS} readings are needed, there are {len(content)}")
        try:
            return tuple(plain_number(one.strip()) for one in content)
        except ValueError as wrong:
            raise self.refusal("readings", f"a reading: {wrong}") from None

    def reading_degrees(self) -> Decimal:
        return Decimal(len(self.row["readings"]) - 1)


def _mean_uncertainty(readings: Sequence[Decimal]) -> Decimal:
    """s over the root of n: the experimental standard deviation of the mean, with n - 1 degrees of freedom."""
    count = Decimal(len(readings))
    middle = mean(readings)
    squares = sum(((one - middle) ** 2 for one in readings), Decimal(0))
    return WIDE.sqrt(WIDE.divide(squares, count * (count - 1)))
