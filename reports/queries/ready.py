"""What waits for a signatory: checked lines without a certificate, and what a certificate of them would say."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from labsite.ledger.models import User
from labsite.ledger.paper import missing_glyphs
from labsite.ledger.wording import capitalised
from reports.domain.completeness import MissingItem, missing_items
from reports.domain.content import CertificateContent
from reports.domain.content_json import texts
from reports.models import Certificate
from reports.queries.gathering import certificate_number, gathered_content
from specimens.models import Order, OrderLine
from specimens.queries.orders import unanswered_deviations
from trials.models import Check
from trials.queries.results import LineStanding, line_standings, lines_ready_for_certificate


@dataclass(frozen=True, slots=True)
class ReadyOrder:
    """An order with checked lines that no certificate covers; `held` says why it cannot be issued yet."""

    order: Order
    lines: tuple[LineStanding, ...]
    held: str

    @property
    def checked_at(self) -> datetime | None:
        """When the last of its lines was checked."""
        return max((line.check.at for line in self.lines if line.check is not None), default=None)


def ready_orders() -> list[ReadyOrder]:
    """Orders with lines to certify, longest waiting first; a constant number of queries."""
    sound = Check.objects.filter(finding=Check.Finding.SOUND).values("order_line")
    lines = list(
        OrderLine.objects.filter(withdrawn_at=None, certificates=None, pk__in=sound)
        .select_related("order__client", "order__contact")
        .order_by("order_id", "position")
    )
    standings = [one for one in line_standings(lines).values() if one.state == "checked"]
    deviations = unanswered_deviations([one.line.pk for one in standings])
    found = []
    for order in dict.fromkeys(one.line.order for one in standings):
        own = tuple(one for one in standings if one.line.order_id == order.pk)
        open_ones = [deviation for one in own for deviation in deviations.get(one.line.pk, [])]
        held = "" if not open_ones else f"The client has not answered: {open_ones[0].text}"
        found.append(ReadyOrder(order, own, held))
    return sorted(found, key=lambda ready: (bool(ready.held), ready.checked_at or ready.order.taken_at))


def lines_to_certify(order: Order) -> list[LineStanding]:
    """The checked lines of an order that no certificate covers yet, by position."""
    ready = lines_ready_for_certificate(order)
    covered = set(Certificate.objects.filter(lines__in=[one.line.pk for one in ready]).values_list("lines", flat=True))
    return [one for one in ready if one.line.pk not in covered]


def next_number(order: Order) -> str:
    """The number the order's next certificate will have; certificates are never deleted, so counting is enough."""
    return certificate_number(order, Certificate.objects.filter(order=order).count() + 1)


def draft_content(order: Order, lines: Sequence[OrderLine], *, by: User, at: datetime) -> CertificateContent:
    """What the next certificate of these lines would say if `by` signed it now."""
    return gathered_content(order, lines, number=next_number(order), by=by, at=at)


def blocking(content: CertificateContent) -> tuple[MissingItem, ...]:
    """Everything that blocks the issue: missing content, and characters that no shipped font can print."""
    return (*missing_items(content), *unprintable(content))


def unprintable(content: CertificateContent) -> tuple[MissingItem, ...]:
    """One entry for each text with a character that no shipped font has; nothing is swapped in silence."""
    found = []
    for place, words in dict.fromkeys(texts(content)):
        characters = missing_glyphs(words)
        if characters:
            named = ", ".join(f"“{one}” (U+{ord(one):04X})" for one in characters[:5])
            more = f" and {len(characters) - 5} more" if len(characters) > 5 else ""
            sentence = f"{capitalised(place)}, “{words[:60]}”: the certificate’s fonts do not have {named}{more}."
            found.append(MissingItem("m", sentence, "order", content.order))
    return tuple(found)
