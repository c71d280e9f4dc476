"""Records that do not fit their edition are refused with the place and the reason."""

from dataclasses import replace
from decimal import Decimal

import pytest

from tests.trials.domain.glow_wire_trial import EDITION_2021, course, row, trial
from trials.domain.methods.registry import EDITIONS
from trials.domain.record_checks import check_record
from trials.domain.records import Conditioning, InstrumentUse, Observation, RecordError, TrialRecord
from trials.domain.stability import TemperatureReading

D = Decimal
RIGHT = trial(*course())


@pytest.mark.parametrize(
    ("record", "sentence"),
    [
        (
            replace(RIGHT, method_key="glow-wire-end-product@2014"),
            "The record is of glow-wire-end-product@2014, not of glow-wire-end-product@2021.",
        ),
        (
            replace(RIGHT, severity=D(851)),
            (
                "severity: 851 °C is not a level of glow-wire-end-product@2021 "
                "(500, 550, 600, 650, 700, 750, 800, 850, 900, 960)."
            ),
        ),
        (replace(RIGHT, severity=D("NaN")), "severity: NaN is not a number that can be judged."),
        (
            trial(*course(), setup={"forse_n": D(1)}),
            "setup: 'forse_n' is not a set-up value of glow-wire-end-product@2021.",
        ),
        (trial(*course(), setup={"force_n": "0.96"}), "setup, force_n: a number is needed, not '0.96'."),
        (trial(*course(), setup={"force_n": True}), "setup, force_n: a number is needed, not True."),
        (
            trial(*course(), setup={"force_n": D("Infinity")}),
            "setup, force_n: Infinity is not a number that can be judged.",
        ),
        (trial(*course(), setup={"force_n": D("1E+20")}), "setup, force_n: 1E+20 has more than 15 digits."),
        (trial(*course(), setup={"tip_clean": D(1)}), "setup, tip_clean: yes or no is needed, not Decimal('1')."),
        (
            trial(*course(), setup={"specimen_form": "a heap"}),
            (
                "setup, specimen_form: 'a heap' is none of complete product, part cut out, part taken off, "
                "plate of the material."
            ),
        ),
        (trial(*course(), setup={"point": D(3)}), "setup, point: a text is needed, not Decimal('3')."),
        (
            trial(*course(row("boom", "1"))),
            "observation boom 1: 'boom' is not a kind of observation of glow-wire-end-product@2021.",
        ),
        (trial(*course(row("drip"))), "observation drip None (Drip): the time is missing."),
        (trial(*course(row("flame_height", "9"))), "observation flame_height 9 (Flame height): the value is missing."),
        (trial(*course(row("drip", "1", D(2)))), "observation drip 1 (Drip): takes no value, not Decimal('2')."),
        (
            trial(*course(row("ignites", "1", "green"))),
            "observation ignites 1 (Ignites): 'green' is none of bright, colourless, corona.",
        ),
        (
            trial(temperature_readings=(TemperatureReading(D(0), D("sNaN")),)),
            "temperature reading 1, read_c: sNaN is not a number that can be judged.",
        ),
        (trial(conditioning=Conditioning(D(-1), None)), "conditioning, counted_s: -1 is below zero."),
        (
            trial(instruments=(InstrumentUse("kettle", "K-1", True),)),
            (
                "instruments: 'kettle' is not a role of glow-wire-end-product@2021 "
                "(ammeter, force gauge, indicator, length gauge, thermocouple, timer)."
            ),
        ),
    ],
)
def test_a_record_that_does_not_fit(record: TrialRecord, sentence: str) -> None:
    with pytest.raises(RecordError) as refusal:
        check_record(EDITION_2021, record)
    assert str(refusal.value) == sentence


def test_a_binary_fraction_is_refused() -> None:
    with pytest.raises(RecordError, match=r"^setup, force_n: a number is needed, not 0\.96\.$"):
        check_record(EDITION_2021, trial(setup={"force_n": 0.96}))


def test_a_record_that_fits_says_nothing() -> None:
    check_record(EDITION_2021, RIGHT)


EVERY_NUMBER = [
    *((key, f"setup, {field.key}", field.unit, {"setup": {field.key: D(-1)}})
      for key, edition in sorted(EDITIONS.items()) for field in edition.setup_fields if field.kind == "number"),
    *((key, f"observation 7 ({kind.title})", kind.unit,
       {"observations": (Observation("7", kind.key, D(-1) if kind.timed else None, D(-1)),)})
      for key, edition in sorted(EDITIONS.items()) for kind in edition.observation_kinds
      if kind.value_kind == "number"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "place", "unit", "members"), [one for one in EVERY_NUMBER if one[2] not in ("°C", "K")]
)
def test_no_number_but_a_temperature_is_below_zero(key, place, unit, members):
    edition = EDITIONS[key]
    with pytest.raises(RecordError) as refusal:
        check_record(edition, TrialRecord(key, edition.severities[0].value, **members))
    assert str(refusal.value) == f"{place}: {f'-1 {unit}'.rstrip()} is below zero."


@pytest.mark.parametrize(("key", "place", "unit", "members"), [one for one in EVERY_NUMBER if one[2] in ("%", "% RH")])
def test_no_share_is_more_than_the_whole(key, place, unit, members):
    edition = EDITIONS[key]
    plan = Conditioning(plan=edition.conditioning.key)

    def record(share: str) -> TrialRecord:
        setup = dict.fromkeys(members["setup"], D(share))
        return TrialRecord(key, edition.severities[0].value, setup=setup, conditioning=plan)

    check_record(edition, record("100"))
    with pytest.raises(RecordError) as refusal:
        check_record(edition, record("100.1"))
    assert str(refusal.value) == f"{place}: 100.1 {unit} is above 100 %."


def test_a_temperature_may_be_below_zero():
    check_record(EDITION_2021, trial(*course(), setup={"room_temperature_c": D(-1)}))


def test_what_is_below_zero_is_named_with_its_unit():
    with pytest.raises(RecordError, match=r"^setup, light_lx: -5 lx is below zero\.$"):
        check_record(EDITION_2021, trial(*course(), setup={"light_lx": D(-5)}))
