"""What to do now: each role's steps in the order in which they bite, with a reason, evidence and one press each."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse

from inspections.actions.concessions import ask
from kit.models import Deed, Item, Job, LedgerEntry, Reservation, Role
from kit.stores import acting, finish_issue, issue_piece, quarantine, send
from tests.kit.views.holm import CLERK, Yard


@pytest.fixture
def busy(yard: Yard) -> Yard:
    """Today J-NOW loads, whole; tomorrow J-MORN, one promise broken; J-LATER has none; J-OUT is late; W-1 arrives."""
    for n in range(1, 6):
        yard.receive(f"G-{n}", serial=str(n))
    pair, single = yard.arrangement(), yard.arrangement("one", [("gauge", "gauge", 1)])
    out = yard.plan("J-OUT", single, load_in=0, days=0, crew="Cal and Joe")
    yard.do(issue_piece, out, Item.objects.get(tag="G-5"))
    out = yard.do(finish_issue, out)
    with acting(CLERK) as act:
        act.change(out, load_on=yard.today - timedelta(days=5), return_on=yard.today - timedelta(days=1))
        act.tell(Deed.MOVED, [out])
    yard.reserve(yard.plan("J-NOW", single, load_in=0, crew="Ann"))
    yard.reserve(yard.plan("J-MORN", pair, load_in=1, crew="cal"))
    yard.plan("J-LATER", pair, load_in=10)
    yard.do(quarantine, promised(), "needle sticks", who="sal")
    yard.do(send, yard.receive("W-1", kind="pump", depot=yard.weir), yard.holm, yard.today)
    return yard


def promised() -> Item:
    return Item.objects.filter(reservations__job__reference="J-MORN").order_by("tag").first()


def now(yard: Yard, who: str):
    return yard.client(who).get(reverse("today")).context["steps"]


def told(steps) -> list[tuple[str, str]]:
    return [(step.subject, step.press.label if step.press else "") for step in steps]


def test_stores_load_what_loads_today_then_take_back_and_sign_then_mend(busy: Yard):
    broken = Reservation.objects.get(standing="broken")
    steps = now(busy, "sal")
    assert told(steps)[0] == ("J-NOW", "Issue")
    assert told(steps)[1:3] == [("J-OUT", "Take back"), (steps[2].subject, "Sign for it")]
    assert told(steps)[3:] == [(broken.item.tag, f"Take {broken.proposed.tag}")]
    assert [step.press.url for step in steps[:3]] == [
        reverse("issue", args=["J-NOW"]),
        reverse("take_back", args=["J-OUT"]),
        reverse("transfer_arrive", args=[1]),
    ]
    assert broken.why in steps[3].why


def test_a_late_van_says_since_when_and_what_is_not_promised(yard: Yard):
    yard.plan("J-1", yard.arrangement(), load_in=-2)
    [step] = now(yard, "sal")
    assert "It was to be loaded on" in step.why
    assert "2 not promised." in step.why


def test_one_press_takes_what_is_proposed_and_comes_back_to_the_day(busy: Yard):
    broken = Reservation.objects.get(standing="broken")
    [step] = [step for step in now(busy, "pat") if step.subject == broken.item.tag]
    client = busy.client("pat")
    page = client.get(reverse("today")).content.decode()
    form = re.search(rf'<form method="post" action="{reverse("breaks")}">.*?</form>', page, re.S)
    sent = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form[0]))
    assert {name: sent[name] for name, _value in step.press.sends} == dict(step.press.sends)
    answer = client.post(step.press.url, sent)
    assert (answer.status_code, answer["Location"]) == (302, reverse("today"))
    held = Reservation.objects.filter(job__reference="J-MORN", standing="promised")
    assert broken.proposed.tag in held.values_list("item__tag", flat=True)
    assert broken.item.tag not in [step.subject for step in now(busy, "pat")]


def test_the_planner_mends_what_bites_first_and_then_reserves_what_is_short(busy: Yard):
    broken = Reservation.objects.get(standing="broken")
    assert told(now(busy, "pat")) == [
        (broken.item.tag, f"Take {broken.proposed.tag}"),
        ("J-LATER", "Reserve"),
    ]
    step = now(busy, "pat")[1]
    busy.receive("G-8")
    busy.receive("G-9")
    busy.client("pat").post(step.press.url, dict(step.press.sends))
    assert Reservation.objects.filter(job__reference="J-LATER", standing="promised").count() == 2


def test_what_is_unfit_on_site_comes_before_all(busy: Yard):
    job = Job.objects.get(reference="J-NOW")
    item = Item.objects.get(reservations__job=job)
    busy.do(issue_piece, job, item)
    busy.inspect(item, "calibration", "fail", days_ago=0)
    first = now(busy, "sal")[0]
    assert (first.subject, first.press.label) == (item.tag, "To the job")
    assert "On site with J-NOW" in first.what


def test_the_crew_checks_loads_and_reports_with_its_own_jobs_first(busy: Yard):
    yard = busy
    yard.plan("J-0", yard.arrangement(), load_in=1, crew="Ann")
    steps = now(yard, "cal")
    assert told(steps) == [
        ("J-NOW", "Load list"),
        ("J-OUT", "Report"),
        ("J-MORN", "Load list"),
        ("J-0", "Load list"),
    ]
    assert "Crew: Cal and Joe." in steps[1].why
    assert steps[1].press.url == reverse("van", args=["J-OUT"])


def test_the_examiner_begins_with_what_is_promised_soonest(busy: Yard):
    busy.receive("G-7", serial="7", passed=False)
    due_soon = busy.receive("P-2", kind="pump", serial="2", passed=False)
    busy.inspect(due_soon, "inspection", days_ago=360)
    busy.reserve(busy.plan("J-P", busy.arrangement("pump", [("pump", "pump", 1)]), load_in=1, days=1))
    steps = now(busy, "eve")
    assert told(steps)[0] == ("P-2", "Record")
    assert "Promised to J-P" in steps[0].why
    assert [step.why for step in steps if step.subject == "G-7"] == ["Never done."]


def test_the_compliance_lead_decides_what_others_asked_and_sees_open_cases(busy: Yard):
    old = busy.receive("P-2", kind="pump", serial="2", passed=False)
    busy.inspect(old, "inspection", days_ago=360)
    check = old.dues.get().check_due
    busy.do(ask, old, check, busy.today + timedelta(days=30), "needed", "none seen", who="eve")
    steps = now(busy, "lee")
    assert told(steps) == [("P-2", "Decide"), (Item.objects.get(state="quarantined").tag, "To the case")]
    assert "by eve." in steps[0].why


def test_nobody_is_told_to_decide_their_own_concession(busy: Yard):
    old = busy.receive("P-2", kind="pump", serial="2", passed=False)
    busy.inspect(old, "inspection", days_ago=360)
    busy.do(
        ask, old, old.dues.get().check_due, busy.today + timedelta(days=30), "needed", "none seen", who="lee"
    )
    assert "P-2" not in [step.subject for step in now(busy, "lee")]


def test_what_changed_since_yesterday_is_what_the_ledger_lists(busy: Yard):
    client = busy.client("lee")
    changed = client.get(reverse("today")).context["changed"]
    assert sum(n for _words, n, _url in changed) == LedgerEntry.objects.count()
    for words, n, url in changed:
        assert client.get(url).context["page"].paginator.count == n, words
    assert [n for _words, n, _url in changed] == sorted((n for _words, n, _url in changed), reverse=True)


@pytest.mark.parametrize(
    ("who", "lesson"),
    [
        ("sal", "Vans to load"),
        ("cal", "A job stands here a week before it loads"),
        ("pat", "A promise that breaks stands here at once"),
        ("eve", "What is due at the bench stands here"),
        ("lee", "What is overdue though promised"),
    ],
)
def test_an_empty_day_teaches_what_will_stand_here(yard: Yard, who: str, lesson: str):
    answer = yard.client(who).get(reverse("today"))
    assert answer.context["steps"] == []
    now_part = answer.content.decode().split('id="now"')[1].split("</section>")[0]
    assert lesson in now_part
    assert "Nothing waits for you now." in now_part
    assert 'class="button"' in now_part


def test_signing_in_lands_on_the_day(yard: Yard):
    user = yard.people["sal"]
    user.set_password("lantern-ropewalk-eel")
    user.save()
    answer = Client().post(reverse("login"), {"username": "sal", "password": "lantern-ropewalk-eel"})
    assert (answer.status_code, answer["Location"]) == (302, reverse("today"))


def test_queries_of_the_day_are_bounded_on_the_demo_and_every_step_leads_on(
    demo, django_assert_max_num_queries
):
    for role in Role.values:
        client = Client()
        user = User.objects.filter(memberships__role=role).order_by("pk")[0]
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        with django_assert_max_num_queries(40):
            page = client.get(reverse("today"))
        for step in page.context["steps"]:
            assert client.get(step.url).status_code == 200
            if step.press and not step.press.sends:
                assert client.get(step.press.url, follow=True).status_code == 200, step
