"""What failed, by batch and by maker: counted by piece, over records that count, at one's own depots."""

from __future__ import annotations

import pytest
from django.urls import reverse

from inspections.actions.correct import strike
from inspections.failures import failing, failing_by, summed
from inspections.models import Check, Inspection
from kit.models import Item
from kit.stores import withdraw
from tests.kit.views.holm import Yard


@pytest.fixture
def stocked(yard: Yard) -> Yard:
    """Pumps, batch P1 each. Of Pell 3 of 6 failed: P-1 twice, withdrawn since; P-2 passed again. Of Quay 1 of 6."""
    for number in range(1, 7):
        yard.receive(f"P-{number}", kind="pump", maker="Pell", batch="P1")
        yard.receive(f"Q-{number}", kind="pump", maker="Quay", batch="P1")
    yard.receive("N-1", kind="pump", maker="Pell", batch="P2", passed=False)
    yard.receive("W-1", kind="pump", maker="Pell", batch="P1", depot=yard.weir)
    for tag, verdict in (("P-1", "fail"), ("P-1", "fail"), ("P-2", "fail"), ("P-2", "pass"), ("P-3", "fail")):
        put(yard, tag, verdict)
    put(yard, "P-4", "doubt")
    put(yard, "Q-1", "fail")
    put(yard, "W-1", "fail")
    yard.do(withdraw, Item.objects.get(tag="P-1"), "worn out")
    return yard


def put(yard: Yard, tag: str, verdict: str) -> None:
    item = Item.objects.get(tag=tag)
    yard.inspect(item, Check.objects.in_force().filter(kind=item.kind).first().name, verdict, 0)


def counts(yard: Yard, *columns: str) -> dict[tuple[str, ...], tuple[int, int]]:
    items = Item.objects.filter(kind__name="pump", depot=yard.holm)
    return {group.named: (group.share.failed, group.share.tested) for group in failing_by(items, columns)}


def test_a_piece_counts_once_and_also_when_it_is_withdrawn(stocked: Yard):
    assert counts(stocked, "maker", "batch") == {("Pell", "P1"): (3, 6), ("Quay", "P1"): (1, 6)}
    assert counts(stocked, "maker") == {("Pell",): (3, 6), ("Quay",): (1, 6)}
    items = Item.objects.filter(kind__name="pump", depot=stocked.holm)
    taken = {group.named: group.share for group in summed(failing_by(items, ("maker", "batch")), 0)}
    assert taken == {group.named: group.share for group in failing_by(items, ("maker",))}
    assert failing(Item.objects.filter(kind__name="pump")).failed == 5, "Weir's pump as well"


def test_a_fail_that_was_struck_out_or_corrected_does_not_count(stocked: Yard):
    wrong = Inspection.objects.get(item__tag="P-3", verdict="fail")
    stocked.do(strike, wrong, "of another pump")
    assert counts(stocked, "maker")["Pell",] == (2, 6)


def test_what_failed_most_beyond_doubt_comes_first_and_few_pieces_come_last(stocked: Yard):
    stocked.receive("Z-1", kind="pump", maker="Zinc", batch="Z1")
    put(stocked, "Z-1", "fail")
    items = Item.objects.filter(kind__name="pump", depot=stocked.holm)
    assert [group.named for group in failing_by(items, ("maker",))] == [("Pell",), ("Quay",), ("Zinc",)]


def test_the_page_of_the_kind_shows_them_and_no_other_depots(stocked: Yard):
    answer = stocked.client("sal").get(reverse("kind_page", args=["pump"]))
    text = answer.content.decode()
    assert "4 of 12 tested pieces ever failed a check" in text
    assert 'id="batches-failed-title"' in text
    assert f'href="{reverse("maker_batch", args=["P-1"])}"' in text
    stocked.appoint("sal", stocked.weir, "crew")
    assert "5 of 13 tested" in stocked.client("sal").get(reverse("kind_page", args=["pump"])).content.decode()


def test_the_page_of_a_batch_lists_its_fails_beside_the_rest(stocked: Yard):
    text = stocked.client("sal").get(reverse("maker_batch", args=["P-5"])).content.decode()
    assert "3 of 6 tested pieces ever failed a check" in text
    assert "All others of the kind: 1 of 6" in text
    shown = {record.item.tag for record in Inspection.objects.filter(verdict__in=["fail", "doubt"])}
    for tag in ("P-1", "P-2", "P-3", "P-4"):
        assert text.count(f'href="{reverse("item", args=[tag])}"') >= 2, tag
    assert "W-1" in shown
    assert "W-1" not in text


def test_a_kind_of_which_nothing_was_tested_shows_no_shares(yard: Yard):
    yard.receive("N-1", kind="pump", passed=False)
    assert "What failed" not in yard.client("sal").get(reverse("kind_page", args=["pump"])).content.decode()
