"""What the pages of certificates show: the one to be issued, the one that is, and what an amendment would change."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from django.urls import reverse

from labsite.ledger.models import Role, User
from reports.domain.completeness import MissingItem
from reports.domain.content import CertificateContent, LineContent
from reports.domain.content_trials import TrialContent
from reports.domain.differences import Difference, differences, results_changed
from reports.models import Certificate
from reports.queries.certificates import content_of, standing_certificates
from reports.queries.gathering import gathered_content
from reports.queries.ready import blocking, draft_content, lines_to_certify, next_number
from specimens.models import Order, OrderLine
from trials.queries.authorisations import SIGN, authorised_people
from trials.queries.results import LineStanding, line_standings


@dataclass(frozen=True, slots=True)
class Blocked:
    """One thing that blocks the issue, with the page where it can be mended."""

    missing: MissingItem
    address: str


@dataclass(frozen=True, slots=True)
class Hindrance:
    """A line that cannot go on a certificate now, and why."""

    line: OrderLine
    sentence: str
    certificate: str


@dataclass(frozen=True, slots=True)
class IssuePage:
    """An order before a signatory: the content as it would print, what is missing, what is left out and why."""

    order: Order
    number: str
    ready: tuple[LineStanding, ...]
    chosen: tuple[int, ...]
    content: CertificateContent | None
    blocked: tuple[Blocked, ...]
    hindrances: tuple[Hindrance, ...]
    signers: tuple[User, ...]
    may_issue: bool

    @property
    def positions(self) -> str:
        """The chosen lines as the form carries them."""
        return ",".join(map(str, self.chosen))


@dataclass(frozen=True, slots=True)
class AmendPage:
    """A certificate and what an amendment of it would change."""

    certificate: Certificate
    number: str
    content: CertificateContent
    changes: tuple[Difference, ...]
    results_changed: bool
    blocked: tuple[Blocked, ...]


def issue_page(order: Order, positions: Collection[int], person: object, at: datetime) -> IssuePage:
    """The certificate of the chosen lines, or of all that are ready when none is chosen."""
    ready = lines_to_certify(order)
    chosen = [one for one in ready if one.line.position in positions] or ready
    person = _signed_in(person)
    signatory = person.may(Role.SIGNATORY)
    content = draft_content(order, [one.line for one in chosen], by=person, at=at) if chosen else None
    blocked: list[Blocked] = []
    if content is not None:
        found = [one for one in blocking(content) if signatory or one.about != "person"]
        addresses = {one.line.position: one.line.pk for one in chosen}
        blocked = [Blocked(one, missing_address(one, order, addresses)) for one in found]
    keys = list(dict.fromkeys(one.line.method_key for one in chosen))
    people = authorised_people(keys, SIGN, at)
    signers = [user for user in people.get(keys[0], []) if all(user in people[key] for key in keys)] if keys else []
    return IssuePage(
        order=order,
        number=next_number(order),
        ready=tuple(ready),
        chosen=tuple(one.line.position for one in chosen),
        content=content,
        blocked=tuple(blocked),
        hindrances=tuple(_hindrances(order, {one.line.pk for one in ready})),
        signers=tuple(signers),
        may_issue=signatory and content is not None and not blocked,
    )


def amend_page(certificate: Certificate, person: object, at: datetime) -> AmendPage:
    """What would be different if the certificate were issued again from the records as they stand."""
    person = _signed_in(person)
    order, lines = certificate.order, list(certificate.lines.select_related("order"))
    number, before = next_number(order), content_of(certificate)
    content = gathered_content(order, lines, number=number, by=person, at=at)
    addresses = {line.position: line.pk for line in lines}
    return AmendPage(
        certificate=certificate,
        number=number,
        content=content,
        changes=differences(before, content),
        results_changed=results_changed(before, content),
        blocked=tuple(Blocked(one, missing_address(one, order, addresses)) for one in blocking(content)),
    )


def missing_address(missing: MissingItem, order: Order, lines: dict[int, int]) -> str:
    """The page where what is missing can be mended."""
    match missing.about:
        case "laboratory":
            return reverse("laboratory")
        case "client":
            return reverse("specimens:client", args=[order.client_id])
        case "item":
            return reverse("specimens:item", args=[missing.key])
        case "trial":
            return reverse("specimens:specimen", args=[missing.key])
        case "instrument":
            return reverse("calibration:instrument", args=[missing.key])
        case "line":
            return reverse("trials:job", args=[lines[int(missing.key)]])
        case "person":
            return reverse("trials:authorisations")
        case _:
            return reverse("specimens:order", args=[order.number])


def deciding_trial(content: CertificateContent) -> tuple[LineContent, TrialContent]:
    """The trial whose life is drawn: the first that failed, else the first that counts."""
    pairs = [(line, trial) for line in content.lines for trial in line.trials]
    failing = [one for one in pairs if one[0].state == "failed" and one[1].outcome == "fail"]
    counting = [one for one in pairs if one[1].share != "does not count"]
    return (failing or counting or pairs)[0]


def _signed_in(person: object) -> User:
    if not isinstance(person, User):
        raise TypeError("certificate pages are shown to people who are signed in")
    return person


def _hindrances(order: Order, ready: set[int]) -> list[Hindrance]:
    """Why the other lines of an order are not on offer."""
    lines = list(OrderLine.objects.filter(order=order, withdrawn_at=None).exclude(pk__in=ready).order_by("position"))
    standings = line_standings(lines)
    covered = standing_certificates([line.pk for line in lines])
    found = []
    for line in lines:
        standing = standings[line.pk]
        certificate = covered[line.pk].number if line.pk in covered else ""
        words = {
            "returned": f"Returned by the checker. {standing.check.remarks if standing.check else ''}",
            "signed": "Waits for a check.",
        }.get(standing.state, standing.result.sentence)
        found.append(Hindrance(line, f"On {certificate}." if certificate else words.strip(), certificate))
    return found
