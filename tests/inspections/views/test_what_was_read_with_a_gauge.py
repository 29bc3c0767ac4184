"""On the page of a gauge stand the tests read with it, each with its record; what does not count is left out."""

from __future__ import annotations

from decimal import Decimal

import pytest
from django.urls import reverse

from inspections.actions import record_hold_test
from inspections.actions.correct import strike
from inspections.judging import HoldTest
from inspections.models import Check, Inspection
from kit.models import Item
from tests.kit.views.holm import Yard


@pytest.fixture
def tested(yard: Yard) -> Yard:
    """Ten hold tests of one bag, all read with G-1."""
    yard.receive("G-1")
    bag = yard.receive("B-1", kind="bag")
    for _n in range(10):
        hold(yard, bag)
    return yard


def hold(yard: Yard, bag: Item) -> None:
    check = Check.objects.in_force().filter(kind=bag.kind, after_use=True)[0]
    test = HoldTest(Decimal("0.2"), Decimal("0.199"), "bar", minutes=Decimal(5))
    gauge = Item.objects.get(tag="G-1")
    yard.do(lambda act: record_hold_test(act, bag, check, gauge, test, act.today, by="eve"))


def part(yard: Yard, tag: str = "G-1", who: str = "eve", **asked: str) -> str:
    page = yard.client(who).get(reverse("item", args=[tag]), asked).content.decode()
    return page.partition('aria-labelledby="read-with"')[2].partition("</section>")[0]


def test_the_newest_are_listed_with_their_records_and_all_of_them_on_demand(tested: Yard):
    records = list(Inspection.objects.filter(gauge__tag="G-1").order_by("-pk"))
    assert len(records) == 10
    said = part(tested)
    assert "10 tests read with it" in said
    links = [f'href="{reverse("inspection", args=[record.pk])}"' for record in records]
    assert [link in said for link in links] == [True] * 8 + [False] * 2
    assert all(link in part(tested, tests="all") for link in links)


def test_what_was_struck_out_is_not_counted(tested: Yard):
    tested.do(strike, Inspection.objects.filter(gauge__tag="G-1").latest("pk"), "read on another gauge")
    assert "9 tests read with it" in part(tested)


def test_what_reads_nothing_has_no_such_part(tested: Yard):
    assert part(tested, "B-1") == ""


def test_tests_of_pieces_at_other_depots_are_not_told(tested: Yard):
    other = tested.receive("B-2", kind="bag", depot=tested.weir)
    hold(tested, other)
    assert "10 tests read with it" in part(tested)
