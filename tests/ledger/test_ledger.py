"""The ledger in the database: append-only, verifiable, safe under parallel writers."""

import threading

import pytest
from django.core.management import CommandError, call_command
from django.db import DatabaseError, connection, connections, transaction

from labsite.ledger.actions import record_entry, take_next
from labsite.ledger.append_only import GUARDED_TABLES, guard, lift_guard, missing_guards
from labsite.ledger.models import Book, Entry
from labsite.ledger.queries import entries_about, ledger_faults
from tests.factories.ledger import NOON, UserFactory


@pytest.fixture
def ida(lab, person):
    return person("counter", username="ida")


def write(ida, count=3, book="order:2604145"):
    return [
        record_entry(book=book, act=f"act {n}", by=ida, at=NOON, data={"after": {"n": str(n)}}) for n in range(count)
    ]


def test_entries_follow_one_another(ida):
    write(ida)
    assert [(entry.sequence, entry.act, entry.by) for entry in entries_about("order:2604145")] == [
        (1, "act 0", ida),
        (2, "act 1", ida),
        (3, "act 2", ida),
    ]
    assert list(ledger_faults()) == []


def test_opening_a_book_is_entered_in_the_register(ida):
    write(ida)
    assert [entry.data for entry in entries_about("register")] == [{"book": "order:2604145"}]


@pytest.mark.parametrize("table", GUARDED_TABLES)
def test_the_database_has_its_guards(db, table):
    assert missing_guards() == []


@pytest.mark.parametrize("statement", ["UPDATE ledger_entry SET act = 'forged'", "DELETE FROM ledger_entry"])
def test_the_database_itself_refuses_changes(ida, statement):
    write(ida)
    with (
        pytest.raises(DatabaseError, match="never changed or deleted"),
        transaction.atomic(),
        connection.cursor() as cursor,
    ):
        cursor.execute(statement)
    assert Entry.objects.filter(act="forged").count() == 0


@pytest.fixture
def unguarded(db):
    """A database whose guard somebody removed, as only its owner could."""
    lift_guard(connection, "ledger_entry")
    yield
    guard(connection, "ledger_entry")


def test_verify_ledger_says_that_all_is_whole(ida, capsys):
    write(ida)
    call_command("verify_ledger")
    assert capsys.readouterr().out.startswith("The ledger is whole")


def test_verify_ledger_names_changed_missing_and_lost_books(ida, unguarded, capsys):
    write(ida)
    write(ida, book="order:other")
    write(ida, book="order:lost")
    Entry.objects.filter(book__name="order:2604145", sequence=2).update(act="forged")
    Entry.objects.filter(book__name="order:other", sequence=2).delete()
    Entry.objects.filter(book__name="order:lost").delete()
    Book.objects.filter(name="order:lost").delete()
    with pytest.raises(CommandError, match="faults found"):
        call_command("verify_ledger")
    lines = capsys.readouterr().out.splitlines()
    assert lines == [
        "order:lost: the whole book is missing.",
        "order:2604145: entry 2 (forged) was changed after it was written.",
        "order:other: entry 2 missing before entry 3 (act 2).",
        "The trigger ledger_entry_no_update is missing from the database.",
        "The trigger ledger_entry_no_delete is missing from the database.",
        *(
            ["The trigger ledger_entry_no_truncate is missing from the database."]
            if connection.vendor == "postgresql"
            else []
        ),
    ]


def test_an_entry_is_undone_with_the_act_it_belongs_to(ida):
    def broken_act():
        with transaction.atomic():
            write(ida)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        broken_act()
    assert Entry.objects.count() == 0
    assert Book.objects.count() == 0


def in_parallel(count, work):
    """Run `work(n)` in threads that start together; re-raise what went wrong in any."""
    failures, together = [], threading.Barrier(count)

    def one(n):
        try:
            together.wait()
            work(n)
        except Exception as failure:
            failures.append(failure)
        finally:
            connections.close_all()

    threads = [threading.Thread(target=one, args=(n,)) for n in range(count)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []


@pytest.mark.django_db(transaction=True)
def test_parallel_writers_of_one_book_make_one_whole_chain():
    ida = UserFactory.create(username="ida")
    in_parallel(8, lambda n: record_entry(book="order:1", act=f"act {n}", by=ida, at=NOON))
    assert [entry.sequence for entry in entries_about("order:1")] == list(range(1, 9))
    assert list(ledger_faults()) == []


@pytest.mark.django_db(transaction=True)
def test_parallel_takers_of_a_series_never_get_the_same_number():
    taken = []
    in_parallel(8, lambda n: taken.append(take_next("orders-26", count=3)))
    assert sorted(taken) == [1, 4, 7, 10, 13, 16, 19, 22]
