"""The first page: each role finds the work of its day, and its figures agree with the lists they lead to."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse

from kit.models import Deed, Item
from kit.stores import acting, finish_issue, issue_piece, quarantine, send
from kit.views.day_lists import loads
from tests.kit.views.holm import CLERK, Yard


@pytest.fixture
def busy(yard: Yard) -> Yard:
    """Jobs today (complete), tomorrow (broken), in ten days (short), one out and overdue; one piece on its way."""
    for n in range(1, 6):
        yard.receive(f"G-{n}", serial=str(n))
    pair, single = yard.arrangement(), yard.arrangement("one", [("gauge", "gauge", 1)])
    out = yard.plan("J-OUT", single, load_in=0, days=0)
    yard.do(issue_piece, out, Item.objects.get(tag="G-5"))
    out = yard.do(finish_issue, out)
    with acting(CLERK) as act:  # some days pass
        act.change(out, load_on=yard.today - timedelta(days=5), return_on=yard.today - timedelta(days=1))
        act.tell(Deed.MOVED, [out])
    yard.reserve(yard.plan("J-NOW", single, load_in=0))
    yard.reserve(yard.plan("J-MORN", pair, load_in=1))
    yard.plan("J-LATER", pair, load_in=10)
    promised = Item.objects.filter(reservations__job__reference="J-MORN").order_by("tag").first()
    yard.do(quarantine, promised, "needle sticks")
    yard.do(send, yard.receive("W-1", kind="pump", depot=yard.weir), yard.holm, yard.today)
    return yard


def today(yard: Yard, who: str):
    answer = yard.client(who).get(reverse("today"))
    assert answer.status_code == 200
    return answer


def headings(page: str) -> list[str]:
    main = page.split("</main>")[0]
    return [part.split("</h2>")[0].split(">")[-1] for part in main.split("<h2")[1:]]


def test_stores_see_vans_returns_broken_promises_and_quarantine(busy: Yard):
    answer = today(busy, "sal")
    page = answer.content.decode()
    assert [van.job.reference for van in answer.context["vans"]] == ["J-NOW", "J-MORN"]
    assert [van.mark.state for van in answer.context["vans"]] == ["promised", "short"]
    assert answer.context["vans"][1].broken == 1
    assert [job.reference for job in answer.context["returns_overdue"]] == ["J-OUT"]
    assert "needle sticks" in page
    assert "Proposed in its place:" in page
    assert reverse("issue", args=["J-NOW"]) in page
    assert reverse("take_back", args=["J-OUT"]) in page
    assert reverse("transfer_arrive", args=[1]) in page
    assert reverse("quarantine") in page


def test_the_proposed_substitute_is_named(busy: Yard):
    [broken] = today(busy, "sal").context["broken"]
    assert broken.proposed is not None
    assert broken.proposed.tag in today(busy, "pat").content.decode()


def test_the_crew_sees_jobs_and_load_lists_and_no_buttons_of_the_counter(busy: Yard):
    page = today(busy, "cal").content.decode()
    assert reverse("load_list", args=["J-NOW"]) in page
    assert reverse("issue", args=["J-NOW"]) not in page
    assert reverse("take_back", args=["J-OUT"]) not in page
    assert reverse("counter") not in page


def test_the_planner_sees_broken_promises_first_then_what_is_short(busy: Yard):
    answer = today(busy, "pat")
    assert headings(answer.content.decode())[:3] == [
        "Now, in this order",
        "Promises that no longer hold",
        "Short in the next 14 days",
    ]
    assert [van.job.reference for van in answer.context["short"]] == ["J-MORN", "J-LATER"]
    assert [van.missing for van in answer.context["short"]] == [1, 2]


def test_the_examiner_sees_the_bench_the_soonest_promised_first(busy: Yard):
    busy.receive("G-7", serial="7", passed=False)
    busy.receive("P-3", kind="pump", serial="3", use_by=busy.today + timedelta(days=1))
    due_soon = busy.receive("P-2", kind="pump", serial="2", passed=False)
    busy.inspect(due_soon, "inspection", days_ago=360)
    promised = busy.plan("J-PUMP", busy.arrangement("pump", [("pump", "pump", 1)]), load_in=1, days=1)
    busy.reserve(promised)
    page = today(busy, "eve").content.decode()
    bench = page.split('id="bench"')[1].split("</section>")[0]
    assert bench.index("P-2") < bench.index("G-7")
    assert "P-3" not in bench  # only a use-by date: nothing to be done at the bench
    assert "J-PUMP" in bench
    assert f"{reverse('record', args=['P-2'])}?check=inspection" in bench


def test_the_compliance_lead_sees_what_is_overdue_quarantine_and_the_ledger(busy: Yard):
    old = busy.receive("P-2", kind="pump", serial="2", passed=False)
    busy.inspect(old, "inspection", days_ago=500)
    busy.receive("P-4", kind="pump", serial="4", passed=False)
    page = today(busy, "lee").content.decode()
    assert headings(page) == [
        "Now, in this order",
        "Overdue",
        "Quarantine: 1 open case",
        "Quarantine, the oldest first",
        "What changed since yesterday",
        "Last entries of the ledger",
    ]
    overdue = page.split('id="overdue"')[1].split("</section>")[0]
    figures = [part.split("<")[0] for part in overdue.split('tally__figure">')[1:]]
    assert figures == ["1", "1", "2", "0"]


def test_somebody_with_two_roles_sees_the_work_of_both(busy: Yard):
    busy.appoint("sal", busy.holm, "examiner")
    page = today(busy, "sal").content.decode()
    assert 'id="vans"' in page
    assert 'id="bench"' in page


def test_another_depots_work_is_not_shown(busy: Yard):
    page = today(busy, "wyn").content.decode()
    for name in ("J-NOW", "J-OUT", "needle sticks"):
        assert name not in page


@pytest.mark.parametrize("who", ["sal", "cal", "pat", "eve", "lee", "wyn"])
def test_a_day_without_work_says_so(yard: Yard, who: str):
    page = today(yard, who).content.decode()
    assert "empty__text" in page or who == "lee"


def test_a_line_counts_for_no_more_than_it_asks(yard: Yard):
    """Two lines of one kind: what is too much on one does not hide what the other lacks."""
    pattern = yard.arrangement("two lines", [("left", "gauge", 1), ("right", "gauge", 2)])
    yard.receive("G-1")
    job = yard.plan("J-1", pattern)
    yard.reserve(job)
    [van] = loads([job], yard.today)
    assert (van.needed, van.promised, van.issued, van.missing) == (3, 1, 0, 2)


def test_a_van_that_should_have_left_is_still_listed(yard: Yard):
    yard.plan("J-1", yard.arrangement(), load_in=-2)
    page = today(yard, "sal").content.decode()
    assert "not loaded" in page


def test_the_number_of_queries_does_not_grow_with_the_work(busy: Yard, django_assert_max_num_queries):
    client = busy.client("sal")
    pattern = busy.arrangement()
    for n in range(20):
        busy.plan(f"K-{n}", pattern, load_in=1)
    with django_assert_max_num_queries(40):
        client.get(reverse("today"))
