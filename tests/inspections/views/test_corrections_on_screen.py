"""A record corrected or struck out on screen: refusals at their fields, the old one struck through with a link."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from inspections.actions import Finding, record, record_answers
from inspections.models import Inspection
from kit.models import Depot, Role, State
from kit.stores import prove_ledger
from tests.inspections.bench import bench, calibrate, check, day, do, held, hold, item, points
from tests.kit.views.yard import seat


@pytest.fixture
def client(db) -> Client:
    """The examiner's browser."""
    bench()
    return seat(Role.EXAMINER, Depot.objects.get(code="NY"), name="e.hand")


def address(made: Inspection) -> str:
    return reverse("correct_record", args=[made.pk])


def visual(verdict: str = "pass", ago: int = 3) -> Inspection:
    return do(record, Finding(item("S-1"), check("base", "visual"), day(ago), verdict, note="as found"))


def as_shown(client: Client, made: Inspection, **changed: str) -> dict[str, str]:
    """What the form of the record would send, with these fields changed."""
    form = client.get(address(made)).context["form"]
    return {
        "do": "correct",
        "why": "mistyped",
        **{bound.name: bound.value() or "" for bound in form if bound.name != "why"},
        **changed,
    }


def test_it_is_offered_on_each_record_that_counts_and_done(client: Client):
    old = visual()
    assert address(old) in client.get(reverse("item", args=["S-1"])).content.decode()
    page = client.post(
        address(old), as_shown(client, old, done_on=day(9).isoformat()), follow=True
    ).content.decode()
    made = Inspection.objects.get(corrects=old)
    assert made.done_on == day(9)
    assert "is corrected: pass" in page
    assert 'class="corrected"' in page
    assert "what stands in its place" in page
    assert reverse("inspection", args=[made.pk]) in page
    assert address(old) not in page
    assert address(made) in page
    assert "corrects entry" in page
    assert "corrected by" in page
    assert prove_ledger().fault is None


def test_a_hold_test_is_read_again_and_a_refusal_stands_at_its_field(client: Client):
    old = hold("B-1", held(end="0.180"))
    page = client.post(address(old), as_shown(client, old, minutes="2")).content.decode()
    assert 'aria-invalid="true"' in page
    assert not Inspection.objects.filter(corrects=old).exists()
    page = client.post(
        address(old), as_shown(client, old, end_pressure="0.199"), follow=True
    ).content.decode()
    assert "is corrected: pass" in page
    assert "a correction releases nothing" in page
    assert item("B-1").state == State.QUARANTINED
    gauge = client.post(address(hold("B-2", held())), {"do": "correct", "gauge": "G-77"}).content.decode()
    assert "No item has the tag G-77." in gauge


def test_points_and_answers_are_judged_anew(client: Client):
    gauge = calibrate("G-1", points(("up", "0.3", "0.302")))
    page = client.post(
        address(gauge), as_shown(client, gauge, p0_as_found="0.33"), follow=True
    ).content.decode()
    assert "is corrected: fail" in page
    assert "G-1 is set aside" in page
    texts = {"length_mm": "990", "marks": "yes"}
    chain = do(record_answers, item("C-1"), check("chain set", "examination"), texts, day())
    page = client.post(address(chain), as_shown(client, chain, a_length_mm="long")).content.decode()
    assert 'aria-invalid="true"' in page
    page = client.post(address(chain), as_shown(client, chain, a_length_mm="1001"), follow=True)
    assert "is corrected: fail" in page.content.decode()


def test_it_is_struck_out_with_why(client: Client):
    old = visual()
    page = client.post(address(old), {"do": "strike", "strike-why": ""}).content.decode()
    assert "This field is required" in page
    page = client.post(
        address(old), {"do": "strike", "strike-why": "that was S-2"}, follow=True
    ).content.decode()
    assert "is struck out" in page
    assert "struck out" in page
    assert item("S-1").fit_until is None
    for shown in Inspection.objects.filter(item__tag="S-1"):
        page = client.get(address(shown)).content.decode()
        assert "Record anew what was done" in page
        assert "Correct it" not in page


def test_what_changes_nothing_is_refused_and_stays_typed(client: Client):
    old = visual()
    page = client.post(address(old), as_shown(client, old, why="no idea")).content.decode()
    assert "says the same" in page
    assert "no idea" in page


@pytest.mark.parametrize("role", [Role.STORES, Role.PLANNER, Role.CREW, Role.COMPLIANCE, Role.DUTY])
def test_only_who_inspects_corrects(client: Client, role: str):
    old = visual()
    other = seat(role, Depot.objects.get(code="NY"))
    assert other.get(address(old)).status_code == 403
    assert other.post(address(old), {"do": "strike", "strike-why": "x"}).status_code == 403
    assert address(old) not in other.get(reverse("item", args=["S-1"])).content.decode()
