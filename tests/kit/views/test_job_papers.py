"""Papers from a screen: the load list as page, the PDFs, the spreadsheet, and what the ledger tells of printing."""

from __future__ import annotations

import io
import re

import openpyxl
import pytest
from django.urls import reverse

from kit.models import Deed, LedgerEntry, Outcome, Reservation, Role
from kit.stores import (
    acting,
    cancel_job,
    finish_issue,
    issue_piece,
    prove_ledger,
    quarantine,
    reserve,
    take_back,
)
from tests.kit.papers.examples import pages, qr_codes
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, in_days, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    return yard()


def url(name: str, place: Yard) -> str:
    return reverse(name, args=[place.job.reference])


def gone_out(place: Yard) -> None:
    with acting(STORES) as act:
        reserve(act, place.job)
        for row in Reservation.objects.filter(job=place.job).select_related("item"):
            issue_piece(act, place.job, row.item)
        finish_issue(act, place.job)


def all_back(place: Yard) -> None:
    for row in Reservation.objects.filter(job=place.job).select_related("item", "job", "line"):
        with acting(STORES) as act:
            take_back(act, row, Outcome.UNUSED)


def printings() -> list[str]:
    return [entry.body for entry in LedgerEntry.objects.filter(deed=Deed.PRINTED).order_by("number")]


def test_the_load_list_page_groups_by_place_with_a_code_for_each_tag(place):
    answer = seat(Role.CREW, place.north).get(url("load_list", place))
    assert [
        (name, [shown["piece"].tag for shown in pieces]) for name, pieces in answer.context["places"]
    ] == [
        ("Cage 1", ["NY-S1", "NY-S2"]),
        ("Rack 2", ["NY-B1", "NY-B2", "NY-B3", "NY-B4"]),
    ]
    text = answer.content.decode()
    assert text.count('class="qr" src="data:image/svg+xml') == 6
    assert "LOT-7" in text
    assert "style=" not in text
    assert "150–180" in text
    assert printings() == []


def test_what_is_issued_is_ticked_on_the_page(place):
    with acting(STORES) as act:
        reserve(act, place.job)
        issue_piece(act, place.job, place.item("NY-B1"))
    text = seat(Role.CREW, place.north).get(url("load_list", place)).content.decode()
    assert text.count("load__piece--ticked") == 1


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_whoever_sees_a_job_may_print_its_load_list_and_the_ledger_tells_of_it(place, role):
    answer = seat(role, place.north).get(url("load_list_pdf", place))
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == 'inline; filename="load_list_J-26-104.pdf"'
    page = pages(answer.content)[0]
    assert "COMPLETE" in page
    entry = LedgerEntry.objects.latest("number")
    assert (entry.deed, entry.actor) == (Deed.PRINTED, f"the.{role}")
    assert '"paper":"load list","revision":1' in entry.body
    # The paper names the entry that tells of its own printing.
    assert f"ledger {entry.number} · {entry.hash[:12]}" in page
    assert prove_ledger().fault is None


def test_a_look_at_the_head_only_prints_nothing(place):
    assert seat(Role.CREW, place.north).head(url("load_list_pdf", place)).status_code == 200
    assert printings() == []


def test_notes_are_printed_once_there_is_something_to_say(place):
    client = seat(Role.STORES, place.north)
    answer = client.get(url("issue_note", place), follow=True)
    assert "there is no issue note" in answer.content.decode()
    gone_out(place)
    answer = client.get(url("issue_note", place))
    assert "ISSUED IN FULL" in pages(answer.content)[0]
    assert sorted(qr_codes(answer.content)[0]) == ["NY-B1", "NY-B2", "NY-B3", "NY-B4", "NY-S1", "NY-S2"]
    answer = client.get(url("return_note", place), follow=True)
    assert "there is no return note" in answer.content.decode()
    all_back(place)
    assert "RETURNED: 6 pieces" in pages(client.get(url("return_note", place)).content)[0]
    # What was refused was not printed, and the ledger does not tell of it.
    assert [re.search(r'"paper":"([a-z ]+)"', body).group(1) for body in printings()] == [
        "issue note",
        "return note",
    ]


def test_papers_come_in_the_language_of_the_desk(place):
    client = seat(Role.STORES, place.north)
    german = {"Accept-Language": "de"}
    load_list = pages(client.get(url("load_list_pdf", place), headers=german).content)[0]
    assert "VOLLSTÄNDIG: jede Position ist besetzt" in load_list
    assert "noch nicht reserviert" in load_list
    assert "not reserved" not in load_list
    gone_out(place)
    note = pages(client.get(url("issue_note", place), headers=german).content)[0]
    assert "VOLLSTÄNDIG AUSGEGEBEN" in note
    all_back(place)
    note = pages(client.get(url("return_note", place), headers=german).content)[0]
    assert "ZURÜCK: 6 Teile" in note
    assert "UNBENUTZT zurück ins Lager" in note


def test_an_ended_job_has_no_load_list_but_its_notes(place):
    gone_out(place)
    all_back(place)
    client = seat(Role.STORES, place.north)
    for name in ("load_list", "load_list_pdf", "kit_list_workbook"):
        answer = client.get(url(name, place), follow=True)
        assert "there is nothing to load" in answer.content.decode()
    text = client.get(url("job", place)).content.decode()
    assert url("load_list", place) not in text
    assert url("return_note", place) in text


def test_a_cancelled_job_has_no_papers(place):
    with acting(STORES) as act:
        cancel_job(act, place.job, "rain")
    text = seat(Role.STORES, place.north).get(url("job", place)).content.decode()
    assert "it has no papers" in text


def test_the_kit_list_is_a_spreadsheet_for_the_day_asked_for(place):
    answer = seat(Role.PLANNER, place.north).get(
        url("kit_list_workbook", place), {"as_of": in_days(-20).isoformat()}
    )
    assert answer["Content-Disposition"].startswith('attachment; filename="kit_list_J-26-104_')
    book = openpyxl.load_workbook(io.BytesIO(answer.content))
    facts = {row[0].value: row[1].value for row in book.worksheets[0].iter_rows(max_col=2)}
    assert facts["as of"].date() == in_days(-20)
    assert facts["stands"] == "short"


def test_a_crew_does_not_export(place):
    assert seat(Role.CREW, place.north).get(url("kit_list_workbook", place)).status_code == 403
    assert "Kit list, spreadsheet" not in seat(Role.CREW, place.north).get(url("job", place)).content.decode()


def test_papers_of_another_depots_job_are_not_found(place):
    client = seat(Role.STORES, place.mill, name="mill.stores")
    for name in ("load_list", "load_list_pdf", "kit_list_workbook", "issue_note", "return_note"):
        assert client.get(url(name, place)).status_code == 404
    assert printings() == []


def test_a_defect_tag_is_printed_for_what_is_set_aside(place):
    client = seat(Role.EXAMINER, place.north)
    answer = client.get(reverse("defect_tag", args=["NY-B1"]))
    assert answer.status_code == 302
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B1"), "skirt torn")
    answer = client.get(reverse("defect_tag", args=["NY-B1"]))
    assert "skirt torn" in pages(answer.content)[0]
    assert len(pages(client.get(reverse("defect_tag", args=["NY-B1"]), {"sheet": "a4"}).content)) == 1
    assert printings() == []
