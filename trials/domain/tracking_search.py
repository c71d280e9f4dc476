"""The search for a comparative tracking index: which voltage with how many drops comes next, and where it ends."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from labsite.ledger.wording import capitalised
from trials.domain.criteria import with_unit
from trials.domain.tracking_levels import Book, named


@dataclass(frozen=True)
class Ask:
    """So many specimens at a voltage in V with a number of drops, and why."""

    voltage_v: Decimal
    drops: int
    specimens: int
    reason: str


@dataclass(frozen=True)
class Search:
    """How the search for the highest voltage with one number of drops stands.

    `ask` is what comes next, None at the end. `best_v` is then the highest voltage survived below `stop_v`, the lowest
    that failed or is barred; each None where there is none.
    """

    best_v: Decimal | None
    stop_v: Decimal | None
    ask: Ask | None


@dataclass(frozen=True)
class IndexPlan:
    """The figures of the search: voltages of the grid in V from low to high, drops, start, and who goes first.

    `lower_by_v` is how far below the index the longer run is made; `probe` how many specimens look for the
    neighbourhood before five are used; `start_reason` why the search begins where it does.
    """

    grid_v: tuple[Decimal, ...]
    proof_drops: int
    lower_drops: int
    lower_by_v: Decimal
    lower_first: bool
    lowest_needs_lower_run: bool
    probe: int
    start_v: Decimal
    start_reason: str


@dataclass(frozen=True)
class IndexState:
    """Where the search for the index stands: the index and the longer run's voltage in V, or what comes next.

    `bracket` says that the longer run was survived only further down than asked, `lower_v` then being None where it
    was survived nowhere. `barred_v` is the voltage above the index that an air arc leaves untold, `lower_barred_v`
    that above the longer run's.
    """

    ask: Ask | None
    index_v: Decimal | None = None
    lower_v: Decimal | None = None
    bracket: bool = False
    barred_v: Decimal | None = None
    lower_barred_v: Decimal | None = None


def index_state(plan: IndexPlan, book: Book) -> IndexState:
    """Return where the search stands, in the order of runs that the edition has; independent of the trials' order.

    Every level asked for is one that is not decided yet, so the search ends within the grid.
    """
    proof_plan = plan
    if plan.lower_first:
        lower = level_search(plan, book, plan.lower_drops)
        if lower.ask is not None:
            return IndexState(lower.ask)
        start_v = plan.grid_v[0] if lower.best_v is None else above(plan.grid_v, lower.best_v) or lower.best_v
        proof_plan = replace(plan, start_v=start_v, probe=book.rule.needed, start_reason=_after_lower(plan, lower))
    proof = level_search(proof_plan, book, plan.proof_drops)
    if proof.ask is not None:
        return IndexState(proof.ask)
    barred = proof.stop_v is not None and book.state(proof.stop_v, plan.proof_drops) == "barred"
    barred_v = proof.stop_v if barred else None
    if proof.best_v is None:
        return IndexState(None, barred_v=barred_v)
    return replace(lower_run(plan, book, proof.best_v), barred_v=barred_v)


def level_search(plan: IndexPlan, book: Book, drops: int) -> Search:
    """Return how the search for the highest voltage survived with `drops` stands.

    Up by a step from what survived, down by a step from what failed; a level next to a failure is completed, one in
    the open only as far as `probe` asks.
    """
    states = {v: book.state(v, drops) for v in plan.grid_v}
    stop_v = min((v for v, state in states.items() if state in ("failed", "barred")), default=None)
    below = [v for v in plan.grid_v if stop_v is None or v < stop_v]
    doubtful = [v for v in below if states[v] == "open" and book.level(v, drops).failed]
    seen = [v for v in below if book.level(v, drops).survived]
    if doubtful:
        return Search(None, stop_v, _ask(plan, book, doubtful[0], drops, plan.grid_v))
    if seen:
        highest_v = seen[-1]
        survivors = len(book.level(highest_v, drops).survived)
        if states[highest_v] == "open" and (highest_v == below[-1] or survivors < plan.probe):
            return Search(None, stop_v, _ask(plan, book, highest_v, drops, below))
        if highest_v == below[-1]:
            return Search(highest_v, stop_v, None)
        return Search(None, stop_v, _ask(plan, book, below[below.index(highest_v) + 1], drops, below))
    if not below:
        return Search(None, stop_v, None)
    next_v = plan.start_v if stop_v is None else below[-1]
    return Search(None, stop_v, _ask(plan, book, next_v, drops, below))


def lower_run(plan: IndexPlan, book: Book, index_v: Decimal) -> IndexState:
    """Return whether the longer run below the index was survived, further down where it was not, or what comes next."""
    drops = plan.lower_drops
    wanted = [v for v in plan.grid_v if v <= index_v - plan.lower_by_v]
    if not wanted and not plan.lowest_needs_lower_run:
        return IndexState(None, index_v)
    wanted_v = wanted[-1] if wanted else plan.grid_v[0]
    stop_v = min((v for v in plan.grid_v if book.state(v, drops) in ("failed", "barred")), default=None)
    below = [v for v in plan.grid_v if stop_v is None or v < stop_v]
    survived = [v for v in below if book.state(v, drops) == "passed"]
    if survived and survived[-1] >= wanted_v:
        return IndexState(None, index_v, survived[-1])
    untold_v = stop_v if stop_v is not None and book.state(stop_v, drops) == "barred" else None
    reachable = [v for v in below if v <= wanted_v]
    if not reachable:
        return IndexState(None, index_v, None, bracket=True, lower_barred_v=untold_v)
    next_v = reachable[-1]
    if book.state(next_v, drops) == "passed":
        return IndexState(None, index_v, next_v, bracket=True, lower_barred_v=untold_v)
    ask = _ask(replace(plan, start_v=next_v, start_reason=_after_proof(plan, index_v)), book, next_v, drops, below)
    return IndexState(replace(ask, specimens=book.level(next_v, drops).missing(book.rule)))


def above(grid_v: Sequence[Decimal], voltage_v: Decimal) -> Decimal | None:
    """Return the next voltage of the grid above one; None at the top."""
    return next((v for v in grid_v if v > voltage_v), None)


def run_text(voltage_v: Decimal, drops: int) -> str:
    """Return a level in words: "375 V with 100 drops"."""
    return f"{with_unit(voltage_v, 'V')} with {drops} drops"


def _ask(plan: IndexPlan, book: Book, voltage_v: Decimal, drops: int, below: Sequence[Decimal]) -> Ask:
    """What to ask at a level: all that is missing next to a failure, at the top and after one; else a few to look."""
    level, rule = book.level(voltage_v, drops), book.rule
    missing = level.missing(rule)
    adjacent = voltage_v == below[-1] or bool(level.failed)
    wanted = missing if adjacent else min(missing, plan.probe - len(level.survived))
    return Ask(voltage_v, drops, wanted, _why(plan, book, voltage_v, drops))


def _why(plan: IndexPlan, book: Book, voltage_v: Decimal, drops: int) -> str:
    """Why this level comes next, in one or two sentences."""
    level, run = book.level(voltage_v, drops), run_text(voltage_v, drops)
    position = plan.grid_v.index(voltage_v)
    lower_v = plan.grid_v[position - 1] if position else None
    higher_v = plan.grid_v[position + 1] if position + 1 < len(plan.grid_v) else None
    if level.failed:
        why = f"One failed at {run}; as many new ones decide."
    elif level.survived:
        why = f"{len(level.survived)} survived at {run}; all of {book.rule.needed} must."
    elif higher_v is not None and book.state(higher_v, drops) == "failed":
        failed = named(book.level(higher_v, drops).failed)
        why = f"{capitalised(failed)} failed at {with_unit(higher_v, 'V')}, so the next run is at {run}."
    elif higher_v is not None and book.state(higher_v, drops) == "barred":
        why = f"The air arc came again at {with_unit(higher_v, 'V')}, so the next run is lower, at {run}."
    elif lower_v is not None and book.level(lower_v, drops).survived and voltage_v != plan.start_v:
        why = f"Survived at {with_unit(lower_v, 'V')}, so the next run is a step higher, at {run}."
    else:
        why = f"{plan.start_reason} {run}."
    if level.arcs:
        why += f" An air arc spoiled {named(level.arcs)}: clean, and repeat at the same voltage on a new site."
    return why


def _after_lower(plan: IndexPlan, lower: Search) -> str:
    if lower.best_v is None:
        return f"{plan.lower_drops} drops were survived nowhere, so the shorter run starts at the bottom, at"
    return f"The highest voltage survived with {plan.lower_drops} drops is {with_unit(lower.best_v, 'V')}; next comes"


def _after_proof(plan: IndexPlan, index_v: Decimal) -> str:
    survived = f"{plan.proof_drops} drops are survived at {with_unit(index_v, 'V')}"
    return f"{survived}; the longer run follows {with_unit(plan.lower_by_v, 'V')} lower, at"
