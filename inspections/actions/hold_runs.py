"""Start, end and break off hold tests at the bench: the clock runs in the database, on the server's time."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import ROUND_DOWN, ROUND_UP, Decimal

from inspections.actions.hold_tests import HoldTestDone, NotEvidence, hold_test_findings, record_hold_test
from inspections.actions.record import refuse_who
from inspections.gauges import usable_now
from inspections.judging import HoldTest, Unit
from inspections.judging.units import written
from inspections.models import Check, HoldRun, Inspection
from kit.models import Deed, Item, State
from kit.stores import Act, NotAllowed, fresh

MOST_RUNS = 5
"""How many hold tests one person may have running side by side; common practice, no source."""

_SECOND = timedelta(seconds=1)


class TooEarly(NotAllowed):
    """The bag has not been held for the time that its check asks for; `seconds` are still to wait."""

    def __init__(self, sentence: str, seconds: int) -> None:
        self.seconds = seconds
        super().__init__(sentence)


def start_run(
    act: Act,
    item: Item,
    check: Check,
    gauge: Item,
    start_pressure: Decimal,
    unit: Unit,
    start_c: Decimal | None = None,
) -> HoldRun:
    """Start the clock of a hold test. Nothing is recorded yet, and the ledger is not told.

    Raises NotEvidence for what would be no evidence whatever the end (the gauge, the start pressure, the
    temperature); NotAllowed if the item is withdrawn or lost, its test runs already, or five of the person do.
    """
    item = fresh(item)
    if item.state in (State.WITHDRAWN, State.LOST):
        raise NotAllowed(f"{item.tag} is {item.get_state_display().lower()}: there is nothing to test.")
    if not check.is_asked_of(item) or check.retired:
        raise NotAllowed(f"{check.name} is not asked of {item.tag}: choose a check that is.")
    refuse_who(act, check, item)
    running = HoldRun.objects.filter(item=item).first()
    if running is not None:
        raise NotAllowed(
            f"The hold test of {item.tag} runs already, started by {running.started_by}: end it or break it off."
        )
    if HoldRun.objects.filter(started_by=act.who.actor).count() >= MOST_RUNS:
        raise NotAllowed(f"{MOST_RUNS} of your hold tests are running: end one before {item.tag} is started.")
    _refuse_at_the_start(act, item, check, gauge, start_pressure, unit, start_c)
    return act.put_beside(
        HoldRun(
            depot=item.depot,
            item=item,
            check_run=check,
            gauge=gauge,
            start_pressure=start_pressure,
            unit=unit,
            start_c=start_c,
            started_at=act.now,
            started_by=act.who.actor,
        )
    )


def _refuse_at_the_start(
    act: Act,
    item: Item,
    check: Check,
    gauge: Item,
    start_pressure: Decimal,
    unit: Unit,
    start_c: Decimal | None,
) -> None:
    """As if it had held without any drop: what is refused then is refused before five minutes are lost on it."""
    trial = HoldTest(
        start_pressure, start_pressure, unit, check.hold_minutes or Decimal(1), start_c, end_c=start_c
    )
    gauge = Item.objects.select_related("kind").get(pk=gauge.pk)
    [found] = hold_test_findings(
        [HoldTestDone(item, check, gauge, trial, act.today)],
        act.today,
        lambda standing: usable_now(gauge, standing),
    )
    if isinstance(found, NotEvidence):
        raise found


def held_minutes(run: HoldRun, now: datetime) -> Decimal:
    """Minutes since the clock was started, rounded down to a thousandth: no test is held longer than it was."""
    seconds = Decimal((now - run.started_at) // timedelta(milliseconds=1)) / 1000
    return (seconds / 60).quantize(Decimal("0.001"), rounding=ROUND_DOWN)


def seconds_left(run: HoldRun, now: datetime) -> int:
    """Seconds until the time that the check asks for is over, rounded up; 0 once it is."""
    asked = run.check_run.hold_minutes or Decimal(0)
    ends = run.started_at + timedelta(seconds=float((asked * 60).quantize(Decimal("0.001"), ROUND_UP)))
    return max(0, -((now - ends) // _SECOND))


def end_run(
    act: Act, run: HoldRun, end_pressure: Decimal, end_c: Decimal | None = None, note: str = ""
) -> Inspection:
    """Record the test from the pressure read now. Whatever is refused, the clock runs on.

    Raises TooEarly before the time is over; NotEvidence and NotAllowed as `record_hold_test`.
    """
    _refuse_gone(run)
    wait = seconds_left(run, act.now)
    if wait:
        minutes, seconds = divmod(wait, 60)
        asked = written(run.check_run.hold_minutes or Decimal(0))
        raise TooEarly(
            f"{run.item.tag} is held for {held_minutes(run, act.now):.1f} of {asked} minutes: no evidence yet. "
            f"Wait another {minutes} min {seconds} s, then read the gauge again.",
            wait,
        )
    test = HoldTest(
        run.start_pressure, end_pressure, _unit(run), held_minutes(run, act.now), run.start_c, end_c
    )
    if run.started_by != act.who.actor:
        note = f"{note}; started by {run.started_by}".removeprefix("; ")
    made = record_hold_test(
        act, run.item, run.check_run, run.gauge, test, act.today, done_at=act.now, note=note
    )
    act.clear(run)
    return made


def break_off(act: Act, run: HoldRun, why: str) -> None:
    """Give up a run without a record; the ledger keeps why, so that no test vanishes because it went badly."""
    why = why.strip()
    if not why:
        raise NotAllowed(
            f"Say why the hold test of {run.item.tag} is broken off: a bag that leaks is to be failed, not begun anew."
        )
    _refuse_gone(run)
    act.tell(
        Deed.BROKEN_OFF,
        [run.item, run.gauge],
        note=f"{run.check_run.name} broken off after {held_minutes(run, act.now):.1f} minutes: {why}",
        facts={
            "check": run.check_run.name,
            "start_pressure": run.start_pressure,
            "unit": run.unit,
            "started_at": run.started_at,
        },
    )
    act.clear(run)


def _refuse_gone(run: HoldRun) -> None:
    """Two devices may send the same end: what was read before the act's turn may be so no longer."""
    if not HoldRun.objects.filter(pk=run.pk).exists():
        raise NotAllowed(
            f"The hold test of {run.item.tag} has been ended already, here or on another device."
        )


def _unit(run: HoldRun) -> Unit:
    return run.unit  # type: ignore[return-value]
