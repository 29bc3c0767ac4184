"""One entry of the ledger has a page: what it tells and wrote, and whether it is still what was chained."""

from __future__ import annotations

import pytest
from django.db import connection
from django.urls import reverse

from kit import guards
from kit.models import Deed, Item, LedgerEntry
from kit.stores import acting, quarantine
from kit.stores.written_by import written_by
from tests.kit.views.holm import CLERK, Yard


def page(yard: Yard, number: int, who: str = "sal") -> str:
    answer = yard.client(who).get(reverse("entry", args=[number]))
    assert answer.status_code == 200
    return answer.content.decode()


def entry(deed: str) -> LedgerEntry:
    return LedgerEntry.objects.filter(deed=deed).latest("number")


def test_it_tells_what_was_done_about_what_and_how_it_is_held_fast(yard: Yard):
    yard.do(quarantine, yard.receive("G-1"), "dropped", who="sal")
    shown = entry(Deed.QUARANTINED)
    text = page(yard, shown.number)
    for said in (Deed.QUARANTINED.label, "Dropped.", "sal, test", shown.hash, shown.previous_hash):
        assert said in text, said
    assert f'href="{reverse("item", args=["G-1"])}"' in text
    assert f'href="{reverse("entry", args=[shown.number - 1])}"' in text
    assert "Worked out anew just now" in text


def test_every_entry_of_a_story_leads_to_its_page(yard: Yard):
    yard.do(quarantine, yard.receive("G-1"), "dropped")
    text = yard.client("sal").get(reverse("item", args=["G-1"])).content.decode()
    for number in LedgerEntry.objects.filter(mentions__about="item:G-1").values_list("number", flat=True):
        assert f'href="{reverse("entry", args=[number])}"' in text


def test_a_correction_and_what_it_corrects_lead_to_each_other(yard: Yard):
    gauge = yard.receive("G-1")
    wrong = LedgerEntry.objects.latest("number")
    with acting(CLERK) as act:
        act.tell(Deed.CORRECTED, [gauge], note="the day was wrong", corrects=wrong)
    right = LedgerEntry.objects.latest("number")
    assert f'href="{reverse("entry", args=[right.number])}"' in page(yard, wrong.number)
    assert f'href="{reverse("entry", args=[wrong.number])}"' in page(yard, right.number)


@pytest.mark.parametrize(("column", "said"), [("body", "not that of its text"), ("previous_hash", "altered")])
def test_an_entry_that_was_altered_says_so(yard: Yard, column: str, said: str):
    yard.do(quarantine, yard.receive("G-1"), "dropped")
    number = entry(Deed.QUARANTINED).number
    with connection.cursor() as cursor:
        guards.unprotect(cursor.execute, connection.vendor, "kit_ledgerentry")
        value = "replace(body, 'dropped', 'polished')" if column == "body" else "'0000'"
        cursor.execute(f"UPDATE kit_ledgerentry SET {column} = {value} WHERE number = %s", [number])
    text = page(yard, number)
    assert said in text
    assert "Worked out anew just now" not in text


def test_it_is_shown_to_who_sees_what_it_is_about_or_reads_the_ledger(yard: Yard):
    yard.receive("W-1", depot=yard.weir)
    number = LedgerEntry.objects.filter(mentions__about="item:W-1").latest("number").number
    address = reverse("entry", args=[number])
    assert yard.client("wyn").get(address).status_code == 200
    assert yard.client("lee").get(address).status_code == 200, "the compliance lead reads the ledger"
    assert yard.client("sal").get(address).status_code == 404
    assert yard.client("sal").get(reverse("entry", args=[10**9])).status_code == 404
    assert yard.client("sal").get("/ledger/" + "9" * 40 + "/").status_code == 404


def test_the_entry_that_wrote_a_column_is_the_last_that_did(yard: Yard):
    gauge = yard.receive("G-1")
    received = entry(Deed.RECEIVED).number
    assert written_by(gauge, ["state", "maker"]) == {"state": received, "maker": received}
    yard.do(quarantine, gauge, "dropped")
    found = written_by(Item.objects.get(pk=gauge.pk), ["state", "maker"])
    assert found == {"state": entry(Deed.QUARANTINED).number, "maker": received}


def test_it_is_found_in_one_query(yard: Yard, django_assert_num_queries):
    gauge = yard.receive("G-1")
    for n in range(5):
        yard.do(quarantine, Item.objects.get(pk=gauge.pk), f"reason {n}")
    with django_assert_num_queries(1):
        written_by(gauge, ["state", "maker", "no such column"])
