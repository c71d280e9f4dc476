"""From the distinct texts of a column to values: the decimal mark, faults and doubtful cells, units and conversion."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from specimens.domain.climate_answers import Answers, ClimateRefused, Option, Question
from specimens.domain.climate_arrays import BoolArray, FloatArray, IntArray
from specimens.domain.climate_columns import temperature_unit
from specimens.domain.climate_numbers import NumberToken, decimal_mark_evidence, is_code_number, plain_text, read_number
from specimens.domain.climate_reading import MOST_LINES, Oddity

# No recorder of a room, chamber or oven reads outside these; a figure beyond them is a fault code we do not know.
_COLDEST_C, _HOTTEST_C = -100.0, 400.0
_DRIEST, _WETTEST = -5.0, 150.0


@dataclass(frozen=True, slots=True)
class ValueColumn:
    """Values as read (NaN where there is none), the unit in each cell ("" if none), and which texts gave no value."""

    values: FloatArray
    blank: BoolArray
    kinds: tuple[str, ...]
    cell_units: tuple[str | None, ...]


def decimal_mark_of(
    tables: Sequence[tuple[Sequence[str], IntArray]], separator: str, answers: Answers
) -> tuple[str | None, Question | None]:
    """The file's decimal mark: None when its numbers have none; a question when its cells can be read either way."""
    if answers.decimal_mark:
        return answers.decimal_mark, None
    total = {".": 0, ",": 0, "open": 0}
    example = ""
    for texts, codes in tables:
        counts = np.bincount(codes, minlength=len(texts)).tolist() if len(texts) else []
        for key, number in decimal_mark_evidence(zip(texts, counts, strict=True)).items():
            total[key] += number
        example = example or next(
            (text for text, count in zip(texts, counts, strict=True) if count and ("." in text or "," in text)), ""
        )
    more, less = (".", ",") if total["."] >= total[","] else (",", ".")
    if total[more] and total[more] >= 3 * total[less]:
        return more, None
    if not total[more] and not total["open"]:
        return None, None
    # between commas that separate columns, an unquoted number can only have a point
    if not total[more] and separator == "," and "," not in example:
        return ".", None
    options = (Option(".", "the point is the decimal mark"), Option(",", "the comma is the decimal mark"))
    text = f"“{example}” can be read in two ways: is the point or the comma the decimal mark of this file?"
    return None, Question("decimal_mark", text, options)


def read_column(
    texts: Sequence[str], codes: IntArray, *, meaning: str, decimal_mark: str | None, answers: Answers
) -> ValueColumn:
    """Read each distinct text once and spread the result over the rows."""
    tokens = [_token(text, meaning, decimal_mark or ".", answers) for text in texts]
    numbers = np.array([np.nan if token.value is None else token.value for token in tokens] or [np.nan])
    blanks = np.array([token.kind == "blank" for token in tokens] or [True])
    safe = codes if len(texts) else np.zeros(codes.shape, dtype=np.int64)
    return ValueColumn(
        numbers[safe].astype(np.float64),
        blanks[safe],
        tuple(token.kind for token in tokens),
        tuple(token.unit for token in tokens),
    )


def _token(text: str, meaning: str, decimal_mark: str, answers: Answers) -> NumberToken:
    body = plain_text(text)
    token = read_number(text, decimal_mark=decimal_mark, doubtful=answers.doubtful_numbers)
    if body in answers.genuine_tokens:
        return token
    if body in answers.fault_tokens:
        return NumberToken("fault")
    if token.value is None:
        return token
    if not np.isfinite(token.value) or is_code_number(text, token.value):
        return NumberToken("fault", None, token.unit)
    if meaning == "humidity" and not _DRIEST <= token.value <= _WETTEST:
        return NumberToken("fault", None, token.unit)
    return token


def oddities(
    column: str,
    texts: Sequence[str],
    codes: IntArray,
    lines: IntArray,
    kinds: Sequence[str],
    wanted: str,
    keep: BoolArray,
) -> tuple[Oddity, ...]:
    """Texts of one kind ("fault", "blank", "doubtful") with count and lines, in order of first appearance."""
    found = []
    for code, (text, kind) in enumerate(zip(texts, kinds, strict=True)):
        if kind != wanted:
            continue
        at = lines[(codes == code) & keep]
        if at.size:
            found.append(Oddity(column, text.strip() or "(empty)", int(at.size), tuple(at[:MOST_LINES].tolist())))
    return tuple(found)


def row_units(
    stated: str | None,
    column: ValueColumn,
    codes: IntArray,
    unit_texts: Sequence[str],
    unit_codes: IntArray | None,
    lines: IntArray,
) -> tuple[list[str | None], IntArray]:
    """(units in use, position of each row's unit among them): the cell's own unit, the unit column's, the heading's."""
    names: list[str | None] = [stated, "C", "F", "K"]
    rows = np.zeros(codes.shape, dtype=np.int64)
    if unit_codes is not None:
        known = []
        for code, text in enumerate(unit_texts):
            unit = temperature_unit(f"({text.strip()})")[0] if text.strip() else stated
            if unit is None and bool((unit_codes == code).any()):
                line = int(lines[np.flatnonzero(unit_codes == code)[0]])
                raise ClimateRefused(f"Line {line} gives the unit “{text}”, which is not a unit of temperature.")
            known.append(0 if unit is None or unit == stated else names.index(unit, 1))
        rows = np.array(known or [0])[unit_codes]
    own = np.array([names.index(unit, 1) if unit in ("C", "F", "K") else 0 for unit in column.cell_units] or [0])
    return names, np.where(own[codes] > 0, own[codes], rows) if len(column.cell_units) else rows


def in_celsius(values: FloatArray, names: Sequence[str | None], unit_rows: IntArray) -> FloatArray:
    """Degrees Celsius; nine decimals are kept, so that 69.8 degF is exactly 21 degC and not a hair below it."""
    result = values.copy()
    for position, name in enumerate(names):
        at = unit_rows == position
        if name == "F":
            result[at] = np.round((values[at] - 32) * 5 / 9, 9)
        elif name == "K":
            result[at] = np.round(values[at] - 273.15, 9)
    return result


def impossible(temperature_c: FloatArray) -> BoolArray:
    """Temperatures that no climate recorder reads: a fault code not on the list."""
    with np.errstate(invalid="ignore"):
        return (temperature_c < _COLDEST_C) | (temperature_c > _HOTTEST_C)
