"""Forms about clients and the people there."""

from django import forms

from specimens.forms.fields import LineField, RemarksField

_MAIL = {"invalid": "This is not a mail address; write one like name@firm.example."}


class ClientForm(forms.Form):
    """A client's facts."""

    name = LineField(label="Name", max_length=200, error_messages={"required": "Write the client’s name."})
    address = RemarksField(
        label="Address", max_length=500, error_messages={"required": "Write the address; it prints on certificates."}
    )
    country = LineField(label="Country", max_length=80, required=False, width="w-m")
    remarks = RemarksField(label="Remarks", max_length=2000, required=False, help_text="Stays in the laboratory.")


class ContactForm(forms.Form):
    """A person at a client's."""

    name = LineField(label="Name", max_length=120, error_messages={"required": "Write the person’s name."})
    email = forms.EmailField(
        label="Mail", required=False, error_messages=_MAIL, widget=forms.EmailInput(attrs={"class": "w-l"})
    )
    phone = LineField(label="Phone", max_length=60, required=False, width="w-m")


class NewClientForm(ClientForm):
    """A client with the first person to talk to."""

    contact_name = LineField(label="Name", max_length=120, error_messages={"required": "Write who to talk to there."})
    contact_email = forms.EmailField(
        label="Mail", required=False, error_messages=_MAIL, widget=forms.EmailInput(attrs={"class": "w-l"})
    )
    contact_phone = LineField(label="Phone", max_length=60, required=False, width="w-m")


class VersionedClientForm(ClientForm):
    """The facts, with the version they were read at."""

    version = forms.IntegerField(widget=forms.HiddenInput)


class VersionedContactForm(ContactForm):
    """A person, with the client's version they were read at."""

    version = forms.IntegerField(widget=forms.HiddenInput)
