"""Which observation rows stand, after corrections and undone ones."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from trials.domain.records import Observation, RecordError


def standing(observations: Iterable[Observation]) -> tuple[Observation, ...]:
    """Return the rows that stand, in order of time, whatever the order they are given in.

    A corrected row gives way to the row that replaces it; a row that is taken back falls away, and what it had
    replaced or taken back stands again, as after any undo. Untimed findings come last.
    Raises RecordError for a doubled row name, a row that names an unknown row or itself in a circle, and for two
    standing corrections of one row.
    """
    rows = _rows_by_name(observations)
    if all(row.replaces is None and row.takes_back is None for row in rows.values()):
        return tuple(sorted(rows.values(), key=_time_order))
    fallen = _fallen_rows(rows)
    replaced: dict[str, str] = {}
    for row in rows.values():
        if row.replaces is None or row.row in fallen:
            continue
        if row.replaces in fallen:
            raise RecordError(f"Row {row.row} corrects row {row.replaces}, which was taken back.")
        if row.replaces in replaced:
            first, second = sorted((row.row, replaced[row.replaces]))
            raise RecordError(f"Row {row.replaces} is corrected twice, by {first} and by {second}; take one back.")
        replaced[row.replaces] = row.row
    stand = [r for r in rows.values() if r.takes_back is None and r.row not in fallen and r.row not in replaced]
    return tuple(sorted(stand, key=_time_order))


def _rows_by_name(observations: Iterable[Observation]) -> Mapping[str, Observation]:
    rows: dict[str, Observation] = {}
    for row in observations:
        if row.row in rows:
            raise RecordError(f"Two observation rows are called {row.row}.")
        rows[row.row] = row
    for row in rows.values():
        if row.replaces is None and row.takes_back is None:
            continue
        if row.replaces is not None and row.takes_back is not None:
            raise RecordError(f"Row {row.row} both corrects and takes back a row; it can do one of them.")
        named = row.replaces if row.takes_back is None else row.takes_back
        if named is not None and named not in rows:
            raise RecordError(f"Row {row.row} names row {named}, which does not exist.")
        _refuse_circle(rows, row)
    return rows


def _refuse_circle(rows: Mapping[str, Observation], start: Observation) -> None:
    seen = {start.row}
    row: Observation | None = start
    while row is not None:
        named = row.replaces if row.takes_back is None else row.takes_back
        if named in seen:
            raise RecordError(f"Row {start.row} leads back to itself through the rows it names.")
        if named is not None:
            seen.add(named)
        row = rows.get(named) if named is not None else None


def _fallen_rows(rows: Mapping[str, Observation]) -> set[str]:
    """Rows taken back by a row that was not itself taken back; chains are short and free of circles."""
    takers: dict[str, list[str]] = {}
    for row in rows.values():
        if row.takes_back is not None:
            takers.setdefault(row.takes_back, []).append(row.row)

    def has_fallen(name: str) -> bool:
        return any(not has_fallen(taker) for taker in takers.get(name, ()))

    return {name for name in rows if has_fallen(name)}


def _time_order(row: Observation) -> tuple[bool, Decimal, str, str]:
    return (row.t_s is None, row.t_s if row.t_s is not None else Decimal(0), row.kind, row.row)
