"""Recording checks: what is kept, what a failing one does, what is refused, what is struck out."""

from datetime import timedelta
from decimal import Decimal

import pytest

from calibration.actions.check_judging import CheckValues
from calibration.actions.checks import record_check, strike_check
from calibration.actions.instruments import OUT_OF_SERVICE, change_service
from calibration.models import InstrumentKind, InstrumentLimit, IntermediateCheck, RigKind
from calibration.queries.check_subjects import Subject
from calibration.queries.usability import usability
from labsite.ledger.queries import entries_about, ledger_faults
from labsite.ledger.refusals import Refused
from tests.calibration.checking import D, certified, gauge, planned, recorded
from tests.factories.calibration import CalibrationFactory, InstrumentFactory, RigFactory
from tests.factories.ledger import NOON, UserFactory

pytestmark = pytest.mark.usefixtures("lab")


@pytest.fixture
def tip():
    """A thermocouple in calibration whose foil check is planned at ± 10 K."""
    one = CalibrationFactory.create(accepted=True, instrument__code="TC-01").instrument
    planned(one, "foil")
    return one


def limit(instrument, unit, absolute=None, relative=None, **fields):
    made = {"made_at": NOON - timedelta(days=90), "made_by": UserFactory.create(), "source": "our own"}
    return InstrumentLimit.objects.create(
        instrument=instrument, unit=unit, absolute=absolute, relative=relative, **(made | fields)
    )


def acts(book):
    return [entry.act for entry in entries_about(book)]


def test_a_check_that_passed_is_kept_with_its_digits(tip):
    made = recorded(tip, "foil", indication=D("963.20"), foil_reference="true", remarks="new foil")
    made.refresh_from_db()
    kept = (made.reference, made.indication, made.unit, made.error_low, made.error_high, made.passed, made.remarks)
    assert kept == (D("961.78"), D("963.20"), "°C", D(-10), D(10), True, "new foil")
    assert str(made.indication) == "963.20"
    assert usability(tip, NOON).usable
    assert acts(tip.book)[-1] == "recorded a check"
    assert list(ledger_faults()) == []


def test_a_failing_check_takes_the_instrument_out_of_service_at_once(tip):
    made = recorded(tip, "foil", indication=D("970.1"), foil_reference="nominal")
    assert not made.passed
    change = tip.service_changes.get()
    assert (change.state, change.at, change.by) == (OUT_OF_SERVICE, NOON, made.entered_by)
    assert change.reason == f"check of 10 Mar 2026 failed: t{made.sentence[1:]}"
    assert not usability(tip, NOON).usable
    assert acts(tip.book)[-2:] == ["recorded a check", "took out of service"]


def test_a_failing_check_of_what_is_out_already_changes_nothing_more(tip):
    change_service(by=UserFactory.create(), at=NOON, instrument=tip, state=OUT_OF_SERVICE, reason="dropped")
    recorded(tip, "foil", indication=D("970.1"), foil_reference="nominal")
    assert tip.service_changes.count() == 1


def test_a_failing_flame_takes_the_rig_out_of_use():
    rig = RigFactory.create(kind=RigKind.NEEDLE_FLAME, code="NF-1")
    planned(rig, "flame", reference=D("23.5"), error_low=D("-1.0"), error_high=D("1.0"))
    good = recorded(rig, "flame", runs=(D("23.4"), D("23.6"), D("24.5")))
    rig.refresh_from_db()
    assert (good.passed, good.unit, rig.in_use) == (True, "s", True)
    recorded(rig, "flame", runs=(D("23.4"), D("23.6"), D("24.6")))
    rig.refresh_from_db()
    assert (rig.in_use, rig.version) == (False, 2)
    last = list(entries_about(rig.book))[-1]
    assert (last.act, last.data["after"]["in use"]) == ("took the rig out of use", False)


def test_two_instruments_are_compared_by_their_certificates():
    """Ours corrected 850.3 with U 1.2, theirs corrected 850.0 with U 0.5: 0.3 / 1.3; k 2 throughout."""
    ours, theirs = InstrumentFactory.create(code="TC-01"), InstrumentFactory.create(code="TC-03")
    certified(ours, ("850.0", "849.5", "1.2", "2"))
    certified(theirs, ("850.0", "850.4", "0.5", "2"))
    made = recorded(
        ours, "comparison", unit="°C", indication=D("849.8"), reference=D("850.4"), compared_with=theirs
    )  # fmt: skip
    assert (made.reference, made.e_n, made.passed, made.compared_with) == (D("850.00"), D("0.230769"), True, theirs)
    assert list(theirs.checks_made_with_it.all()) == [made]
    assert acts(theirs.book) == ["served a check"]


def test_a_factor_of_its_own_is_brought_to_the_houses():
    """U 1.3 with k 2.6 is u 0.5, so U 1.0 at k 2; both sides alike: 1.0 / √2 against 1."""
    ours, theirs = InstrumentFactory.create(), InstrumentFactory.create()
    certified(ours, ("850", "850", "1.3", "2.6"))
    certified(theirs, ("840", "840", "1.0", "2"), ("860", "860", "1.0", "2"))
    made = recorded(ours, "comparison", unit="°C", indication=D("850"), reference=D("849"), compared_with=theirs)
    assert (made.indication_uncertainty, made.e_n) == (D("1.0"), D("0.707107"))


@pytest.mark.parametrize(("factor", "words"), [(None, "states no U or no k there"), ("2", "849 °C is outside")])
def test_without_k_or_outside_the_range_there_is_no_e_n(factor, words):
    ours, theirs = InstrumentFactory.create(), InstrumentFactory.create()
    certified(ours, ("850", "850", "1.0", factor))
    certified(theirs, ("849", "849", "1.0", "2"))
    reading = D("850") if factor is None else D("849")
    with pytest.raises(Refused, match=words):
        recorded(ours, "comparison", unit="°C", indication=reading, reference=D("849"), compared_with=theirs)
    assert not IntermediateCheck.objects.exists()


def test_a_comparison_by_the_plan_needs_no_certificate_of_its_own():
    ours, theirs = InstrumentFactory.create(), CalibrationFactory.create(accepted=True).instrument
    planned(ours, "comparison", error_low=D("-2"), error_high=D("2"))
    made = recorded(ours, "comparison", unit="°C", indication=D("852"), reference=D("850"), compared_with=theirs)
    assert (made.passed, made.e_n) == (True, None)
    assert "not corrected" in made.sentence


@pytest.mark.parametrize(("indication", "passed"), [("100.4999", True), ("100.5", True), ("100.5001", False)])
def test_agreement_with_the_last_certificate_at_e_n_of_one(indication, passed):
    """√(0.4² + 0.3²) = 0.5."""
    one = gauge()
    certified(one, ("50", "50", "0.4", "2"), ("150", "150", "0.4", "2"), unit="N")
    values = {"unit": "N", "reference": D(100), "expanded_uncertainty": D("0.3"), "coverage_factor": D(2)}
    assert recorded(one, "agreement", indication=D(indication), **values).passed is passed


def test_the_laboratory_may_let_one_call_for_action(lab):
    lab.e_n_one_is_action = True
    lab.save()
    one = gauge()
    certified(one, ("50", "50", "0.4", "2"), ("150", "150", "0.4", "2"), unit="N")
    values = {"unit": "N", "reference": D(100), "expanded_uncertainty": D("0.3"), "coverage_factor": D(2)}
    assert not recorded(one, "agreement", indication=D("100.5"), **values).passed


def test_the_drift_allowance_widens_a_comparison_and_not_the_agreement():
    """The allowance is what the certificate does not say; agreement asks whether the certificate still holds."""
    one = gauge()
    certified(one, ("100", "100", "0.2", "2"), unit="N")
    limit(one, "N", absolute="5", drift_allowance="1")
    values = {"unit": "N", "reference": D(100), "expanded_uncertainty": D("0.2"), "coverage_factor": D(2)}
    assert recorded(one, "agreement", indication=D(100), **values).indication_uncertainty == D("0.2")


def test_masses_by_the_permitted_error_less_u():
    """Limit 1 % of the force, at least 0.02 N; U 0.005 N leaves 0.015 N at 100 g and 0.0440… N at 500 g."""
    one = gauge()
    limit(one, "N", absolute="0.02", relative="0.01")
    u = {"expanded_uncertainty": D("0.005"), "coverage_factor": D(2)}
    made = recorded(one, "masses", masses=((D(100), D("0.99")), (D(500), D("4.94"))), **u)
    assert (made.passed, made.indication, [each["read_n"] for each in made.readings]) == (
        True,
        D("4.94"),
        ["0.99", "4.94"],
    )
    made = recorded(one, "masses", masses=((D(100), D("1.00")), (D(500), D("4.94"))), **u)
    assert (made.passed, made.indication) == (False, D("1.00"))


def test_the_local_gravity_is_kept_with_its_source():
    one = gauge()
    planned(one, "masses", error_low=D("-0.02"), error_high=D("0.02"))
    made = recorded(
        one, "masses", masses=((D(100), D("0.98")),), gravity_m_s2=D("9.8123"), gravity_source="state survey, 2024"
    )  # fmt: skip
    assert (made.reference, made.remarks) == (D("0.98123"), "local g from state survey, 2024")
    with pytest.raises(Refused, match="where the local g comes from"):
        recorded(one, "masses", masses=((D(100), D("0.98")),), gravity_m_s2=D("9.8123"))


@pytest.mark.parametrize(
    ("kind", "values", "words"),
    [
        ("masses", {"masses": ((D(1), D(1)),)}, "is no check of"),
        ("foil", {"indication": D(960)}, "Say which figure"),
        ("foil", {"foil_reference": "nominal"}, "This is missing"),
        ("comparison", {"unit": "°C", "indication": D(1), "reference": D(1)}, "Choose the instrument"),
        ("other", {"unit": "", "indication": D(1), "reference": D(1)}, "Choose the unit"),
        ("other", {"unit": "°C", "indication": D(1), "reference": D(1)}, "nothing to judge by"),
        ("other", {"unit": "°C", "expanded_uncertainty": D(1)}, "Give k with U"),
        ("other", {"unit": "°C", "coverage_factor": D(2)}, "A k without U"),
    ],
)
def test_what_cannot_be_judged_is_refused_and_nothing_is_kept(tip, kind, values, words):
    with pytest.raises(Refused, match=words):
        recorded(tip, kind, **values)
    assert not IntermediateCheck.objects.exists()


def test_a_flame_without_a_plan_points_to_it():
    with pytest.raises(Refused, match="Plan it first"):
        recorded(RigFactory.create(kind=RigKind.SMALL_BURNER), "flame", runs=(D(44),))


def test_the_permitted_error_without_u_is_not_guessed():
    one = InstrumentFactory.create(kind=InstrumentKind.TIMER)
    limit(one, "s", absolute="0.5")
    with pytest.raises(Refused, match="give U and k") as refused:
        recorded(one, "other", unit="s", indication=D(60), reference=D(60))
    assert refused.value.field == "expanded_uncertainty"


def test_the_other_instrument_must_be_another_and_fit_for_use(tip):
    values = CheckValues(unit="°C", indication=D(1), reference=D(1))
    for other, words in ((tip, "compared with itself"), (InstrumentFactory.create(), "must not be used")):
        with pytest.raises(Refused, match=words):
            record_check(
                by=UserFactory.create(), at=NOON, subject=Subject(tip), kind="comparison", values=values,
                compared_with=other,
            )  # fmt: skip


@pytest.mark.parametrize(
    ("checked_at", "words"),
    [(NOON + timedelta(seconds=1), "still to come"), (NOON.replace(year=1989), "look at the year again")],
)
def test_moments_that_cannot_be_are_refused(tip, checked_at, words):
    with pytest.raises(Refused, match=words):
        recorded(tip, "foil", indication=D(960), foil_reference="nominal", checked_at=checked_at)


def test_a_check_told_later_is_judged_by_the_certificate_of_its_day():
    one = gauge()
    certified(one, ("100", "100", "0.4", "2"), unit="N")
    values = {"unit": "N", "reference": D(100), "expanded_uncertainty": D("0.3"), "coverage_factor": D(2)}
    with pytest.raises(Refused, match="no accepted calibration"):
        recorded(one, "agreement", indication=D(100), checked_at=NOON - timedelta(days=60), **values)


def test_striking_out_is_the_keepers_and_needs_a_reason(tip, person):
    made = recorded(tip, "foil", indication=D("970.1"), foil_reference="nominal")
    keeper = person("quality")
    for by, reason, words in ((person("lead"), "slip", "quality keeper"), (keeper, " ", "Write the reason")):
        with pytest.raises(Refused, match=words):
            strike_check(by=by, at=NOON, check=made, reason=reason)
    struck = strike_check(by=keeper, at=NOON, check=made, reason="read the wrong channel")
    assert (struck.struck_at, struck.struck_by, struck.struck_reason) == (NOON, keeper, "read the wrong channel")
    assert not usability(tip, NOON).usable  # the keeper puts it back by an act of its own
    assert acts(tip.book)[-1] == "struck out a check"
    with pytest.raises(Refused, match="already struck out"):
        strike_check(by=keeper, at=NOON, check=made, reason="again")


def test_numbers_of_many_digits_fit_their_columns(tip):
    """The longest product and the longest score that typed numbers of twelve characters make."""
    one = gauge()
    planned(one, "masses", error_low=D("-9999999999.9"), error_high=D("9999999999.9"))
    made = recorded(
        one, "masses", masses=((D("99999.999999"), D("0.0000000001")),), gravity_m_s2=D("9.8123456789"),
        gravity_source="survey",
    )  # fmt: skip
    made.refresh_from_db()
    assert made.reference == Decimal("99999.999999") * Decimal("9.8123456789") / 1000
    longest = max(len(str(value)) for value in (made.reference, made.indication, made.error_low))
    assert longest <= 30
