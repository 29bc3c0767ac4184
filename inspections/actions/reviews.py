"""The review of what relied on a gauge that was found out of tolerance (rule 8 of the trade).

What happens at once, and what waits for a person:

- A test that passed and, with the gauge's error taken off, fails or is in doubt, is no proof any more. Where it is
  the latest of its check, so that the piece would go out on the strength of it, a re-test is ordered in the same
  act: the piece is not fit until that is done, and the promises that it was to keep are flagged. A calibration that a
  register's workbook brings orders nothing: past records set nothing aside, and the review waits for a person.
- Everything else waits for a person: verdicts that come out the same, records that cannot be computed, and those that
  a later record of the same check has taken the place of.
- A calibration that failed with no record made with the gauge opens a review all the same. It may mean that nobody
  wrote the gauge down, and a person should say so before it is closed.

Who decides (common practice, no source): whoever made or recorded a test does not say that it stands against what the
calculation says; where the calculation gives the same verdict, no judgement is asked, and anybody may.
"""

from __future__ import annotations

from collections.abc import Sequence

from inspections.actions.retests import latest_of, order_retests
from inspections.judging import JudgingFault
from inspections.look_back import InDoubt, entered_since, look_back, records_that_count
from inspections.models import Inspection, Outcome, Review, ReviewedRecord, Verdict
from kit.models import Deed, State
from kit.stores import Act, NotAllowed, quarantine

REPLACED = "The calibration was corrected: what it puts in doubt is reviewed from the correction."


def open_review(act: Act, calibration: Inspection, *, order: bool = True) -> Review:
    """Put under review what was tested with the gauge since its last good calibration; see the head of this module.

    A calibration that has its review already keeps that one. If `calibration` corrects another, the review of that
    one is closed. Without `order` no test is ordered again by itself (a register's past records). Raises NotAllowed if
    the calibration did not fail as found.
    """
    known = Review.objects.filter(calibration=calibration).first()
    if known is not None:
        return known
    gauge = calibration.item
    try:
        found = look_back(gauge, calibration)
    except JudgingFault as fault:
        raise NotAllowed(f"{gauge.tag}: {fault}") from fault
    if found.until is None:
        raise NotAllowed(f"No calibration of {gauge.tag} failed, so there is nothing to look back on.")
    review = act.create(
        Review(
            gauge=gauge,
            calibration=calibration,
            after=found.after,
            until=found.until,
            opened_at=act.now,
            opened_by=act.who.actor,
        )
    )
    since = f"after {found.after}, when it was last found good," if found.after else "from the first record"
    _take_in(
        act,
        review,
        found.records,
        f"{gauge.tag} failed its calibration of {found.until}. Under review is what was tested with it {since} "
        f"up to and with {found.until}",
        found.jobs,
        order=order,
    )
    earlier = Review.objects.filter(calibration_id=calibration.corrects_id, closed_at=None).first()
    if calibration.corrects_id is not None and earlier is not None:
        _close(act, earlier, REPLACED)
    return review


def take_in(act: Act, review: Review) -> int:
    """Add what was entered since the review was opened and belongs to it; how many records that is."""
    review = _open_one(review)
    late = set(entered_since(review).values_list("pk", flat=True))
    if late:
        found = look_back(review.gauge, review.calibration)
        what = f"Entered since, and under review with {review.gauge.tag}"
        _take_in(act, review, [one for one in found.records if one.record.pk in late], what, found.jobs)
    return len(late)


def decide(act: Act, reviewed: ReviewedRecord, outcome: str, note: str = "") -> None:
    """Say what becomes of one record: it stands, is to be repeated, or its item is set aside.

    `repeat` orders the check again: the piece is not fit until it is done. A decision may be changed while the review
    is open, with why; what it set off (a re-test, the quarantine) stays. Raises NotAllowed where a note is
    missing, for somebody who may not decide it (see the head of this module), and for a review that is closed.
    """
    reviewed = ReviewedRecord.objects.select_related(
        "review__gauge", "inspection__item", "inspection__check_done"
    ).get(pk=reviewed.pk)
    note = note.strip()
    _refuse(act, reviewed, outcome, note)
    review, test = _open_one(reviewed.review), reviewed.inspection
    act.change(reviewed, outcome=outcome, decided_by=act.who.actor, decided_at=act.now, note=note[:400])
    words = {
        Outcome.STANDS: "the verdict stands",
        Outcome.REPEAT: "to be repeated",
        Outcome.SET_ASIDE: "the item is set aside",
    }[Outcome(outcome)]
    act.tell(
        Deed.REVIEWED,
        [test.item, review.gauge],
        note=f"{_named(test)}, read on {review.gauge.tag}: {words}" + (f" ({note})" if note else ""),
    )
    if outcome == Outcome.REPEAT:
        order_retests(act, [test], {test.pk: _why(review, test)})
    elif outcome == Outcome.SET_ASIDE:
        quarantine(act, test.item, f"{_why(review, test)}{f' {note}' if note else ''}")


def let_stand(act: Act, review: Review) -> int:
    """Let every record stand that is not decided yet and whose verdict comes out the same; how many those are."""
    review = _open_one(review)
    undecided = review.records.filter(outcome=Outcome.OPEN).select_related("inspection__item")
    same = [one for one in undecided if one.rejudged and not one.flips]
    for one in same:
        act.change(one, outcome=Outcome.STANDS, decided_by=act.who.actor, decided_at=act.now)
    if same:
        act.tell(
            Deed.REVIEWED,
            [review.gauge, *(one.inspection.item for one in same)],
            note=f"Tests read on {review.gauge.tag} stand, the verdict is the same with its error taken off: "
            f"{len(same)}",
        )
    return len(same)


def close(act: Act, review: Review, conclusion: str) -> None:
    """Close the review with what is concluded from it.

    Raises NotAllowed while a record of it is not decided, or one that belongs to it was entered since. A review whose
    calibration was corrected or struck out since has no ground left, and is closed whatever is open in it.
    """
    review = _open_one(review)
    if not conclusion.strip():
        raise NotAllowed(
            "Write what is concluded: what was wrong with the gauge, and what was done about it."
        )
    if has_ground(review):
        undecided = review.records.filter(outcome=Outcome.OPEN).count()
        if undecided:
            raise NotAllowed(f"Not decided yet: {undecided} of the records under review. Decide each first.")
        late = entered_since(review).count()
        if late:
            raise NotAllowed(
                f"Entered since the review was opened, and not in it yet: {late}. Take them in, and decide them."
            )
    _close(act, review, conclusion.strip())


def has_ground(review: Review) -> bool:
    """Whether the calibration that opened it still counts."""
    return bool(records_that_count().filter(pk=review.calibration_id).exists())


def needs_a_reason(reviewed: ReviewedRecord) -> bool:
    """Whether its verdict can stand only against the calculation, or without one; not if it counts no more."""
    if reviewed.rejudged and not reviewed.flips:
        return False
    return bool(records_that_count().filter(pk=reviewed.inspection_id).exists())


def _take_in(
    act: Act,
    review: Review,
    records: Sequence[InDoubt],
    what: str,
    jobs: Sequence[str],
    *,
    order: bool = True,
) -> None:
    act.create_many(
        [
            ReviewedRecord(
                review=review,
                inspection=one.record,
                rejudged=one.rejudged,
                figures=one.figures,
                why=one.why[:500],
            )
            for one in records
        ]
    )
    flipped = [one for one in records if one.flips]
    act.tell(
        Deed.REVIEWED,
        [review.gauge, *(one.record.item for one in records)],
        note=f"{what}: {len(records) or 'no'} record{'' if len(records) == 1 else 's'}"
        + (f", with another verdict {len(flipped)}" if records else ". Was the gauge always written down?"),
        facts={"jobs": list(jobs)},
    )
    if not order:
        return
    lost = [one for one in flipped if one.record.verdict == Verdict.PASS]
    deciding = latest_of([one.record for one in lost if one.record.item.state != State.WITHDRAWN])
    order_retests(act, deciding, {record.pk: _why(review, record) for record in deciding})


def _close(act: Act, review: Review, conclusion: str) -> None:
    act.change(review, closed_at=act.now, closed_by=act.who.actor, conclusion=conclusion[:1000])
    act.tell(Deed.REVIEWED, [review.gauge], note=f"Review of {review.until} closed: {conclusion}")


def _open_one(review: Review) -> Review:
    """The review as it is now. Raises NotAllowed if it is closed."""
    now = Review.objects.select_related("gauge", "calibration").get(pk=review.pk)
    if now.closed_at is not None:
        raise NotAllowed(
            f"The review of {now.gauge.tag} was closed by {now.closed_by}: nothing in it changes."
        )
    return now


def _refuse(act: Act, reviewed: ReviewedRecord, outcome: str, note: str) -> None:
    test = reviewed.inspection
    if outcome not in (Outcome.STANDS, Outcome.REPEAT, Outcome.SET_ASIDE):
        raise NotAllowed(f"A record stands, is to be repeated, or its item is set aside; not {outcome!r}.")
    if reviewed.outcome and not note:
        raise NotAllowed(
            f"{reviewed.decided_by} decided it already: {reviewed.get_outcome_display().lower()}. "
            "To change that, write why."
        )
    if outcome == Outcome.STANDS and needs_a_reason(reviewed):
        if act.who.actor in (test.by, test.recorded_by):
            raise NotAllowed(
                f"You made or recorded the {_named(test)}: somebody else must say that it stands nevertheless."
            )
        if not note:
            came_out = (
                f"comes out as {reviewed.rejudged}" if reviewed.rejudged else "cannot be worked out anew"
            )
            raise NotAllowed(
                f"With the gauge's error taken off, the {_named(test)} {came_out}: write why its verdict stands."
            )
    if outcome == Outcome.REPEAT and not test.check_done.is_asked_of(test.item):
        raise NotAllowed(
            f"{test.check_done.name} is not asked of {test.item.tag} any more: nothing to repeat."
        )
    if outcome == Outcome.REPEAT and test.check_done.retired:
        raise NotAllowed(
            f"{test.check_done.name} is not asked for any more, so it cannot be ordered: set {test.item.tag} "
            "aside, or write why the verdict stands."
        )


def _named(test: Inspection) -> str:
    return f"{test.check_done.name} of {test.item.tag} on {test.done_on}"


def _why(review: Review, test: Inspection) -> str:
    return (
        f"The {test.check_done.name} of {test.done_on} was read on gauge {review.gauge.tag}, "
        f"which was found out of tolerance on {review.until}."
    )
