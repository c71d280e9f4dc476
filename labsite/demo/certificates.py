"""The demo's certificates: one that stands, one that was amended."""

from datetime import datetime, timedelta

from labsite.ledger.models import User
from reports.actions.issuing import amend_certificate, issue_certificate
from reports.actions.writing import write_certificate
from reports.models import Certificate
from specimens.actions.clients import change_client
from specimens.models import Order


def issue(order: Order, signatory: User, *, at: datetime) -> Certificate:
    """Issue the certificate of an order's lines and write its document."""
    certificate = issue_certificate(order=order, lines=list(order.lines.all()), by=signatory, at=at)
    write_certificate(certificate_id=certificate.pk, at=at + timedelta(seconds=2))
    return certificate


def amend_for_address(certificate: Certificate, people: dict[str, User], *, at: datetime) -> Certificate:
    """The client's address was mistyped at the counter; the certificate is replaced by one that has it right."""
    client = certificate.order.client
    change_client(
        by=people["tilda"],
        at=at - timedelta(minutes=30),
        client=client,
        version=client.version,
        name=client.name,
        address=client.address.replace("Am Kalkofen 3", "Am Kalkofen 13"),
        country=client.country,
        remarks=client.remarks,
    )
    reason = "Typing error of the laboratory in the client’s address. No result has changed."
    amended = amend_certificate(certificate=certificate, reason=reason, by=people["petra"], at=at)
    write_certificate(certificate_id=amended.pk, at=at + timedelta(seconds=2))
    return amended
