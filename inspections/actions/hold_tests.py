"""Record a hold test from its readings: the check's limits of that day judge it, and what is no evidence is refused."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from django.utils import timezone

from inspections.actions.record import Finding, record, versions_on
from inspections.gauge_uncertainty import uncertainties
from inspections.gauges import GaugeBook, usable_now
from inspections.judging import (
    GaugeStanding,
    HoldTest,
    JudgingFault,
    Refusal,
    judge_hold_test,
    refusals,
)
from inspections.limits import Stated, asks_the_gauge, hold_limits, version_that_judges
from inspections.models import Check, CheckVersion, Inspection, Method
from kit.models import Item
from kit.stores import Act, NotAllowed


class NotEvidence(NotAllowed):
    """A test that may not count as evidence; `refusals` name the columns, each with why."""

    def __init__(self, found: Sequence[Refusal]) -> None:
        self.refusals = tuple(found)
        super().__init__(" ".join(refusal.text for refusal in self.refusals))


@dataclass(frozen=True, slots=True)
class HoldTestDone:
    """A hold test as it is handed over: what was read, of what, on which gauge."""

    item: Item
    check: Check
    gauge: Item | None
    test: HoldTest
    done_on: date
    done_at: datetime | None = None
    by: str = ""
    note: str = ""
    corrects: Inspection | None = None


def record_hold_test(
    act: Act,
    item: Item,
    check: Check,
    gauge: Item | None,
    test: HoldTest,
    done_on: date,
    *,
    done_at: datetime | None = None,
    by: str = "",
    note: str = "",
    corrects: Inspection | None = None,
) -> Inspection:
    """Record one hold test made at the bench. A fail of a gating check sets the item aside at once.

    Raises NotEvidence with every refusal, field by field; NotAllowed as `record` does.
    """
    if gauge is not None:
        gauge = Item.objects.select_related("kind").get(pk=gauge.pk)
    done = HoldTestDone(item, check, gauge, test, done_on, done_at, by, note, corrects)
    times = _refused_times(act, done)

    def at_the_bench(standing: GaugeStanding) -> GaugeStanding:
        return usable_now(gauge, standing) if done_on == act.today else standing

    [found] = hold_test_findings([done], act.today, at_the_bench)
    if isinstance(found, NotEvidence) or times:
        raise NotEvidence([*times, *(found.refusals if isinstance(found, NotEvidence) else ())])
    return record(act, found)


def hold_test_findings(
    tests: Sequence[HoldTestDone],
    today: date,
    seen: Callable[[GaugeStanding], GaugeStanding] = lambda standing: standing,
) -> list[Finding | NotEvidence]:
    """What each test says, in their order, or why it is no evidence. Nothing is written.

    The gauges' calibrations are read once for all of them. `seen` may look at a gauge more strictly than by
    its calibrations alone.
    """
    versions = versions_on(done.check for done in tests)
    gauges = {done.gauge.pk: done.gauge for done in tests if done.gauge is not None}
    book = GaugeBook.of(gauges.values())
    stated = uncertainties(gauges)
    found: list[Finding | NotEvidence] = []
    for done in tests:
        tag = done.gauge.tag if done.gauge is not None else ""
        standing = seen(book.standing(tag, done.done_on, done.item.tag))
        known = stated.on(done.gauge.pk, done.done_on) if done.gauge is not None else None
        found.append(_judge(done, versions.get(done.check.pk, ()), standing, known, today))
    return found


def not_by(check: Check, method: str, done_on: date) -> str:
    """Why readings of that method cannot be recorded under this check, in a sentence."""
    return (
        f"{check.name} of {check.kind} was no {method} on {done_on}; "
        f"choose a check that is one, or set its method and limits first."
    )


def _judge(
    done: HoldTestDone,
    versions: Sequence[CheckVersion],
    standing: GaugeStanding,
    stated: Stated | None,
    today: date,
) -> Finding | NotEvidence:
    version = version_that_judges(versions, done.done_on, today, method=Method.HOLD_TEST, retired=False)
    if version is None:
        return NotEvidence([Refusal("check", not_by(done.check, Method.HOLD_TEST, done.done_on))])
    try:
        limits = hold_limits(version, stated)
        refused = refusals(done.test, limits, standing)
        if refused:
            return NotEvidence(refused)
        verdict = judge_hold_test(done.test, limits)
    except JudgingFault as fault:
        return NotEvidence([Refusal(fault.field or "check", str(fault))])
    return Finding(
        done.item,
        done.check,
        done.done_on,
        verdict.verdict,
        done.by,
        note=done.note,
        done_at=done.done_at,
        gauge=done.gauge,
        readings={
            "method": Method.HOLD_TEST.value,
            "test": done.test.to_json(),
            # Kept with the test: what the gauge's next certificate says changes nothing about this one.
            **({"gauge_uncertainty": stated.to_json()} if stated and asks_the_gauge(version) else {}),
        },
        figures=verdict.figures(),
        why=verdict.why,
        corrects=done.corrects,
        version=version,
    )


def _refused_times(act: Act, done: HoldTestDone) -> list[Refusal]:
    if done.done_at is None:
        return []
    if done.done_at > act.now:
        return [Refusal("done_on", f"The test ends at {_clock(done.done_at)}, which is still to come.")]
    if timezone.localdate(done.done_at) != done.done_on:
        return [
            Refusal(
                "done_on",
                f"The test is dated {done.done_on} and ends at {_clock(done.done_at)}; write the same day.",
            )
        ]
    return []


def _clock(moment: datetime) -> str:
    return f"{timezone.localtime(moment):%Y-%m-%d %H:%M}"
