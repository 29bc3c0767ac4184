"""A record that was entered wrongly is corrected or struck out by a new one; what followed in the yard stays."""

from __future__ import annotations

import json
from dataclasses import replace
from decimal import Decimal

import pytest

from inspections.actions import CheckSpec, Finding, NotEvidence, record, record_answers, release, set_checks
from inspections.actions.concessions import who_failed
from inspections.actions.correct import correct, entered, strike
from inspections.judge import InspectionsJudge
from inspections.models import Inspection
from kit.models import Deed, LedgerEntry, State
from kit.stores import NotAllowed, Who, differences, prove_ledger
from tests.inspections.bench import HOLD, bench, calibrate, check, day, do, held, hold, item, kind, points

OTHER = Who("o.price", "bench")


@pytest.fixture(autouse=True)
def _bench(db) -> None:
    bench()


def visual(verdict: str, ago: int = 0, **more) -> Inspection:
    return do(record, Finding(item("S-1"), check("base", "visual"), day(ago), verdict, **more))


def corrected(old: Inspection, why: str = "mistyped", who: Who | None = None, **changed) -> Inspection:
    said = replace(entered(Inspection.objects.get(pk=old.pk)), **changed)
    return do(correct, old, said, why, **({"who": who} if who else {}))


def refusal(run, *args, **more) -> str:
    with pytest.raises(NotAllowed) as said:
        run(*args, **more)
    return str(said.value)


def told(made: Inspection) -> LedgerEntry:
    return LedgerEntry.objects.order_by("-number").filter(deed=Deed.CORRECTED).first()


def test_a_date_is_corrected_and_the_due_date_follows_while_the_old_record_stays():
    old = visual("pass", ago=2, certificate="C-1")
    before = item("S-1").fit_until
    made = corrected(old, "it was done a month before", done_on=day(32))
    assert (made.corrects, made.done_on, made.certificate, made.by) == (old, day(32), "C-1", "e.hand")
    assert item("S-1").fit_until < before
    kept = Inspection.objects.get(pk=old.pk)
    assert (kept.done_on, kept.verdict) == (day(2), "pass")
    entry = told(made)
    assert [old.item.pk] == [
        row[2]["item_id"] for row in json.loads(entry.corrects.body)["rows"] if row[1] == old.pk
    ]
    assert "it was done a month before" in json.loads(entry.body)["note"]
    assert prove_ledger().fault is None
    assert differences() == []


def test_readings_are_judged_anew_by_the_same_code():
    old = hold("B-1", held(end="0.180"))
    assert (old.verdict, item("B-1").state) == ("fail", State.QUARANTINED)
    made = corrected(old, "read 0.198", test=held(end="0.198"))
    assert (made.verdict, made.gauge.tag, made.figures["drop"]) == ("pass", "G-1", 0.002)
    with pytest.raises(NotEvidence, match="minutes"):
        corrected(made, test=held(end="0.198", minutes="2"))
    assert prove_ledger().fault is None


def test_a_calibration_and_answers_are_judged_anew_too():
    gauge = calibrate("G-1", points(("up", "0.3", "0.302")))
    made = corrected(gauge, calibration=points(("up", "0.3", "0.33")))
    assert (made.verdict, item("G-1").state) == ("fail", State.QUARANTINED)
    texts = {"length_mm": "990", "marks": "yes"}
    chain = do(record_answers, item("C-1"), check("chain set", "examination"), texts, day())
    made = corrected(chain, answers={**texts, "length_mm": "1001"})
    assert (made.verdict, item("C-1").state) == ("fail", State.QUARANTINED)
    assert prove_ledger().fault is None


def test_a_pass_corrected_to_a_fail_sets_aside_unless_a_later_record_stands():
    first = visual("pass", ago=9)
    visual("pass", ago=3)
    corrected(first, verdict="fail", note="crack overlooked")
    assert item("S-1").state == State.AVAILABLE
    last = Inspection.objects.filter(item__tag="S-1", done_on=day(3)).get()
    corrected(last, verdict="fail", note="crack overlooked")
    assert item("S-1").state == State.QUARANTINED
    assert "visual failed" in item("S-1").state_why


def test_a_correction_releases_nothing_and_who_failed_it_stays_barred():
    old = visual("fail", note="cracked")
    corrected(old, "that was S-2", verdict="pass", note="")
    found = item("S-1")
    assert (found.state, found.fit_until is None) == (State.QUARANTINED, False)
    assert "somebody else must release it" in refusal(do, release, found, "was a slip")
    do(release, found, "looked at, sound", who=OTHER)
    assert item("S-1").state == State.AVAILABLE


def test_a_fail_struck_out_still_bars_who_made_it():
    old = visual("doubt", note="hard to see")
    assert item("S-1").fit_until is None
    do(strike, old, "entered on the wrong tag")
    assert InspectionsJudge().failed_by(item("S-1"), None) == {"e.hand"}
    corrected(visual("doubt"), verdict="pass")
    assert who_failed(item("S-1"), check("base", "visual")) == {"e.hand"}


def test_a_pass_that_is_struck_out_answers_no_fail():
    """The doubt was Price's; the pass that answered it never was."""
    do(record, Finding(item("S-1"), check("base", "visual"), day(5), "doubt"), who=OTHER)
    passed = visual("pass", ago=1)
    assert InspectionsJudge().failed_by(item("S-1"), None) == set()
    do(strike, passed, "belongs to S-2")
    assert InspectionsJudge().failed_by(item("S-1"), None) == {"o.price"}
    assert item("S-1").fit_reason == f"visual failed on {day(5)}"


def test_a_pass_with_its_date_corrected_still_answers_a_fail():
    do(record, Finding(item("S-1"), check("base", "visual"), day(9), "doubt"), who=OTHER)
    corrected(visual("pass", ago=1), done_on=day(2))
    assert InspectionsJudge().failed_by(item("S-1"), None) == set()


def test_struck_out_a_record_counts_for_nothing():
    made = visual("pass", ago=3)
    struck = do(strike, made, "never done")
    assert (struck.struck, struck.verdict, struck.note, struck.corrects) == (True, "", "never done", made)
    assert item("S-1").fit_reason == "visual never done"
    assert told(struck).corrects is not None
    assert prove_ledger().fault is None
    assert differences() == []


def test_a_record_is_corrected_once_and_the_chain_goes_on_from_the_newest():
    first = visual("pass", ago=3)
    second = corrected(first, done_on=day(4))
    assert "corrected already, by e.hand: correct that correction" in refusal(
        corrected, first, done_on=day(5)
    )
    assert "corrected already" in refusal(do, strike, first, "no")
    third = corrected(second, done_on=day(5))
    do(strike, third, "never done")
    assert "struck out already" in refusal(corrected, third, done_on=day(6))
    struck = Inspection.objects.get(struck=True)
    assert "record anew" in refusal(do, strike, struck, "after all")
    assert prove_ledger().fault is None


@pytest.mark.parametrize("why", ["", "   "])
def test_it_needs_why(why: str):
    old = visual("pass", ago=3)
    assert "Say why the record was wrong" in refusal(corrected, old, why, done_on=day(4))
    assert "Say why the record does not count" in refusal(do, strike, old, why)


def test_one_that_changes_nothing_lies_in_the_future_or_has_no_verdict_is_refused():
    old = visual("pass", ago=3)
    assert "says the same" in refusal(corrected, old)
    assert "in the future" in refusal(corrected, old, done_on=day(-1))
    assert "A verdict is pass, fail or doubt" in refusal(corrected, old, verdict="fine")
    assert Inspection.objects.filter(item__tag="S-1").count() == 1


def test_a_correction_stays_with_its_item_and_check():
    old = visual("pass", ago=3)
    said = refusal(do, record, Finding(item("B-1"), check("bag", "hold test"), day(3), "pass", corrects=old))
    assert "a correction stays with the same item and check" in said


def test_only_who_may_do_the_check_corrects_it():
    old = visual("pass", ago=3)
    do(set_checks, kind("base"), [CheckSpec("visual", "P12M", done_by="examiner")])
    assert "is for the examiner" in refusal(corrected, old, done_on=day(4))
    assert "is for the examiner" in refusal(do, strike, old, "never done")


def test_the_rule_of_the_day_judges_a_correction():
    old = hold("B-2", held(end="0.195"), ago=30)
    looser = replace(HOLD, max_drop=Decimal("0.1"))
    do(set_checks, kind("bag"), [looser], from_day=day(), why="another bag")
    made = corrected(old, test=held(end="0.150"))
    assert (made.verdict, made.version) == ("fail", old.version)
