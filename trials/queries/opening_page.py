"""What the page on which a trial is opened shows: the level called for and why, places, instruments, conditioning."""

from dataclasses import dataclass
from datetime import datetime

from specimens.domain.conditioning_state import ConditioningState
from specimens.models import Specimen
from specimens.queries.conditioning import open_stays, specimen_conditioning
from trials.domain.line_result import LineResult
from trials.domain.methods.base import MethodEdition
from trials.domain.opening import OpeningLevels, next_sentence, opening_levels
from trials.models import Job, Trial
from trials.queries.bench import RoleOffer, open_trial_of, places_tested, role_offers, tested_before
from trials.queries.methods import edition_of
from trials.queries.results import line_result
from trials.queries.sheets import line_parameters


@dataclass(frozen=True, slots=True)
class OpeningPage:
    """One specimen before its trial. `levels` None where none is chosen, `places` None where none may be named.

    `other_plan` says in words that the rule asks for a specimen conditioned in another way next; `stay` is the stay it
    is inside for.
    """

    specimen: Specimen
    job: Job
    edition: MethodEdition
    standing: Trial | None
    result: LineResult
    levels: OpeningLevels | None
    places: tuple[str, ...] | None
    offers: tuple[RoleOffer, ...]
    conditioning: ConditioningState | None
    stay: int | None = None

    @property
    def level(self) -> str:
        """The level of the trial as it is ordered or called for, in words."""
        proposed = None if self.levels is None else self.levels.proposed
        ordered = self.job.order_line.severity
        return self.edition.severity_text(ordered if self.levels is None else proposed)

    @property
    def following(self) -> str:
        """What the rule calls for next and why; empty where it knows no order."""
        return next_sentence(self.edition, self.result)

    @property
    def other_plan(self) -> str:
        """The way of conditioning the rule asks for next, where this specimen had another one."""
        plan = "" if self.result.next is None else self.result.next.plan
        had = getattr(self.conditioning, "plan", "")
        return self.edition.conditioning_called(plan).title if plan and had != plan else ""


def opening_page(specimen: Specimen, job: Job, at: datetime) -> OpeningPage:
    """The page of one specimen of a job at a moment."""
    line = job.order_line
    edition = edition_of(line.method_key, line_parameters(line, at)[1])
    result = line_result(line)
    again = edition.further_points and tested_before(specimen) is not None
    return OpeningPage(
        specimen=specimen,
        job=job,
        edition=edition,
        standing=open_trial_of(specimen),
        result=result,
        levels=opening_levels(edition, line.severity, result),
        places=tuple(places_tested(specimen, edition)) if again else None,
        offers=tuple(role_offers(edition, job, at)),
        conditioning=specimen_conditioning([specimen.pk], at).get(specimen.pk),
        stay=open_stays([specimen.pk]).get(specimen.pk),
    )
