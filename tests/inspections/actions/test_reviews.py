"""A gauge found out of tolerance: what happens at once, who decides the rest, and when the review may be closed."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inspections.actions import Finding, record, record_many
from inspections.actions.reviews import close, decide, let_stand, open_review, take_in
from inspections.models import Cause, Check, Due, Inspection, Outcome, RetestCall, Review, ReviewedRecord
from kit.models import Deed, Item, Job, Kind, LedgerEntry, Reservation, Standing, State
from kit.stores import (
    LineSpec,
    NotAllowed,
    Who,
    acting,
    differences,
    plan_job,
    prove_ledger,
    reserve,
    set_arrangement,
    withdraw,
)
from tests.inspections.bad_gauge import EXAMINER, Row, Store, hold_test_of, make_store

LEAD = Who("l.lead", "test")


@pytest.fixture
def store(db) -> Store:
    return make_store(150, seed=13, bags=25)


@pytest.fixture
def review(store: Store) -> Review:
    return opened(store)


def do(action, *args, who: Who = LEAD, **more):
    with acting(who) as act:
        return action(act, *args, **more)


def opened(store: Store) -> Review:
    return do(open_review, store.failing, who=EXAMINER)


def reviewed(store: Store, row: Row) -> ReviewedRecord:
    return ReviewedRecord.objects.get(inspection=store.made[row.number])


def flips(row: Row) -> bool:
    return row.start is not None and row.verdict() != row.verdict(True)


def one(store: Store, flipped: bool, read: bool = True) -> Row:
    """An affected row whose verdict flips from pass or not, or of which nothing was read."""
    return next(
        row
        for row in store.affected
        if row.verdict() == "pass" and (row.start is not None) == read and flips(row) == flipped
    )


def sound(store: Store) -> None:
    """What a healthy store keeps whatever was done: the ledger proves, what is derived follows."""
    assert prove_ledger().fault is None
    assert differences() == []


def test_a_review_holds_every_affected_test_and_its_verdict_judged_again(store: Store, review: Review):
    assert (review.after, review.until) == (store.day(260), store.day(30))
    rows = {each.inspection_id: each for each in review.records.all()}
    assert set(rows) == {store.made[row.number].pk for row in store.affected}
    for row in store.affected:
        assert rows[store.made[row.number].pk].rejudged == row.verdict(True)
        assert rows[store.made[row.number].pk].outcome == Outcome.OPEN
    told = LedgerEntry.objects.filter(deed=Deed.REVIEWED).get()
    mentioned = set(told.mentions.values_list("about", flat=True))
    assert mentioned == {"item:G-BAD"} | {f"item:{row.tag}" for row in store.affected}
    sound(store)


def test_a_re_test_is_ordered_at_once_exactly_where_a_lost_pass_is_the_latest(store: Store, review: Review):
    """By brute force over the plain rows: the latest test of the bag, read on the bad gauge, no pass any more."""
    expected = {
        tag
        for tag, row in store.latest.items()
        if row.affected and row.verdict() == "pass" and row.verdict(True) in ("fail", "doubt")
    }
    calls = RetestCall.objects.filter(cause=Cause.ORDERED)
    assert set(calls.values_list("item__tag", flat=True)) == expected
    assert expected
    assert len(expected) < len({row.tag for row in store.affected if flips(row)})
    for tag in expected:
        item = Item.objects.get(tag=tag)
        assert (item.state, item.fit_until) == (State.AVAILABLE, None)
        assert "re-test ordered" in Due.objects.get(item=item).note


def test_past_records_of_a_register_order_nothing_and_wait_for_a_person(store: Store):
    review = do(open_review, store.failing, who=EXAMINER, order=False)
    assert review.records.count() == len(store.affected)
    assert not RetestCall.objects.exists()
    sound(store)


def test_what_is_promised_follows_at_once(store: Store):
    tag = next(
        tag
        for tag, row in store.latest.items()
        if row.affected and row.verdict() == "pass" and row.verdict(True) == "fail"
    )
    with acting(EXAMINER) as act:
        withdraw_others(act, tag)
        arrangement, _ = set_arrangement(act, "a bag", [LineSpec("bag", Kind.objects.get(name="bag"), 1)])
        day = store.today + timedelta(days=3)
        job = plan_job(
            act,
            Job(
                reference="J-SOON",
                depot=store.depot,
                site="Weir Lane",
                load_on=day,
                return_on=day,
                arrangement=arrangement,
            ),
        )
        reserve(act, job)
    assert Reservation.objects.get(job=job).standing == Standing.PROMISED
    opened(store)
    promise = Reservation.objects.get(job=job)
    assert (promise.item.tag, promise.standing) == (tag, Standing.BROKEN)
    assert "re-test ordered" in promise.why
    sound(store)


def withdraw_others(act, tag: str) -> None:
    for item in Item.objects.filter(kind__name="bag").exclude(tag=tag):
        withdraw(act, item, "for this test")


def test_a_fail_recorded_at_the_bench_opens_the_review_by_itself(store: Store):
    with acting(EXAMINER) as act:
        gauge = Item.objects.get(tag="G-1")
        check = Check.objects.get(kind=gauge.kind, name="calibration")
        made = record(act, Finding(gauge, check, act.today, "fail", as_left="pass", note="set right"))
    review = Review.objects.get(calibration=made)
    expected = [row for row in store.rows if row.gauge == "G-1" and row.fate == "stands"]
    assert review.records.count() == len(expected)
    assert Item.objects.get(tag="G-1").state == State.AVAILABLE  # as left it passes
    assert do(open_review, made) == review  # asked twice, opened once
    sound(store)


def test_a_calibration_that_did_not_fail_opens_nothing(store: Store):
    good = Inspection.objects.filter(item__tag="G-1").get()
    with pytest.raises(NotAllowed, match="did not fail"):
        do(open_review, good)


def test_a_gauge_with_no_records_is_reviewed_all_the_same(store: Store):
    with acting(EXAMINER) as act:
        gauge = Item.objects.get(tag="G-BAD")
        check = Check.objects.get(kind=gauge.kind, name="calibration")
        made = record(act, Finding(gauge, check, act.today, "fail", note="dropped"))
    # It passed ten days ago; what was read on it since is drawn away here.
    since = [row for row in store.rows if row.gauge == "G-BAD" and row.days_ago < 10 and row.fate == "stands"]
    review = Review.objects.get(calibration=made)
    assert review.after == store.day(10)
    assert review.records.count() == len(since)
    for each in review.records.all():
        do(decide, each, "repeat")
    do(close, review, "glass broken in a fall")
    sound(store)


def test_repeat_makes_the_piece_wait_for_that_check(store: Store, review: Review):
    row = one(store, flipped=False)
    do(decide, reviewed(store, row), "repeat")
    item = Item.objects.get(tag=row.tag)
    call = RetestCall.objects.filter(item=item).latest("id")
    assert (call.cause, call.check_called, call.called_by) == (
        Cause.ORDERED,
        Check.objects.get(name="hold test"),
        "l.lead",
    )
    assert f"read on gauge G-BAD, which was found out of tolerance on {store.day(30)}" in call.why
    assert item.fit_until is None
    with acting(EXAMINER) as act:
        record(act, Finding(item, Check.objects.get(name="hold test"), act.today, "pass"))
    assert Item.objects.get(tag=row.tag).fit_until is not None
    sound(store)


def test_a_re_test_that_waits_already_is_not_ordered_twice(store: Store, review: Review):
    row = next(
        row for row in store.latest.values() if row.affected and row.verdict() == "pass" and flips(row)
    )
    do(decide, reviewed(store, row), "repeat")
    assert RetestCall.objects.filter(item__tag=row.tag).count() == 1


def test_set_aside_puts_the_piece_into_quarantine(store: Store, review: Review):
    row = one(store, flipped=True)
    do(decide, reviewed(store, row), "set aside", "seam looks thin")
    item = Item.objects.get(tag=row.tag)
    assert (item.state, item.state_by) == (State.QUARANTINED, "l.lead")
    assert "gauge G-BAD" in item.state_why
    assert "seam looks thin" in item.state_why
    sound(store)


@pytest.mark.parametrize("read", [True, False])
def test_against_the_calculation_or_without_one_a_verdict_stands_only_with_why(
    store: Store, review: Review, read: bool
):
    row = one(store, flipped=read, read=read)
    said = "comes out as" if read else "cannot be worked out anew"
    with pytest.raises(NotAllowed, match=said):
        do(decide, reviewed(store, row), "stands")
    do(decide, reviewed(store, row), "stands", "tested again on G-1 the next day")
    after = reviewed(store, row)
    assert (after.outcome, after.decided_by) == ("stands", "l.lead")
    assert after.note == "tested again on G-1 the next day"


def test_nobody_lets_their_own_flipped_test_stand(store: Store, review: Review):
    row = one(store, flipped=True)
    for own in (f"tester-{row.number % 3}", EXAMINER.actor):
        with pytest.raises(NotAllowed, match="You made or recorded the hold test"):
            do(decide, reviewed(store, row), "stands", "I was careful", who=Who(own, "test"))
    same = one(store, flipped=False)
    do(decide, reviewed(store, same), "stands", who=EXAMINER)
    assert reviewed(store, same).outcome == "stands"


def test_all_whose_verdict_is_the_same_stand_with_one_press(store: Store, review: Review):
    same = {row.number for row in store.affected if row.start is not None and not flips(row)}
    assert do(let_stand, review) == len(same) > 0
    for row in store.affected:
        assert reviewed(store, row).outcome == ("stands" if row.number in same else "")
    assert do(let_stand, review) == 0
    sound(store)


def test_a_decision_is_changed_only_with_why(store: Store, review: Review):
    row = one(store, flipped=False)
    do(decide, reviewed(store, row), "stands")
    with pytest.raises(NotAllowed, match=r"l\.lead decided it already"):
        do(decide, reviewed(store, row), "repeat")
    do(decide, reviewed(store, row), "repeat", "pressed the wrong button")
    assert reviewed(store, row).outcome == "repeat"
    with pytest.raises(NotAllowed, match="A record stands, is to be repeated"):
        do(decide, reviewed(store, row), "forget it")


def decide_all(review: Review) -> None:
    do(let_stand, review)
    for each in review.records.filter(outcome=""):
        do(decide, each, "repeat")


def test_it_closes_only_when_all_is_decided_and_then_nothing_changes(store: Store, review: Review):
    with pytest.raises(NotAllowed, match="Not decided yet"):
        do(close, review, "pointer bent")
    decide_all(review)
    with pytest.raises(NotAllowed, match="Write what is concluded"):
        do(close, review, "  ")
    do(close, review, "pointer bent, gauge set right")
    review.refresh_from_db()
    assert (review.closed_by, review.conclusion) == ("l.lead", "pointer bent, gauge set right")
    for action, *args in ((close, review, "again"), (let_stand, review), (take_in, review)):
        with pytest.raises(NotAllowed, match=r"was closed by l\.lead"):
            do(action, *args)
    with pytest.raises(NotAllowed, match="was closed"):
        do(decide, review.records.first(), "repeat", "after all")
    sound(store)


def test_what_is_entered_late_is_taken_in_before_it_closes(store: Store, review: Review):
    """A test of that time whose paper turns up after the review was opened."""
    decide_all(review)
    row = one(store, flipped=True)
    read = hold_test_of(row)
    with acting(EXAMINER) as act:
        item, check = Item.objects.get(tag=row.tag), Check.objects.get(name="hold test")
        finding = Finding(
            item,
            check,
            store.day(row.days_ago),
            "pass",
            gauge=store.bad,
            readings={"method": "hold test", "test": read.to_json()},
        )
        record_many(act, [finding])
    with pytest.raises(NotAllowed, match="not in it yet: 1"):
        do(close, review, "pointer bent")
    assert do(take_in, review) == 1
    late = review.records.get(outcome="")
    assert late.rejudged == row.verdict(True)
    do(decide, late, "repeat")
    do(close, review, "pointer bent")
    sound(store)


def test_a_corrected_calibration_is_reviewed_from_the_correction(store: Store, review: Review):
    failing = store.failing
    with acting(EXAMINER) as act:
        made = record(
            act,
            Finding(
                store.bad,
                failing.check_done,
                failing.done_on,
                "fail",
                corrects=failing,
                readings=failing.readings,
            ),
        )
    review.refresh_from_db()
    again = Review.objects.get(calibration=made)
    assert review.closed_at is not None
    assert "reviewed from the correction" in review.conclusion
    assert (again.after, again.until, again.closed_at) == (review.after, review.until, None)
    assert again.records.count() == review.records.count()
    sound(store)


def test_a_review_whose_calibration_was_struck_out_may_be_closed_as_it_is(store: Store, review: Review):
    failing = store.failing
    with acting(EXAMINER) as act:
        record_many(
            act, [Finding(store.bad, failing.check_done, failing.done_on, "", struck=True, corrects=failing)]
        )
    do(close, review, "entered for the wrong gauge")
    assert Review.objects.get().closed_by == "l.lead"
