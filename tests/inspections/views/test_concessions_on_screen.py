"""Concessions on screen: asked from an item or the due list, decided by somebody else, shown wherever the item is."""

from __future__ import annotations

import io
from datetime import timedelta

import openpyxl
import pytest
from django.urls import reverse

from inspections.actions.concessions import ask, end, grant
from inspections.models import Check, Concession, ConcessionState
from kit.models import Item, Role
from kit.papers import load_list_pdf
from kit.papers.from_store import load_list_of
from kit.sentences import said
from kit.stores import kit_list_of, prove_ledger, quarantine
from tests.kit.views.holm import Yard

ASKS = {"reason": "examiner is ill", "risk": "read true on every job", "conditions": "only on low pressure"}


@pytest.fixture
def gauge(yard: Yard) -> Item:
    """G-1, calibrated yesterday; Dot is the duty manager."""
    yard.appoint("dot", yard.holm, Role.DUTY)
    return yard.receive("G-1")


def due_on(item: Item):
    return item.dues.get().conceded_from or item.dues.get().due_on


def granted(yard: Yard, item: Item, days: int = 20) -> Concession:
    check = Check.objects.get(kind=item.kind, name="calibration")
    made = yard.do(ask, item, check, due_on(item) + timedelta(days=days), who="pat", **ASKS)
    return yard.do(grant, made, "go on", who="dot")


def test_it_is_asked_from_the_item_and_granted_by_the_duty_manager(yard: Yard, gauge: Item):
    address = reverse("ask_concession", args=["G-1"])
    assert address in yard.client("pat").get(reverse("item", args=["G-1"])).content.decode()
    page = yard.client("pat").get(address, {"check": "calibration"}).content.decode()
    assert "may be extended by 30 days at most" in page
    check = Check.objects.get(kind=gauge.kind, name="calibration")
    until = due_on(gauge) + timedelta(days=20)
    sent = {**ASKS, "check_due": check.pk, "until": until.isoformat()}
    answer = yard.client("pat").post(address, sent, follow=True)
    assert "Nothing is extended until it is granted" in answer.content.decode()
    made = Concession.objects.get()
    address = reverse("concession", args=[made.pk])
    assert address in yard.client("dot").get(reverse("today")).content.decode()
    assert "Grant it" in yard.client("dot").get(address).content.decode()
    answer = yard.client("dot").post(address, {"do": "grant", "grant-note": "until Friday"}, follow=True)
    assert "is granted" in answer.content.decode()
    gauge.refresh_from_db()
    assert gauge.fit_until == until
    assert prove_ledger().fault is None


def test_a_refusal_stands_at_the_form_and_what_was_typed_stays(yard: Yard, gauge: Item):
    check = Check.objects.get(kind=gauge.kind, name="calibration")
    sent = {**ASKS, "check_due": check.pk, "until": (due_on(gauge) + timedelta(days=31)).isoformat()}
    page = yard.client("pat").post(reverse("ask_concession", args=["G-1"]), sent).content.decode()
    assert "30 days at most" in page
    assert "examiner is ill" in page
    assert not Concession.objects.exists()


def test_nobody_grants_their_own_on_screen_either(yard: Yard, gauge: Item):
    check = Check.objects.get(kind=gauge.kind, name="calibration")
    made = yard.do(ask, gauge, check, due_on(gauge) + timedelta(days=9), who="lee", **ASKS)
    address = reverse("concession", args=[made.pk])
    page = yard.client("lee").get(address).content.decode()
    assert "Nobody grants their own" in page
    assert 'value="grant"' not in page
    page = yard.client("lee").post(address, {"do": "grant", "grant-note": ""}).content.decode()
    made.refresh_from_db()
    assert made.state == ConcessionState.ASKED


@pytest.mark.parametrize("who", ["sal", "cal", "pat", "eve"])
def test_who_may_not_grant_is_refused(yard: Yard, gauge: Item, who: str):
    check = Check.objects.get(kind=gauge.kind, name="calibration")
    made = yard.do(ask, gauge, check, due_on(gauge) + timedelta(days=9), who="lee", **ASKS)
    address = reverse("concession", args=[made.pk])
    assert yard.client(who).get(address).status_code == 200
    assert yard.client(who).post(address, {"do": "grant"}).status_code == 403
    assert (
        reverse("ask_concession", args=["G-1"])
        in yard.client(who).get(reverse("item", args=["G-1"])).content.decode()
    )


def test_it_is_refused_or_ended_with_why(yard: Yard, gauge: Item):
    running = granted(yard, gauge)
    address = reverse("concession", args=[running.pk])
    assert (
        "This field is required"
        in yard.client("dot").post(address, {"do": "end", "end-why": ""}).content.decode()
    )
    yard.client("dot").post(address, {"do": "end", "end-why": "calibrated after all"})
    running.refresh_from_db()
    assert running.state == ConcessionState.ENDED
    check = Check.objects.get(kind=gauge.kind, name="calibration")
    again = yard.do(ask, gauge, check, due_on(gauge) + timedelta(days=9), who="pat", **ASKS)
    yard.client("lee").post(
        reverse("concession", args=[again.pk]), {"do": "refuse", "refuse-note": "take G-2"}
    )
    again.refresh_from_db()
    assert (again.state, again.decision_note) == (ConcessionState.REFUSED, "take G-2")
    assert prove_ledger().fault is None


def test_it_is_shown_wherever_the_item_is(yard: Yard, gauge: Item):
    granted(yard, gauge)
    gauge.refresh_from_db()
    job = yard.plan("J-1", yard.arrangement(lines=[("gauges", "gauge", 1)]))
    yard.reserve(job)
    client = yard.client("sal")
    for page in (
        reverse("item", args=["G-1"]),
        reverse("register") + "?q=G-1",
        reverse("job", args=["J-1"]),
        reverse("load_list", args=["J-1"]),
        reverse("issue", args=["J-1"]),
        reverse("due") + "?within=2000",
    ):
        assert "by concession" in client.get(page).content.decode().lower(), page
    assert (
        "Conditions: only on low pressure." in client.get(reverse("load_list", args=["J-1"])).content.decode()
    )
    book = openpyxl.load_workbook(io.BytesIO(client.get(reverse("kit_list_workbook", args=["J-1"])).content))
    texts = [row[7] for row in book.worksheets[1].iter_rows(values_only=True) if row[3] == "G-1"]
    why = f"by concession: calibration due {due_on(gauge)}, conceded until {gauge.fit_until}"
    assert texts == [said(why)]
    assert texts != [why], "the days are written as on the page"
    paper = load_list_of(job, kit_list_of(job, yard.today))
    assert paper.pieces[0].concession == (
        f"By concession until {gauge.fit_until}: calibration was due on {due_on(gauge)}. "
        "Conditions: only on low pressure."
    )
    assert load_list_pdf(paper).startswith(b"%PDF")
    answered = yard.htmx("sal").post(reverse("issue_scan", args=["J-1"]), {"code": "G-1"}).content.decode()
    assert "By concession until" in answered
    assert "only on low pressure" in answered


def test_they_are_listed_in_three_parts_and_counted(yard: Yard, gauge: Item):
    other, third = yard.receive("G-2", serial="2"), yard.receive("G-3", serial="3")
    ended = granted(yard, gauge)
    yard.do(end, ended, "done after all", who="dot")
    granted(yard, gauge, days=10)
    check = Check.objects.get(kind=gauge.kind, name="calibration")
    yard.do(ask, other, check, due_on(other) + timedelta(days=9), who="pat", **ASKS)
    granted(yard, third)
    yard.inspect(third, "calibration", "fail", days_ago=0, by="eve")
    client = yard.client("lee")
    shown = {
        part: [
            row.record.concession.item.tag
            for row in client.get(reverse("concessions"), {"part": part}).context["table"].rows
        ]
        for part in ("asked", "running", "past")
    }
    assert shown == {"asked": ["G-2"], "running": ["G-1"], "past": ["G-3", "G-1"]}
    counted = dict(client.get(reverse("concessions")).context["counts"])
    assert counted == {
        "granted in all": 3,
        "items granted more than one": 1,
        "granted for gauge, calibration": 3,
        "granted at Holm": 3,
    }
    panel = client.get(reverse("today")).content.decode()
    assert "1 asked for, to be decided" in panel
    assert "1 running" in panel
    book = openpyxl.load_workbook(io.BytesIO(client.get(reverse("concession_workbook")).content))
    rows = [row for row in book.worksheets[1].iter_rows(values_only=True) if row[0] in ("G-1", "G-2", "G-3")]
    assert [(row[0], row[4], row[7]) for row in rows] == [
        ("G-3", "lapsed", 1),
        ("G-2", "asked", 0),
        ("G-1", "running", 2),
        ("G-1", "ended", 2),
    ]


def test_the_due_list_leads_to_asking_where_there_is_something_to_extend(yard: Yard, gauge: Item):
    aside, never = yard.receive("G-2", serial="2"), yard.receive("G-3", passed=False, serial="3")
    yard.do(quarantine, aside, "bent")
    page = yard.client("pat").get(reverse("due"), {"within": "2000"}).content.decode()
    assert reverse("ask_concession", args=["G-1"]) + "?check=calibration" in page
    assert reverse("ask_concession", args=[aside.tag]) not in page
    assert reverse("ask_concession", args=[never.tag]) not in page
    assert (
        reverse("ask_concession", args=["G-1"])
        not in yard.client("dot").get(reverse("due"), {"within": "2000"}).content.decode()
    )


def test_of_another_depot_nothing_is_seen(yard: Yard, gauge: Item):
    made = granted(yard, gauge)
    assert yard.client("wyn").get(reverse("concession", args=[made.pk])).status_code == 404
    assert yard.client("wyn").get(reverse("ask_concession", args=["G-1"])).status_code == 404
    assert not yard.client("wyn").get(reverse("concessions"), {"part": "running"}).context["table"].rows
