"""Triggers by which the database itself refuses to change or delete rows of a table."""

from collections.abc import Iterator

from django.db import connections, migrations
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.backends.base.schema import BaseDatabaseSchemaEditor

GUARDED_TABLES = (
    "calibration_calibrationpoint", "calibration_commissioningfinding", "calibration_instrumentevent",
    "calibration_instrumentlimit", "calibration_intervaldecision", "calibration_servicechange",
    "calibration_usepermit", "calibration_wirecare", "ledger_entry", "reports_tracedecision", "reports_traceline",
    "trials_instrumentuse", "trials_observation", "trials_parametersheet", "trials_setupvalue",
    "trials_signedverdict", "trials_uncertaintybudget",
)  # fmt: skip
"""Tables whose rows are never changed once written."""

_POSTGRESQL_FUNCTION = """
CREATE OR REPLACE FUNCTION lab_refuse_change() RETURNS trigger LANGUAGE plpgsql AS $$
BEGIN RAISE EXCEPTION 'rows of % are never changed or deleted', TG_TABLE_NAME; END $$
"""


def guard(connection: BaseDatabaseWrapper, table: str) -> None:
    """Install the triggers on one table; harmless when they are there."""
    with connection.cursor() as cursor:
        for statement in _guard_statements(connection.vendor, table):
            cursor.execute(statement)


def lift_guard(connection: BaseDatabaseWrapper, table: str) -> None:
    """Remove the triggers: for emptying a test database, never in the program itself."""
    with connection.cursor() as cursor:
        for name in _trigger_names(connection.vendor, table):
            suffix = f" ON {table}" if connection.vendor == "postgresql" else ""
            cursor.execute(f"DROP TRIGGER IF EXISTS {name}{suffix}")


def missing_guards(using: str = "default") -> list[str]:
    """Names of triggers that should be there and are not."""
    connection = connections[using]
    query = (
        "SELECT tgname FROM pg_trigger WHERE tgenabled <> 'D'"
        if connection.vendor == "postgresql"
        else "SELECT name FROM sqlite_master WHERE type = 'trigger'"
    )
    with connection.cursor() as cursor:
        cursor.execute(query)
        present = {row[0] for row in cursor.fetchall()}
    return [
        name for table in GUARDED_TABLES for name in _trigger_names(connection.vendor, table) if name not in present
    ]


def open_to_change(table: str) -> migrations.RunPython:
    """A migration step that lifts the guard of `table`, to be followed by `append_only` in the same migration."""

    def forwards(apps: object, editor: BaseDatabaseSchemaEditor) -> None:
        lift_guard(editor.connection, table)

    def backwards(apps: object, editor: BaseDatabaseSchemaEditor) -> None:
        guard(editor.connection, table)

    return migrations.RunPython(forwards, backwards)


def append_only(table: str) -> migrations.RunPython:
    """A migration step that guards `table`."""

    def forwards(apps: object, editor: BaseDatabaseSchemaEditor) -> None:
        guard(editor.connection, table)

    def backwards(apps: object, editor: BaseDatabaseSchemaEditor) -> None:
        lift_guard(editor.connection, table)

    return migrations.RunPython(forwards, backwards)


def _trigger_names(vendor: str, table: str) -> list[str]:
    acts = ("update", "delete", "truncate") if vendor == "postgresql" else ("update", "delete")
    return [f"{table}_no_{act}" for act in acts]


def _guard_statements(vendor: str, table: str) -> Iterator[str]:
    if vendor == "postgresql":
        yield _POSTGRESQL_FUNCTION
        for act in ("UPDATE", "DELETE", "TRUNCATE"):
            each = "STATEMENT" if act == "TRUNCATE" else "ROW"
            name = f"{table}_no_{act.lower()}"
            yield (
                f"CREATE OR REPLACE TRIGGER {name} BEFORE {act} ON {table} FOR EACH {each} "
                "EXECUTE FUNCTION lab_refuse_change()"
            )
    else:
        for act in ("UPDATE", "DELETE"):
            yield (
                f"CREATE TRIGGER IF NOT EXISTS {table}_no_{act.lower()} BEFORE {act} ON {table} "
                f"BEGIN SELECT RAISE(ABORT, 'rows of {table} are never changed or deleted'); END"
            )
