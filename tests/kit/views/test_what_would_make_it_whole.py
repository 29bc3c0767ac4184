"""The panel of a short job: each change with the press or link that does it, for whoever may do it."""

from __future__ import annotations

from datetime import timedelta
from urllib.parse import parse_qs, urlsplit

import pytest
from django.urls import reverse
from django.utils.html import escape

from kit.models import Role
from kit.sentences import said
from kit.stores import quarantine, set_link
from kit.stores.ways_out import told_kit_list
from tests.kit.stores.test_what_would_make_a_job_whole import clear, one_gauge
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def yard() -> Yard:
    made = make_yard()
    clear(made)
    return made


def ways(yard: Yard, name: str, reference: str = "ONE"):
    answer = yard.client(name).get(reverse("job", args=[reference]))
    assert answer.status_code == 200
    return answer, answer.context["ways_out"]


def test_an_inspection_leads_to_the_bench_of_the_piece(yard):
    yard.receive("G-NEW", passed=False)
    job = one_gauge(yard, "ONE")
    answer, shown = ways(yard, "eve")
    [step] = shown["steps"]
    assert step.url == reverse("record", args=["G-NEW"])
    assert shown["title"] == "1 change"
    text = answer.content.decode()
    assert escape(said(told_kit_list(job).kit.lines[0].remedy)) in text
    assert yard.client("eve").get(step.url).status_code == 200
    assert ways(yard, "sal")[1]["steps"][0].note.startswith("Ask the examiner")


def test_a_release_leads_to_its_case_and_a_purchase_says_what_to_ask_for(yard):
    yard.do(quarantine, yard.receive("G-ASIDE"), "dropped", who="sal")
    one_gauge(yard, "ONE", 2)
    _answer, shown = ways(yard, "eve")
    [step] = shown["steps"]
    assert step.label == "Its case"
    assert yard.client("eve").get(step.url).status_code == 200
    assert shown["buy"][0].startswith("Ask for 1 x gauge, fit through ")


def test_a_piece_elsewhere_is_put_on_the_list_by_who_may_send_it(yard):
    yard.receive("G-FAR", depot=yard.weir)
    yard.do(set_link, yard.weir, yard.holm, 1)
    one_gauge(yard, "ONE")
    assert ways(yard, "sal")[1]["steps"][0].note == f"Ask {yard.weir} to send it."
    yard.appoint("sal", yard.weir, Role.STORES)
    client = yard.client("sal")
    client.post(reverse("switch_depot"), {"depot": yard.holm.code})
    shown = client.get(reverse("job", args=["ONE"])).context["ways_out"]
    [step] = shown["steps"]
    assert step.url == reverse("switch_depot")
    page = client.post(step.url, dict(step.post), follow=True)
    assert page.status_code == 200
    assert 'value="G-FAR"' in page.content.decode()
    [step] = client.get(reverse("job", args=["ONE"])).context["ways_out"]["steps"]
    page = client.post(step.url, dict(step.post), follow=True)
    assert "G-FAR" in page.content.decode()
    assert page.redirect_chain[-1][0] == reverse("send_transfer", args=[yard.holm.code])


def test_a_move_and_the_soonest_day_open_the_boards_move_with_its_days(yard):
    yard.receive("G-ONE")
    first = one_gauge(yard, "FIRST", load_in=4, days=3)
    yard.reserve(first)
    job = one_gauge(yard, "ONE", load_in=6, days=2)
    _answer, shown = ways(yard, "pat")
    [step] = shown["steps"]
    asked = parse_qs(urlsplit(step.url).query)
    assert asked["load_on"] == [(first.load_on - timedelta(days=2)).isoformat()]
    page = yard.client("pat").get(step.url)
    assert page.context["foreseen"].changes
    later = yard.client("pat").get(shown["move_url"])
    assert later.context["foreseen"].load_on == shown["soonest"] == first.return_on + timedelta(days=1)
    assert later.context["foreseen"].whole
    assert later.context["next"] == reverse("job", args=[job.reference])
    assert ways(yard, "cal")[1]["move_url"] == ""


def test_a_job_that_is_whole_has_no_panel(yard):
    yard.receive("G-ONE")
    one_gauge(yard, "ONE")
    answer, shown = ways(yard, "pat")
    assert shown is None
    assert "What would make it whole" not in answer.content.decode()


def test_changes_are_told_on_the_command_line(yard, capsys):
    from django.core.management import call_command

    yard.receive("G-NEW", passed=False)
    one_gauge(yard, "ONE")
    with pytest.raises(SystemExit) as ended:
        call_command("kit_list", "ONE")
    assert ended.value.code == 1
    told = capsys.readouterr().out
    assert "What would make it whole (1 change):\n  inspect G-NEW (" in told
