"""Opening a trial and entering its set-up: each gate refuses with its reason, and what is written is complete."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.utils.timezone import localtime

from calibration.actions.commissioning import open_commissioning
from calibration.models import ServiceChange
from labsite.ledger.models import Entry
from labsite.ledger.refusals import Refused
from specimens.models import Deviation, StaySpecimen
from tests.factories.bench import METHOD, SETUP, Scene, bench_scene, instrument, opened_trial
from tests.factories.ledger import NOON, UserFactory
from trials.actions.bench import enter_setup_values, open_trial, take_over_rig_values
from trials.domain.methods.registry import method_edition
from trials.models import InstrumentUse, Job, SetupValue, Trial

pytestmark = pytest.mark.django_db


def opened(scene: Scene, number: int = 0, **changes: Any) -> Trial:
    arguments: dict[str, Any] = {
        "by": scene.technician,
        "at": NOON,
        "specimen": scene.specimens[number],
        "instruments": scene.by_role(),
    }
    return open_trial(**(arguments | changes))


def test_opening_stores_who_what_and_every_instrument_with_its_calibration(scene):
    trial = opened(scene)
    assert (trial.job, trial.specimen, trial.method_key, trial.severity) == (
        scene.job, scene.specimens[0], METHOD, Decimal(850),
    )  # fmt: skip
    assert (trial.rig, trial.opened_by, trial.opened_at) == (scene.rig, scene.technician, NOON)
    assert trial.authorisation == scene.authorisation
    uses = InstrumentUse.objects.filter(trial=trial).order_by("role")
    expected_due = (NOON - timedelta(days=60)).date().replace(year=2027)  # a year after the calibration
    assert [(use.role, use.instrument.code, use.calibration.instrument_id, use.due_on) for use in uses] == [
        (role, code, scene.instruments[code].pk, expected_due)
        for role, code in [
            ("ammeter", "AM-01"), ("force gauge", "FG-02"), ("indicator", "IN-02"), ("length gauge", "LG-01"),
            ("thermocouple", "TC-05"), ("timer", "TM-01"),
        ]
    ]  # fmt: skip
    entry = Entry.objects.get(book__name=scene.line.order.book)
    assert (entry.act, entry.data["after"]["specimen"], entry.data["after"]["rig"]) == (
        "opened a trial",
        scene.specimens[0].number,
        "GW-1",
    )


def test_an_optional_instrument_may_be_left_out(scene):
    trial = opened(scene, instruments=scene.by_role() | {"length gauge": None})
    assert not InstrumentUse.objects.filter(trial=trial, role="length gauge").exists()


def test_nobody_without_an_authorisation_opens_a_trial(scene):
    scene.authorisation.until_on = (NOON - timedelta(days=1)).date()
    scene.authorisation.save()
    with pytest.raises(Refused, match=r"not authorised to perform trials by .* ran out on 9 Mar 2026"):
        opened(scene)


def test_a_job_handed_to_somebody_else_is_refused(scene):
    other = UserFactory(full_name="Otto Other", roles=["technician"])
    with pytest.raises(Refused, match="handed to Tess Technician"):
        opened(scene, by=other)


def test_other_roles_do_not_perform_trials(scene):
    counter = UserFactory(roles=["counter"])
    Job.objects.filter(pk=scene.job.pk).update(technician=counter)
    with pytest.raises(Refused, match="performed by technicians"):
        opened(scene, by=counter)


def test_a_specimen_of_a_line_that_is_not_handed_out_is_refused(scene):
    Job.objects.update(superseded_at=NOON)
    with pytest.raises(Refused, match="belongs to no job at the bench"):
        opened(scene)


def test_an_order_changed_since_its_review_is_refused(scene):
    order = scene.line.order
    order.version += 1
    order.save()
    with pytest.raises(Refused, match="contract review of order"):
        opened(scene)


def test_an_unanswered_deviation_is_refused_with_its_words(scene):
    Deviation.objects.create(
        item=scene.specimens[0].item, text="Two have a crack", raised_at=NOON, raised_by=scene.lead
    )
    with pytest.raises(Refused, match="Two have a crack"):
        opened(scene)


def test_a_specimen_with_too_few_hours_is_refused(lab):
    scene = bench_scene(NOON, hours=20)  # 24 h are asked: IEC 60695-2-11, a laboratory's public page
    with pytest.raises(Refused, match=r"is not conditioned for at least 24 h\. 20 h"):
        opened(scene)


def test_a_specimen_still_in_its_chamber_is_refused(scene):
    StaySpecimen.objects.filter(specimen=scene.specimens[0]).update(out_at=None, out_by=None)
    with pytest.raises(Refused, match="is still in C-"):
        opened(scene)


def test_an_instrument_past_its_due_day_is_refused_with_the_reason(scene):
    late = instrument(900, "TC-99", "thermocouple", scene.lead, NOON, days_ago=400)
    with pytest.raises(Refused, match="TC-99 must not be used now") as refusal:
        opened(scene, instruments=scene.by_role() | {"thermocouple": late})
    assert refusal.value.field == "instrument_thermocouple"
    assert not Trial.objects.exists()


def test_the_due_day_itself_is_usable_to_its_end(scene):
    last_day = instrument(901, "TC-98", "thermocouple", scene.lead, NOON, days_ago=365)  # due today
    opened(scene, instruments=scene.by_role() | {"thermocouple": last_day})
    midnight = localtime(NOON, scene_zone()).replace(hour=0) + timedelta(days=1)
    with pytest.raises(Refused, match="TC-98 must not be used now"):
        opened(scene, 1, at=midnight, instruments=scene.by_role() | {"thermocouple": last_day})


def scene_zone():
    from labsite.ledger.queries import laboratory_zone

    return laboratory_zone()


def test_an_instrument_out_of_service_is_refused(scene):
    ServiceChange.objects.create(
        instrument=scene.instruments["FG-02"], state="out of service", reason="dropped", at=NOON, by=scene.lead
    )
    with pytest.raises(Refused, match=r"FG-02 must not be used now.*dropped"):
        opened(scene)


def test_an_instrument_of_another_kind_is_refused(scene):
    with pytest.raises(Refused, match="FG-02 is no thermocouple"):
        opened(scene, instruments=scene.by_role() | {"thermocouple": scene.instruments["FG-02"]})


def test_a_missing_instrument_is_refused(scene):
    with pytest.raises(Refused, match="No timer is chosen"):
        opened(scene, instruments=scene.by_role() | {"timer": None})


def test_a_specimen_has_one_open_trial(scene):
    opened(scene)
    with pytest.raises(Refused, match="has a trial open on 26-0001-002"):
        opened(scene)


def test_set_up_values_keep_their_digits_and_a_later_one_is_a_new_row(scene):
    trial = opened(scene)
    first = {"force_n": "0,960", "tip_clean": "yes"}
    assert enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values=first) == ["force_n", "tip_clean"]
    later = {"force_n": "0.75", "tip_clean": "yes"}
    assert enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values=later) == ["force_n"]
    rows = SetupValue.objects.filter(trial=trial).order_by("pk").values_list("key", "value")
    assert list(rows) == [("force_n", "0.960"), ("tip_clean", "yes"), ("force_n", "0.75")]
    entry = Entry.objects.filter(act="entered set-up values").order_by("sequence").last()
    assert entry is not None
    assert (entry.data["before"], entry.data["after"]) == ({"force_n": "0.960"}, {"force_n": "0.75"})


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("force_n", "about 1", "Force: “about 1” is not a number"),
        ("light_lx", "-5", "Light at the specimen: -5 is below zero"),
        ("room_humidity_percent", "117.6", "Room humidity: 117.6 is above 100 %."),
        ("light_lx", "1.234", "Light at the specimen: “1.234” can be read in two ways"),
        ("tip_clean", "perhaps", "Tip clean, no crack: yes or no is needed"),
        ("specimen_form", "a lump", "What is tested: “a lump” is none of"),
        ("force_n", "1" * 16, "Force: 1111111111111111 has more than 15 digits"),
        ("force_n", "0.0000000000000001", "Force: 1E-16 has more than 15 digits"),
        ("force_n", "9" * 100_000, "has more than 15 digits"),
        ("force_n", "１２", "Force: “１２” is not a number"),
        ("force_n", "1e3", "Force: “1e3” is not a number"),
        ("point", "p" * 201, "200 characters are kept, this has 201"),
        ("volume", "3", "“volume” is not a set-up value"),
    ],
)
def test_a_text_that_is_not_what_the_field_asks_is_refused_and_nothing_is_written(scene, key, text, words):
    trial = opened(scene)
    with pytest.raises(Refused, match=words):
        enter_setup_values(by=scene.technician, at=NOON, trial_id=trial.pk, values={"penetration_mm": "7.0", key: text})
    assert not SetupValue.objects.exists()


def test_only_the_performer_writes_in_a_trial(scene):
    trial = opened(scene)
    with pytest.raises(Refused, match="Tess Technician performs this trial"):
        enter_setup_values(by=scene.lead, at=NOON, trial_id=trial.pk, values={"force_n": "0.96"})


def test_the_rig_values_of_the_last_trial_are_taken_over_and_nothing_else(scene):
    first = opened(scene)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=first.pk, values=SETUP)
    second = opened(scene, 1)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=second.pk, values={"light_lx": "9"})
    taken = take_over_rig_values(by=scene.technician, at=NOON, trial_id=second.pk)
    assert set(taken) == {
        "penetration_mm", "layer_distance_mm", "tissue_g_m2", "board_mm", "chamber_m3", "thermocouple_mm",
        "foil_check_c",
    }  # fmt: skip
    values = dict(SetupValue.objects.filter(trial=second).values_list("key", "value"))
    assert values == {key: SETUP[key] for key in taken} | {"light_lx": "9"}


def test_the_rig_values_of_another_edition_of_the_method_are_taken_over(scene):
    first = opened(scene)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=first.pk, values=SETUP)
    Trial.objects.filter(pk=first.pk).update(method_key="glow-wire-end-product@2014")
    second = opened(scene, 1)
    taken = take_over_rig_values(by=scene.technician, at=NOON, trial_id=second.pk)
    fields = method_edition(METHOD).setup_fields
    assert set(taken) == {field.key for field in fields if field.stays_with_rig and field.key in SETUP}
    assert dict(SetupValue.objects.filter(trial=second).values_list("key", "value")) == {k: SETUP[k] for k in taken}


def test_the_rig_values_of_another_method_are_not_taken_over(scene):
    first = opened(scene)
    enter_setup_values(by=scene.technician, at=NOON, trial_id=first.pk, values=SETUP)
    Trial.objects.filter(pk=first.pk).update(method_key="glow-wire-flammability-index@2021")
    with pytest.raises(Refused, match="no earlier trial on GW-1"):
        take_over_rig_values(by=scene.technician, at=NOON, trial_id=opened(scene, 1).pk)


def test_without_an_earlier_trial_there_is_nothing_to_take_over(scene):
    trial = opened(scene)
    with pytest.raises(Refused, match="no earlier trial on GW-1"):
        take_over_rig_values(by=scene.technician, at=NOON, trial_id=trial.pk)


def test_nothing_is_tested_on_a_rig_whose_list_is_open(scene):
    open_commissioning(by=scene.lead, at=NOON, rig=scene.rig, occasion="moved", reason="From B-1 to B-2")
    with pytest.raises(Refused, match=r"GW-1 is moved and not released for use yet\. A lead can hand the job"):
        opened_trial(scene)
