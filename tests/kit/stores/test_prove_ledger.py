"""The proof finds what was altered behind the register's back, and names it."""

import pytest
from django.db import connection

from kit import guards
from kit.models import Item, LedgerEntry
from kit.stores import Who, acting, change_details, prove_ledger, quarantine, receive, reserve
from tests.kit.views.yard import Yard, bag, yard

pytestmark = pytest.mark.django_db

WHO = Who("p.lane", "test")


@pytest.fixture
def lived() -> Yard:
    made = yard()
    with acting(WHO) as act:
        reserve(act, made.job)
        quarantine(act, made.item("NY-B2"), "torn skirt")
    return made


def tamper(statement: str, *values: object) -> None:
    """Alter the ledger as somebody could who owns the database and takes its guards away."""
    with connection.cursor() as cursor:
        for table in guards.LEDGER_TABLES:
            guards.unprotect(cursor.execute, connection.vendor, table)
        cursor.execute(statement, values)


def test_the_chain_holds_and_the_state_is_the_ledger_replayed(lived: Yard) -> None:
    proof = prove_ledger()
    assert (proof.fault, proof.entries) == (None, LedgerEntry.objects.count())
    assert proof.entries > 20


@pytest.mark.parametrize("column", ["body", "actor", "source", "hash", "previous_hash", "deed"])
def test_one_changed_character_is_found_and_named(lived: Yard, column: str) -> None:
    entry = LedgerEntry.objects.order_by("number")[10]
    text = getattr(entry, column)
    flipped = chr(ord(text[len(text) // 2]) ^ 1)
    altered = text[: len(text) // 2] + flipped + text[len(text) // 2 + 1 :]
    tamper(f"UPDATE kit_ledgerentry SET {column} = %s WHERE number = %s", altered, entry.number)
    proof = prove_ledger()
    assert proof.fault is not None
    assert proof.at in (entry.number, entry.number + 1)
    assert f"entry {proof.at}" in proof.fault


def test_a_moved_time_is_found(lived: Yard) -> None:
    entry = LedgerEntry.objects.order_by("number")[10]
    tamper(
        "UPDATE kit_ledgerentry SET happened_at = %s WHERE number = %s",
        "2020-01-01 00:00:00+00:00",
        entry.number,
    )
    assert prove_ledger().at == entry.number


def test_an_entry_taken_out_of_the_middle_is_found(lived: Yard) -> None:
    gone = LedgerEntry.objects.order_by("number")[12].number
    tamper("DELETE FROM kit_ledgermention WHERE entry_id = %s", gone)
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM kit_ledgerentry WHERE number = %s", [gone])
    assert (
        prove_ledger().fault
        == f"entry {gone + 1}: the number should be {gone}: an entry is missing or was put in"
    )


def test_the_last_entry_taken_away_is_found_by_the_state(lived: Yard) -> None:
    last = LedgerEntry.objects.order_by("-number")[:4]
    for entry in last:
        tamper("DELETE FROM kit_ledgermention WHERE entry_id = %s", entry.number)
        with connection.cursor() as cursor:
            cursor.execute("DELETE FROM kit_ledgerentry WHERE number = %s", [entry.number])
    fault = prove_ledger().fault
    assert fault is not None
    assert "replayed" in fault


def test_a_state_changed_by_raw_sql_is_found(lived: Yard) -> None:
    Item.objects.filter(tag="NY-B1").update(bore_max_mm=999)
    fault = prove_ledger().fault
    assert fault is not None
    assert "NY-B1" in fault
    assert "bore_max_mm" in fault


def test_a_row_that_no_entry_tells_of_is_found(lived: Yard) -> None:
    copy = Item.objects.get(tag="NY-B1")
    copy.pk, copy.tag, copy.serial = None, "NY-B1-GHOST", "ghost"
    copy.save(force_insert=True)
    fault = prove_ledger().fault
    assert fault is not None
    assert "NY-B1-GHOST" in fault


def test_a_whole_number_in_a_column_of_decimals_proves_too(lived: Yard) -> None:
    with acting(WHO) as act:
        [item] = receive(act, [bag(lived.north, "NY-INT", bore_min_mm=150, bore_max_mm=180)])
        assert not change_details(act, item, bore_max_mm=180)
        assert change_details(act, item, bore_max_mm=181)
    assert prove_ledger().fault is None
