"""Load list, notes and defect tag drawn from the register: what they say is what the store did."""

from __future__ import annotations

import pytest

from inspections.actions import Finding, record
from inspections.models import Check
from kit.models import Deed, LedgerEntry, Outcome, Reservation, Standing
from kit.papers import NextStep, defect_tag_pdf, issue_note_pdf, load_list_pdf, return_note_pdf
from kit.papers.from_store import defect_tag_of, issue_note_of, load_list_of, return_note_of
from kit.stores import (
    NotAllowed,
    acting,
    change_details,
    finish_issue,
    issue_piece,
    kit_list_of,
    let_go,
    quarantine,
    reserve,
    take_back,
    unbind_set,
)
from tests.kit.papers.examples import pages, qr_codes
from tests.kit.stores.bound_yard import PLANNER, a_job, bound_yard, item
from tests.kit.views.yard import STORES, Yard, in_days, yard

pytestmark = pytest.mark.django_db


def issued(place: Yard, leave_out: str = "") -> None:
    """Reserve the job's kit and let it go out, but for one piece."""
    with acting(STORES) as act:
        reserve(act, place.job)
    for reservation in Reservation.objects.filter(job=place.job).select_related("item"):
        if reservation.item.tag != leave_out:
            with acting(STORES) as act:
                issue_piece(act, place.job, reservation.item)
    with acting(STORES) as act:
        finish_issue(act, place.job, "agreed with the duty manager: four is enough" if leave_out else "")
    place.job.refresh_from_db()


def back(place: Yard, tag: str, outcome: Outcome, why: str = "", quantity: int | None = None) -> None:
    with acting(STORES) as act:
        reservation = Reservation.objects.select_related("item", "job", "line").get(
            job=place.job, item__tag=tag
        )
        take_back(act, reservation, outcome, why=why, quantity=quantity)


def test_load_list_walks_the_store_place_by_place():
    place = yard()
    paper = load_list_of(place.job, kit_list_of(place.job))
    assert [(piece.place, piece.tag) for piece in paper.pieces] == [
        ("Cage 1", "NY-S1"),
        ("Cage 1", "NY-S2"),
        ("Rack 2", "NY-B1"),
        ("Rack 2", "NY-B2"),
        ("Rack 2", "NY-B3"),
        ("Rack 2", "NY-B4"),
    ]
    assert [(lot.lot, lot.quantity, lot.place) for lot in paper.lots] == [("LOT-7", 6, "Cage 1")]
    assert paper.shorts == []
    assert paper.job.main == "PE 180 SDR 17"
    head = LedgerEntry.objects.latest("number")
    assert str(paper.stamp.ledger) == f"{head.number} · {head.hash[:12]}"
    text = pages(load_list_pdf(paper))
    assert "COMPLETE" in text[0]
    assert sorted(qr_codes(load_list_pdf(paper))[0]) == sorted(piece.tag for piece in paper.pieces)


def test_load_list_says_what_is_chosen_but_not_reserved():
    place = yard()
    with acting(STORES) as act:
        reserve(act, place.job)
        let_go(act, Reservation.objects.get(item__tag="NY-B4", job=place.job), "for the test")
    lines = {piece.tag: piece.line for piece in load_list_of(place.job, kit_list_of(place.job)).pieces}
    assert lines["NY-B3"] == "bags"
    assert lines["NY-B4"] == "bags, not reserved yet"


def test_load_list_says_until_when_each_piece_is_fit_and_what_limits_it():
    place = yard()
    paper = load_list_of(place.job, kit_list_of(place.job))
    for piece in paper.pieces:
        item = place.item(piece.tag)
        assert (piece.fit_until, piece.fit_reason) == (item.fit_until, item.fit_reason)
        assert piece.serial == item.serial


def test_load_list_names_what_is_short_with_its_remedy():
    place = yard(bags=3)
    kit = kit_list_of(place.job)
    [short] = load_list_of(place.job, kit).shorts
    assert (short.line, short.needed, short.short) == ("bags", 4, 1)
    assert short.remedy == kit.lines[0].remedy != ""
    assert "INCOMPLETE: 1 piece short" in pages(load_list_pdf(load_list_of(place.job, kit)))[0]


def test_a_piece_that_failed_while_out_is_not_listed_as_if_nothing_limits_it():
    place = yard()
    issued(place)
    with acting(STORES) as act:
        record(act, Finding(place.item("NY-B1"), Check.objects.get(name="hold test"), act.today, "fail"))
    paper = load_list_of(place.job, kit_list_of(place.job))
    [piece] = [piece for piece in paper.pieces if piece.tag == "NY-B1"]
    assert piece.fit_reason.startswith("not fit: hold test failed")
    assert paper.running_out == [piece]


def test_what_is_back_leaves_the_load_list():
    place = yard()
    issued(place)
    back(place, "NY-B2", Outcome.UNUSED)
    paper = load_list_of(place.job, kit_list_of(place.job))
    assert "NY-B2" not in [piece.tag for piece in paper.pieces]


def test_issue_note_keeps_the_dates_that_were_so_at_the_counter():
    place = yard()
    issued(place)
    before = place.item("NY-B1").fit_until
    with acting(STORES) as act:
        change_details(act, place.item("NY-B1"), use_by=in_days(30))
    assert place.item("NY-B1").fit_until == in_days(30) != before
    note = issue_note_of(place.job)
    assert {piece.tag: piece.fit_until for piece in note.pieces}["NY-B1"] == before
    assert note.issued_by == "w.hollis"
    assert note.shorts == []
    assert "ISSUED IN FULL" in pages(issue_note_pdf(note))[0]


def test_issue_note_says_what_went_out_short_and_who_agreed():
    place = yard()
    issued(place, leave_out="NY-B4")
    note = issue_note_of(place.job)
    [short] = note.shorts
    assert (short.line, short.needed, short.issued) == ("bags", 4, 3)
    assert short.reason == "agreed with the duty manager: four is enough"
    assert short.agreed_by == "w.hollis"
    closing = LedgerEntry.objects.filter(deed=Deed.SHORT).get()
    assert note.number == f"I-{closing.number}"


def test_return_note_says_how_each_came_back_and_where_it_goes():
    place = yard()
    issued(place)
    back(place, "NY-B1", Outcome.USED)
    back(place, "NY-B2", Outcome.UNUSED)
    back(place, "NY-B3", Outcome.DAMAGED, why="skirt torn")
    back(place, "NY-S1", Outcome.MISSING, why="left in hole two")
    back(place, "LOT-7", Outcome.USED, quantity=2)
    note = return_note_of(place.job)
    steps = {piece.tag: (piece.next_step, piece.next_detail) for piece in note.pieces}
    assert steps["NY-B1"] == (NextStep.AWAITING_CHECK, "hold test")
    assert steps["NY-B2"] == (NextStep.TO_STORE, "Rack 2")
    assert steps["NY-B3"][0] == NextStep.QUARANTINE
    assert "skirt torn" in steps["NY-B3"][1]
    assert steps["NY-S1"][0] == NextStep.LOOK_FOR
    assert [(lot.issued, lot.returned, lot.used) for lot in note.lots] == [(6, 2, 4)]
    assert [piece.tag for piece in note.still_out] == ["NY-B4", "NY-S2"]
    assert "PART RETURN: 2 pieces still on site" in pages(return_note_pdf(note))[0]


def test_defect_tag_says_why_who_when_and_further_findings():
    place = yard()
    issued(place)
    back(place, "NY-B3", Outcome.DAMAGED, why="skirt torn")
    with acting(STORES) as act:
        quarantine(act, place.item("NY-B3"), "valve stuck as well")
    tag = defect_tag_of(place.item("NY-B3"))
    assert tag.why == "damaged on J/26-104: skirt torn"
    assert tag.found == "valve stuck as well"
    assert (tag.set_aside_by, tag.job, tag.place) == ("w.hollis", "J/26-104", "Rack 2")
    assert tag.stamp.revision == 2
    assert qr_codes(defect_tag_pdf(tag)) == [["NY-B3"]]


@pytest.mark.parametrize("paper", [issue_note_of, return_note_of])
def test_no_note_of_what_has_not_happened(paper):
    place = yard()
    with pytest.raises(NotAllowed, match="yet"):
        paper(place.job)


def test_no_defect_tag_for_a_piece_that_is_not_set_aside():
    place = yard()
    with pytest.raises(NotAllowed, match="NY-B1 is not set aside"):
        defect_tag_of(place.item("NY-B1"))


def test_an_issue_still_open_is_said_to_be_open():
    place = yard()
    with acting(STORES) as act:
        reserve(act, place.job)
        issue_piece(act, place.job, place.item("NY-B1"))
    note = issue_note_of(place.job)
    assert {short.reason for short in note.shorts} == {"the issue is not closed yet"}
    assert Reservation.objects.filter(job=place.job, standing=Standing.PROMISED).count() == 6


def test_notes_say_which_set_and_assembly_a_piece_went_with_also_when_printed_anew():
    bound_yard()
    with acting(PLANNER) as act:
        job = a_job(act, "J1")
        quarantine(act, item("B9"), why="torn")
        quarantine(act, item("B1"), why="torn")
        quarantine(act, item("T2"), why="bent")
        reserve(act, job)  # no bag is left that may go without its set: the wide bag stands in
    with acting(PLANNER) as act:
        for promise in Reservation.objects.filter(job=job).select_related("item"):
            issue_piece(act, job, promise.item)
        finish_issue(act, job, "as it stands")
    out = {piece.tag: piece.goes_with for piece in issue_note_of(job).pieces}
    assert out["W1"] == "stands in for a bag"
    assert out["H1"] == "of the assembly head unit, mark II"
    assert "stands in for a bag" in "".join(pages(issue_note_pdf(issue_note_of(job))))
    with acting(PLANNER) as act:
        promise = Reservation.objects.get(job=job, item__tag="W1")
        take_back(act, promise, Outcome.UNUSED)
    [wide] = return_note_of(job).pieces
    assert wide.goes_with == "stands in for a bag"
    assert "stands in for a bag" in "".join(pages(return_note_pdf(return_note_of(job))))


def test_a_set_taken_apart_later_stays_on_the_note_of_its_issue():
    bound_yard()
    with acting(PLANNER) as act:
        job = a_job(act, "J1")
        reserve(act, job)
    with acting(PLANNER) as act:
        for promise in Reservation.objects.filter(job=job).select_related("item"):
            issue_piece(act, job, promise.item)
        finish_issue(act, job)
    for tag in ("B1", "T1"):
        with acting(PLANNER) as act:
            take_back(act, Reservation.objects.get(job=job, item__tag=tag), Outcome.UNUSED)
    with acting(PLANNER) as act:
        unbind_set(act, [item("B1")], "mounted anew")
    assert {p.tag: p.goes_with for p in issue_note_of(job).pieces}["B1"] == "of the set PAIR 1"
    assert {p.tag: p.goes_with for p in return_note_of(job).pieces}["T1"] == "of the set PAIR 1"
