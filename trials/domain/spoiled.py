"""What spoils a trial while its source acts: the burner goes out, the ball slips."""

from trials.domain.criteria import Criterion, digits
from trials.domain.timeline import Timeline


def spoiled_criteria(
    seen: Timeline, kind: str, *, title: str, limit: str, what: str, happened: str, ended: str, source: str
) -> tuple[Criterion, ...]:
    """Return the broken criterion on what happened (`kind`) from the start to the end of the application.

    While that end is not recorded it is unknown whether it did; what happened before the start or after the end is no
    matter. `what` and `happened` name it in words ("the burner", "went out"), `ended` the end of the application.
    """
    until_s = seen.application_s
    moments = [t for key, t, _ in seen.findings if key == kind and t is not None and t >= 0]
    while_acting = [t for t in moments if until_s is None or t <= until_s]
    if not while_acting:
        return ()
    at = f"{happened} at {digits(min(while_acting))} s"
    reason = f"{what} {at}, before {ended}" if until_s is not None else f"{what} {at}; when {ended} is not recorded"
    holds = None if until_s is None else False
    return (Criterion(kind, title, at, limit, holds, reason, source, "common practice"),)
