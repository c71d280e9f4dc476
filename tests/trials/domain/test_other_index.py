"""What the other index could be read as from one set of trials: offered with its reasons, and never counted.

Both tests share apparatus and conditioning and differ in their criteria (public abstracts of IEC 60695-2-12 and -2-13:
30 s after withdrawal and the layer here, 5 s of a single flame there). Courses are constructed from these rules.
"""

from collections.abc import Iterable
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from tests.trials.domain.glow_wire_trial import course, row, steady_readings, trial
from trials.domain.line_result import Asked, LineTrial
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import EDITIONS, method_edition
from trials.domain.other_index import OtherReading, RanTrial, other_edition, other_reading
from trials.domain.records import Conditioning, Observation, RecordError, TrialRecord

D = Decimal
GWFI = method_edition("glow-wire-flammability-index@2021")
GWIT = method_edition("glow-wire-ignition-temperature@2021")
PLATE = {"nominal_mm": D("3.0"), "thickness_mm": D("3.02")}
QUIET = course()
LONG_FLAME = course(row("ignites", "12.0"), row("flame_out", "20.1"))
"""Out before the withdrawal, so nothing for the flammability index, and longer than 5 s."""
LATE_FLAME = course(row("ignites", "12.0"), row("flame_out", "60.3"))


def record(level: int, rows: Iterable[Observation], edition: MethodEdition = GWFI, **changed: Any) -> TrialRecord:
    """A trial on a plate, right for both methods up to what its rows say; a layer lies below it."""
    known = trial(*rows, edition=edition, severity=D(level), temperature_readings=steady_readings(str(level)),
                  conditioning=Conditioning(D(180_000), D(30)))  # fmt: skip
    return replace(known, setup={**known.setup, **PLATE, **changed.pop("setup", {})}, **changed)


def ran(*trials: tuple[int, tuple[Observation, ...]], edition: MethodEdition = GWFI) -> list[RanTrial]:
    """Trials as (level, rows), named and begun in their order."""
    return [RanTrial(f"{n:02d}", record(level, rows, edition), n) for n, (level, rows) in enumerate(trials, start=1)]


def read(trials: list[RanTrial], own: MethodEdition = GWFI, other: MethodEdition = GWIT) -> OtherReading:
    return other_reading(own, other, trials)


def test_the_two_methods_name_each_other_by_year() -> None:
    ours = [key for key in EDITIONS if key.startswith(("glow-wire-f", "glow-wire-i"))]
    found = {key: other_edition(EDITIONS[key]) for key in ours}
    assert {key: other and other.key for key, other in found.items()} == {
        f"{one}@{year}": f"{other}@{year}"
        for one, other in ((GWFI.slug, GWIT.slug), (GWIT.slug, GWFI.slug))
        for year in ("2000", "2010", "2014", "2021")
    }
    assert other_edition(method_edition("tracking@2020")) is None


def test_a_set_that_ends_the_other_search_is_offered_as_its_result() -> None:
    """Passed for -2-12 at 750 and 775, yet with flames of 8.1 s at 775: GWIT 775/3.0 by the rule of -2-13."""
    trials = ran(*[(750, QUIET)] * 3, *[(775, LONG_FLAME)] * 3)
    found = read(trials)
    assert (found.may_be_read, found.result, found.missing) == (True, "GWIT: 775/3.0", None)
    assert found.sentence == "Offered, not counted: 6 trials could be read as GWIT: 775/3.0."
    assert [(level.text, level.state) for level in found.levels] == [("750 °C", "passed"), ("775 °C", "failed")]
    assert found.reasons[0] == "Run for GWFI by 2-12:2021, read by the criteria of 2-13:2021."


def test_the_order_line_itself_stays_as_it_was() -> None:
    trials = ran(*[(750, QUIET)] * 3, *[(775, LONG_FLAME)] * 3)
    line = [LineTrial(t.specimen, GWFI.judge(t.record), t.sequence, t.record.severity) for t in trials]
    before = GWFI.judge_line(Asked(None, 3), line)
    read(trials)
    assert GWFI.judge_line(Asked(None, 3), line) == before
    assert (before.state, [level.state for level in before.levels]) == ("more specimens needed", ["passed", "passed"])


def test_a_set_that_would_need_more_says_what() -> None:
    found = read(ran(*[(850, QUIET)] * 3, (900, LATE_FLAME)))
    assert (found.may_be_read, found.result) == (False, "")
    assert found.missing is not None
    assert (found.missing.severity, found.missing.specimens) == (D(875), 3)
    assert found.sentence == "GWIT cannot be read from 4 trials: 3 more specimens would be needed."


def test_a_level_left_at_its_first_failing_specimen_may_be_open_for_the_other() -> None:
    """Glow of 40 s fails -2-12 at once; -2-13 does not judge glow: one plate has passed there, two are missing."""
    glow = course(row("glow_starts", "20.0"), row("glow_ends", "70.0"), watch="75.0")
    found = read(ran(*[(750, QUIET)] * 3, (775, glow), (800, LATE_FLAME)))
    assert not found.may_be_read
    assert found.missing is not None
    assert (found.missing.severity, found.missing.specimens) == (D(775), 2)


def test_an_end_that_is_not_recorded_bars_the_reading() -> None:
    """A flame after withdrawal known to have gone on too long fails -2-12; its length, for -2-13, is known enough."""
    open_flame = course(row("ignites", "62.0"), watch="90.0")
    found = read(ran(*[(750, QUIET)] * 3, *[(775, LONG_FLAME)] * 2, (775, open_flame)))
    assert (found.may_be_read, found.result) == (False, "")
    assert found.sentence == "GWIT cannot be read: one trial does not tell."
    assert found.reasons[0].startswith("Specimen 06 at 775 °C does not tell: ")


def test_without_a_layer_recorded_there_is_no_flammability_index() -> None:
    no_layer = dict.fromkeys(("new_layer", "layer_distance_mm", "tissue_g_m2", "board_mm"))
    rows = [*[(750, QUIET)] * 3, (775, LONG_FLAME)]
    trials = [
        RanTrial(f"{n:02d}", record(level, own, GWIT, setup=no_layer), n)
        for n, (level, own) in enumerate(rows, start=1)
    ]
    found = read(trials, GWIT, GWFI)
    assert (found.may_be_read, found.result) == (False, "")
    assert found.sentence == "GWFI cannot be read: 4 trials do not tell."
    assert found.reasons == (
        *(f"Specimen {n} at 750 °C does not tell: new tissue under this specimen is not recorded (and 3 more reasons)."
          for n in ("01", "02", "03")),
        "Specimen 04 at 775 °C does not tell: new tissue under this specimen is not recorded (and 3 more reasons).",
    )  # fmt: skip


def test_with_the_layer_recorded_the_flammability_index_can_be_read() -> None:
    found = read(ran(*[(900, LONG_FLAME)] * 3, *[(930, LATE_FLAME)] * 3, edition=GWIT), GWIT, GWFI)
    assert (found.may_be_read, found.result) == (True, "GWFI: 900/3.0")


def test_the_layer_catching_decides_the_one_and_not_the_other() -> None:
    caught = (*QUIET, row("layer_catches", "20.0"))
    found = read(ran(*[(750, QUIET)] * 3, (775, caught), (775, QUIET), (775, QUIET), edition=GWIT), GWIT, GWFI)
    assert (found.may_be_read, found.result) == (True, "GWFI: 750/3.0")


def test_a_level_the_other_does_not_have_says_nothing() -> None:
    found = read(ran((500, QUIET), edition=GWIT), GWIT, GWFI)
    assert found.sentence == "GWFI cannot be read: no trial tells."
    assert found.reasons == ("Specimen 01 says nothing: 500 °C is no level of 2-12:2021.",)


def test_an_invalid_trial_is_left_out_of_both() -> None:
    trials = ran(*[(750, QUIET)] * 3, *[(775, LONG_FLAME)] * 3)
    spoiled = record(775, QUIET, setup={"force_n": D("1.20")})
    found = read([*trials, RanTrial("07", spoiled, 7)])
    assert (found.may_be_read, found.result) == (True, "GWIT: 775/3.0")
    assert found.reasons[-1].startswith("Specimen 07 is left out of both: Invalid at 775 °C")


def test_plates_of_two_thicknesses_are_not_read_as_one() -> None:
    trials = ran(*[(750, QUIET)] * 3)
    thin = [
        RanTrial(f"{n:02d}", record(775, LONG_FLAME, setup={"nominal_mm": D("1.5"), "thickness_mm": D("1.5")}), n)
        for n in (4, 5, 6)
    ]
    found = read([*trials, *thin])
    assert (found.may_be_read, found.result) == (False, "")
    assert "different thickness" in found.sentence


def test_apparatus_of_another_edition_bars_the_reading() -> None:
    found = read(ran(*[(750, QUIET)] * 3), GWFI, method_edition("glow-wire-ignition-temperature@2014"))
    assert found.sentence == "GWIT cannot be read: the apparatus is of another edition."
    (reason,) = found.reasons
    assert reason == (
        "The trials were run on the apparatus of IEC 60695-2-10:2021, IEC 60695-2-13:2010+A1:2014 asks for "
        "IEC 60695-2-10:2013."
    )


def test_trials_of_two_methods_are_never_one_set() -> None:
    mixed = [*ran((750, QUIET)), RanTrial("02", record(750, QUIET, GWIT), 2)]
    with pytest.raises(RecordError, match="not of glow-wire-flammability-index@2021"):
        read(mixed)


def test_a_correction_is_read_as_it_stands() -> None:
    corrected = (*LONG_FLAME, row("flame_out", "16.9", row="later", replaces="flame_out 20.1", reason="late press"))
    trials = ran(*[(750, QUIET)] * 3, *[(775, corrected)] * 3, *[(800, LONG_FLAME)] * 3)
    assert read(trials).result == "GWIT: 800/3.0"


def test_the_order_of_the_trials_does_not_matter() -> None:
    trials = ran(*[(750, QUIET)] * 3, *[(775, LONG_FLAME)] * 3)
    assert read(trials[::-1]) == read(trials)
