"""What a technician at the rigs works with: the jobs handed out, specimens scanned, what opening a trial needs."""

from dataclasses import dataclass
from datetime import datetime

from django.db.models import QuerySet

from calibration.models import Instrument
from calibration.queries.rigs import instruments_on_rig
from calibration.queries.usability import Usability, usabilities
from labsite.ledger.models import Role, User
from labsite.ledger.numbering import NumberKind, read_number
from labsite.ledger.refusals import Refused
from specimens.models import Specimen
from trials.domain.methods.base import MethodEdition
from trials.domain.statements import InstrumentNeed
from trials.models import InstrumentUse, Job, Observation, SetupValue, SignedVerdict, Trial, TrialPhoto
from trials.queries.methods import method_words, severity_words
from trials.queries.records import TAKEN_BACK_KIND
from trials.queries.results import specimen_text

PERFORMERS = frozenset({Role.TECHNICIAN, Role.LEAD})
"""Roles that may perform trials, given an authorisation."""


@dataclass(frozen=True, slots=True)
class InstrumentOffer:
    """An instrument that could serve in a role, and whether it may be used now."""

    instrument: Instrument
    usability: Usability
    on_rig: bool


@dataclass(frozen=True, slots=True)
class RoleOffer:
    """A role the method needs filled, with the instruments of its kind, those on the rig first."""

    need: InstrumentNeed
    offers: tuple[InstrumentOffer, ...]

    @property
    def first(self) -> InstrumentOffer | None:
        """The instrument to begin with: one on the rig that may be used, else any on the rig."""
        mounted = [offer for offer in self.offers if offer.on_rig]
        return next((offer for offer in mounted if offer.usability.usable), mounted[0] if mounted else None)


def may_perform(person: object) -> bool:
    """Whether the person's roles include work at the bench."""
    return isinstance(person, User) and person.may(*PERFORMERS)


def somebody(person: object) -> User:
    """The signed-in person as a person; every address of the bench asks for one."""
    if not isinstance(person, User):
        raise Refused("Sign in first.")
    return person


def standing_jobs() -> QuerySet[Job]:
    """Hand-outs that stand, of lines that are not withdrawn."""
    rows = Job.objects.filter(superseded_at=None, order_line__withdrawn_at=None)
    return rows.select_related("order_line__order__client", "technician", "rig").order_by("handed_at", "pk")


def specimen_by_typing(text: str) -> Specimen:
    """The specimen a person typed or scanned; refused with a sentence that names what is wrong with it."""
    try:
        number = read_number(text)
    except ValueError as wrong:
        raise Refused(str(wrong), field="number") from None
    if number.kind is not NumberKind.PIECE:
        raise Refused(f"“{text}” is no specimen’s number; those have 10 digits.", field="number")
    found = Specimen.objects.filter(number=number.digits).select_related("item", "order_line__order__client").first()
    if found is None:
        raise Refused(
            f"{specimen_text(number.digits)} is not a specimen here. If it is an item, scan the label of the piece.",
            field="number",
        )
    return found


def job_of_specimen(specimen: Specimen) -> Job:
    """The standing hand-out of a specimen's line; refused when there is none."""
    job = standing_jobs().filter(order_line=specimen.order_line_id).first()
    if job is None:
        raise Refused(
            f"{specimen_text(specimen.number)} belongs to no job at the bench: line {specimen.order_line.position} of "
            f"order {specimen.order_line.order.number} is not handed out. A lead hands it out from the queue.",
            field="number",
        )
    return job


def open_trial_of(specimen: Specimen) -> Trial | None:
    """The trial on this specimen that is not signed yet."""
    return Trial.objects.filter(specimen=specimen, verdicts=None).select_related("opened_by", "rig").first()


def tested_before(specimen: Specimen) -> Trial | None:
    """An earlier trial in which the specimen was touched; one stopped before contact leaves it as it was."""
    touched = _contacts(specimen).select_related("trial__opened_by").order_by("pk").first()
    return None if touched is None else touched.trial


def places_tested(specimen: Specimen, edition: MethodEdition) -> list[str]:
    """Where on the specimen it was touched, in the order of its trials; those that state no place left out."""
    rows = SetupValue.objects.filter(trial__in=_contacts(specimen).values("trial"), key=edition.point_field)
    return [place for place in dict(rows.order_by("trial", "pk").values_list("trial", "value")).values() if place]


def _contacts(specimen: Specimen) -> QuerySet[Observation]:
    rows = Observation.objects.filter(trial__specimen=specimen, kind="contact")
    return rows.exclude(pk__in=Observation.objects.filter(kind=TAKEN_BACK_KIND).values("replaces"))


def role_offers(edition: MethodEdition, job: Job, at: datetime) -> list[RoleOffer]:
    """For each role of the method the instruments of its kind, those mounted on the job's rig first."""
    mounted = {one.pk for one in instruments_on_rig(job.rig, at)}
    kinds = [need.kind for need in edition.instruments]
    instruments = list(Instrument.objects.filter(kind__in=kinds).order_by("code"))
    answers = usabilities(instruments, at)
    offers = [InstrumentOffer(one, answers[one.pk], one.pk in mounted) for one in instruments]
    offers.sort(key=lambda offer: (not offer.on_rig, not offer.usability.usable, offer.instrument.code))
    return [
        RoleOffer(need, tuple(offer for offer in offers if offer.instrument.kind == need.kind))
        for need in edition.instruments
    ]


def instrument_by_typing(text: str) -> Instrument:
    """The instrument whose number or code a person typed or scanned; refused when there is none."""
    squeezed = "".join(character for character in text if character.isdigit())
    found = Instrument.objects.filter(code__iexact=text.strip()).first()
    if found is None and len(squeezed) == NumberKind.INSTRUMENT.value:
        found = Instrument.objects.filter(number=squeezed).first()
    if found is None:
        raise Refused(f"“{text}” is neither the code nor the number of an instrument here.", field="instrument")
    return found


def bench_trials() -> QuerySet[Trial]:
    """Trials with all that their bench pages show."""
    return Trial.objects.select_related(
        "specimen__item", "job__order_line__order__client", "job__technician", "rig", "opened_by", "authorisation"
    )


def trial_words(trial: Trial) -> dict[str, str]:
    """The method, standard and severity of a trial, in short."""
    method, standard = method_words(trial.method_key)
    return {"method": method, "standard": standard, "severity": severity_words(trial.method_key, trial.severity)}


def trial_instruments(trial: Trial) -> list[InstrumentUse]:
    """The instruments of a trial by role."""
    return list(InstrumentUse.objects.filter(trial=trial).select_related("instrument").order_by("pk"))


def trial_photos(trial: Trial) -> QuerySet[TrialPhoto]:
    """The photos of a trial, oldest first, without the bytes."""
    return TrialPhoto.objects.filter(trial=trial).select_related("by").order_by("at", "pk")


def photos_with_files() -> QuerySet[TrialPhoto]:
    """Photos with the copy that is shown."""
    return TrialPhoto.objects.select_related("shown")


def trial_rows() -> QuerySet[Observation]:
    """Observation rows with their trial, for a correction."""
    return Observation.objects.select_related("trial__opened_by", "trial__specimen", "by")


def last_signed(trial: Trial) -> SignedVerdict | None:
    """The verdict that holds."""
    return SignedVerdict.objects.filter(trial=trial).select_related("signed_by").order_by("-signed_at", "-pk").first()
