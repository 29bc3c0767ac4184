"""Reviews on screen: by age, one with its picture and its records, decided with one press, closed when all is."""

from __future__ import annotations

import re
from xml.etree.ElementTree import fromstring

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from inspections.actions import Finding, record_many
from inspections.actions.reviews import open_review
from inspections.models import Inspection, RetestCall, Review, ReviewedRecord
from kit.models import Depot, Item, Role, State
from kit.stores import Who, acting, appoint, prove_ledger
from tests.inspections.bad_gauge import EXAMINER, Row, Store, hold_test_of, make_store

PEOPLE = {"lee": Role.COMPLIANCE, "eve": Role.EXAMINER, "sal": Role.STORES, "pat": Role.PLANNER}


@pytest.fixture
def store(db) -> Store:
    made = make_store(150, seed=13, bags=25)
    for name, role in PEOPLE.items():
        seat(name, role, made.depot)
    return made


@pytest.fixture
def review(store: Store) -> Review:
    with acting(Who("max", "test")) as act:
        return open_review(act, store.failing)


def seat(name: str, role: str, depot: Depot) -> None:
    user, _ = User.objects.get_or_create(username=name)
    with acting(EXAMINER) as act:
        appoint(act, user, depot, role)


def client(name: str) -> Client:
    made = Client()
    made.force_login(User.objects.get(username=name), backend="django.contrib.auth.backends.ModelBackend")
    return made


def page(name: str, address: str, *args: object, **query: str) -> str:
    return client(name).get(reverse(address, args=args), query).content.decode()


def flips(row: Row) -> bool:
    return row.start is not None and row.verdict() != row.verdict(True)


def one(store: Store, flipped: bool) -> ReviewedRecord:
    row = next(row for row in store.affected if row.start is not None and flips(row) == flipped)
    return ReviewedRecord.objects.get(inspection=store.made[row.number])


def press(name: str, reviewed: ReviewedRecord, outcome: str, note: str = ""):
    address = reverse("decide_record", args=[reviewed.pk])
    return client(name).post(address, {"outcome": outcome, "note": note}, follow=True)


def test_the_list_has_the_open_ones_with_their_counts(store: Store, review: Review):
    answer = client("eve").get(reverse("reviews"))
    [row] = answer.context["table"].rows
    assert (row.record.number, row.record.to_decide) == (len(store.affected), len(store.affected))
    assert row.record.flipped == sum(flips(row) for row in store.affected)
    assert reverse("review", args=[review.pk]) in answer.content.decode()
    assert "No review was closed yet." in page("eve", "reviews", part="closed")


def test_a_review_shows_the_picture_and_the_points(store: Store, review: Review):
    shown = page("lee", "review", review.pk)
    [drawing] = re.findall(r"<svg class=\"picture__drawing\".*?</svg>", shown, re.DOTALL)
    assert (
        len([ring for ring in fromstring(drawing).iter("circle")]) == 3
    )  # up and down at 0.15, and the legend
    assert "Greatest error as found 0.021 bar, at 0.15 bar." in shown
    assert "Permissible error 0.00625 bar, guard band 0.0005 bar" in shown
    assert shown.count("beyond the limit") == 3
    assert "style=" not in shown


def test_records_say_in_words_which_verdicts_flip(store: Store, review: Review):
    answer = client("lee").get(reverse("review", args=[review.pk]), {"part": "another-verdict"})
    expected = [row for row in store.affected if flips(row)]
    assert {row.record.inspection_id for row in answer.context["table"].rows} == {
        store.made[row.number].pk for row in expected
    }
    assert answer.content.decode().count("another verdict:") == len(expected)
    everything = client("lee").get(reverse("review", args=[review.pk]), {"part": "all"}).context["table"]
    assert len(everything.rows) == len(store.affected)
    assert [row.record.shift for row in everything.rows] == sorted(
        row.record.shift for row in everything.rows
    )


def test_jobs_that_relied_on_them_are_named(store: Store, review: Review):
    shown = page("lee", "review", review.pk)
    assert store.jobs
    for job in store.jobs:
        assert reverse("job", args=[job]) in shown
    for job in {job for job, *_ in store.held} - store.jobs:
        assert reverse("job", args=[job]) not in shown


def test_one_press_decides_one_record(store: Store, review: Review):
    same = one(store, flipped=False)
    press("eve", same, "stands")
    same.refresh_from_db()
    assert (same.outcome, same.decided_by) == ("stands", "eve")
    other = one(store, flipped=True)
    answer = press("eve", other, "repeat")
    other.refresh_from_db()
    assert other.outcome == "repeat"
    assert RetestCall.objects.filter(item=other.inspection.item).exists()
    assert f"{other.inspection.item.tag}: to be repeated." in answer.content.decode()
    assert prove_ledger().fault is None


def test_set_aside_puts_it_into_quarantine(store: Store, review: Review):
    other = one(store, flipped=True)
    press("lee", other, "set aside")
    assert Item.objects.get(pk=other.inspection.item_id).state == State.QUARANTINED


def test_a_flipped_verdict_stands_only_with_why_and_what_was_typed_stays(store: Store, review: Review):
    other = one(store, flipped=True)
    refused = press("lee", other, "stands")
    assert "write why its verdict stands" in refused.content.decode()
    form = refused.context["form"]
    assert form.errors["note"]
    assert form["outcome"].value() == "stands"
    press("lee", other, "stands", "tested again on G-1 that evening")
    other.refresh_from_db()
    assert (other.outcome, other.note) == ("stands", "tested again on G-1 that evening")


def test_all_whose_verdict_is_the_same_stand_at_once(store: Store, review: Review):
    same = sum(row.start is not None and not flips(row) for row in store.affected)
    assert f"Let all {same} records stand" in page("lee", "review", review.pk)
    answer = client("lee").post(reverse("review_stand", args=[review.pk]), follow=True)
    assert f"{same} records stand." in answer.content.decode()
    assert ReviewedRecord.objects.filter(outcome="stands").count() == same
    assert "records stand whose verdict" not in page("lee", "review", review.pk)


def test_it_is_closed_with_a_conclusion_when_all_is_decided(store: Store, review: Review):
    address = reverse("review", args=[review.pk])
    early = client("lee").post(address, {"conclusion": "pointer bent"})
    assert "Not decided yet" in early.content.decode()
    assert "pointer bent" in early.content.decode()
    client("lee").post(reverse("review_stand", args=[review.pk]))
    for each in ReviewedRecord.objects.filter(outcome=""):
        press("lee", each, "repeat")
    assert "all decided, to be closed" in page("lee", "reviews")
    done = client("lee").post(address, {"conclusion": "pointer bent"}, follow=True).content.decode()
    assert "The review of G-BAD is closed." in done
    assert "Close it" not in done
    assert reverse("review", args=[review.pk]) in page("lee", "reviews", part="closed")
    closed = page("lee", "decide_record", ReviewedRecord.objects.latest("pk").pk)
    assert "nothing in it changes" in closed
    assert prove_ledger().fault is None


def test_what_was_entered_late_is_offered(store: Store, review: Review):
    row = next(row for row in store.affected if row.start is not None)
    with acting(EXAMINER) as act:
        record_many(
            act,
            [
                Finding(
                    Item.objects.get(tag=row.tag),
                    store.made[row.number].check_done,
                    store.day(row.days_ago),
                    row.verdict(),
                    gauge=store.bad,
                    readings={"method": "hold test", "test": hold_test_of(row).to_json()},
                )
            ],
        )
    assert "1 record was entered since the review was opened" in page("lee", "review", review.pk)
    client("lee").post(reverse("review_take_in", args=[review.pk]))
    assert review.records.count() == len(store.affected) + 1
    assert "entered since the review was opened" not in page("lee", "review", review.pk)


@pytest.mark.parametrize("who", ["sal", "pat"])
def test_other_roles_read_and_decide_nothing(store: Store, review: Review, who: str):
    shown = page(who, "review", review.pk)
    assert "to be decided" in shown
    assert "Close it" not in shown
    reviewed = one(store, flipped=True)
    assert reverse("decide_record", args=[reviewed.pk]) not in shown
    assert press(who, reviewed, "repeat").status_code == 403
    for address in ("review", "review_stand", "review_take_in"):
        sent = client(who).post(reverse(address, args=[review.pk]), {"conclusion": "no matter"})
        assert sent.status_code == 403, address
    reviewed.refresh_from_db()
    assert reviewed.outcome == ""


def test_a_depot_that_has_nothing_in_it_does_not_see_it(store: Store, review: Review):
    with acting(EXAMINER) as act:
        weir = act.create(Depot(code="WE", name="Weir"))
        act.tell("changed", [weir], note="for this test")
    seat("wyn", Role.COMPLIANCE, weir)
    assert client("wyn").get(reverse("review", args=[review.pk])).status_code == 404
    assert client("wyn").get(reverse("decide_record", args=[review.records.all()[0].pk])).status_code == 404
    assert reverse("review", args=[review.pk]) not in page("wyn", "reviews")


def test_a_depot_whose_piece_is_under_review_decides_that_piece_alone(store: Store, review: Review):
    """A bag went to another depot since; who releases there decides it, and sees the others without deciding."""
    moved = one(store, flipped=True)
    with acting(EXAMINER) as act:
        weir = act.create(Depot(code="WE", name="Weir"))
        act.change(Item.objects.get(pk=moved.inspection.item_id), depot=weir)
        act.tell("changed", [weir], note="for this test")
    seat("wyn", Role.COMPLIANCE, weir)
    assert press("wyn", moved, "repeat").status_code == 200
    moved.refresh_from_db()
    assert moved.outcome == "repeat"
    other = ReviewedRecord.objects.exclude(inspection__item_id=moved.inspection.item_id).first()
    assert other is not None
    assert press("wyn", other, "repeat").status_code == 403
    assert client("wyn").post(reverse("review", args=[review.pk]), {"conclusion": "x"}).status_code == 403


def test_panels_on_the_gauge_on_an_item_and_on_today(store: Store, review: Review):
    address = reverse("review", args=[review.pk])
    assert address in page("pat", "item", "G-BAD")
    under = review.records.all()[0].inspection.item.tag
    assert address in page("pat", "item", under)
    assert address not in page("pat", "item", "G-1")
    for who in ("lee", "eve"):
        assert address in page(who, "today")
    assert address not in page("pat", "today")


def test_one_calibration_has_its_own_page(store: Store, review: Review):
    failing = store.failing
    address = reverse("calibration", args=[failing.pk])
    assert address in page("pat", "item", "G-BAD")
    shown = page("pat", "calibration", failing.pk)
    assert "picture__drawing" in shown
    assert "Greatest error as found" in shown
    assert reverse("review", args=[review.pk]) in shown
    test = next(iter(store.made.values()))
    assert client("pat").get(reverse("calibration", args=[test.pk])).status_code == 404


def test_a_calibration_without_points_says_so(store: Store):
    gauge = Item.objects.get(tag="G-1")
    check = Inspection.objects.filter(item=gauge).first().check_done  # type: ignore[union-attr]
    with acting(EXAMINER) as act:
        [made] = record_many(act, [Finding(gauge, check, store.today, "pass", certificate="C-9")])
    shown = page("pat", "calibration", made.pk)
    assert "Only the verdict was written down" in shown
    assert "C-9" in shown
