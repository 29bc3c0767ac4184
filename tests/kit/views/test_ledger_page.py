"""The ledger on screen: narrowed to what one looks for, and proved on the spot."""

from __future__ import annotations

import pytest
from django.db import connection, transaction
from django.urls import reverse

from kit.models import Deed, LedgerEntry
from kit.stores import quarantine
from tests.kit.views.holm import Yard


def entries(yard: Yard, **asked: object) -> list[dict]:
    answer = yard.client("lee").get(reverse("ledger"), asked)
    assert answer.status_code == 200
    return answer.context["entries"]


@pytest.fixture
def told(yard: Yard) -> Yard:
    yard.do(quarantine, yard.receive("G-1"), "bent", who="sal")
    yard.receive("G-10", serial="10")
    yard.plan("J-1", yard.arrangement())
    return yard


def test_the_newest_entry_comes_first(told: Yard):
    numbers = [entry["number"] for entry in entries(told)]
    assert numbers == sorted(numbers, reverse=True)
    assert numbers[0] == LedgerEntry.objects.order_by("-number").first().number


def test_it_is_narrowed_to_a_subject_a_deed_a_person_and_a_day(told: Yard):
    assert {entry["action"] for entry in entries(told, about="G-1")} >= {
        Deed.RECEIVED.label,
        Deed.QUARANTINED.label,
        Deed.INSPECTED.label,
    }
    by_tag, by_subject = entries(told, about="G-1"), entries(told, about="item:G-1")
    assert [entry["number"] for entry in by_tag] == [entry["number"] for entry in by_subject]
    assert len(entries(told, about="J-1")) == 1
    assert [entry["action"] for entry in entries(told, deed=Deed.QUARANTINED)] == [Deed.QUARANTINED.label]
    assert [entry["action"] for entry in entries(told, actor="sal")] == [
        Deed.INVESTIGATED.label,  # the case that being set aside opens
        Deed.QUARANTINED.label,
    ]
    assert entries(told, since="2999-01-01") == []
    assert entries(told, about="nothing such") == []


@pytest.mark.parametrize(
    "asked", [{"since": "x"}, {"deed": "x"}, {"about": "\x00"}, {"page": "x"}, {"page": "99"}]
)
def test_nonsense_in_the_address_is_no_error(told: Yard, asked: dict):
    assert entries(told, **asked) is not None


def test_the_button_proves_the_chain_and_says_how_much_it_read(told: Yard):
    answer = told.client("lee").post(reverse("ledger"))
    page = answer.content.decode()
    assert answer.context["proof"].fault is None
    assert "Proved" in page
    assert f"{LedgerEntry.objects.count()} entries follow on one another" in page


def test_an_altered_entry_is_named(told: Yard):
    entry = LedgerEntry.objects.get(deed=Deed.QUARANTINED)
    _alter(
        "UPDATE kit_ledgerentry SET body = REPLACE(body, 'bent', 'fine') WHERE number = %s", [entry.number]
    )
    page = told.client("lee").post(reverse("ledger")).content.decode()
    assert "The ledger does not prove." in page
    assert f"entry {entry.number}:" in page
    assert "altered after it was written" in page


def test_a_row_changed_behind_the_ledgers_back_is_named(told: Yard):
    _alter("UPDATE kit_item SET maker = 'nobody' WHERE tag = %s", ["G-10"])
    page = told.client("lee").post(reverse("ledger")).content.decode()
    assert "The ledger does not prove." in page
    assert "G-10" in page


@pytest.mark.django_db(transaction=True)
def test_it_proves_outside_a_transaction_too(yard: Yard):
    """As it runs in use: on its own connection, from one standing of the database, leaving no transaction open."""
    answer = yard.client("lee").post(reverse("ledger"))
    assert answer.context["proof"].fault is None
    assert not connection.in_atomic_block
    yard.receive("G-1")
    assert yard.client("lee").post(reverse("ledger")).context["proof"].fault is None


def _alter(sql: str, values: list) -> None:
    """Change a row as somebody with the database's own password would: with its guards switched off."""
    with transaction.atomic(), connection.cursor() as cursor:
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL session_replication_role = replica")
        else:
            cursor.execute("DROP TRIGGER kit_ledgerentry_no_update")
        cursor.execute(sql, values)
        if connection.vendor == "postgresql":
            cursor.execute("SET LOCAL session_replication_role = origin")
