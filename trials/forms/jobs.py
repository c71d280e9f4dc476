"""Forms of the hand-out."""

from collections.abc import Collection
from typing import Any

from django import forms

from specimens.forms.fields import RemarksField
from trials.queries.authorisations import people_with_role
from trials.queries.jobs import RigChoice, WorkLine


class _RigForm(forms.Form):
    """A rig of the method's kind, and the hand-out that stood when the page was opened."""

    rig = forms.TypedChoiceField(label="Rig", empty_value=None)
    seen_job = forms.IntegerField(required=False, widget=forms.HiddenInput)

    def __init__(self, work: WorkLine, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.initial["rig"] = _first_rig(work)
        self.initial["seen_job"] = None if work.job is None else work.job.pk
        rigs = {str(choice.rig.pk): choice.rig for choice in work.rigs}
        field = self.fields["rig"]
        assert isinstance(field, forms.TypedChoiceField)  # noqa: S101  (declared above; for the reader of types)
        field.coerce = rigs.get
        field.choices = [("", "choose a rig"), *[(str(choice.rig.pk), _rig_words(choice)) for choice in work.rigs]]


class TakeForm(_RigForm):
    """For a technician who takes the job."""


class HandOutForm(_RigForm):
    """A technician and a rig; a reason when somebody has the job already."""

    field_order = ("technician", "rig", "reason", "seen_job")
    technician = forms.TypedChoiceField(label="Technician", empty_value=None)
    reason = RemarksField(label="Why it changes hands", max_length=300, required=False, rows=2)

    def __init__(self, work: WorkLine, *args: Any, **kwargs: Any) -> None:
        super().__init__(work, *args, **kwargs)
        authorised = {person.pk for person in work.technicians}
        people = sorted(people_with_role("perform"), key=lambda person: (person.pk not in authorised, str(person)))
        field = self.fields["technician"]
        assert isinstance(field, forms.TypedChoiceField)  # noqa: S101  (declared above; for the reader of types)
        field.coerce = {str(person.pk): person for person in people}.get
        field.choices = [("", "choose a technician"), *[(str(p.pk), _person_words(p, authorised)) for p in people]]
        if work.job is None:
            del self.fields["reason"]
        else:
            self.initial.setdefault("technician", work.job.technician_id)


def _first_rig(work: WorkLine) -> int | None:
    return work.ready_rigs[0].rig.pk if work.ready_rigs else None


def _rig_words(choice: RigChoice) -> str:
    return f"{choice.rig.code}, {choice.rig.name}" if choice.fact.ready else f"{choice.rig.code}, blocked"


def _person_words(person: Any, authorised: Collection[int]) -> str:
    return str(person) if person.pk in authorised else f"{person}, not authorised"
