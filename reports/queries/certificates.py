"""Certificates as pages and actions read them: one by its number, the list by newest first, chains of amendments."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet

from labsite.ledger.wording import mid_sentence
from reports.domain.content import CertificateContent, result_head
from reports.domain.content_json import content_from_json
from reports.models import Certificate
from trials.models import SignedVerdict

PAGE_ROWS = 50


@dataclass(frozen=True, slots=True)
class ListedCertificate:
    """One row of the list, from the frozen content: renaming a client changes nothing that was issued."""

    certificate: Certificate
    client: str
    answer: str
    states: tuple[str, ...]
    outdated: bool

    @property
    def word(self) -> str:
        """Where it stands: valid, replaced, or being written."""
        if getattr(self.certificate, "replaced_by", None) is not None:
            return "replaced"
        return "valid" if self.certificate.pdf_id else "being written"


@dataclass(frozen=True, slots=True)
class CertificatePage:
    """One page of the list; `last` continues it, None at the end."""

    rows: tuple[ListedCertificate, ...]
    last: int | None


def certificates_with_order() -> QuerySet[Certificate]:
    """All certificates with order, signer and what they replace or are replaced by; no bytes are loaded."""
    return Certificate.objects.select_related("order__client", "issued_by", "replaces", "replaced_by", "pdf").defer(
        "pdf__content", "replaces__content", "replaced_by__content"
    )


def certificate_files() -> QuerySet[Certificate]:
    """Certificates with the bytes of their file."""
    return Certificate.objects.select_related("pdf")


def content_of(certificate: Certificate) -> CertificateContent:
    """The frozen content."""
    return content_from_json(certificate.content)


def certificate_page(typed: str = "", after: int | None = None) -> CertificatePage:
    """Fifty certificates, newest first, from `after` on; found by number or by the client's name, then and now."""
    rows = certificates_with_order().annotate(outdated=corrected_since()).order_by("-issued_at", "-pk")
    words = typed.strip()
    if words:
        digits = "".join(character for character in words if character.isalnum())
        number = Q(number__icontains=words)
        if digits.isdigit() and len(digits) >= 6:
            number |= Q(number__startswith=f"{digits[:2]}-{digits[2:6]}-")
        rows = rows.filter(number | Q(order__client__name__icontains=words) | Q(content__client__name__icontains=words))
    start = None if after is None else Certificate.objects.filter(pk=after).only("issued_at").first()
    if start is not None:
        earlier = Q(issued_at__lt=start.issued_at) | Q(issued_at=start.issued_at, pk__lt=start.pk)
        rows = rows.filter(earlier, issued_at__lte=start.issued_at)
    found = list(rows[: PAGE_ROWS + 1])
    shown = found[:PAGE_ROWS]
    return CertificatePage(tuple(map(_listed, shown)), shown[-1].pk if len(found) > PAGE_ROWS else None)


def corrected_since() -> Exists:
    """For certificates: whether a trial of theirs was signed anew after the issue."""
    return Exists(
        SignedVerdict.objects.filter(
            trial__job__order_line__certificates=OuterRef("pk"), signed_at__gt=OuterRef("issued_at")
        )
    )


def unwritten_certificates() -> QuerySet[Certificate]:
    """Certificates that are issued and whose file is not there yet, oldest first."""
    return Certificate.objects.filter(pdf=None).order_by("pk")


def outdated_certificates() -> QuerySet[Certificate]:
    """Certificates that hold although a trial was corrected after them: somebody should amend them or say why not."""
    return certificates_with_order().filter(corrected_since(), replaced_by=None).order_by("issued_at", "pk")


def certificates_of_order(order_id: int) -> QuerySet[Certificate]:
    """All certificates of an order in the order of their numbers."""
    return certificates_with_order().filter(order=order_id).order_by("pk")


def newest_of(certificate: Certificate) -> Certificate:
    """The last certificate of the chain of amendments that begins or passes here."""
    newest = certificate
    while (later := Certificate.objects.filter(replaces=newest).first()) is not None:
        newest = later
    return newest


def chain_of(certificate: Certificate) -> list[Certificate]:
    """The whole chain of amendments, first to newest."""
    chain = [newest_of(certificate)]
    while chain[0].replaces_id is not None:
        chain.insert(0, Certificate.objects.select_related("issued_by").get(pk=chain[0].replaces_id))
    return chain


def standing_certificates(line_ids: Sequence[int]) -> dict[int, Certificate]:
    """The certificate that holds for each line which has one: not replaced by a later one."""
    rows = Certificate.objects.filter(lines__in=line_ids, replaced_by=None).annotate(line=F("lines"))
    return {row.line: row for row in rows.filter(line__in=line_ids)}


def _listed(certificate: Certificate) -> ListedCertificate:
    content = certificate.content
    lines = content["lines"]
    return ListedCertificate(
        certificate=certificate,
        client=content["client"]["name"],
        answer="; ".join(f"{line['subject']}: {_mid(line)}" for line in lines),
        states=tuple(dict.fromkeys(line["state"] for line in lines)),
        outdated=bool(getattr(certificate, "outdated", False)),
    )


def _mid(line: dict[str, Any]) -> str:
    """The first words of a result as they read inside a sentence; units and results as written keep their letters."""
    head, result = result_head(line["sentence"], line.get("result", "")), line.get("result", "")
    return head if head == result else mid_sentence(head)
