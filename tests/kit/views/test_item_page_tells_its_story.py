"""The page of an item: until when it is fit and why, where it is promised, what happened to it, told in words."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

import pytest
from django.urls import reverse

from kit.models import Deed, Item, LedgerEntry, Reservation
from kit.stores import acting, finish_issue, issue_piece, let_go, quarantine, take_back
from kit.tables.marks import short_day
from kit.views.story import fact_in_words, told
from tests.kit.views.holm import CLERK, Yard


def page(yard: Yard, tag: str, who: str = "sal", **asked: object) -> str:
    answer = yard.client(who).get(reverse("item", args=[tag]), asked)
    assert answer.status_code == 200
    return answer.content.decode()


def test_facts_stand_as_recorded_and_what_is_missing_says_so(yard: Yard):
    by = yard.today + timedelta(days=400)
    yard.receive(
        "B-1",
        kind="bag",
        maker="Pell",
        batch="L7",
        bore_min_mm=Decimal("165.2"),
        bore_max_mm=200,
        use_by=by,
        use_by_precision="month",
        use_by_text="03/27",
    )
    text = page(yard, "B-1")
    for fact in (
        "Pell",
        "L7",
        "165.2\u00a0to\u00a0200",
        "printed 03/27",
        "the last day of the month counts",
        "Holm",
    ):
        assert fact in text, fact
    assert "not recorded" in text  # its serial


def test_it_says_until_when_it_is_fit_and_what_decides(yard: Yard):
    gauge = yard.receive("G-1")
    assert gauge.fit_until is not None
    text = page(yard, "G-1")
    assert short_day(gauge.fit_until) in text
    assert gauge.fit_reason == f"calibration due {gauge.fit_until}"
    assert f"calibration due {short_day(gauge.fit_until)}" in text
    fresh = page(yard, yard.receive("G-2", passed=False, serial="2").tag)
    assert "never done" in fresh
    assert "not fit now" in fresh


def test_each_check_shows_when_it_is_due_and_what_was_found(yard: Yard):
    gauge = yard.receive("G-1", passed=False)
    yard.inspect(gauge, "calibration", "pass", days_ago=3, by="eve")
    answer = yard.client("eve").get(reverse("item", args=["G-1"]))
    text = answer.content.decode()
    assert "calibration" in text
    assert "pass found" in text
    assert "every 12 months, on a fixed grid" in text
    assert f"{reverse('record', args=['G-1'])}?check=calibration" in text
    assert f"{reverse('record', args=['G-1'])}?check=calibration" not in page(yard, "G-1", "sal")


def test_promises_past_and_coming_are_listed_with_their_job(yard: Yard):
    gauge = yard.receive("G-1")
    pattern = yard.arrangement("one", [("gauge", "gauge", 1)])
    first, second = yard.plan("J-1", pattern, load_in=0, days=1), yard.plan("J/2 b", pattern, load_in=5)
    for job in (first, second):
        yard.reserve(job)
    yard.do(issue_piece, first, gauge)
    yard.do(finish_issue, first)
    text = page(yard, "G-1")
    for job in (first, second):
        assert reverse("job", args=[job.reference]) in text
    assert "Expected back on" in text
    assert reverse("take_back_piece", args=["G-1"]) in text
    yard.do(take_back, Reservation.objects.get(job=first), "unused")
    yard.do(let_go, Reservation.objects.get(job=second), "other kit is taken")
    text = page(yard, "G-1")
    assert "let go" in text
    assert "other kit is taken" in text


def test_the_story_tells_every_entry_about_it_newest_first_in_words(yard: Yard):
    gauge = yard.receive("G-1")
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.reserve(job)
    yard.do(issue_piece, job, gauge, who="sal")
    yard.do(take_back, Reservation.objects.get(job=job), "damaged", why="glass cracked", who="sal")
    answer = yard.client("sal").get(reverse("item", args=["G-1"]))
    entries = answer.context["entries"]
    deeds = [str(entry["action"]) for entry in entries]
    assert deeds[-1] == Deed.RECEIVED.label
    assert (
        deeds.index(Deed.QUARANTINED.label)
        < deeds.index(Deed.TAKEN_BACK.label)
        < deeds.index(Deed.ISSUED.label)
    )
    numbers = LedgerEntry.objects.filter(mentions__about="item:G-1").order_by("-number")
    assert [entry["number"] for entry in entries] == list(numbers.values_list("number", flat=True))
    issued = next(entry for entry in entries if entry["action"] == Deed.ISSUED.label)
    assert "for the line gauge" in issued["text"]
    assert issued["url"] == reverse("job", args=["J-1"])
    assert issued["by"].startswith("sal, test, entry ")
    text = answer.content.decode()
    assert "glass cracked" in text
    for raw in ("2026-", "{&#x27;", "None", "checks_due_again"):
        assert raw not in " ".join(entry["text"] for entry in entries)
    assert "sal" in text


def test_when_it_happened_and_when_it_was_recorded_are_both_told(yard: Yard):
    from django.utils import timezone

    gauge = yard.receive("G-1")
    with acting(CLERK, timezone.now() - timedelta(days=2)) as act:
        quarantine(act, gauge, "dropped")
    assert "recorded " in page(yard, "G-1")


def test_a_correction_and_what_it_corrects_point_at_each_other(yard: Yard):
    gauge = yard.receive("G-1")
    wrong = LedgerEntry.objects.order_by("-number").first()
    assert wrong is not None
    with acting(CLERK) as act:
        act.tell(Deed.CORRECTED, [gauge], note="the day was wrong", corrects=wrong)
    text = page(yard, "G-1")
    assert f"corrects entry {wrong.number}" in text
    assert f"corrected by {wrong.number + 1}" in text


def test_a_long_story_goes_on_over_pages(yard: Yard):
    gauge = yard.receive("G-1")
    for n in range(30):
        yard.do(quarantine, Item.objects.get(pk=gauge.pk), f"reason {n}.")
    assert "reason 29" in page(yard, "G-1")
    assert "reason 1." not in page(yard, "G-1")
    assert "reason 1." in page(yard, "G-1", page=3)  # the case notes each reason too
    assert page(yard, "G-1", page="nonsense")


def test_what_was_typed_by_people_is_never_markup(yard: Yard):
    gauge = yard.receive("<b>G", maker="<script>alert(1)</script>")
    yard.do(quarantine, gauge, "<img src=x>")
    for address in (
        reverse("item", args=["<b>G"]),
        reverse("register"),
        reverse("quarantine"),
        reverse("today"),
    ):
        text = yard.client("sal").get(address).content.decode()
        for raw in ("<b>G", "<script>alert", "<img src=x>"):
            assert raw not in text, address


@pytest.mark.parametrize(
    "tag", ["G 1/A", "Ü-7", "100% wool", "a#b?c", "G-1/", "//x", "../today", "+1 2", "%2F"]
)
def test_a_tag_of_any_spelling_has_a_page(yard: Yard, tag: str):
    yard.receive(tag)
    assert f"{tag}</title>" in page(yard, tag).replace(" · Fettlebook", "")
    listed = yard.client("sal").get(reverse("register")).content.decode()
    assert f'href="{reverse("item", args=[tag])}"' in listed


@pytest.mark.parametrize("tag", ["G-9", "g-1", "%00", "%0A", "G-1%00"])
def test_a_tag_that_is_not_in_the_book_is_a_page_that_says_so(yard: Yard, tag: str):
    yard.receive("G-1")
    answer = yard.client("sal").get(f"/items/{tag}/")
    assert answer.status_code == 404
    assert "no such tag" in answer.content.decode()


def test_facts_are_told_in_words():
    assert fact_in_words("return_on", "2027-03-09") == "return on 9 Mar 2027"
    assert fact_in_words("fit_until", "9999-12-31") == "fit until no limit"
    assert (
        fact_in_words("fit_until", {"B-1": "2027-03-09", "B-2": "2028-01-01"}, "item:B-2")
        == "fit until 1 Jan 2028"
    )
    assert fact_in_words("short", {"bags": 2}) == "short of bags 2"
    assert fact_in_words("mark", ["", "M3"]) == "mark from nothing to M3"
    assert fact_in_words("use_by", ["2027-03-31", "None"]) == "use-by date from 31 Mar 2027 to nothing"
    assert fact_in_words("checks_due_again", ["hold test", "visual"]) == (
        "due again before it goes out: hold test, visual"
    )
    assert fact_in_words("gates", [{"check": "x"}]) == ""
    assert fact_in_words("note", None) == ""


def test_an_entry_of_a_deed_not_known_any_more_is_still_told(yard: Yard):
    entry = LedgerEntry.objects.order_by("number").first()
    assert entry is not None
    entry.deed = "a deed of old"
    assert told([entry])[0]["action"] == "a deed of old"
