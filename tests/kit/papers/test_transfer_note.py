"""The transfer note: what goes, with the evidence of its last inspections, and two who sign."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inspections.actions import Finding, record
from inspections.models import Check
from kit.models import Deed, LedgerEntry, Transfer
from kit.papers.from_store import transfer_note_of
from kit.papers.transfer_note import transfer_note_pdf
from kit.papers.wording import day
from kit.stores import Load, Who, acting, note_missing, receive, send_all, sign_for
from tests.kit.papers.examples import pages, qr_codes, run_together
from tests.kit.views.yard import Yard, bag, in_days, kind, seat, yard

pytestmark = pytest.mark.django_db

SENDER, TAKER = Who("w.hollis", "test"), Who("m.orr", "test")


def do(who: Who, action: Callable[..., Any], *args: Any, **more: Any) -> Any:
    with acting(who) as act:
        return action(act, *args, **more)


@pytest.fixture
def sent() -> tuple[Yard, Transfer]:
    """A bag and a base, with their checks of ten days ago, and eight seals of a lot of twenty."""
    made = yard()
    check = Check.objects.in_force().get(kind=kind("bag"), name="hold test")
    finding = Finding(
        made.item("NY-B1"), check, made.today - timedelta(days=3), "pass", by="e.marsh", certificate="C-881"
    )
    do(Who("e.marsh", "test"), record, finding)
    loads = [Load(made.item("NY-S1")), Load(made.item("NY-B1")), Load(made.item("LOT-7"), 8)]
    return made, do(SENDER, send_all, loads, made.mill, in_days(2), carrier="Thursday van", note="two crates")


def text_of(transfer: Transfer) -> str:
    return run_together(" ".join(pages(transfer_note_pdf(transfer_note_of(transfer)))))


def test_each_piece_stands_with_its_last_inspections_and_due_dates(sent: tuple[Yard, Transfer]) -> None:
    made, transfer = sent
    said = text_of(transfer)
    done = made.today - timedelta(days=3)
    for words in (
        "Transfer note", "T1", "North yard to Mill bank", "Thursday van", "w.hollis", "two crates",
        "hold test", f"pass {day(done)}, C-881, e.marsh", "inspection", "LOT-7/MB", "part of LOT-7",
    ):  # fmt: skip
        assert run_together(words) in said, words
    due = made.item("NY-B1").fit_until
    assert due is not None
    assert run_together(f"due {day(due)}") in said
    assert said.index("NY-B1") < said.index("NY-S1")


def test_two_people_sign_and_every_code_reads(sent: tuple[Yard, Transfer]) -> None:
    _, transfer = sent
    pdf = transfer_note_pdf(transfer_note_of(transfer))
    said = " ".join(pages(pdf))
    assert "Two people sign" in said
    for who in ("Sent by", "Received by"):
        assert who in said[said.index("Two people sign") :]
    codes = [code for page in qr_codes(pdf) for code in page]
    assert sorted(codes) == ["LOT-7/MB", "NY-B1", "NY-S1", "TRANSFER 1"]


def test_printed_anew_it_says_what_was_known_when_it_left_and_what_is_signed_since(
    sent: tuple[Yard, Transfer],
) -> None:
    made, transfer = sent
    before = made.item("NY-B1").fit_until
    do(
        Who("e.marsh", "test"),
        record,
        Finding(
            made.item("NY-B1"),
            Check.objects.in_force().get(kind=kind("bag"), name="hold test"),
            made.today,
            "pass",
        ),
    )
    assert made.item("NY-B1").fit_until != before
    do(TAKER, sign_for, transfer.lines.get(item__tag="NY-B1"))
    do(TAKER, sign_for, transfer.lines.get(item__tag="LOT-7/MB"), 7, note="one torn")
    do(TAKER, note_missing, transfer.lines.get(item__tag="NY-S1"), "not in the crate")
    said = text_of(transfer)
    assert before is not None
    assert run_together(f"due {day(before)}") in said
    for words in (f"arrived {day(made.today)}", f"missing {day(made.today)}", f"7 of 8 {day(made.today)}"):
        assert run_together(words) in said
    assert "revision 4" in " ".join(pages(transfer_note_pdf(transfer_note_of(transfer))))


def test_the_screen_prints_it_and_the_ledger_tells(sent: tuple[Yard, Transfer]) -> None:
    made, transfer = sent
    client: Client = seat("stores", made.mill, name="m.orr")
    answer = client.get(reverse("transfer_note", args=[transfer.number]))
    assert answer["Content-Type"] == "application/pdf"
    assert answer.content.startswith(b"%PDF")
    entry = LedgerEntry.objects.latest("number")
    assert (entry.deed, entry.actor) == (Deed.PRINTED, "m.orr")
    assert f"ledger {entry.number}" in " ".join(pages(answer.content))


def test_a_piece_that_was_never_checked_goes_and_the_note_says_so() -> None:
    made = yard()
    do(SENDER, receive, [bag(made.north, "NY-B7")])
    transfer = do(SENDER, send_all, [Load(made.item("NY-B7"))], made.mill, in_days(1))
    said = text_of(transfer)
    assert run_together("never done due before it goes out") in said
    assert run_together("not fit: hold test never done") in said
