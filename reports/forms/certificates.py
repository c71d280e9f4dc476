"""Forms of the certificate pages."""

from django import forms


class IssueForm(forms.Form):
    """Which lines go on the certificate, and the fingerprint of what the signatory looked at."""

    positions = forms.CharField(widget=forms.HiddenInput, max_length=200)
    seen = forms.CharField(widget=forms.HiddenInput, max_length=64, required=False)

    def clean_positions(self) -> list[int]:
        """Positions of lines; anything else counts as another page."""
        text: str = self.cleaned_data["positions"]
        return [int(part) for part in text.split(",") if part.isascii() and part.isdigit() and len(part) < 5]


class AmendForm(forms.Form):
    """Why a certificate is replaced; printed on the new one."""

    reason = forms.CharField(
        label="Reason",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        error_messages={"required": "Write the reason; it is printed on the amendment."},
    )
    seen = forms.CharField(widget=forms.HiddenInput, max_length=64, required=False)


class CertificateSearchForm(forms.Form):
    """The list narrowed to a number or a client, and where it goes on."""

    q = forms.CharField(label="Number or client", max_length=100, required=False)
    after = forms.IntegerField(min_value=1, max_value=2**62, required=False)
