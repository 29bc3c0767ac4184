"""The pages of a kind and of a maker's batch: what they count is what the register then lists."""

from __future__ import annotations

from datetime import timedelta
from xml.etree.ElementTree import fromstring

import pytest
from django.urls import reverse

from kit.life_picture import picture_of_lives
from kit.models import Item
from kit.planning import Gate
from kit.planning.life_left import lives_of
from kit.stores import lose, quarantine, withdraw
from tests.kit.views.holm import Yard


@pytest.fixture
def stocked(yard: Yard) -> Yard:
    """Bags of batch 23-01 of Pell at Holm in every state, one at Weir, and the same number of another maker."""
    for tag in ("B-1", "B-2", "B-3", "B-4", "B-5"):
        receive(yard, tag, use_by=yard.today + timedelta(days=400 if tag != "B-2" else 5))
    receive(yard, "B-6", passed=False, use_by=yard.today + timedelta(days=400))
    yard.do(quarantine, Item.objects.get(tag="B-3"), "cut in the skirt")
    yard.do(withdraw, Item.objects.get(tag="B-4"), "torn")
    yard.do(lose, Item.objects.get(tag="B-5"), "not on the van")
    receive(yard, "O-1", maker="Orm", use_by=yard.today + timedelta(days=400))
    receive(yard, "W-1", depot=yard.weir, use_by=yard.today + timedelta(days=400))
    return yard


def receive(yard: Yard, tag: str, **more: object) -> None:
    details = {"kind": "bag", "maker": "Pell", "batch": "23-01", "bore_min_mm": 150, "bore_max_mm": 200}
    yard.receive(tag, **{**details, **more})


def page(yard: Yard, name: str, of: str, who: str = "sal"):
    answer = yard.client(who).get(reverse(name, args=[of]))
    assert answer.status_code == 200
    return answer


@pytest.mark.parametrize(("name", "of"), [("maker_batch", "B-1"), ("kind_page", "bag")])
def test_each_tally_is_as_long_as_the_list_it_links_to(stocked: Yard, name: str, of: str):
    client = stocked.client("sal")
    counted = page(stocked, name, of).context["tallies"]
    assert {"withdrawn", "lost", "set aside"} <= {what for _n, what, _url in counted}
    for figure, what, url in counted:
        rows = client.get(url).context["table"].rows
        assert len(rows) == figure, what


def test_a_batch_is_one_makers_and_only_ones_own_depots_are_counted(stocked: Yard):
    answer = page(stocked, "maker_batch", "B-1")
    assert [row.record.tag for row in answer.context["table"].rows] == [
        "B-1",
        "B-2",
        "B-3",
        "B-4",
        "B-5",
        "B-6",
    ]
    assert dict((what, n) for n, what, _url in answer.context["tallies"])["in use"] == 4
    stocked.appoint("sal", stocked.weir, "crew")
    answer = page(stocked, "maker_batch", "B-1")
    assert "W-1" in [row.record.tag for row in answer.context["table"].rows]


def test_what_has_no_batch_or_is_out_of_sight_has_no_such_page(stocked: Yard):
    stocked.receive("G-1")
    for tag in ("G-1", "W-1", "none"):
        assert stocked.client("sal").get(reverse("maker_batch", args=[tag])).status_code == 404
    assert stocked.client("sal").get(reverse("kind_page", args=["no such kind"])).status_code == 404


def test_a_kind_lists_its_batches_and_each_leads_to_its_page(stocked: Yard):
    answer = page(stocked, "kind_page", "bag")
    rows = {(row.record["maker"], row.record["batch"]): row.record for row in answer.context["table"].rows}
    assert set(rows) == {("Pell", "23-01"), ("Orm", "23-01")}
    pell = rows["Pell", "23-01"]
    assert (pell["pieces"], pell["in_use"]) == (6, 4)
    assert reverse("maker_batch", args=[pell["tag"]]) in answer.content.decode()


def test_an_item_leads_to_its_kind_and_batch_and_draws_what_is_left(stocked: Yard):
    text = page(stocked, "item", "B-1").content.decode()
    assert f'href="{reverse("kind_page", args=["bag"])}"' in text
    assert f'href="{reverse("maker_batch", args=["B-1"])}"' in text
    assert 'id="life-title"' in text
    assert 'id="life-title"' not in page(stocked, "item", "B-4").content.decode(), (
        "withdrawn: nothing is left"
    )


def test_the_picture_is_filled_as_far_as_the_run_is_over(yard: Yard):
    today = yard.today
    lives = lives_of(today - timedelta(days=74), today + timedelta(days=24), [Gate("a <b>", "never")], today)
    assert lives[1].left == pytest.approx(25 / 99)
    drawing = fromstring(picture_of_lives(lives))
    used = [box for box in drawing.iter("rect") if box.get("class") == "picture__used"]
    [outline] = [
        box for box in drawing.iter("rect") if not box.get("class") and not box.get("stroke-dasharray")
    ]
    share = float(used[0].get("width")) / float(outline.get("width"))
    assert len(used) == 1
    assert share == pytest.approx(74 / 99, abs=0.001)
    words = [element.text for element in drawing.iter() if element.text]
    assert "a <b>" in words
    assert "24 days left" in words
    assert picture_of_lives([]) == ""
