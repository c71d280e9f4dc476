"""Forms of the conditioning pages."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, Any

from django import forms

from calibration.models import Instrument
from calibration.queries.usability import Usability
from labsite.ledger.models import Place
from labsite.ledger.queries import places_in_use
from labsite.ledger.wording import mid_sentence
from specimens.actions.climate import LARGEST_FILE_BYTES
from specimens.domain.atmospheres import ATMOSPHERES, Atmosphere
from specimens.domain.climate_answers import Question
from specimens.domain.conditioning_state import Need, lies_inside
from specimens.domain.conditioning_words import duration_text, set_text
from specimens.forms.fields import DayField, LineField, MomentField
from specimens.models import OrderLine, Specimen, Stay
from specimens.queries.chamber_list import recorders_at
from specimens.queries.chambers import chambers
from specimens.queries.conditioning import outside_specimens

if TYPE_CHECKING:
    _Several = forms.ModelMultipleChoiceField[Specimen]
    _OneInstrument = forms.ModelChoiceField[Instrument]
    _OnePlace = forms.ModelChoiceField[Place]
else:
    _Several = forms.ModelMultipleChoiceField
    _OneInstrument = _OnePlace = forms.ModelChoiceField


class SpecimensField(_Several):
    """Specimens to tick, by their numbers."""

    def __init__(self, **kwargs: Any) -> None:
        messages = {"required": "Choose at least one specimen."}
        super().__init__(
            queryset=Specimen.objects.none(),
            widget=forms.CheckboxSelectMultiple,
            error_messages=messages,
            **kwargs,
        )

    def label_from_instance(self, obj: Any) -> str:
        """The number without its check digit."""
        return set_text([obj.number])


class RecorderField(_OneInstrument):
    """A hygrometer; each says whether it may be used."""

    def __init__(self, **kwargs: Any) -> None:
        self.standing: dict[int, Usability] = {}
        kwargs.setdefault("error_messages", {"required": "Choose the recorder that stands in the chamber."})
        widget = forms.Select(attrs={"class": "w-full"})
        super().__init__(queryset=Instrument.objects.none(), empty_label="Choose one", widget=widget, **kwargs)

    def offer(self, at: datetime) -> None:
        """Offer all hygrometers as they stand at `at`."""
        found = recorders_at(at)
        self.standing = {instrument.pk: answer for instrument, answer in found}
        self.queryset = Instrument.objects.filter(pk__in=self.standing).order_by("code")

    def label_from_instance(self, obj: Any) -> str:
        """Code and standing."""
        answer = self.standing.get(obj.pk)
        return f"{obj.code}, {answer.clause}" if answer else obj.code


class PlaceField(_OnePlace):
    """A place, by code and name."""

    def label_from_instance(self, obj: Any) -> str:
        """Code and name."""
        return f"{obj.code}, {obj.name}"


class StayForm(forms.Form):
    """Put specimens of one line into a chamber."""

    specimens = SpecimensField(label="Specimens")
    chamber = PlaceField(
        queryset=Place.objects.none(),
        empty_label="Choose one",
        error_messages={"required": "Choose the chamber they go into."},
    )
    atmosphere_key = forms.ChoiceField(label="Atmosphere")
    recorder = RecorderField(label="Recorder in the chamber")
    in_at = MomentField(label="They went in at")

    def __init__(self, *args: Any, line: OrderLine, needs: Sequence[Need], at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        specimens, chamber, recorder = self.fields["specimens"], self.fields["chamber"], self.fields["recorder"]
        if isinstance(specimens, SpecimensField) and isinstance(chamber, PlaceField):
            specimens.queryset = outside_specimens(line)
            chamber.queryset = chambers()
        if isinstance(recorder, RecorderField):
            recorder.offer(at)
        self.fields["in_at"].error_messages["required"] = "Write when they went in."
        atmosphere = self.fields["atmosphere_key"]
        if isinstance(atmosphere, forms.ChoiceField):
            atmosphere.choices = atmosphere_choices(needs)


class TakeOutForm(forms.Form):
    """Take specimens of a stay out; where another stage follows, also straight into its chamber."""

    specimens = SpecimensField(label="Specimens")
    place = PlaceField(
        queryset=Place.objects.none(),
        label="They go to",
        empty_label="Choose one",
        error_messages={"required": "Choose where they go."},
    )
    recorder = RecorderField(label="Recorder in that chamber", required=False)
    out_at = MomentField(label="They came out at")

    def __init__(self, *args: Any, stay: Stay, at: datetime, stage_follows: bool = False, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["out_at"].error_messages["required"] = "Write when they came out."
        recorder = self.fields["recorder"]
        if not stage_follows:
            del self.fields["recorder"]
        elif isinstance(recorder, RecorderField):
            recorder.offer(at)
        specimens, place = self.fields["specimens"], self.fields["place"]
        if isinstance(specimens, SpecimensField) and isinstance(place, PlaceField):
            specimens.queryset = Specimen.objects.filter(stays__stay=stay, stays__out_at=None).order_by("number")
            outside = places_in_use().exclude(pk=stay.chamber_id)
            place.queryset = outside if stage_follows else outside.exclude(kind=Place.Kind.CHAMBER)

    @property
    def into_chamber(self) -> bool:
        """Whether they go straight into another chamber."""
        place = self.cleaned_data.get("place")
        return place is not None and place.kind == Place.Kind.CHAMBER

    def clean(self) -> dict[str, Any]:
        """A chamber is only gone into under the eye of a recorder."""
        cleaned = super().clean() or self.cleaned_data
        place = cleaned.get("place")
        missing = cleaned.get("recorder") is None and "recorder" not in self.errors
        if place is not None and self.into_chamber and missing:
            self.add_error("recorder", f"Choose the recorder that stands in {place.code}.")
        return cleaned


class ClimateFileForm(forms.Form):
    """A recorder's file for a chamber."""

    recorder = RecorderField(label="Recorder")
    file = forms.FileField(
        label="The recorder’s file",
        widget=forms.ClearableFileInput(attrs={"class": "w-full"}),
        help_text="CSV or XLSX as the recorder gave it, up to 100 MB. It is kept as it came.",
        error_messages={
            "required": "Choose the recorder’s file.",
            "empty": "The file is empty: take it from the recorder again.",
        },
    )

    def __init__(self, *args: Any, at: datetime, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        recorder = self.fields["recorder"]
        if isinstance(recorder, RecorderField):
            recorder.offer(at)

    def clean_file(self) -> Any:
        """Refuse what is too large before it is read."""
        file = self.cleaned_data["file"]
        if file.size > LARGEST_FILE_BYTES:
            raise forms.ValidationError(
                f"“{file.name}” is larger than {LARGEST_FILE_BYTES // 1024**2} MB; export it in parts."
            )
        return file


_HINTS = {
    "utc_offset": "Write it as +01:00; UTC itself is +00:00.",
    "started_at": "The first moment by the recorder’s own clock: 2026-11-25T08:00.",
    "zone": "The name of a zone, such as Europe/Berlin.",
}


class AnswersForm(forms.Form):
    """What only a person can tell about a file: one field for each question, with its choices."""

    def __init__(self, *args: Any, questions: Sequence[Question], answers: Mapping[str, Any], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.before = dict(answers)
        for question in questions:
            initial = answers.get(question.key)
            if initial is None and question.key == "utc_offset":
                initial = answers.get("zone")
            self.fields[question.key] = _question_field(question, "" if initial is None else str(initial))

    def answers(self) -> dict[str, Any]:
        """All answers given so far, in the kinds that reading expects."""
        given = dict(self.before)
        for key in self.fields:
            given.pop(key, None)
            value = self.cleaned_data[key].strip()
            if key == "utc_offset" and "/" in value:
                key = "zone"  # noqa: PLW2901  (a zone is an answer to the question of the clock, under its own name)
            if key in ("zone", "utc_offset"):
                given.pop("utc_offset", None)
                given.pop("zone", None)
            given[key] = int(value) if key.endswith("_column") and value.isdecimal() else value
        return given


def _question_field(question: Question, initial: str) -> forms.Field:
    required = {"required": "Answer this; it is never guessed."}
    if question.options:
        choices = [(option.value, option.label) for option in question.options]
        return forms.ChoiceField(
            label=question.text, choices=choices, widget=forms.RadioSelect, initial=initial, error_messages=required
        )
    return LineField(
        label=question.text,
        max_length=60,
        initial=initial,
        help_text=_HINTS.get(question.key, ""),
        error_messages=required,
    )


class ExplanationForm(forms.Form):
    """Why a stretch did not count."""

    text = LineField(
        label="What happened",
        max_length=300,
        width="w-full",
        error_messages={"required": "Write what happened, for instance “door stood open during cleaning”."},
    )


class WithdrawalForm(forms.Form):
    """Why a record no longer counts."""

    reason = LineField(
        label="Why it no longer counts",
        max_length=300,
        width="w-full",
        error_messages={"required": "Write why, for instance “file of the other chamber”."},
    )


class WindowForm(forms.Form):
    """Which days of a chamber are shown, judged by which atmosphere."""

    since = DayField(label="From", required=False)
    until = DayField(label="Until", required=False)
    atmosphere = forms.ChoiceField(required=False)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        atmosphere = self.fields["atmosphere"]
        if isinstance(atmosphere, forms.ChoiceField):
            atmosphere.choices = [("", "as the last set"), *((each.key, each.title) for each in ATMOSPHERES.values())]


def atmosphere_choices(needs: Sequence[Need]) -> list[tuple[str, str]]:
    """All atmospheres, those asked for first, stage by stage; the others say whether their hours would count."""
    if needs[0].atmosphere is None:
        return [(each.key, each.title) for each in ATMOSPHERES.values()]
    stages = [stage for need in needs for stage in ((need.earlier, need) if need.earlier else (need,))]
    asked: dict[str, list[str]] = {}
    for need in needs:
        for stage, order in ((need.earlier, "first"), (need, "then" if need.earlier else "")):
            if stage is not None and stage.atmosphere is not None:
                asked.setdefault(stage.atmosphere.key, []).append(_stage_words(need, stage, order))
    words = {True: "stricter, counts as well", False: "hours do not count for this method"}
    others = [
        (each.key, f"{each.title}, {words[any(_stricter(each, stage) for stage in stages)]}")
        for each in ATMOSPHERES.values()
        if each.key not in asked
    ]
    return [*((key, f"{ATMOSPHERES[key].title}, {'; '.join(told)}") for key, told in asked.items()), *others]


def _stage_words(need: Need, stage: Need, order: str) -> str:
    """Which stage of which way it is: “as the method asks”, “from the oven, first 168 h”."""
    if not need.title and not order:
        return "as the method asks"
    title = mid_sentence(need.title) or "as the method asks"
    return f"{title}, {order} {duration_text(stage.needed_s)}".replace("  ", " ")


def _stricter(each: Atmosphere, stage: Need) -> bool:
    return stage.atmosphere is not None and lies_inside(each, stage.atmosphere)
