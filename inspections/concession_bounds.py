"""What a concession could extend: how one check of one item stands, by the judge itself. Reads only."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import cast

from inspections.judge import Checked, checked
from inspections.judging import Extension, due_under
from inspections.models import Check
from kit.models import Item, State


@dataclass(frozen=True, slots=True)
class Extendable:
    """A check that passed last and waits for nothing. `due_on` is its due date without any concession,
    `in_date_until` with those that run.
    """

    item: Item
    check: Check
    due_on: date
    in_date_until: date
    known: Checked


def extendable(item: Item, check: Check, day: date) -> Extendable | str:
    """How the check stands on the day; a sentence that says why there is nothing to extend, if so."""
    if item.state == State.QUARANTINED:
        return f"{item.tag} is in quarantine, which is never conceded: its case has to be decided first."
    if item.state in (State.WITHDRAWN, State.LOST):
        return f"{item.tag} is {item.get_state_display().lower()}: there is nothing to extend."
    known = checked(item, check)
    due = due_under(known.versions, known.records, known.calls, known.extensions, day)
    if due is None:
        return f"{check.name} is not asked of {item.tag} now, so there is nothing to extend."
    if due.status == "never":
        return f"{check.name} of {item.tag} was never done: there is no due date to extend. Have it done."
    if due.status == "failed":
        what = "is in doubt" if due.last_verdict == "doubt" else "failed"
        return f"{check.name} of {item.tag} {what} since {due.due_on}, which is never conceded: have it done again."
    if due.note:
        return f"{check.name} of {item.tag} is {due.note}, which is never conceded: have it done."
    if item.use_by is not None and item.use_by < day:
        return f"{item.tag} is past its use-by date {item.use_by}, which is never conceded: withdraw it."
    # In date without an end is no "dated" check: the calendar ends first.
    return Extendable(item, check, due.conceded_from or cast(date, due.due_on), cast(date, due.due_on), known)


def would_run_until(standing: Extendable, until: date, day: date) -> date:
    """Up to which day the check would be in date if it were conceded until `until`, all rules known counted."""
    known = standing.known
    wanted = Extension(standing.due_on, until, day)
    due = due_under(known.versions, known.records, known.calls, [*known.extensions, wanted], day)
    assert due is not None
    return cast(date, due.due_on)
