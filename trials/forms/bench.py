"""Forms of the bench pages; what they ask is read from the method edition."""

import json
import re
import uuid
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.dateparse import parse_datetime

from labsite.ledger.fields import DigitsFormField, one_line
from labsite.ledger.refusals import Refused
from labsite.ledger.wording import capitalised, mid_sentence
from specimens.forms.fields import FIRST_YEAR, LAST_YEAR
from trials.actions.equipment_gate import role_field
from trials.actions.observations import BenchEvent
from trials.domain.criteria import digits
from trials.domain.methods.base import MethodEdition
from trials.domain.opening import OpeningLevels
from trials.domain.statements import ObservationKind
from trials.models import Observation
from trials.queries.bench import RoleOffer

YES_NO = [("", "not said"), ("yes", "yes"), ("no", "no")]
MOST_EVENTS = 200


class OpenTrialForm(forms.Form):
    """An instrument for each role of the method, and, where there is something to choose, the level and the place.

    Instruments on the rig are chosen already. `levels` are what an open order can be tested at, `places` the places
    of the specimen already tested, None while it is untested or no second place can be.
    """

    def __init__(
        self,
        offers: Sequence[RoleOffer],
        picked: int | None,
        *args: Any,
        levels: OpeningLevels | None = None,
        places: Sequence[str] | None = None,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.offers = offers
        for role in offers:
            instruments = {str(offer.instrument.pk): offer.instrument for offer in role.offers}
            first = next((offer for offer in role.offers if offer.instrument.pk == picked), role.first)
            self.fields[role_field(role.need.role)] = forms.TypedChoiceField(
                label=capitalised(role.need.role),
                choices=[("", "none")] + [(str(offer.instrument.pk), _offer_words(offer)) for offer in role.offers],
                coerce=instruments.get,
                empty_value=None,
                required=role.need.required,
                error_messages={"required": f"No {role.need.role} is chosen, and the method needs one."},
                initial=str(first.instrument.pk) if first is not None else "",
                help_text=role.need.accuracy,
            )
        if levels is not None:
            self._offer_levels(levels)
        if places is not None:
            self._offer_places(places)

    def _offer_levels(self, levels: OpeningLevels) -> None:
        named = {digits(level.value): level for level in levels.levels}
        proposed = "" if levels.proposed is None else digits(levels.proposed)
        others = [(key, level.text) for key, level in named.items() if key != proposed]
        called = [(proposed, f"{named[proposed].text}, as called for")] if proposed in named else [("", "choose one")]
        self.fields["severity"] = forms.TypedChoiceField(
            label="Level", choices=[*called, *others], initial=proposed, coerce=Decimal, empty_value=None
        )
        self.fields["departure"] = forms.CharField(
            label="Why another level",
            required=False,
            max_length=300,
            help_text="Needed when it is not the level called for; it stays with the trial.",
            widget=forms.Textarea(attrs={"rows": 2}),
        )

    def _offer_places(self, places: Sequence[str]) -> None:
        tested = f"Tested already: {', '.join(places)}." if places else ""
        self.fields["point"] = forms.CharField(label="Place this time", max_length=200, help_text=tested)
        self.fields["again_reason"] = forms.CharField(
            label="Why another place of it can be tested",
            max_length=300,
            help_text="What was done before must not matter there.",
            widget=forms.Textarea(attrs={"rows": 2}),
        )

    def bound(self, *names: str) -> list[forms.BoundField]:
        """The fields of these names that the form has."""
        return [self[name] for name in names if name in self.fields]

    def of_instruments(self) -> list[forms.BoundField]:
        """The fields in which instruments are chosen."""
        return self.bound(*(role_field(role.need.role) for role in self.offers))

    def of_level(self) -> list[forms.BoundField]:
        """The fields for the level and the reason for another one."""
        return self.bound("severity", "departure")

    def of_place(self) -> list[forms.BoundField]:
        """The fields for another place of a tested specimen."""
        return self.bound("point", "again_reason")

    def opening(self) -> dict[str, Any]:
        """What the action takes besides the specimen."""
        names = [name for name in ("severity", "departure", "point", "again_reason") if name in self.fields]
        chosen = {role.need.role: self.cleaned_data[role_field(role.need.role)] for role in self.offers}
        return {"instruments": chosen} | {name: self.cleaned_data[name] for name in names}


class FindingsForm(forms.Form):
    """What is looked at after the trial: findings without a moment, as the edition names them."""

    def __init__(self, kinds: Sequence[ObservationKind], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for kind in kinds:
            self.fields[kind.key] = _finding_field(kind)


class LateEntryForm(forms.Form):
    """An event that was seen and not pressed; it is marked as entered later."""

    kind = forms.ChoiceField(label="What happened")
    t_s = DigitsFormField(label="Seconds from contact", unit="s", required=False)
    value = forms.CharField(
        label="Value", required=False, max_length=200, help_text="A figure, a kind or words, where it has one."
    )

    def __init__(self, edition: MethodEdition, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kinds = [(kind.key, kind.title) for kind in edition.observation_kinds if kind.timed]
        self.fields["kind"] = forms.ChoiceField(
            label="What happened",
            choices=[("", "choose what was seen"), *kinds],
            error_messages={"required": "Choose what happened."},
        )
        start = next(kind.title for kind in edition.observation_kinds if kind.key == edition.steps[0].kind)
        self.fields["t_s"].label = f"Seconds from {mid_sentence(start)}"


class PhotoForm(forms.Form):
    """A picture taken at the bench."""

    photo = forms.FileField(label="Photo", help_text="JPEG, PNG or WebP, up to 20 MB.")
    caption = forms.CharField(label="What it shows", required=False, max_length=200)


class DoubtForm(forms.Form):
    """A doubt before the verdict."""

    reason = forms.CharField(label="Why it is in doubt", max_length=300, widget=forms.Textarea(attrs={"rows": 2}))


class SignForm(forms.Form):
    """A signature under exactly the verdict that was shown."""

    looked_at = forms.CharField(widget=forms.HiddenInput)
    unsaved = forms.IntegerField(widget=forms.HiddenInput, min_value=0, initial=0)
    reason = forms.CharField(label="Why it cannot be judged", required=False, max_length=300)


class CorrectionForm(forms.Form):
    """A correction of one observation by a new row."""

    t_s = DigitsFormField(label="Seconds from contact", unit="s", required=False)
    value = forms.CharField(label="Value", required=False, max_length=200)
    strike = forms.BooleanField(label="It did not happen", required=False)
    reason = forms.CharField(label="Reason", max_length=300, widget=forms.Textarea(attrs={"rows": 2}))

    def __init__(self, observation: Observation, kind: ObservationKind | None, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial = {"t_s": observation.t_s, "value": observation.value}
        if observation.replaces_id is not None:
            self.fields["strike"].label = "Take this correction back"
        if observation.t_s is None and kind is not None and not kind.timed:
            del self.fields["t_s"]
        if kind is not None and kind.value_kind == "none":
            del self.fields["value"]
        elif kind is not None and kind.value_kind in ("choice", "yes-no"):
            choices = YES_NO if kind.value_kind == "yes-no" else [("", "not said"), *((c, c) for c in kind.choices)]
            self.fields["value"] = forms.ChoiceField(label="Value", choices=choices, required=False)

    def corrections(self) -> dict[str, Any]:
        """What the action takes."""
        return {"t_s": None, "value": ""} | self.cleaned_data


def events_from_json(body: bytes) -> tuple[int | None, datetime | None, list[BenchEvent]]:
    """The person, the device's clock at sending and the events of one posting; Refused where it is not one."""
    try:
        plain = json.loads(body)
        sent_at = _moment(plain.get("sent_at"))
        events = [_event(one) for one in plain["events"]]
        person = int(plain["person"])
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError) as wrong:
        raise Refused(f"The tablet sent something that is no list of entries ({wrong}). Reload the page.") from None
    if len(events) > MOST_EVENTS:
        raise Refused(f"{len(events)} entries came at once; {MOST_EVENTS} are taken. Reload the page.")
    return person, sent_at, events


def _event(plain: dict[str, Any]) -> BenchEvent:
    return BenchEvent(
        key=uuid.UUID(str(plain["key"])),
        kind=one_line(str(plain["kind"]))[:40],
        steady_s=_number(plain.get("steady_s")),
        t_s=_number(plain.get("t_s")),
        value=one_line(str(plain.get("value") or ""))[:200],
        note=one_line(str(plain.get("note") or ""))[:200],
        device_at=_moment(plain.get("device_at")),
        replaces=uuid.UUID(str(plain["replaces"])) if plain.get("replaces") else None,
        reason=one_line(str(plain.get("reason") or ""))[:300],
    )


def _moment(text: object) -> datetime | None:
    """A device's clock with its zone, in a year that days can be counted from."""
    if not text:
        return None
    found = parse_datetime(str(text))
    if found is None or found.tzinfo is None:
        raise ValueError(f"“{text}” is no moment with a zone")
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(f"the year {found.year} cannot be meant; set the tablet’s clock")
    return found


def _number(text: object) -> Decimal | None:
    """A device's own figure: digits with one decimal."""
    if text in (None, ""):
        return None
    if not re.fullmatch(r"-?\d{1,9}(\.\d)?", str(text)):
        raise ValueError(f"“{text}” is no time of the bench clock")
    return Decimal(str(text))


def _offer_words(offer: Any) -> str:
    where = "" if offer.on_rig else ", not on this rig"
    if offer.usability.usable:
        due = offer.usability.due_on
        return f"{offer.instrument.code}, due {due.day} {due:%b %Y}{where}"
    return f"{offer.instrument.code}, must not be used now: {offer.usability.clause}{where}"


def _finding_field(kind: ObservationKind) -> forms.Field:
    again = "One at a time." if kind.repeats and kind.value_kind == "number" else ""
    widget: forms.Widget = forms.Textarea(attrs={"rows": 2, "maxlength": 200})
    if kind.value_kind == "number":
        widget = forms.TextInput(attrs={"inputmode": "decimal", "autocomplete": "off", "class": "w-s"})
    elif kind.value_kind == "yes-no":
        widget = forms.Select(choices=YES_NO)
    elif kind.value_kind == "choice":
        widget = forms.Select(choices=[("", "not said"), *((choice, choice) for choice in kind.choices)])
    return forms.CharField(
        label=f"{kind.title}, {kind.unit}" if kind.unit and kind.unit not in kind.title.lower() else kind.title,
        required=False,
        max_length=200,
        help_text=". ".join(part.rstrip(".") for part in (kind.prompt, again) if part),
        widget=widget,
    )
