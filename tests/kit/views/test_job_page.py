"""The page of a job: what is chosen, refused and short; one-press acts; changes that need a word."""

from __future__ import annotations

import pytest
from django.urls import reverse
from django.utils.html import escape

from kit.models import Deed, Job, JobState, LedgerEntry, Reservation, Role, Standing
from kit.sentences import said
from kit.stores import acting, finish_issue, issue_piece, plan_job, quarantine, receive, reserve
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, bag, in_days, job_of, record_checks, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    return yard()


def page_of(place: Yard) -> str:
    return reverse("job", args=[place.job.reference])


def promised(job: Job) -> set[str]:
    rows = Reservation.objects.filter(job=job, standing=Standing.PROMISED)
    return set(rows.values_list("item__tag", flat=True))


def reserved(place: Yard) -> None:
    with acting(STORES) as act:
        reserve(act, place.job)


def told(answer) -> list[str]:
    return [str(message) for message in answer.context["messages"]]


def promise(place: Yard, tag: str) -> Reservation:
    return Reservation.objects.get(
        job=place.job, item__tag=tag, standing__in=[Standing.PROMISED, Standing.BROKEN]
    )


def test_the_page_shows_choice_refusals_with_all_reasons_and_what_also_fits(place):
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B9"), "skirt torn")
    answer = seat(Role.PLANNER, place.north).get(page_of(place))
    lines = {shown.line.line.name: shown for shown in answer.context["lines"]}
    assert [piece.item.tag for piece in lines["bags"].pieces] == ["NY-B1", "NY-B2", "NY-B3", "NY-B4"]
    assert {piece.mark.word for piece in lines["bags"].pieces} == {"best choice"}
    assert [item.tag for item in lines["bags"].also_fit] == ["NY-B5"]
    [refused] = lines["bags"].refused
    text = answer.content.decode()
    assert {reason.code for reason in refused["reasons"]} == {
        "use-by-before-return",
        "quarantined",
        "wrong-bore",
    }
    for reason in refused["reasons"]:
        assert escape(said(reason.text)) in text
    assert "skirt torn" in text


def test_a_short_line_says_when_it_would_be_full_and_what_would_mend_it():
    place = yard(bags=3)
    answer = seat(Role.CREW, place.north).get(page_of(place))
    [bags] = [shown for shown in answer.context["lines"] if shown.line.short]
    assert bags.line.short == 1
    text = answer.content.decode()
    assert "1 of 4 cannot be filled." in text
    assert bags.line.remedy.split("'")[0][:30] in text


def test_one_press_reserves_the_best_choice(place):
    client = seat(Role.STORES, place.north)
    answer = client.post(page_of(place), {"do": "reserve"}, follow=True)
    assert "the kit is complete" in told(answer)[0]
    assert promised(place.job) == {"NY-B1", "NY-B2", "NY-B3", "NY-B4", "NY-S1", "NY-S2", "LOT-7"}
    assert not answer.context["to_reserve"]
    entry = LedgerEntry.objects.filter(deed=Deed.RESERVED).latest("number")
    assert (entry.actor, entry.source) == ("the.stores", "job screen")


@pytest.mark.parametrize("role", [role for role in EVERY_ROLE if role not in (Role.STORES, Role.PLANNER)])
def test_others_see_the_page_and_may_change_nothing(place, role):
    reserved(place)
    client = seat(role, place.north)
    answer = client.get(page_of(place))
    assert answer.status_code == 200
    assert "Let go" not in answer.content.decode()
    row = promise(place, "NY-B1")
    posts = {
        page_of(place): {"do": "reserve"},
        reverse("let_go", args=[row.pk]): {"why": "x"},
        reverse("substitute", args=[row.pk]): {"tag": "NY-B5", "why": "x"},
        reverse("let_go_all", args=[place.job.reference]): {"why": "x"},
        reverse("cancel_job", args=[place.job.reference]): {"why": "x"},
        reverse("change_job", args=[place.job.reference]): {"site": "x"},
    }
    before = LedgerEntry.objects.count()
    for url, data in posts.items():
        assert client.post(url, data).status_code == 403, url
    assert LedgerEntry.objects.count() == before


def test_a_planner_of_another_depot_does_not_find_the_promise(place):
    reserved(place)
    client = seat(Role.PLANNER, place.mill, name="mill.planner")
    row = promise(place, "NY-B1")
    assert client.get(page_of(place)).status_code == 404
    assert client.post(reverse("let_go", args=[row.pk]), {"why": "x"}).status_code == 404
    row.refresh_from_db()
    assert row.standing == Standing.PROMISED


def test_letting_one_go_asks_why_and_keeps_what_was_typed(place):
    reserved(place)
    client = seat(Role.PLANNER, place.north)
    url = reverse("let_go", args=[promise(place, "NY-B2").pk])
    answer = client.post(url, {"why": "  "})
    assert "why" in answer.context["form"].errors
    answer = client.post(url, {"why": "needed at the bench"}, follow=True)
    assert "NY-B2 is let go for J/26-104." in told(answer)
    assert "NY-B2" not in promised(place.job)
    assert (
        '"note":"needed at the bench"' in LedgerEntry.objects.filter(deed=Deed.LET_GO).latest("number").body
    )


def test_a_piece_that_is_out_is_not_let_go(place):
    reserved(place)
    row = promise(place, "NY-B2")
    with acting(STORES) as act:
        issue_piece(act, place.job, place.item("NY-B2"))
    answer = seat(Role.PLANNER, place.north).post(reverse("let_go", args=[row.pk]), {"why": "typed words"})
    assert "take it back instead" in answer.content.decode()
    assert "typed words" in answer.content.decode()


def test_another_piece_by_hand_from_the_list_or_by_its_tag(place):
    reserved(place)
    client = seat(Role.PLANNER, place.north)
    url = reverse("substitute", args=[promise(place, "NY-B2").pk])
    assert client.get(url).context["form"].fields["choice"].choices[0][0] == "NY-B5"
    client.post(url, {"choice": "NY-B5", "why": "newer skirt"})
    assert {"NY-B5", "NY-B1"} <= promised(place.job)
    assert "NY-B2" not in promised(place.job)
    url = reverse("substitute", args=[promise(place, "NY-B1").pk])
    # A scanner in another case, and a choice ticked before: the scanned tag is meant.
    answer = client.post(url, {"tag": "ny-b2", "why": "label torn"}, follow=True)
    assert "NY-B2 is reserved in the place of NY-B1." in told(answer)


def test_another_piece_that_does_not_fit_is_refused_with_every_reason(place):
    reserved(place)
    client = seat(Role.PLANNER, place.north)
    url = reverse("substitute", args=[promise(place, "NY-B2").pk])
    answer = client.post(url, {"tag": "NY-B9", "why": "only one left"})
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "It suits 200" in text
    assert "use-by" in text.lower()
    assert "only one left" in text
    assert "NY-B2" in promised(place.job)
    answer = client.post(url, {"tag": "NOT-THERE", "why": "x"})
    assert "No item has the tag NOT-THERE" in answer.content.decode()
    answer = client.post(url, {"why": "x"})
    assert "Say which piece" in answer.content.decode()


def test_broken_promises_come_first_and_one_press_takes_the_substitute(place):
    reserved(place)
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    client = seat(Role.PLANNER, place.north)
    answer = client.get(page_of(place))
    [(row, other)] = answer.context["broken"]
    assert (row.item.tag, other.tag) == ("NY-B1", "NY-B5")
    text = answer.content.decode()
    assert text.index("No longer holds") < text.index("The job")
    assert "torn skirt" in text
    answer = client.post(
        page_of(place), {"do": "accept", "reservation": row.pk, "proposed": "NY-B5"}, follow=True
    )
    assert "NY-B5 is reserved in the place of NY-B1." in told(answer)
    assert not answer.context["broken"]
    row.refresh_from_db()
    assert row.standing == Standing.RELEASED


def test_two_broken_promises_are_not_offered_the_same_piece():
    place = yard(bags=6)
    reserved(place)
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B2"), "valve stuck")
    answer = seat(Role.PLANNER, place.north).get(page_of(place))
    offered = {row.item.tag: other.tag for row, other in answer.context["broken"]}
    assert offered == {"NY-B1": "NY-B5", "NY-B2": "NY-B6"}


def test_a_piece_that_is_taken_by_now_is_refused(place):
    reserved(place)
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "torn skirt")
    row = promise(place, "NY-B1")
    client = seat(Role.PLANNER, place.north)
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B5"), "torn as well")
    answer = client.post(
        page_of(place), {"do": "accept", "reservation": row.pk, "proposed": "NY-B5"}, follow=True
    )
    assert "torn as well" in told(answer)[0]
    for odd in ({"do": "accept"}, {"do": "accept", "reservation": "x"}, {"do": "burn"}):
        assert client.post(page_of(place), odd).status_code == 400
    gone = client.post(page_of(place), {"do": "accept", "reservation": "999999", "proposed": "NY-B5"})
    assert gone.status_code == 404


def test_letting_all_go_and_cancelling_ask_why(place):
    reserved(place)
    client = seat(Role.PLANNER, place.north)
    answer = client.post(reverse("let_go_all", args=[place.job.reference]), {"why": "put off"}, follow=True)
    assert "7 promises of J/26-104 are let go." in told(answer)
    assert promised(place.job) == set()
    url = reverse("cancel_job", args=[place.job.reference])
    assert "why" in client.post(url, {}).context["form"].errors
    answer = client.post(url, {"why": "main was renewed"}, follow=True)
    place.job.refresh_from_db()
    assert place.job.state == JobState.CANCELLED
    text = answer.content.decode()
    assert "Reserve the best choice" not in text
    assert "main was renewed" in text.lower()


def test_a_job_with_kit_on_site_is_not_cancelled(place):
    reserved(place)
    with acting(STORES) as act:
        issue_piece(act, place.job, place.item("NY-B1"))
    answer = seat(Role.PLANNER, place.north).post(
        reverse("cancel_job", args=[place.job.reference]), {"why": "typed words"}
    )
    assert "is on site: take it back" in answer.content.decode()
    assert "typed words" in answer.content.decode()


def changes(place: Yard, **other: object) -> dict[str, object]:
    job = place.job
    return {
        "depot": job.depot_id,
        "site": job.site,
        "load_on": job.load_on.isoformat(),
        "return_on": job.return_on.isoformat(),
        "main_material": job.main_material,
        "main_size": job.main_size,
        "main_sdr": job.main_sdr,
        "bore_mm": job.bore_mm,
        "base_mark": job.base_mark,
        "arrangement": job.arrangement_id,
        **other,
    }


def test_changing_the_bore_says_which_promises_broke(place):
    reserved(place)
    client = seat(Role.PLANNER, place.north)
    url = reverse("change_job", args=[place.job.reference])
    answer = client.post(url, changes(place, bore_mm="210", note="measured today"), follow=True)
    said = told(answer)
    assert "J/26-104 is changed." in said
    assert sum("no longer holds" in text for text in said) == 4
    assert len(answer.context["broken"]) == 4
    assert LedgerEntry.objects.filter(deed=Deed.MOVED, body__contains="measured today").count() == 1


def test_an_extension_breaks_the_promise_of_the_next_job_and_says_so(place):
    with acting(STORES) as act:
        reserve(act, place.job)
        after = plan_job(act, job_of(place.north, place.arrangement, "AFTER", 20, 24))
        reserve(act, after)
        for tag in ("NY-B1", "NY-B2", "NY-B3", "NY-B4", "NY-S1", "NY-S2", "LOT-7"):
            issue_piece(act, place.job, place.item(tag))
        finish_issue(act, place.job)
    client = seat(Role.PLANNER, place.north)
    url = reverse("change_job", args=[place.job.reference])
    answer = client.post(url, changes(place, return_on=in_days(21).isoformat()), follow=True)
    assert any("no longer holds for AFTER" in text for text in told(answer))


def test_nothing_changed_is_said_and_not_written(place):
    client = seat(Role.PLANNER, place.north)
    before = LedgerEntry.objects.count()
    answer = client.post(reverse("change_job", args=[place.job.reference]), changes(place), follow=True)
    assert told(answer) == ["Nothing differs from what was recorded."]
    assert LedgerEntry.objects.count() == before


def test_the_page_of_a_past_day_offers_no_reserving(place):
    answer = seat(Role.PLANNER, place.north).get(page_of(place), {"as_of": in_days(-5).isoformat()})
    assert answer.context["past"]
    assert not answer.context["to_reserve"]
    # Ten days ago the checks were done, so five days ago they stood; twenty days ago they did not.
    assert answer.context["kit"].complete
    earlier = seat(Role.PLANNER, place.north).get(page_of(place), {"as_of": in_days(-20).isoformat()})
    assert not earlier.context["kit"].complete


def test_a_day_that_is_none_is_said_to_be_none(place):
    answer = seat(Role.PLANNER, place.north).get(page_of(place), {"as_of": "2027-02-31"})
    assert answer.status_code == 200
    assert "Enter a valid date" in answer.content.decode()
    assert answer.context["kit"].as_of == place.today


def test_all_depots_lists_what_lies_elsewhere(place):
    with acting(STORES) as act:
        record_checks(act, receive(act, [bag(place.mill, "MB-B1")]))
    client = seat(Role.PLANNER, place.north)
    assert "MB-B1" not in client.get(page_of(place)).content.decode()
    answer = client.get(page_of(place), {"all_depots": "on"})
    [bags] = [shown for shown in answer.context["lines"] if shown.line.line.name == "bags"]
    assert "other-depot" in [
        reason.code for row in bags.refused if row["tag"] == "MB-B1" for reason in row["reasons"]
    ]
