"""An order line tested, signed and checked: all that must be right before a certificate can be issued."""

import io
from dataclasses import dataclass
from datetime import datetime, timedelta
from decimal import Decimal

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from labsite.ledger.models import Place, StoredFile, User
from labsite.ledger.numbering import piece_number
from reports.actions.issuing import issue_certificate
from reports.actions.writing import write_certificate
from reports.domain.content import AmendmentContent
from reports.domain.content_json import content_from_json
from reports.models import Certificate
from specimens.actions.deviations import answer_deviation
from specimens.models import Deviation, DeviationAnswer, Item, Order, OrderLine
from tests.factories.bench import SETUP, STEADY, Scene, bench_scene, opened_trial, pressed
from tests.factories.ledger import NOON, UserFactory
from trials.actions.bench import enter_setup_values, keep_trial_photo
from trials.actions.checks import check_line
from trials.actions.observations import add_findings, record_events
from trials.actions.signing import judged, sign_trial
from trials.domain.verdicts import verdict_fingerprint
from trials.models import Authorisation, Job, Trial
from trials.queries.results import line_standing

METHOD = "glow-wire-end-product@2021"
SIGNED_AT = NOON + timedelta(minutes=20)
CHECKED_AT = NOON + timedelta(hours=3)
ISSUED_AT = NOON + timedelta(hours=5)

type Course = tuple[tuple[str, str, str], ...]
"""What is seen: seconds from contact, kind, value."""

NO_FLAME: Course = (("30.1", "withdrawn", ""), ("60.4", "watch_ends", ""))
BURNS: Course = (
    ("6.4", "ignites", "bright"),
    ("9.8", "flame_height", "25"),
    ("19.7", "drip", ""),
    ("22.8", "flame_height", "40"),
    ("30.2", "withdrawn", ""),
    ("38.6", "flame_out", ""),
    ("60.9", "watch_ends", ""),
)
LAYER_CATCHES: Course = (
    ("6.5", "ignites", "bright"),
    ("10.0", "flame_height", "35"),
    ("18.0", "drip", ""),
    ("21.9", "drip", ""),
    ("22.4", "layer_catches", ""),
    ("24.0", "flame_height", "55"),
    ("30.2", "withdrawn", ""),
    ("31.4", "layer_out", ""),
    ("43.5", "flame_out", ""),
    ("61.5", "watch_ends", ""),
)


@dataclass
class CertificateScene:
    """A checked line with the people who sign for it."""

    bench: Scene
    checker: User
    signatory: User
    trials: list[Trial]

    @property
    def line(self) -> OrderLine:
        """The line."""
        return self.bench.line

    @property
    def order(self) -> Order:
        """Its order."""
        return self.bench.line.order

    @property
    def item(self) -> Item:
        """Its one item."""
        return Item.objects.get(order_line=self.line)


def certificate_scene(*courses: Course, serial: int = 1, check: bool = True) -> CertificateScene:
    """One signed trial for each course (without a flame when none is given), checked unless told not to."""
    chosen = courses or (NO_FLAME,)
    bench = bench_scene(NOON, specimens=len(chosen), serial=serial)
    bench.line.specimens_ordered = len(chosen)
    bench.line.save()
    bench.line.refresh_from_db()  # figures come back as they are read everywhere else
    bench.rig.place = Place.objects.create(code=f"B-{serial}", name="Fire room", kind=Place.Kind.BENCH)
    bench.rig.save()
    checker = UserFactory.create(username=f"check{serial}", full_name="Cora Checker", roles=["checker"])
    signatory = UserFactory.create(username=f"sign{serial}", full_name="Sid Signatory", roles=["signatory"])
    for person, activity in ((checker, "check"), (signatory, "sign")):
        authorise(person, activity, bench.lead)
    scene = CertificateScene(bench, checker, signatory, [])
    for number, course in enumerate(chosen):
        scene.trials.append(run_trial(bench, number, course, first_key=1000 * serial + 100 * number))
    if check:
        check_now(scene)
    return scene


def authorise(person: User, activity: str, by: User) -> Authorisation:
    """A standing authorisation since ninety days."""
    granted_at = NOON - timedelta(days=90)
    return Authorisation.objects.create(
        person=person,
        method_key=METHOD,
        activity=activity,
        from_on=granted_at.date(),
        granted_at=granted_at,
        granted_by=by,
    )


def run_trial(bench: Scene, number: int, course: Course, *, first_key: int) -> Trial:
    """Open, set up, watch and sign one trial."""
    trial = opened_trial(bench, number)
    by = bench.technician
    enter_setup_values(by=by, at=NOON, trial_id=trial.pk, values=SETUP)
    rows = [
        pressed(first_key + place, "temperature", value=figure, steady_s=Decimal(5 + 10 * place))
        for place, figure in enumerate(STEADY)
    ]
    rows.append(pressed(first_key + 20, "contact", "0.0"))
    rows += [pressed(first_key + 30 + place, kind, t_s, value) for place, (t_s, kind, value) in enumerate(course)]
    answers = record_events(by=by, at=NOON + timedelta(minutes=5), trial_id=trial.pk, events=rows)
    assert [answer.sentence for answer in answers if answer.status != "saved"] == []
    add_findings(by=by, at=NOON + timedelta(minutes=8), trial_id=trial.pk, findings={"consumed": "no"})
    picture = SimpleUploadedFile("after.png", a_photo((90, 95, 98)), content_type="image/png")
    keep_trial_photo(by=by, at=NOON + timedelta(minutes=9), trial_id=trial.pk, photo=picture, caption="after the trial")
    _, verdict = judged(trial)
    sign_trial(by=by, at=SIGNED_AT, trial_id=trial.pk, looked_at=verdict_fingerprint(verdict))
    return trial


def check_now(scene: CertificateScene, at: datetime = CHECKED_AT) -> None:
    """The checker finds the line sound as it stands."""
    seen = line_standing(scene.line).verdict_ids
    check_line(line=scene.line, finding="sound", remarks="", seen_verdicts=seen, by=scene.checker, at=at)


CRACKS = "Two pieces show cracks near the hinge."


def deviation(scene: CertificateScene, text: str = CRACKS, *, answer: str = "") -> Deviation:
    """A deviation found at receipt; `answer` is what the client said, to test anyway."""
    row = Deviation.objects.create(
        item=scene.item, text=text, raised_at=NOON - timedelta(days=4), raised_by=scene.bench.lead
    )
    if answer:
        answer_deviation(
            by=scene.bench.lead,
            at=NOON - timedelta(days=3),
            deviation=row,
            decision=DeviationAnswer.Decision.TEST_ANYWAY,
            answered_by="Carla Contact",
            answer=answer,
        )
    return row


def issued(scene: CertificateScene, *, at: datetime = ISSUED_AT, written: bool = True) -> Certificate:
    """The line's certificate, with its file unless told not to."""
    certificate = issue_certificate(order=scene.order, lines=[scene.line], by=scene.signatory, at=at)
    if written:
        write_certificate(certificate_id=certificate.pk, at=at)
    certificate.refresh_from_db()
    return certificate


def file_of(certificate: Certificate) -> StoredFile:
    """The certificate's file, which must be there."""
    assert certificate.pdf is not None
    return certificate.pdf


def amendment_of(certificate: Certificate) -> AmendmentContent:
    """What the certificate says about the one it replaces."""
    amendment = content_from_json(certificate.content).amendment
    assert amendment is not None
    return amendment


def a_photo(colour: tuple[int, int, int], size: tuple[int, int] = (480, 320)) -> bytes:
    """A PNG of one colour."""
    out = io.BytesIO()
    Image.new("RGB", size, colour).save(out, "PNG")
    return out.getvalue()


def spread_over_lines(scene: CertificateScene) -> list[OrderLine]:
    """Give each trial of an unchecked scene an order line and an item of its own, and check every line."""
    lines = []
    for position, trial in enumerate(scene.trials, start=1):
        specimen, item = trial.specimen, scene.item if position == 1 else lines_item(scene, position)
        line = OrderLine.objects.get(pk=item.order_line_id)
        line.specimens_ordered = 1
        line.save()
        specimen.order_line, specimen.item = line, item
        specimen.save()
        if position > 1:
            job = trial.job
            trial.job = Job.objects.create(
                order_line=line,
                technician=job.technician,
                rig=job.rig,
                handed_at=job.handed_at,
                handed_by=job.handed_by,
            )
            trial.save()
        lines.append(line)
    for line in lines:
        check_line(
            line=line,
            finding="sound",
            remarks="",
            seen_verdicts=line_standing(line).verdict_ids,
            by=scene.checker,
            at=CHECKED_AT,
        )
    return lines


def lines_item(scene: CertificateScene, position: int) -> Item:
    """An item of its own for a further line of the order."""
    line, item = OrderLine.objects.get(pk=scene.line.pk), Item.objects.get(order_line=scene.line)
    line.pk, line.position, line.subject = None, position, f"Plug insert {position}"
    line.save()
    item.pk, item.order_line, item.number = None, line, piece_number(scene.order.number, 500 + position)
    item.save()
    return item
