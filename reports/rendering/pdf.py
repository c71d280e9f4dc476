"""A certificate's frozen content as a PDF with the same content attached as JSON: the same bytes every time."""

import base64
from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal
from itertools import batched
from typing import Any
from zoneinfo import ZoneInfo

import segno
from django.template.loader import render_to_string
from django.utils import timezone, translation
from django.utils.safestring import SafeString, mark_safe

from labsite.ledger.paper import FONT_FAMILY, pdf_from_html
from labsite.ledger.wording import mid_sentence
from reports.domain.content import CertificateContent, LineContent
from reports.domain.content_items import PhotoContent, number_text
from reports.domain.content_json import content_bytes, content_json
from reports.domain.content_trials import TrialContent
from reports.rendering.evidence import is_drawn, shared_evidence
from reports.rendering.print_course import course_drawing
from reports.rendering.print_ladder import ladder_drawing
from reports.rendering.print_thread import thread_drawing
from reports.rendering.stages import trial_stages
from reports.rendering.tables import SetupRow, instruments_of, recorded, result_table, setup_rows, stays_of, unrecorded
from trials.domain.ladder import ladder
from trials.domain.line_result import LevelResult
from trials.domain.methods.registry import EDITIONS

VARIANT = "pdf/a-3a"


@dataclass(frozen=True, slots=True)
class PrintedTrial:
    """One trial with its drawings; `as_drawn` is the specimen whose drawn life was the same but for the test."""

    line: LineContent
    trial: TrialContent
    thread: SafeString
    course: SafeString
    as_drawn: str = ""


@dataclass(frozen=True, slots=True)
class PrintedPhoto:
    """A photo as a data address."""

    photo: PhotoContent
    source: str


def certificate_pdf(
    content: CertificateContent, pictures: Mapping[str, tuple[str, bytes]], *, draft: bool = False
) -> bytes:
    """Render the certificate. `pictures` holds media type and bytes of every photo by fingerprint.

    A draft says so across its head and carries no data. Dates are written for the zone frozen in the content.
    """
    from weasyprint import Attachment

    with timezone.override(ZoneInfo(content.laboratory.zone)), translation.override(content.language):
        html = render_to_string("reports/print/certificate.html", printed_context(content, pictures) | {"draft": draft})
        css = render_to_string("reports/print/certificate.css", {"font_family": mark_safe(FONT_FAMILY)})  # noqa: S308
    data = Attachment(
        string=content_bytes(content_json(content)),
        name=f"{content.number}.json",
        description=f"The content of certificate {content.number} as data",
        relationship="Data",
        created=content.issued_at,
        modified=content.issued_at,
    )
    return pdf_from_html(html, css=css, attachments=() if draft else (data,), variant=VARIANT)


def printed_context(content: CertificateContent, pictures: Mapping[str, tuple[str, bytes]]) -> dict[str, Any]:
    """What the sheet's template needs."""
    trials = [trial for line in content.lines for trial in line.trials]
    photos = [photo for item in content.items for photo in item.photos]
    photos += [photo for trial in content.trials for photo in trial.photos]
    return {
        "content": content,
        "laboratory_address": _one_line(content.laboratory.address),
        "client_address": _one_line(content.client.address),
        "trials": _drawn(content),
        "shared": [one for line in content.lines for one in shared_evidence(line)],
        "counted_from": _counted_from(content),
        "code": code_drawing(content.number),
        "results": [(result_table(line), _ladder(line)) for line in content.lines],
        "setups": [_setup(line) for line in content.lines],
        "instruments": instruments_of(content),
        "places": list(dict.fromkeys(one.place for one in trials)),
        "stays": stays_of(content),
        "first_on": min((one.tested_at.date() for one in trials), default=None),
        "last_on": max((one.tested_at.date() for one in trials), default=None),
        "photos": list(batched((_photo(photo, pictures) for photo in photos), 3)),
        "confirmations": list(dict.fromkeys(line.confirmation for line in content.lines)),
        "deviations": [(item, deviation) for item in content.items for deviation in item.deviations],
        "corrections": [(one, row) for one in trials for row in one.corrections],
        "warnings": [(one, words) for one in trials for words in one.warnings],
        "departures": [one for one in trials if one.departure],
        "further": [one for one in trials if one.again],
        "agreed": [(line, words) for line in content.lines for words in line.agreed],
    }


def code_drawing(number: str) -> SafeString:
    """The certificate's number as a QR code, modules as one path."""
    code = segno.make(number, error="m", micro=False)
    side = code.symbol_size(border=0)[0]
    path = "".join(f"M{x} {y}h1v1h-1z" for y, row in enumerate(code.matrix) for x, dark in enumerate(row) if dark)
    return mark_safe(  # noqa: S308  (drawn here; the number consists of digits, hyphens and a C)
        f'<svg class="code" viewBox="0 0 {side} {side}" width="17mm" height="17mm" role="img">'
        f'<title>Code of certificate {number}</title><path d="{path}" fill="#000000"/></svg>'
    )


def _ladder(line: LineContent) -> SafeString:
    """The drawing of a search; empty where the levels were not searched through."""
    edition = EDITIONS.get(line.method_key)
    if edition is None or not line.search or any(not level.value for level in line.levels):
        return mark_safe("")
    outcomes = {number_text(trial.specimen.number): trial.outcome for trial in line.trials}
    levels = [
        LevelResult(Decimal(one.value), one.title, one.state, one.specimens, one.note)
        for one in line.levels
        if one.specimens
    ]
    grid = [(level.value, edition.severity_text(level.value)) for level in edition.severities]
    drawn = ladder_drawing(ladder(levels, None, grid, outcomes, line.result))
    return mark_safe(drawn)  # noqa: S308  (every text in a drawing is escaped there)


def _one_line(address: str) -> str:
    return ", ".join(line.strip() for line in address.splitlines() if line.strip())


def _setup(line: LineContent) -> tuple[LineContent, list[SetupRow], list[str]]:
    rows = setup_rows(line)
    return line, recorded(rows), unrecorded(rows)


def _counted_from(content: CertificateContent) -> str:
    """The start that times are counted from, as each edition names it: “contact”, or “contact in line 1, …”."""
    starts: dict[str, list[str]] = {}
    for line in content.lines:
        edition = EDITIONS.get(line.method_key)
        title = "" if edition is None else edition.kinds_by_key["contact"].title
        starts.setdefault(mid_sentence(title), []).append(str(line.position))
    if len(starts) == 1:
        return next(iter(starts))
    named = [(start, f"line{'s' if len(own) > 1 else ''} {', '.join(own)}") for start, own in starts.items() if start]
    return "; ".join(f"{start} in {lines}" for start, lines in named)


def _drawn(content: CertificateContent) -> list[PrintedTrial]:
    """The trials that have an account of their own; a life that is drawn already is named instead of drawn again."""
    printed: list[PrintedTrial] = []
    seen: dict[object, str] = {}
    for line in content.lines:
        for trial in line.trials:
            if not is_drawn(line, trial):
                continue
            stages, edition = trial_stages(content, line, trial), EDITIONS.get(line.method_key)
            same = tuple(replace(stage, at=None) if stage.title == "Tested" else stage for stage in stages)
            same = tuple(replace(stage, before=()) if not stage.busy else stage for stage in same)
            before = seen.setdefault(same, trial.specimen.number)
            as_drawn = "" if before == trial.specimen.number else before
            title = f"Life of the specimen: {', '.join(mid_sentence(stage.title) for stage in stages)}"
            thread = "" if as_drawn else thread_drawing(stages, title=title)
            course = "" if edition is None else course_drawing(trial, edition)
            printed.append(
                PrintedTrial(
                    line=line,
                    trial=trial,
                    thread=mark_safe(thread),  # noqa: S308  (every text in a drawing is escaped there)
                    course=mark_safe(course),  # noqa: S308  (the same)
                    as_drawn=as_drawn,
                )
            )
    return printed


def _photo(photo: PhotoContent, pictures: Mapping[str, tuple[str, bytes]]) -> PrintedPhoto:
    media_type, content = pictures[photo.sha256]
    return PrintedPhoto(photo, f"data:{media_type};base64,{base64.b64encode(content).decode()}")
