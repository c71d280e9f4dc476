"""What must be said about an item at receipt (ISO/IEC 17025 7.4.3), and how its pieces are numbered."""

from collections.abc import Collection

from specimens.domain.faults import Fault

AS_DESCRIBED = "as described"
FEWER = "fewer than stated"
CONDITIONS = (AS_DESCRIBED, "damaged", FEWER, "wet or dirty", "not what was described")
MOST_PIECES = 999
"""Serials within one order have three digits."""


def condition_fault(
    *, conditions: Collection[str], stated_count: int | None, counted: int, deviation: str
) -> Fault | None:
    """The first contradiction or gap between the ticks, the counts and the words, or None."""
    if not conditions:
        return Fault("conditions", "Tick how it arrived; “as described” when nothing differs.")
    if AS_DESCRIBED in conditions and len(conditions) > 1:
        others = " and ".join(f"“{tick}”" for tick in CONDITIONS if tick in conditions and tick != AS_DESCRIBED)
        return Fault("conditions", f"“As described” and {others} cannot both hold; untick one.")
    if FEWER in conditions and stated_count is not None and counted >= stated_count:
        return Fault("conditions", f"You count {counted} where the client says {stated_count}: that is not fewer.")
    if deviation:
        return None
    if stated_count is not None and counted != stated_count:
        return Fault("deviation", f"You count {counted} where the client says {stated_count}: write what is different.")
    if AS_DESCRIBED not in conditions:
        return Fault("deviation", "Write what is different from the order; the client is asked with this sentence.")
    return None


def series_fault(order: str, *, first: int, count: int) -> str | None:
    """A sentence when `count` numbers from serial `first` on do not fit `order` (as people read it), or None."""
    if first + count - 1 <= MOST_PIECES:
        return None
    given = f"{first - 1} numbers are given" if first > 1 else "no number is given yet"
    return (
        f"{count} more numbers do not fit order {order}: {given}, and {MOST_PIECES} items and specimens are the most "
        "one order can have. Nothing was registered; take a second order for the rest."
    )
