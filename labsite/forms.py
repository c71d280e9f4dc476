"""Forms of the laboratory's own pages."""

import zoneinfo
from typing import Any

from allauth.account.forms import LoginForm
from django import forms
from django.contrib.auth.password_validation import validate_password
from django.core.validators import RegexValidator

from labsite.ledger.models import Language, Place, Role

SHORT_NAME = RegexValidator(
    r"^[A-Za-z][A-Za-z0-9._-]{1,58}$", "Two or more letters, digits, points or hyphens, no spaces."
)


class ZoneField(forms.CharField):
    """A zone's name with the known ones offered."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            label="Time zone",
            max_length=60,
            help_text="For example Europe/Berlin. Days end here; moments are shown here.",
            widget=forms.TextInput(attrs={"class": "w-m", "autocomplete": "off"}),
            **kwargs,
        )

    def clean(self, value: Any) -> str:
        """Refuse a name no zone has."""
        name = str(super().clean(value))
        if name not in zoneinfo.available_timezones():
            raise forms.ValidationError(f"“{name}” is not a time zone; write one like Europe/Berlin.")
        return name


class PasswordField(forms.CharField):
    """A password that is good enough."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            widget=forms.PasswordInput(attrs={"autocomplete": "new-password", "class": "w-m"}), strip=False, **kwargs
        )

    def clean(self, value: Any) -> str:
        """Check against the site's rules when one was typed."""
        password = str(super().clean(value))
        if password:
            validate_password(password)
        return password


class FactsForm(forms.Form):
    """The laboratory's facts that print on every certificate."""

    name = forms.CharField(
        label="Name of the laboratory", max_length=120, widget=forms.TextInput(attrs={"class": "w-l"})
    )
    address = forms.CharField(label="Address", widget=forms.Textarea(attrs={"rows": 3}), max_length=500)
    zone = ZoneField()
    language = forms.ChoiceField(label="Language", choices=Language.choices)


class LaboratoryForm(FactsForm):
    """The facts, and the accreditation."""

    accreditation_number = forms.CharField(label="Accreditation number", max_length=60, required=False)
    accreditation_body = forms.CharField(
        label="Accreditation body", max_length=120, required=False, widget=forms.TextInput(attrs={"class": "w-l"})
    )
    e_n_one_is_action = forms.BooleanField(
        label="E_n of exactly 1 calls for action",
        required=False,
        help_text="Without it, up to and including 1 two results agree.",
    )
    mark = forms.FileField(label="Mark of accreditation", required=False, help_text="A JPEG or PNG picture.")
    version = forms.IntegerField(widget=forms.HiddenInput)


class FirstRunForm(FactsForm):
    """The facts, and the first administrator."""

    username = forms.CharField(
        label="Your short name", max_length=60, validators=[SHORT_NAME], help_text="You sign in with it."
    )
    full_name = forms.CharField(label="Your full name", max_length=120)
    password = PasswordField(label="Password", help_text="Ten characters or more.")


class PersonForm(forms.Form):
    """A person and what they may be asked to do."""

    username = forms.CharField(
        label="Short name", max_length=60, validators=[SHORT_NAME], help_text="Used to sign in; stays."
    )
    full_name = forms.CharField(label="Full name", max_length=120, widget=forms.TextInput(attrs={"class": "w-l"}))
    email = forms.EmailField(label="Mail", required=False)
    roles = forms.MultipleChoiceField(
        label="Roles", choices=Role.choices, widget=forms.CheckboxSelectMultiple, required=False
    )
    is_active = forms.BooleanField(label="Signs in here", required=False, initial=True)
    password = PasswordField(label="Password", help_text="Ten characters or more. Hand it over in person.")


class PersonChangeForm(PersonForm):
    """The same for someone who is already here."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["username"]
        self.fields["password"].required = False
        self.fields["password"].label = "New password"


class PlaceForm(forms.Form):
    """A place."""

    code = forms.CharField(
        label="Code",
        max_length=20,
        help_text="Short, as on the door: C-3. It stays.",
        widget=forms.TextInput(attrs={"class": "w-s"}),
    )
    name = forms.CharField(label="Name", max_length=120, widget=forms.TextInput(attrs={"class": "w-l"}))
    kind = forms.ChoiceField(label="Kind", choices=Place.Kind.choices)


class PlaceChangeForm(forms.Form):
    """What may change about a place."""

    name = forms.CharField(label="Name", max_length=120, widget=forms.TextInput(attrs={"class": "w-l"}))
    in_use = forms.BooleanField(label="In use", required=False)


class SignInForm(LoginForm):  # type: ignore[misc]  # allauth ships no types
    """allauth's sign-in in the laboratory's words."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["login"].label = "Short name"
        self.fields["login"].widget.attrs = {"autocomplete": "username", "autocapitalize": "none"}
        self.fields["password"].widget.attrs = {"autocomplete": "current-password"}
