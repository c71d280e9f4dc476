"""Many stored trials for the benchmarks: every worked example, varied, signed, and multiplied inside the database."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any

from django.db import connection
from django.db.models import Model

from tests.factories.bench import Scene, bench_scene
from tests.factories.ledger import NOON
from trials.domain.judge_file import judge_case
from trials.domain.methods.base import MethodEdition
from trials.domain.methods.registry import method_edition
from trials.domain.record_json import record_to_json
from trials.domain.records import TrialRecord
from trials.domain.verdicts import to_json, verdict_fingerprint
from trials.models import SignedVerdict, Trial

WORKED = Path(__file__).parents[2] / "fixtures" / "worked"
RIGS = 5
TENTH = Decimal("0.1")


def stored_trials(count: int, variants: int = 20) -> None:
    """Fill an empty database with `count` signed trials; `variants` of each worked example differ in their figures."""
    scene = bench_scene(NOON)
    examples = list(_examples())
    rows = [(edition, _varied(record, n)) for n in range(variants) for edition, record in examples][:count]
    trials, verdicts = [], []
    for pk, (edition, record) in enumerate(rows, start=1):
        trials.append(_trial(scene, pk, edition, record))
        verdicts.append(_signed(scene, pk, edition, record))
    Trial.objects.bulk_create(trials)
    SignedVerdict.objects.bulk_create(verdicts, batch_size=500)
    _multiply(Trial, len(rows), count, ("id",))
    _multiply(SignedVerdict, len(rows), count, ("id", "trial_id"))
    _settle()


def _examples() -> Iterator[tuple[MethodEdition, TrialRecord]]:
    for file in sorted(WORKED.glob("*/*.json")):
        case = judge_case(file.read_text("utf-8"))
        if case.edition is method_edition(case.edition.key):  # a file with figures of its own is another edition
            yield from ((case.edition, record) for _, record, _ in case.records)


def _varied(record: TrialRecord, n: int) -> TrialRecord:
    """The record with readings some tenths off, other hours in the chamber, and the instruments of another rig."""
    readings = tuple(
        replace(one, read_c=one.read_c + TENTH * ((n + place) % 7))
        for place, one in enumerate(record.temperature_readings)
    )
    known = record.conditioning
    hours = None if known.counted_s is None else known.counted_s + 60 * n
    uses = tuple(replace(one, code=f"{one.code}/{n % RIGS}") for one in record.instruments)
    return replace(
        record, temperature_readings=readings, conditioning=replace(known, counted_s=hours), instruments=uses
    )


def _trial(scene: Scene, pk: int, edition: MethodEdition, record: TrialRecord) -> Trial:
    level: Any = record.severity  # the column keeps a Decimal's digits
    return Trial(
        pk=pk,
        job=scene.job,
        specimen=scene.specimens[0],
        method_key=edition.key,
        severity=level,
        rig=scene.rig,
        opened_at=NOON,
        opened_by=scene.technician,
        authorisation=scene.authorisation,
    )


def _signed(scene: Scene, pk: int, edition: MethodEdition, record: TrialRecord) -> SignedVerdict:
    verdict = edition.judge(record)
    return SignedVerdict(
        pk=pk,
        trial_id=pk,
        outcome=verdict.outcome,
        sentence=verdict.sentence,
        record=record_to_json(record),
        verdict=to_json(verdict),
        verdict_sha256=verdict_fingerprint(verdict),
        rule_version=str(verdict.rule_version),
        signed_at=NOON + timedelta(minutes=10),
        signed_by=scene.technician,
    )


def _settle() -> None:
    """Bring the database into the state it has at rest: on SQLite what was written last stands in a file of its own."""
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA wal_checkpoint(TRUNCATE)" if connection.vendor == "sqlite" else "ANALYZE")


def _multiply(model: type[Model], have: int, wanted: int, keys: tuple[str, ...]) -> None:
    """Copy the first `have` rows until there are `wanted`, counting their keys on, without leaving the database."""
    table = model._meta.db_table
    columns = [str(field.column) for field in model._meta.concrete_fields]
    with connection.cursor() as cursor:
        while have < wanted:
            taken = ", ".join(f"{name} + %(have)s" if name in keys else name for name in columns)
            cursor.execute(
                f"INSERT INTO {table} ({', '.join(columns)}) SELECT {taken} FROM {table} WHERE id <= %(last)s",  # noqa: S608  (names of our own tables and columns)
                {"have": have, "last": min(have, wanted - have)},
            )
            have += min(have, wanted - have)
