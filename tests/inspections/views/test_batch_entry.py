"""Batch entry: each scan is answered at once, letters mark exceptions, one press records all or nothing."""

from __future__ import annotations

import pytest
from django.urls import reverse

from inspections.actions import CheckSpec, set_checks
from inspections.models import Check, Inspection
from kit.models import Item, Kind, LedgerEntry, State
from kit.stores import lose, prove_ledger, quarantine
from tests.kit.views.holm import Yard


@pytest.fixture
def pumps(yard: Yard) -> Yard:
    """Pumps with a plain check."""
    yard.do(set_checks, Kind.objects.get(name="pump"), [CheckSpec("inspection", "P1Y", form={})])
    for n in range(1, 6):
        yard.receive(f"P-{n}", kind="pump", passed=False)
    return yard


class Bench:
    """One examiner's batch of one check."""

    def __init__(self, yard: Yard, kind: str = "pump", who: str = "eve") -> None:
        self.check = Check.objects.get(kind__name=kind, name="inspection")
        self.client = yard.htmx(who)
        self.today = yard.today.isoformat()

    def scan(self, code: str, marked: str = "") -> str:
        answer = self.client.post(
            reverse("batch_scan", args=[self.check.pk]), {"code": code, "marked": marked}
        )
        assert answer.status_code == 200
        return answer.context["answer"].text

    def note(self, tag: str, note: str) -> str:
        sent = {"marked": tag, "note": note}
        return self.client.post(reverse("batch_note", args=[self.check.pk]), sent).context["answer"].text

    def record(self, **sent: str) -> str:
        values = {"done_on": self.today, **sent}
        return self.client.post(
            reverse("batch_record", args=[self.check.pk]), values, follow=True
        ).content.decode()

    def pieces(self) -> dict[str, str]:
        page = self.client.get(reverse("batch", args=[self.check.pk]))
        return {row["piece"].tag: row["piece"].verdict for row in page.context["rows"]}


@pytest.fixture
def bench(pumps: Yard) -> Bench:
    return Bench(pumps)


def test_each_scan_is_answered_at_once(pumps: Yard, bench: Bench):
    pumps.receive("N-1", kind="nose")
    pumps.receive("P-W", kind="pump", passed=False, depot=pumps.weir)
    pumps.do(quarantine, Item.objects.get(tag="P-3"), "dropped")
    pumps.do(lose, Item.objects.get(tag="P-4"), "gone")
    assert bench.scan("P-1") == "P-1 is taken: 1 in the batch."
    assert "scanned twice, taken once" in bench.scan("p-1")
    assert "is a nose" in bench.scan("N-1")
    assert "a pass does not release it" in bench.scan("P-3")
    assert "P-4 is lost" in bench.scan("P-4")
    assert "No item has the tag NIX" in bench.scan("NIX")
    assert "belongs to Weir" in bench.scan("P-W")
    assert "Nothing was read" in bench.scan("")
    assert bench.pieces() == {"P-1": "pass", "P-3": "pass"}


def test_letters_act_on_the_marked_piece_and_a_note_says_why(bench: Bench):
    assert "Nothing is scanned yet" in bench.scan("F")
    for tag in ("P-1", "P-2", "P-3", "P-4"):
        bench.scan(tag)
    bench.scan("f")
    bench.scan("D", marked="P-1")
    bench.scan("x", marked="P-2")
    assert bench.pieces() == {"P-1": "doubt", "P-3": "pass", "P-4": "fail"}
    bench.scan("P", marked="P-1")
    assert "belt torn" in bench.note("P-4", "belt torn")
    assert bench.pieces() == {"P-1": "pass", "P-3": "pass", "P-4": "fail"}
    page = bench.record()
    assert "Inspection is recorded of 3 pieces" in page
    assert "Set aside: P-4" in page
    made = {one.item.tag: one for one in Inspection.objects.filter(check_done=bench.check)}
    assert {tag: one.verdict for tag, one in made.items()} == {"P-1": "pass", "P-3": "pass", "P-4": "fail"}
    assert made["P-4"].note == "belt torn"
    assert Item.objects.get(tag="P-4").state == State.QUARANTINED
    assert bench.pieces() == {}
    assert prove_ledger().fault is None


def test_all_or_nothing_and_which_piece_bars(bench: Bench):
    for tag in ("P-1", "P-2", "P-3"):
        bench.scan(tag)
    bench.scan("F", marked="P-2")
    before = LedgerEntry.objects.count()
    page = bench.record()
    assert "Nothing is recorded, because of P-2" in page
    assert not Inspection.objects.filter(check_done=bench.check).exists()
    assert LedgerEntry.objects.count() == before
    assert len(bench.pieces()) == 3
    bench.note("P-2", "cracked")
    assert "in the future" in bench.record(done_on="2999-01-01")
    assert not Inspection.objects.filter(check_done=bench.check).exists()
    bench.record()
    assert Inspection.objects.filter(check_done=bench.check).count() == 3


def test_a_tag_scanned_into_the_note_is_a_scan(bench: Bench):
    bench.scan("P-1")
    bench.scan("F")
    assert bench.note("P-1", "P-2") == "P-2 is taken: 2 in the batch."
    assert bench.pieces() == {"P-1": "fail", "P-2": "pass"}


def test_an_item_of_one_letter_comes_before_the_key(pumps: Yard, bench: Bench):
    pumps.receive("F", kind="pump", passed=False)
    bench.scan("P-1")
    assert bench.scan("F") == "F is taken: 2 in the batch."


def test_shared_answers_of_a_form_judge_them_all(yard: Yard):
    fields = [
        {"name": "sound", "label": "Sound", "kind": "yes-no", "wanted": ["yes"]},
        {"name": "wear", "label": "Wear", "kind": "number", "unit": "mm", "most": "2"},
    ]
    yard.do(
        set_checks, Kind.objects.get(name="pump"), [CheckSpec("inspection", "P1Y", form={"fields": fields})]
    )
    for n in range(1, 4):
        yard.receive(f"P-{n}", kind="pump", passed=False)
    bench = Bench(yard)
    for n in range(1, 4):
        bench.scan(f"P-{n}")
    assert "Wear is not answered" in bench.record(a_sound="yes")
    bench.scan("F", marked="P-2")
    bench.note("P-2", "handle gone")
    bench.record(a_sound="yes", a_wear="1.5")
    made = {one.item.tag: one for one in Inspection.objects.filter(check_done=bench.check)}
    assert {tag: one.verdict for tag, one in made.items()} == {"P-1": "pass", "P-2": "fail", "P-3": "pass"}
    assert made["P-1"].readings == {"method": "form", "answers": {"sound": "yes", "wear": "1.5"}}
    assert made["P-2"].readings == {}
    assert prove_ledger().fault is None


def test_what_was_scanned_and_typed_survives_a_reload(bench: Bench):
    bench.scan("P-1")
    sent = {"by": "Bench & Sons", "done_on": bench.today}
    assert bench.client.post(reverse("batch_shared", args=[bench.check.pk]), sent).status_code == 204
    page = bench.client.get(reverse("batch", args=[bench.check.pk]))
    assert page.context["form"]["by"].value() == "Bench & Sons"
    assert [row["piece"].tag for row in page.context["rows"]] == ["P-1"]
    bench.client.post(reverse("batch_clear", args=[bench.check.pk]))
    assert bench.pieces() == {}


def test_an_empty_batch_records_nothing(bench: Bench):
    assert "The batch is empty" in bench.record()


def test_without_a_script_each_scan_is_a_page(pumps: Yard, bench: Bench):
    client = pumps.client("eve")
    page = client.post(reverse("batch_scan", args=[bench.check.pk]), {"code": "P-1"}, follow=True)
    assert "P-1 is taken" in page.content.decode()
    assert (
        pumps.client("sal").post(reverse("batch_scan", args=[bench.check.pk]), {"code": "P-1"}).status_code
        == 403
    )


def test_a_batch_sent_twice_or_done_by_another_meanwhile_records_nothing_more(pumps: Yard, bench: Bench):
    for tag in ("P-1", "P-2"):
        bench.scan(tag)
    kept = dict(bench.client.session)
    bench.record()
    session = bench.client.session
    session.update(kept)  # the second press was read before the first was through
    session.save()
    assert "Nothing is recorded, because of P-1" in bench.record()
    assert Inspection.objects.filter(check_done=bench.check).count() == 2
