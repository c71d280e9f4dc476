"""A second person looks at an order line's trials (ISO/IEC 17025 7.5.1): sound, or returned with remarks."""

from collections.abc import Sequence
from datetime import datetime

from django.db import transaction

from labsite.ledger.actions import record_entry
from labsite.ledger.models import Role, User
from labsite.ledger.refusals import Refused
from specimens.models import OrderLine
from trials.domain.line_result import line_to_json
from trials.models import Authorisation, Check
from trials.queries.authorisations import CHECK, authorisation_needed
from trials.queries.results import LineStanding, line_standing


@transaction.atomic
def check_line(
    *, line: OrderLine, finding: str, remarks: str, seen_verdicts: Sequence[int], by: User, at: datetime
) -> Check:
    """Record what the checker found about the verdicts they saw (`seen_verdicts`); a change since is said."""
    line = OrderLine.objects.select_for_update(of=("self",)).select_related("order").get(pk=line.pk)
    standing = line_standing(line)
    authorisation = checker_authorisation(standing, by, at)
    if sorted(seen_verdicts) != standing.verdict_ids:
        raise Refused("A trial was signed anew since this page was opened. It is shown below; look at it, then decide.")
    words = remarks.strip()
    if finding == Check.Finding.RETURNED and not words:
        raise Refused("Say what is to be looked at again, so that the technician can answer.", field="remarks")
    if standing.result.state == "hold":
        if not by.may(Role.LEAD):
            raise Refused(f"{standing.result.sentence} Only a checker who is a lead as well decides on this.")
        if not words:
            raise Refused("The line is on hold; say how it was decided.", field="remarks")
    check = Check.objects.create(
        order_line=line,
        finding=finding,
        remarks=words,
        verdict_ids=standing.verdict_ids,
        result=line_to_json(standing.result),
        at=at,
        by=by,
        authorisation=authorisation,
    )
    act = "checked the trials" if finding == Check.Finding.SOUND else "returned the trials"
    after = {
        "line": line.position,
        "finding": finding,
        "remarks": words,
        "verdicts": standing.verdict_ids,
        "result": standing.result.sentence,
    }
    record_entry(book=line.order.book, act=act, by=by, at=at, data={"after": after})
    return check


def checker_authorisation(standing: LineStanding, by: User, at: datetime) -> Authorisation:
    """The authorisation by which `by` may check this line now; refused with the reason when they may not."""
    if not by.may(Role.CHECKER):
        raise Refused("Only somebody with the checker’s role checks trials; the administrator gives it.")
    if by.pk in standing.performers:
        raise Refused("You performed a trial of this line. Somebody else who is authorised checks it.")
    if standing.state in ("to test", "under way"):
        raise Refused(f"There is nothing to check yet: {standing.result.sentence}")
    if standing.state == "checked" and standing.check is not None:
        raise Refused(f"{standing.check.by} has checked these trials already; nothing changed since.")
    return authorisation_needed(by, standing.line.method_key, CHECK, at)


def refusal_of_check(standing: LineStanding, person: object, at: datetime) -> str:
    """Why the person may not check this line now, as a sentence; empty when they may."""
    if not isinstance(person, User):
        return "Sign in to check trials."
    try:
        checker_authorisation(standing, person, at)
    except Refused as refusal:
        return refusal.sentence
    return ""
