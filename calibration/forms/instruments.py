"""Forms about instruments and rigs."""

from typing import TYPE_CHECKING, Any

from django import forms

from calibration.models import Instrument, InstrumentKind, RigKind, ThermocoupleType
from calibration.queries.rigs import unmounted_instruments
from labsite.ledger.models import Place
from labsite.ledger.queries import places_in_use
from labsite.ledger.wording import mid_sentence

if TYPE_CHECKING:
    _PlaceField = forms.ModelChoiceField[Place]
    _InstrumentField = forms.ModelChoiceField[Instrument]
else:
    _PlaceField = _InstrumentField = forms.ModelChoiceField  # takes no type argument at run time


def words(label: str, length: int, width: str = "w-m", **options: Any) -> forms.CharField:
    """A line of text."""
    widget = forms.TextInput(attrs={"class": width, "autocomplete": "off"})
    return forms.CharField(label=label, max_length=length, widget=widget, **options)


def _cut(text: str) -> str:
    return text if len(text) <= 60 else f"{text[:59]}…"


class PlaceChoice(_PlaceField):
    """One of the places in use, or none."""

    def __init__(self) -> None:
        super().__init__(Place.objects.none(), label="Place", required=False, empty_label="not said")

    def label_from_instance(self, place: Place) -> str:
        """Code and name, cut where a list would get too wide."""
        return _cut(f"{place.code}, {place.name}")


class PlacedForm(forms.Form):
    """A form that asks for a place; a place no longer in use stays if it is the present one."""

    def __init__(self, *args: Any, present_place: Place | None = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        places = places_in_use()
        if present_place is not None and not present_place.in_use:
            places = (Place.objects.filter(pk=present_place.pk) | places).order_by("code")
        self.fields["place"].queryset = places  # type: ignore[attr-defined]  # it is a PlaceChoice


class InstrumentForm(PlacedForm):
    """What is known of an instrument."""

    code = words("Code", 20, "w-s", help_text="As on its label and in talk: TC-05. One code, whatever its case.")
    kind = forms.ChoiceField(label="Kind", choices=InstrumentKind.choices)
    description = words("Description", 200, "w-full", help_text="Type, class, size: type K, 1.0 mm sheath, class 1.")
    maker = words("Maker", 120, required=False)
    model_name = words("Type or model", 120, required=False)
    serial_number = words("Serial number", 120, required=False)
    software_version = words("Software version", 60, required=False, help_text="Where it has one.")
    firmware_version = words("Firmware version", 60, required=False, help_text="Where it has one.")
    thermocouple_type = forms.ChoiceField(
        label="Thermocouple type",
        required=False,
        choices=[("", "none"), *ThermocoupleType.choices],
        help_text="Of an indicator: the type it is set to.",
    )
    tolerance_class = forms.ChoiceField(
        label="Tolerance class",
        required=False,
        choices=[("", "none"), ("1", "1"), ("2", "2"), ("3", "3")],
        help_text="Of a thermocouple, as IEC 60584-1 names it.",
    )
    range_text = words("Range", 120, required=False, help_text="With its unit: 0 to 1100 °C.")
    resolution_text = words("Resolution", 60, required=False, help_text="With its unit: 0.1 K.")
    place = PlaceChoice()
    owner = words("Belongs to", 120, required=False, help_text="Only where it is rented or borrowed.")
    maintenance_plan = words(
        "Maintenance plan", 300, "w-full", required=False, help_text="What is done to it, how often; or why nothing is."
    )


class InstrumentChangeForm(InstrumentForm):
    """The same for an instrument that is here; it notices when somebody else was faster."""

    version = forms.IntegerField(widget=forms.HiddenInput)


class ServiceForm(forms.Form):
    """Why an instrument leaves service or comes back."""

    reason = forms.CharField(label="Reason", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))


class RigForm(PlacedForm):
    """A test apparatus."""

    code = words("Code", 20, "w-s", help_text="As on the rig: GW-1. It stays.")
    name = words("Name", 120, "w-l")
    kind = forms.ChoiceField(label="Kind", choices=RigKind.choices, help_text="It stays.")
    place = PlaceChoice()


class RigChangeForm(PlacedForm):
    """What may change about a rig."""

    name = words("Name", 120, "w-l")
    place = PlaceChoice()
    in_use = forms.BooleanField(label="In use", required=False)
    version = forms.IntegerField(widget=forms.HiddenInput)


class InstrumentChoice(_InstrumentField):
    """One of the instruments that are on no rig."""

    def label_from_instance(self, instrument: Instrument) -> str:
        """Code, kind and description, cut where a list would get too wide."""
        return _cut(f"{instrument.code}, {mid_sentence(instrument.get_kind_display())}, {instrument.description}")


class MountForm(forms.Form):
    """Which instrument goes on the rig."""

    instrument = InstrumentChoice(Instrument.objects.none(), label="Instrument", empty_label="choose one")

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["instrument"].queryset = unmounted_instruments()  # type: ignore[attr-defined]  # a ModelChoiceField
