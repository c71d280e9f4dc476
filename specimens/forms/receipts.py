"""Forms about parcels, where pieces are, and the client's answers."""

from datetime import datetime
from decimal import Decimal
from typing import Any, cast

from django import forms
from django.utils import timezone

from labsite.ledger.fields import DigitsFormField
from labsite.ledger.models import Place, Role, User
from labsite.ledger.pictures import shown_picture
from labsite.ledger.queries import people_in_role, places_in_use
from labsite.ledger.refusals import Refused
from labsite.ledger.wording import capitalised
from specimens.actions.receipts import ItemIn, PhotoIn
from specimens.domain.receiving import CONDITIONS, MOST_PIECES, condition_fault
from specimens.forms.fields import CountField, LineField, MomentField, RemarksField
from specimens.forms.rows import RowFormSet
from specimens.models import DeviationAnswer, OrderLine, Receipt

_TICKS = [(tick, capitalised(tick)) for tick in CONDITIONS]


class PhotoField(forms.FileField):
    """A photo; what is kept beside the original is upright and without position."""

    def __init__(self, **kwargs: Any) -> None:
        widget = forms.FileInput(attrs={"accept": "image/jpeg,image/png,image/webp"})
        super().__init__(widget=widget, **kwargs)

    def clean(self, data: Any, initial: Any = None) -> PhotoIn | None:
        """The original bytes and the copy to show, or a sentence."""
        file = super().clean(data, initial)
        if not file:
            return None
        content, name = file.read(), str(file.name)
        try:
            return PhotoIn(name, content, shown_picture(content, name=name))
        except Refused as refusal:
            raise forms.ValidationError(refusal.sentence) from None


class PlaceChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # no generic at run time
    """A place in use."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(queryset=Place.objects.none(), empty_label="Choose", **kwargs)

    def label_from_instance(self, obj: Place) -> str:
        """Code and name."""
        return f"{obj.code}, {obj.name}"


class ParcelForm(forms.Form):
    """The parcel as a whole."""

    came_at = MomentField(label="Came in", help_text="Laboratory time")
    brought_by = LineField(
        label="Brought by", max_length=120, error_messages={"required": "Write who brought it, or the courier’s slip."}
    )
    parcels = CountField(label="Parcels", low=1, high=99, error_messages={"required": "Write how many parcels."})
    outside = forms.ChoiceField(
        label="Outside of the parcel",
        choices=Receipt.Outside.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say how the parcel looks from outside."},
    )

    def clean_came_at(self) -> datetime:
        """A parcel that is still to come is not registered."""
        at: datetime = self.cleaned_data["came_at"]
        if at > timezone.now():
            raise forms.ValidationError("The parcel cannot have come in later than now; write laboratory time.")
        return at


class LineChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # no generic at run time
    """A line of the order."""

    def label_from_instance(self, obj: OrderLine) -> str:
        """Position and subject."""
        return f"Line {obj.position}: {obj.subject}"


class ItemForm(forms.Form):
    """One item of the parcel."""

    order_line = LineChoice(queryset=OrderLine.objects.none(), label="For", empty_label=None)
    description = LineField(label="What it is", max_length=200, error_messages={"required": "Write what it is."})
    client_name_for_it = LineField(label="Client’s name for it", max_length=200, required=False)
    material = LineField(
        label="Material",
        max_length=120,
        width="w-m",
        error_messages={"required": "Write the material, or “not stated”."},
    )
    colour = LineField(label="Colour", max_length=60, width="w-m", error_messages={"required": "Write the colour."})
    stated_count = CountField(label="Client says", low=0, high=9999, required=False)
    counted = CountField(
        label="You count", low=0, high=9999, error_messages={"required": "Count the pieces, or empty the whole item."}
    )
    specimens = CountField(
        label="Specimens",
        low=0,
        high=MOST_PIECES,
        help_text="the pieces themselves, or cut from them",
        error_messages={"required": "Write how many specimens are made from it; 0 if none."},
    )
    thickness_mm = DigitsFormField(label="Thickness, mm", unit="mm", required=False)
    surface = LineField(label="Surface to be tested", max_length=200, required=False)
    conditions = forms.MultipleChoiceField(
        label="They are", choices=_TICKS, widget=forms.CheckboxSelectMultiple, required=False
    )
    deviation = RemarksField(
        label="What is different from the order",
        max_length=2000,
        required=False,
        help_text="The client is asked with this sentence; the certificate prints it if they say “test anyway”.",
    )
    photo = PhotoField(label="Photo", required=False)
    place = PlaceChoice(label="Put on", error_messages={"required": "Choose where it is put."})

    def __init__(self, *args: Any, lines: Any = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        line, place = self.fields["order_line"], self.fields["place"]
        assert isinstance(line, forms.ModelChoiceField)  # noqa: S101  (narrows the type)
        assert isinstance(place, forms.ModelChoiceField)  # noqa: S101  (narrows the type)
        line.queryset = OrderLine.objects.none() if lines is None else lines
        place.queryset = places_in_use()

    def has_changed(self) -> bool:
        """The line alone is no item: an added row names one from the start."""
        return bool(set(self.changed_data) - {"order_line"})

    def clean_thickness_mm(self) -> Decimal | None:
        """A piece is thicker than nothing."""
        thickness: Decimal | None = self.cleaned_data["thickness_mm"]
        if thickness is not None and thickness <= 0:
            raise forms.ValidationError(f"A thickness is above zero, not {thickness:f} mm.")
        return thickness

    def clean(self) -> dict[str, Any]:
        """Hold ticks, counts and words against each other."""
        cleaned = super().clean() or {}
        if "counted" in cleaned and "stated_count" in cleaned and "conditions" in cleaned:
            fault = condition_fault(
                conditions=cleaned["conditions"],
                stated_count=cleaned["stated_count"],
                counted=cleaned["counted"],
                deviation=cleaned.get("deviation", ""),
            )
            if fault is not None and fault.field not in self.errors:
                self.add_error(fault.field, fault.sentence)
        return cleaned

    def item(self) -> ItemIn:
        """The item as typed; call it after the form was found valid."""
        typed = dict(self.cleaned_data)
        ticked = typed.pop("conditions")
        return ItemIn(conditions=tuple(tick for tick in CONDITIONS if tick in ticked), **typed)


ItemFormSet = cast(
    "type[RowFormSet]",
    forms.formset_factory(ItemForm, formset=RowFormSet, extra=0, min_num=0, max_num=20, absolute_max=20),
)


class PhotoForm(forms.Form):
    """One more photo of an item."""

    photo = PhotoField(label="Photo", error_messages={"required": "Choose a picture."})
    caption = LineField(label="What it shows", max_length=200, required=False)


class PersonChoice(forms.ModelChoiceField):  # type: ignore[type-arg]  # no generic at run time
    """Somebody of the laboratory."""


class HandOverForm(forms.Form):
    """To a place or to a person."""

    place = PlaceChoice(label="To a place", required=False)
    person = PersonChoice(queryset=User.objects.none(), label="or to a person", required=False, empty_label="Nobody")
    with_specimens = forms.BooleanField(label="With its specimens", required=False, initial=True)
    note = LineField(label="Note", max_length=200, required=False)

    def __init__(self, *args: Any, specimens: int = 0, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        place, person = self.fields["place"], self.fields["person"]
        assert isinstance(place, forms.ModelChoiceField)  # noqa: S101  (narrows the type)
        assert isinstance(person, forms.ModelChoiceField)  # noqa: S101  (narrows the type)
        place.queryset = places_in_use()
        hands = people_in_role(Role.TECHNICIAN) | people_in_role(Role.LEAD) | people_in_role(Role.COUNTER)
        person.queryset = hands.distinct().order_by("full_name")
        if specimens:
            self.fields["with_specimens"].label = (
                f"With its {specimens} specimens" if specimens > 1 else "With its specimen"
            )
        else:
            del self.fields["with_specimens"]


class AnswerForm(forms.Form):
    """What the client says to a deviation."""

    decision = forms.ChoiceField(
        label="The client says",
        choices=DeviationAnswer.Decision.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what the client decided."},
    )
    answered_by = LineField(
        label="Who said so", max_length=120, error_messages={"required": "Write who at the client’s answered."}
    )
    answer = RemarksField(
        label="In their words", max_length=2000, error_messages={"required": "Write the answer in the client’s words."}
    )
