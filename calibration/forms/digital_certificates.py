"""A digital certificate on the page that enters a calibration: read, shown for a person to look at, carried along."""

import base64
import binascii
from decimal import Decimal
from typing import Any

from django import forms

from calibration.actions.certificate_files import DataFile, read_data_file, uploaded_data
from calibration.domain.certificate_agreement import unit_for
from calibration.domain.certificate_points import CertificatePoint
from calibration.forms.calibrations import MOST_POINTS, ROWS_AT_ONCE, CalibrationForm, PointRows, typed_forms
from calibration.models import CalibrationPoint, Instrument
from labsite.ledger.refusals import Refused

CARRIED_BYTES = 2 * 1024 * 1024
"""A file up to here travels in the page until the calibration is entered; a larger one is chosen once more."""


class DataFileForm(forms.Form):
    """The digital certificate: chosen now, or carried from the page on which its figures were looked at.

    After `is_valid`, `file` is what was read or None, `unseen` whether nobody has looked at its figures yet, and
    `before` the file the page carried when another one was chosen.
    """

    data_file = forms.FileField(
        label="Digital certificate",
        required=False,
        max_length=255,
        help_text="XML (DCC 2.4 or 3.1 to 3.3), up to 20 MB. Its figures are filled in below for you to look at.",
    )
    carried = forms.CharField(required=False, widget=forms.HiddenInput, strip=False)
    carried_name = forms.CharField(required=False, max_length=255, widget=forms.HiddenInput)
    seen = forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)

    def __init__(self, *args: Any, instrument: Instrument, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.instrument = instrument
        self.file: DataFile | None = None
        self.before: DataFile | None = None
        self.unseen = False

    def clean(self) -> dict[str, Any]:
        """Read the file; what is wrong with it stands beside it as a sentence."""
        values = super().clean() or {}
        upload = values.get("data_file")
        try:
            if upload is not None:
                self.file = self._read(upload.name or "certificate.xml", uploaded_data(upload))
                self.before = self._carried_before(values)
            elif values.get("carried"):
                self.file = self._carried(values)
            elif values.get("seen"):
                raise Refused("Choose the digital certificate once more, or leave it out.")
        except Refused as refusal:
            self.add_error("data_file", refusal.sentence)
        if self.file is not None:
            self.unseen = self.file.sha256 != values.get("seen")
        return values

    @property
    def figures(self) -> frozenset[str]:
        """Every figure of the points as the file writes it; none of them can be read in two ways."""
        points = () if self.file is None else self.file.certificate.points
        return frozenset(_text(value) for point in points for value in _numbers(point))

    @property
    def waits_for(self) -> str:
        """The fingerprint of a file whose figures were seen and which has to be chosen once more; "" where none."""
        seen = self.cleaned_data.get("seen", "") if self.is_bound and hasattr(self, "cleaned_data") else ""
        return "" if self.file is not None else str(seen)

    @property
    def carries(self) -> bool:
        """Whether the file travels in the page."""
        return self.file is not None and len(self.file.content) <= CARRIED_BYTES

    @property
    def content_text(self) -> str:
        """The file as text for the page to carry."""
        return base64.b64encode(self.file.content).decode() if self.file is not None and self.carries else ""

    @property
    def looked_at(self) -> list[str]:
        """What a person should know before keeping the figures, in sentences."""
        if self.file is None:
            return []
        certificate, ours = self.file.certificate, self.instrument
        serials = " and ".join(one.serial for one in certificate.items if one.serial)
        found = []
        if not serials:
            found.append("The certificate states no serial number of the maker: compare what it was made for yourself.")
        elif not ours.serial_number.strip():
            found.append(f"No serial number is recorded for {ours.code}; the certificate is for {serials}.")
        if len(certificate.points) > MOST_POINTS:
            found.append(f"It has {len(certificate.points)} points, this page takes {MOST_POINTS}: none is filled in.")
        elif not certificate.points:
            found.append("No points could be read from it; write them from the certificate.")
        return found + list(certificate.remarks)

    def _carried(self, values: dict[str, Any]) -> DataFile:
        return self._read(values.get("carried_name") or "certificate.xml", _bytes_of(values.get("carried", "")))

    def _carried_before(self, values: dict[str, Any]) -> DataFile | None:
        """What the page carried when another file was chosen; whatever was wrong with it no longer matters."""
        try:
            return self._carried(values)
        except Refused:
            return None

    def _read(self, name: str, content: bytes) -> DataFile:
        return read_data_file(name, content, serial_number=self.instrument.serial_number)


def filled_forms(
    typed: dict[str, str], file: DataFile, kind: str, *, before: DataFile | None = None
) -> tuple[CalibrationForm, PointRows, list[str]]:
    """The forms with the file's figures in what was left empty; what differs from the typing is said, not taken.

    Figures of the file that was read `before` and that nobody has changed count as left empty.
    """
    old = {} if before is None else _facts(before)
    initial = dict(typed)
    differences = []
    for name, text in _facts(file).items():
        kept = str(typed.get(name, "")).strip()
        if kept in ("", old.get(name)):
            initial[name] = text
        elif kept != text:
            label = CalibrationForm.base_fields[name].label
            differences.append(f"{label}: the file says {text}; what you wrote is kept.")
    _, as_typed = typed_forms(typed, kind)
    rows: list[dict[str, str]] = as_typed.initial
    written = _written(rows)
    points = file.certificate.points
    if points and written and written != _written(_rows(before, kind)):
        differences.append("There are points written below already; those of the file are not filled in.")
    elif points and len(points) <= MOST_POINTS:
        rows = _rows(file, kind)
    made = PointRows(initial=rows, prefix="points", form_kwargs={"kind": kind})
    made.extra = max(min(ROWS_AT_ONCE - len(rows), MOST_POINTS - len(rows)), 0)
    return CalibrationForm(initial=initial), made, differences


def _written(rows: list[dict[str, str]]) -> list[dict[str, str]]:
    """The rows with something in them beside the choice of as found or as left."""
    return [row for row in rows if any(value for name, value in row.items() if name != "kind")]


def _rows(file: DataFile | None, kind: str) -> list[dict[str, str]]:
    return [] if file is None else [_row(point, kind) for point in file.certificate.points]


def _facts(file: DataFile) -> dict[str, str]:
    one = file.certificate
    serials = [item.serial for item in one.items if item.serial]
    facts = {
        "calibrated_on": one.ended_on.isoformat(),
        "calibrated_by": one.laboratory,
        "certificate_number": one.identifier,
        "issued_on": "" if one.issued_on is None else one.issued_on.isoformat(),
        "serial_on_certificate": serials[0] if len(serials) == 1 else "",
    }
    return {name: text for name, text in facts.items() if text}


def _row(point: CertificatePoint, kind: str) -> dict[str, str]:
    left = CalibrationPoint.Kind.AS_LEFT if point.as_left else CalibrationPoint.Kind.AS_FOUND
    return {
        "kind": left.value,
        "reference": _text(point.reference),
        "indication": _text(point.indication),
        "unit": unit_for(kind, point.unit),
        "expanded_uncertainty": _text(point.expanded_uncertainty),
        "coverage_factor": _text(point.coverage_factor),
        "coverage_probability": _text(point.coverage_probability),
    }


def _numbers(point: CertificatePoint) -> tuple[Decimal | None, ...]:
    return (
        point.reference,
        point.indication,
        point.expanded_uncertainty,
        point.coverage_factor,
        point.coverage_probability,
    )


def _text(value: Decimal | None) -> str:
    return "" if value is None else format(value, "f")


def _bytes_of(carried: str) -> bytes:
    try:
        return base64.b64decode(carried, validate=True)
    except (binascii.Error, ValueError):
        raise Refused("Choose the digital certificate once more: what the page carried is damaged.") from None
