"""The counter, out: scanning goes on to the right screen, each scan issues or says why not, the van leaves."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Item, Job, JobState, LedgerEntry, Reservation, Role, Standing
from kit.stores import Who, acting, bind_set, prove_ledger, quarantine
from tests.kit.views.holm import Yard


@pytest.fixture
def job(yard: Yard) -> Job:
    """J-1 wants two gauges; G-1 and G-2 are promised, G-3 is spare."""
    for tag in ("G-1", "G-2", "G-3"):
        yard.receive(tag)
    job = yard.plan("J-1", yard.arrangement())
    yard.reserve(job)
    return job


def scan(yard: Yard, code: str, job: str = "J-1", htmx: bool = True) -> str:
    client = yard.htmx("sal") if htmx else yard.client("sal")
    answer = client.post(reverse("issue_scan", args=[job]), {"code": code}, follow=not htmx)
    assert answer.status_code == 200
    return answer.content.decode()


def standing(tag: str) -> str:
    return Reservation.objects.get(item__tag=tag).standing


def counter(yard: Yard, code: str):
    return yard.client("sal").get(reverse("counter"), {"code": code})


def test_a_scanned_job_opens_its_issue_and_once_out_its_return(yard: Yard, job: Job):
    assert counter(yard, "J-1")["Location"] == reverse("issue", args=["J-1"])
    assert counter(yard, " j-1 ")["Location"] == reverse("issue", args=["J-1"])
    scan(yard, "G-1")
    yard.client("sal").post(reverse("issue_finish", args=["J-1"]), {"why_short": "one is enough, says Pat"})
    assert counter(yard, "J-1")["Location"] == reverse("take_back", args=["J-1"])


def test_a_scanned_piece_opens_its_return_if_it_is_out_else_its_page(yard: Yard, job: Job):
    assert counter(yard, "g-3")["Location"] == reverse("item", args=["G-3"])
    scan(yard, "G-1")
    assert counter(yard, "g-1")["Location"] == reverse("take_back_piece", args=["G-1"])


def test_a_scanned_piece_that_is_promised_shows_what_may_be_done_the_obvious_first(yard: Yard, job: Job):
    page = counter(yard, "g-1").content.decode().partition("<dialog")[0]
    first = page.index("autofocus")
    assert "Issue to J-1, loads" in page[first:]
    assert page.count("autofocus") == 1
    for way in (reverse("item", args=["G-1"]), reverse("item_act", args=["set-aside", "G-1"])):
        assert way in page
    yard.do(quarantine, Item.objects.get(tag="G-1"), "needle sticks")
    page = counter(yard, "g-1").content.decode()
    assert "It may not go out to J-1" in page
    assert "needle sticks" in page
    assert "Issue to J-1" not in page


def test_tags_that_differ_only_in_case_are_asked_about_unless_spelt_exactly(yard: Yard):
    yard.receive("G-1", serial="1")
    yard.receive("g-1", serial="2")
    assert counter(yard, "G-1")["Location"] == reverse("item", args=["G-1"])
    assert counter(yard, "g-1")["Location"] == reverse("item", args=["g-1"])
    yard.receive("AB-1", serial="3")
    yard.receive("ab-1", serial="4")
    page = counter(yard, "Ab-1").content.decode()
    assert "names more than one thing" in page
    assert reverse("item", args=["AB-1"]) in page
    assert reverse("item", args=["ab-1"]) in page


def test_a_tag_that_is_a_job_as_well_is_asked_about(yard: Yard, job: Job):
    yard.receive("J-1", serial="9")
    page = counter(yard, "J-1").content.decode()
    assert reverse("item", args=["J-1"]) in page
    assert reverse("issue", args=["J-1"]) in page


@pytest.mark.parametrize(
    "code", ["nothing such", "", "   ", "\x00", "'; DROP TABLE kit_item; --", "é" * 300, "<b>x</b>"]
)
def test_a_code_that_names_nothing_is_told_in_a_sentence(yard: Yard, job: Job, code: str):
    answer = counter(yard, code)
    assert answer.status_code == 200
    assert "notice--refused" in answer.content.decode()
    assert "<b>x</b>" not in answer.content.decode()
    assert "notice--refused" in scan(yard, code)


def test_a_piece_of_another_depot_is_named_with_its_depot_and_nothing_more(yard: Yard, job: Job):
    yard.receive("W-1", depot=yard.weir)
    for page in (counter(yard, "W-1").content.decode(), scan(yard, "W-1")):
        assert "W-1 belongs to Weir" in page
        assert reverse("item", args=["W-1"]) not in page


def test_each_scan_issues_and_refreshes_the_lists(yard: Yard, job: Job):
    page = scan(yard, "g-1")
    assert "notice--done" in page
    assert 'hx-swap-oob="true"' in page
    assert "1 still to scan" in page
    assert "1 issued" in page
    assert "<html" not in page
    assert standing("G-1") == Standing.ISSUED
    assert Item.objects.get(tag="G-1").custody == "on-site"


def test_the_same_piece_twice_is_ignored_at_once_and_refused_later(yard: Yard, job: Job, settings):
    scan(yard, "G-1")
    told = LedgerEntry.objects.count()
    page = scan(yard, "G-1")
    assert "notice--note" in page
    assert "a moment ago: the second scan is ignored" in page
    settings.COUNTER_DOUBLE_SCAN_SECONDS = 0
    page = scan(yard, "G-1")
    assert "notice--refused" in page
    assert "issued to J-1 already" in page
    assert LedgerEntry.objects.count() == told


def test_the_wrong_piece_is_refused_with_why(yard: Yard, job: Job):
    spare = scan(yard, "G-3")
    assert "notice--refused" in spare
    assert "is not on the load list of J-1" in spare
    yard.receive("P-1", kind="pump")
    assert "J-1 needs none" in scan(yard, "P-1")


def test_a_piece_set_aside_meanwhile_does_not_go_out(yard: Yard, job: Job):
    yard.do(quarantine, Item.objects.get(tag="G-1"), "needle sticks")
    page = scan(yard, "G-1")
    assert "notice--refused" in page
    assert "needle sticks" in page
    assert standing("G-1") == Standing.BROKEN
    assert "May not go out" in page


def test_without_scripts_a_scan_answers_with_the_whole_page(yard: Yard, job: Job):
    page = scan(yard, "G-1", htmx=False)
    assert "<html" in page
    assert "notice--done" in page
    assert "notice--note" in scan(yard, "G-1", htmx=False)
    assert "notice--refused" in scan(yard, "G-3", htmx=False)


def test_a_full_issue_needs_no_reason_and_leads_to_the_job(yard: Yard, job: Job):
    scan(yard, "G-1")
    scan(yard, "G-2")
    answer = yard.client("sal").post(reverse("issue_finish", args=["J-1"]), {"why_short": ""})
    assert answer["Location"] == reverse("job", args=["J-1"])
    job.refresh_from_db()
    assert job.state == JobState.OUT
    assert prove_ledger().fault is None


def test_a_short_issue_needs_a_reason(yard: Yard, job: Job):
    scan(yard, "G-1")
    client = yard.client("sal")
    refused = client.post(reverse("issue_finish", args=["J-1"]), {"why_short": "   "})
    assert refused.status_code == 200
    assert "short of 1 x gauges" in refused.content.decode()
    job.refresh_from_db()
    assert job.state == JobState.PLANNED
    client.post(reverse("issue_finish", args=["J-1"]), {"why_short": "one side only, agreed with Pat"})
    job.refresh_from_db()
    assert job.state == JobState.OUT


def test_nothing_issued_cannot_be_finished_and_what_was_typed_stays(yard: Yard, job: Job):
    answer = yard.client("sal").post(reverse("issue_finish", args=["J-1"]), {"why_short": "a long story"})
    page = answer.content.decode()
    assert "scan the pieces first" in page
    assert "a long story" in page


def test_a_lot_goes_out_in_the_promised_quantity(yard: Yard):
    yard.receive("SEAL-7", kind="seal", quantity=10)
    job = yard.plan("J-2", yard.arrangement("seals", [("seals", "seal", 4)]))
    yard.reserve(job)
    assert "4 of SEAL-7" in scan(yard, "SEAL-7", job="J-2")
    assert Item.objects.get(tag="SEAL-7").quantity == 6


def test_only_the_stores_of_the_jobs_own_depot_issue(yard: Yard, job: Job):
    for name in ("cal", "pat", "eve", "lee"):
        assert yard.client(name).get(reverse("issue", args=["J-1"])).status_code == 403
        assert yard.client(name).post(reverse("issue_scan", args=["J-1"]), {"code": "G-1"}).status_code == 403
        assert yard.client(name).post(reverse("issue_finish", args=["J-1"])).status_code == 403
    assert yard.client("wyn").get(reverse("issue", args=["J-1"])).status_code == 404
    yard.appoint("wyn", yard.holm, Role.CREW)
    assert yard.client("wyn").post(reverse("issue_scan", args=["J-1"]), {"code": "G-1"}).status_code == 403
    assert standing("G-1") == Standing.PROMISED


def test_a_link_issues_nothing(yard: Yard, job: Job):
    assert yard.client("sal").get(reverse("issue_scan", args=["J-1"])).status_code == 405
    assert yard.client("sal").get(reverse("issue_finish", args=["J-1"])).status_code == 405


def test_a_reference_with_slashes_and_spaces_has_an_address(yard: Yard):
    yard.receive("G 1/A")
    job = yard.plan("26/104 Weir #2", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.reserve(job)
    assert counter(yard, "26/104 weir #2")["Location"] == reverse("issue", args=[job.reference])
    assert "notice--done" in scan(yard, "G 1/A", job=job.reference)
    assert yard.client("sal").get(reverse("item", args=["G 1/A"])).status_code == 200


def test_a_set_in_part_is_warned_of_and_never_leaves(yard: Yard, job: Job):
    with acting(Who("p.lane", "test")) as act:
        bind_set(act, "GAUGE BOX", list(Item.objects.filter(tag__in=["G-1", "G-2"])), "one box")
    page = scan(yard, "G-1")
    assert "GAUGE BOX goes as a whole; still here: G-2. The van cannot leave without it." in page
    refused = yard.client("sal").post(reverse("issue_finish", args=["J-1"]), {"why_short": "Pat agreed"})
    assert "the set GAUGE BOX would go out without G-2" in refused.content.decode()
    job.refresh_from_db()
    assert job.state == JobState.PLANNED
    assert "goes as a whole" not in scan(yard, "G-2")
    yard.client("sal").post(reverse("issue_finish", args=["J-1"]), {"why_short": ""})
    job.refresh_from_db()
    assert job.state == JobState.OUT
