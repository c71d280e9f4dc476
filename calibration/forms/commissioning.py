"""Forms of the list before a rig goes into service: the sheet itself, a line added, the list opened, the release."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from django import forms
from django.http import QueryDict

from calibration.actions.commissioning import LineFinding
from calibration.domain.commissioning import COUNT_UNIT
from calibration.forms.instruments import words
from calibration.forms.readings import ReadingField
from calibration.models import Commissioning, CommissioningFinding, CommissioningLine, Instrument
from calibration.queries.commissioning import Sheet, SheetLine, measuring_instruments
from labsite.ledger.fields import DigitsFormField
from labsite.ledger.wording import mid_sentence

_THOUSANDTH = -3
_ANSWERS = {
    "lock": (("yes", "removed"), ("no", "still in place")),
    "paper": (("yes", "filed"), ("no", "missing")),
}
_YES_NO = (("yes", "yes"), ("no", "no"))


def _found(line: SheetLine) -> ReadingField:
    """The box of a measured line: read to a thousandth where its limit is written so."""
    limits = [limit for limit in (line.row.low, line.row.high) if limit is not None]
    exponents = [limit.as_tuple().exponent for limit in limits]
    fine = any(isinstance(one, int) and one <= _THOUSANDTH for one in exponents)
    return ReadingField(thousandths=fine, required=False)


@dataclass(frozen=True, slots=True)
class SheetRow:
    """One line of the sheet with the boxes that belong to it."""

    line: SheetLine
    found: forms.BoundField
    note: forms.BoundField
    gauge: forms.BoundField | None
    file: forms.BoundField | None

    @property
    def seen(self) -> str:
        """The finding this row showed, for noticing that somebody was faster."""
        return "" if self.line.last is None else str(self.line.last.pk)

    @property
    def why(self) -> list[str]:
        """What is wrong with what was typed in this row."""
        boxes = (self.found, self.note, self.gauge, self.file)
        return [str(error) for box in boxes if box is not None for error in box.errors]


class SheetForm(forms.Form):
    """Every line of a list at once; only lines the person changed are findings.

    The page sends with each line which finding it showed, as `seen-<line>`. A line left as it was shown is shown anew
    as it stands by now, should the form come back.
    """

    def __init__(self, sheet: Sheet, data: QueryDict | None = None, files: Any = None) -> None:
        super().__init__(data, files)
        self.sheet = sheet
        self.touched: dict[int, str] = {}
        gauges = [(str(one.pk), gauge_words(one)) for one in measuring_instruments()]
        for line in sheet.lines:
            self._add(line, [("", "measured with"), *gauges])
        if data is not None:
            self.data = self._as_it_stands(data)

    def _add(self, line: SheetLine, gauges: list[tuple[str, str]]) -> None:
        pk, row = line.row.pk, line.row
        measured = line.line.measured
        self.fields[f"line-{pk}"] = _found(line) if measured else _answer(line)
        self.fields[f"note-{pk}"] = words("Note", 300, "w-full", required=False)
        if measured and row.kind == CommissioningLine.Kind.REQUIREMENT:
            # One list for all lines: a field that reads the instruments would do so once for each line.
            self.fields[f"gauge-{pk}"] = forms.ChoiceField(
                choices=gauges, required=False, widget=forms.Select(attrs={"class": "w-m"})
            )
        if row.kind == CommissioningLine.Kind.PAPER:
            self.fields[f"file-{pk}"] = forms.FileField(required=False, max_length=255)
        for name, what in _boxes(pk).items():
            if name in self.fields:
                self.fields[name].label = f"{what}, {row.title}"
                self.fields[name].widget.attrs["aria-label"] = f"{what}, {row.title}"
        self.fields[f"note-{pk}"].widget.attrs["placeholder"] = "note"
        self.initial.update(_texts(line, line.last))

    def _as_it_stands(self, data: QueryDict) -> QueryDict:
        """What was typed, and for lines left alone what holds by now."""
        typed = data.copy()
        for line in self.sheet.lines:
            pk = line.row.pk
            seen = str(typed.get(f"seen-{pk}", ""))
            shown = next((one for one in line.findings if str(one.pk) == seen), None)
            same = all(str(typed.get(name, "")).strip() == text for name, text in _texts(line, shown).items())
            if same and f"file-{pk}" not in self.files:
                for name, text in _texts(line, line.last).items():
                    typed[name] = text
            else:
                self.touched[pk] = seen
        return typed

    def rows(self) -> Iterator[SheetRow]:
        """The lines with their boxes, in order."""
        for line in self.sheet.lines:
            names = list(_boxes(line.row.pk))
            found, note, gauge, file = (self[name] if name in self.fields else None for name in names)
            if found is not None and note is not None:
                yield SheetRow(line, found, note, gauge, file)

    def clean(self) -> dict[str, Any]:
        """A note, a gauge or a file alone is no finding."""
        values = super().clean() or {}
        for line in self.sheet.lines:
            found = f"line-{line.row.pk}"
            if line.row.pk in self.touched and found not in self.errors and values.get(found) in (None, ""):
                self.add_error(found, f"{line.row.title}: say what was found; the rest of the line is kept.")
        return values

    def findings(self) -> list[LineFinding]:
        """What the person changed, line by line."""
        gauges = {str(one.pk): one for one in measuring_instruments()}
        return [self._finding(line, gauges) for line in self.sheet.lines if line.row.pk in self.touched]

    def files_again(self) -> list[str]:
        """Names of the files that a browser does not keep when the form comes back."""
        return [str(getattr(upload, "name", "")) for upload in self.files.values()]

    def _finding(self, line: SheetLine, gauges: Mapping[str, Instrument]) -> LineFinding:
        pk, values, seen = line.row.pk, self.cleaned_data, self.touched[line.row.pk]
        found = values[f"line-{pk}"]
        return LineFinding(
            line=pk,
            value=found if line.line.measured else None,
            answer=None if line.line.measured else found == "yes",
            note=values[f"note-{pk}"],
            measured_with=gauges.get(values.get(f"gauge-{pk}", "")),
            file=values.get(f"file-{pk}"),
            seen=int(seen) if seen.isascii() and seen.isdecimal() else None,
        )


def gauge_words(instrument: Instrument) -> str:
    """An instrument in a list of those a requirement was verified with: code and kind."""
    return f"{instrument.code}, {mid_sentence(instrument.get_kind_display())}"


def _boxes(pk: int) -> dict[str, str]:
    return {f"line-{pk}": "Found", f"note-{pk}": "Note", f"gauge-{pk}": "Measured with", f"file-{pk}": "File"}


def _answer(line: SheetLine) -> forms.ChoiceField:
    choices = [("", "not looked at"), *_ANSWERS.get(line.row.kind, _YES_NO)]
    return forms.ChoiceField(choices=choices, required=False)


def _texts(line: SheetLine, finding: CommissioningFinding | None) -> dict[str, str]:
    """A finding as the boxes of its line show it; all empty without one."""
    found, note, gauge, _ = _boxes(line.row.pk)
    texts = {found: "", note: ""} | ({gauge: ""} if line.row.kind == CommissioningLine.Kind.REQUIREMENT else {})
    if finding is None:
        return texts
    answer = "yes" if finding.holds else "no"
    texts |= {found: answer if finding.value is None else format(finding.value, "f"), note: finding.note}
    if gauge in texts and finding.measured_with_id is not None:
        texts[gauge] = str(finding.measured_with_id)
    return texts


class LineForm(forms.Form):
    """A line the list lacks."""

    kind = forms.ChoiceField(label="What it is", choices=CommissioningLine.Kind.choices)
    title = words("What is looked at", 200, "w-l")
    low = DigitsFormField(label="At least", required=False, help_text=f"A part: how many {COUNT_UNIT} there must be.")
    high = DigitsFormField(label="At most", required=False)
    unit = words("Unit", 12, "w-s", required=False)


class OpenForm(forms.Form):
    """Why a rig is looked at again."""

    occasion = forms.ChoiceField(
        label="What happened",
        choices=[one for one in Commissioning.Occasion.choices if one[0] != Commissioning.Occasion.NEW],
        widget=forms.RadioSelect,
    )
    reason = forms.CharField(
        label="In words",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="What was repaired and by whom, or from where to where it was moved.",
    )


class ReleaseForm(forms.Form):
    """What the person says who puts a rig into service."""

    note = words("Remark", 300, "w-full", required=False)
