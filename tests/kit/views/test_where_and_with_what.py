"""Where a piece is and with what, with what it was used before, and what is like it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from kit.models import Item, Job, Kind, Reservation
from kit.stores import (
    Instead,
    LineSpec,
    acting,
    bind_set,
    finish_issue,
    issue_piece,
    quarantine,
    send,
    set_arrangement,
    take_back,
)
from kit.stores.related import of_its_batch, stand_ins
from kit.stores.together import companions_of_late, out_with, outings_of
from tests.kit.views.holm import CLERK, Yard


def kind(name: str) -> Kind:
    return Kind.objects.get(name=name)


def issue(yard: Yard, job: Job) -> None:
    yard.reserve(job)
    for row in Reservation.objects.filter(job=job, standing="promised").select_related("item"):
        yard.do(issue_piece, job, row.item)
    yard.do(finish_issue, job, "all that there is")


def bring_back(yard: Yard, job: Job) -> None:
    for row in Reservation.objects.filter(job=job, standing="issued"):
        yard.do(take_back, row, "unused")


def shown(yard: Yard, tag: str, who: str = "sal", **asked: str):
    answer = yard.client(who).get(reverse("item", args=[tag]), asked)
    assert answer.status_code == 200
    return answer


@pytest.fixture
def out(yard: Yard) -> Job:
    """A head, its nose and base of mark M3, two gauges bound as a set and a pump, all out on J-1."""
    for tag, name in (("H-1", "bagging head"), ("N-1", "nose"), ("S-1", "base")):
        yard.receive(tag, kind=name, mark="M3", bore_min_mm=100, bore_max_mm=200)
    for n in (1, 2):
        yard.receive(f"G-{n}", serial=str(n))
    yard.receive("P-1", kind="pump")
    yard.do(bind_set, "pair", list(Item.objects.filter(tag__startswith="G-")), "kept together")
    with acting(CLERK) as act:
        pattern, _new = set_arrangement(
            act,
            "one hole",
            [
                LineSpec("heads", kind("bagging head"), 1, "mark", assembly="hole"),
                LineSpec("noses", kind("nose"), 1, "mark", assembly="hole"),
                LineSpec("bases", kind("base"), 1, "mark", assembly="hole"),
                LineSpec("gauges", kind("gauge"), 2),
                LineSpec("pump", kind("pump"), 1),
            ],
        )
    job = yard.plan("J-1", pattern, base_mark="M3", bore_mm=150, crew="Tolliver")
    issue(yard, job)
    return job


def beside(tag: str) -> list[tuple[str, str]]:
    rows = list(
        Reservation.objects.filter(item__tag=tag, standing="issued").select_related("job", "line", "item")
    )
    return [(one.item.tag, one.bound) for found in out_with(rows).values() for one in found]


def test_what_is_bound_to_it_comes_first_by_set_or_by_mark(yard: Yard, out: Job):
    assert beside("H-1") == [
        ("N-1", "unit"),
        ("S-1", "unit"),
        ("G-1", ""),
        ("G-2", ""),
        ("P-1", ""),
    ]
    assert beside("G-1")[0] == ("G-2", "set")
    assert {bound for _tag, bound in beside("P-1")} == {""}


def test_the_page_says_job_site_crew_and_leads_to_each_piece(yard: Yard, out: Job):
    answer = shown(yard, "H-1")
    page = answer.content.decode()
    part = page.partition('id="where"')[2].partition("</section>")[0]
    for said in ("On site", "Weir Lane", "Tolliver", "with 5 others", "mark M3"):
        assert said in part, said
    assert reverse("job", args=["J-1"]) in part
    for tag in ("N-1", "S-1", "G-1", "G-2", "P-1"):
        assert f'href="{reverse("item", args=[tag])}"' in part
    assert "of its set pair" in shown(yard, "G-1").content.decode()


def test_in_the_store_it_says_the_place_and_how_much_lies_there(yard: Yard):
    from kit.stores import place_named

    with acting(CLERK) as act:
        rack = place_named(act, yard.holm, "Rack 1")
    for n in range(3):
        yard.receive(f"G-{n}", serial=str(n), place=rack)
    yard.do(quarantine, Item.objects.get(tag="G-2"), "dropped")
    [url] = [
        value
        for label, value in shown(yard, "G-0").context["where"]["facts"]
        if str(label) == "Lies there with"
    ]
    assert "2 other pieces and lots" in url
    address = str(url).partition('href="')[2].partition('"')[0].replace("&amp;", "&")
    listed = yard.client("sal").get(address).context["table"].rows
    assert {row.record.tag for row in listed} == {"G-0", "G-1", "G-2"}


def test_on_its_way_it_says_to_where_and_by_which_consignment(yard: Yard):
    gauge = yard.receive("G-1")
    yard.do(send, gauge, yard.weir, yard.today + timedelta(days=1), who="sal")
    labels = {str(label): str(value) for label, value in shown(yard, "G-1").context["where"]["facts"]}
    assert labels["On its way to"] == "Weir"
    assert labels["Sent by"] == "sal"
    assert reverse("transfer", args=[1]) in labels["Consignment"]


def test_each_outing_says_with_how_many_and_who_came_along_again(yard: Yard, out: Job):
    bring_back(yard, out)
    second = yard.plan("J-2", out.arrangement, base_mark="M3", bore_mm=150, load_in=5)
    issue(yard, second)
    gauge = Item.objects.get(tag="G-1")
    assert [(row.job.reference, row.others) for row in outings_of(gauge)] == [("J-2", 5), ("J-1", 5)]
    often = {one.tag: [job for job, _at in one.jobs] for one in companions_of_late(gauge)}
    assert often == {tag: ["J-2", "J-1"] for tag in ("G-2", "H-1", "N-1", "P-1", "S-1")}
    page = shown(yard, "G-1").content.decode()
    part = page.partition('id="outings"')[2].partition("</section>")[0]
    assert part.count(reverse("job", args=["J-1"]) + "#pieces") == 1
    assert "Went with it more than once" in part


def test_a_piece_that_was_never_out_has_no_such_part(yard: Yard):
    yard.receive("G-1")
    answer = shown(yard, "G-1")
    assert answer.context["used"] is None
    assert 'id="outings"' not in answer.content.decode()


@pytest.fixture
def bags(yard: Yard) -> Item:
    """B-0 suits 150 to 180. Of the others A-1 and A-2 could stand in for it; each further one lacks one thing."""
    base = {"kind": "bag", "maker": "Pell", "batch": "L7", "bore_min_mm": 150, "bore_max_mm": 180}
    made = yard.receive("B-0", **base)
    for tag, other in (
        ("A-1", {}),
        ("A-2", {"bore_min_mm": 140, "bore_max_mm": 190, "batch": "L8"}),
        ("X-narrow", {"bore_min_mm": 155, "batch": "L8"}),
        ("X-unfit", {"passed": False}),
        ("X-aside", {}),
        ("X-there", {"depot": yard.weir}),
        ("X-held", {"bore_min_mm": 100, "bore_max_mm": 300, "batch": "L9"}),
    ):
        yard.receive(tag, **{**base, **other})
    yard.do(quarantine, Item.objects.get(tag="X-aside"), "cut")
    with acting(CLERK) as act:
        pattern, _new = set_arrangement(act, "bag", [LineSpec("bags", kind("bag"), 1, "bore")])
    job = yard.plan("J-1", pattern, bore_mm=120, load_in=3)
    yard.reserve(job)
    assert Reservation.objects.get(job=job).item.tag == "X-held"
    return made


def test_what_could_stand_in_is_like_it_fit_at_hand_and_free(yard: Yard, bags: Item):
    assert {item.tag for item in stand_ins(bags, yard.today)} == {"A-1", "A-2"}
    yard.do(bind_set, "two", list(Item.objects.filter(tag__in=["A-1", "A-2"])), "kept together")
    assert list(stand_ins(bags, yard.today)) == []


def test_the_same_batch_is_listed_whatever_its_state_at_ones_own_depots(yard: Yard, bags: Item):
    assert [item.tag for item in of_its_batch(bags, [yard.holm])] == ["A-1", "X-aside", "X-unfit"]
    related = shown(yard, "B-0").context["related"]
    batch, instead = related["parts"]
    assert (batch["number"], instead["number"]) == (3, 2)
    assert batch["url"] == reverse("maker_batch", args=["B-0"])


def test_long_lists_are_shown_in_part(yard: Yard):
    for n in range(9):
        yard.receive(f"G-{n}", serial=str(n))
    part = shown(yard, "G-0").context["related"]["parts"][0]
    assert (part["number"], len(part["rows"]), part["left_out"]) == (8, 6, 2)
    assert len(shown(yard, "G-0", related="all").context["related"]["parts"][0]["rows"]) == 8


def test_kinds_that_an_arrangement_lets_stand_in_are_named_with_their_line(yard: Yard):
    yard.receive("P-1", kind="pump")
    with acting(CLERK) as act:
        set_arrangement(act, "air", [LineSpec("air", kind("pump"), 1, instead=[Instead(kind("hand tool"))])])
    page = shown(yard, "P-1").content.decode()
    part = page.partition('id="instead"')[2].partition("</section>")[0]
    assert reverse("kind_page", args=["hand tool"]) in part
    assert "air" in part


def test_a_broken_promise_names_the_piece_that_is_proposed(yard: Yard):
    for n in (1, 2):
        yard.receive(f"G-{n}", serial=str(n))
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]), load_in=3)
    yard.reserve(job)
    held = Reservation.objects.get(job=job).item
    yard.do(quarantine, held, "dropped")
    other = Reservation.objects.get(job=job).proposed
    assert other is not None
    page = shown(yard, held.tag).content.decode()
    promises = page.partition('id="promises"')[2].partition("</section>")[0]
    assert "Proposed in its place:" in promises
    assert f'href="{reverse("item", args=[other.tag])}"' in promises


def test_the_queries_do_not_grow_with_what_is_out_or_was(yard: Yard, django_assert_max_num_queries):
    for n in range(20):
        yard.receive(f"G-{n:02}", serial=str(n))
    pattern = yard.arrangement("many", [("gauges", "gauge", 20)])
    for n in range(3):
        job = yard.plan(f"J-{n}", pattern, load_in=5 * n)
        issue(yard, job)
        if n < 2:
            bring_back(yard, job)
    client = yard.client("sal")
    with django_assert_max_num_queries(75):
        answer = client.get(reverse("item", args=["G-00"]))
    assert answer.context["where"]["jobs"][0]["number"] == 19
    assert len(answer.context["used"]["companions"]) == 8
