"""What an equipment record lacks, letter by letter of ISO/IEC 17025:2017, 6.4.13 (titles in our own words)."""

from dataclasses import replace
from datetime import date
from typing import Any

import pytest

from calibration.domain.record_completeness import (
    CalibrationRecord,
    Held,
    PointFact,
    RecordFacts,
    record_completeness,
)

CALIBRATED = CalibrationRecord(
    calibrated_on=date(2026, 1, 15),
    due_on=date(2027, 1, 15),
    accepted_by="Kim Keeper",
    accepted_on=date(2026, 1, 20),
    has_file=True,
    certificate_number="NM-7",
    adjusted=False,
    points=(PointFact(has_uncertainty=True, has_coverage=True),),
)
WHOLE = RecordFacts(
    code="IN-01",
    runs_software=True,
    versions="firmware 1.4",
    maker="Invented Meters",
    model_name="T-9",
    serial_number="0042",
    place="B-1, bench",
    rig="GW-1",
    gone="",
    calibration=CALIBRATED,
    limits=1,
    maintenance_plan="Contacts cleaned each year.",
    maintained_on=(),
    events=0,
    unanswered="",
)


def with_calibration(**changes: Any) -> RecordFacts:
    return replace(WHOLE, calibration=replace(CALIBRATED, **changes))


def test_a_whole_record_says_what_stands_under_each_letter():
    found = record_completeness(WHOLE)
    assert [(part.letter, part.held.value, part.sentence) for part in found.parts] == [
        ("a", "complete", "IN-01, firmware 1.4."),
        ("b", "complete", "Invented Meters, T-9, 0042."),
        ("c", "complete", "Accepted by Kim Keeper on 20 Jan 2026."),
        ("d", "complete", "B-1, bench; Mounted on GW-1."),
        ("e", "complete", "Calibrated on 15 Jan 2026, due on 15 Jan 2027."),
        ("f", "does not apply", "It is a measuring instrument, no reference material."),
        ("g", "complete", "Contacts cleaned each year; no maintenance is recorded."),
        ("h", "does not apply", "Nothing of the kind is told."),
    ]
    assert (found.complete, found.missing, found.letters) == (True, (), "")


PROOF = "an accepted calibration"
NO_K = (PointFact(has_uncertainty=True, has_coverage=True), PointFact(has_uncertainty=True, has_coverage=False))


@pytest.mark.parametrize(
    ("facts", "missing"),
    [
        (replace(WHOLE, versions=""), ("a: software or firmware version, or “none”",)),
        (replace(WHOLE, versions="", runs_software=False), ()),
        (replace(WHOLE, maker="", serial_number=""), ("b: maker, serial number",)),
        (replace(WHOLE, model_name=""), ("b: type or model",)),
        (with_calibration(has_file=False), ("c: the certificate of 15 Jan 2026",)),
        (replace(WHOLE, place=""), ()),
        (replace(WHOLE, rig=""), ()),
        (replace(WHOLE, place="", rig=""), ("d: its place",)),
        (replace(WHOLE, place="", rig="", gone="It was lost on 3 Mar 2026"), ()),
        (replace(WHOLE, calibration=None), (f"c: {PROOF}", f"e: {PROOF}")),
        (with_calibration(certificate_number=""), ("e: certificate number",)),
        (with_calibration(points=()), ("e: points as found or as left",)),
        (with_calibration(points=NO_K), ("e: k at every point",)),
        (with_calibration(points=(PointFact(has_uncertainty=False, has_coverage=True),)), ("e: U at every point",)),
        (with_calibration(adjusted=None), ("e: whether it was adjusted",)),
        (replace(WHOLE, limits=0), ("e: the limits it is judged by",)),
        (replace(WHOLE, maintenance_plan=""), ("g: maintenance plan, or why there is none",)),
        (replace(WHOLE, events=2, unanswered="it was damaged on 3 Mar 2026"),
         ("h: what was done after it was damaged on 3 Mar 2026",)),
        (replace(WHOLE, events=2), ()),
    ],
)  # fmt: skip
def test_each_gap_is_named_under_its_letter(facts, missing):
    found = record_completeness(facts)
    assert found.missing == missing
    assert found.complete is (missing == ())
    assert [part.letter for part in found.parts if part.held is Held.MISSING] == [one[0] for one in missing]


def test_maintenance_and_events_are_counted():
    facts = replace(WHOLE, maintained_on=(date(2026, 2, 1), date(2025, 2, 1)), events=1)
    sentences = {part.letter: part.sentence for part in record_completeness(facts).parts}
    assert sentences["g"] == "Contacts cleaned each year; maintained on 1 Feb 2026, last of 2."
    assert sentences["h"] == "1 entry, nothing is open."
