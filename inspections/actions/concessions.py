"""Concessions: a due date extended for a while, within bounds, by somebody who did not ask for it.

Never for a check that failed, is in doubt, was never done or is called for, and never for a use-by date.
"""

from __future__ import annotations

from datetime import date, timedelta

from inspections.concession_bounds import Extendable, extendable, would_run_until
from inspections.models import Check, Concession, ConcessionState, Inspection, Verdict
from kit.models import Deed, Item
from kit.ports import ports
from kit.stores import Act, NotAllowed, fresh, refit


def ask(
    act: Act, item: Item, check: Check, until: date, reason: str, risk: str, conditions: str = ""
) -> Concession:
    """Ask that `check` of the item stay in date up to and with `until`, with the reason, the risk that was
    weighed and the conditions under which it may go out.

    Raises NotAllowed with why: nothing to extend, the item is set aside, withdrawn or lost, the day is past, does
    not extend the due date, lies beyond the bound of the check or the use-by date, no reason or risk, or one is
    asked for already.
    """
    item = fresh(item)
    reason, risk, conditions = reason.strip(), risk.strip(), conditions.strip()
    if not reason:
        raise NotAllowed(f"Say why {check.name} of {item.tag} cannot be done in time.")
    if not risk:
        raise NotAllowed(
            f"Write what the risk is of using {item.tag} without its {check.name}, and why it is borne."
        )
    standing = _standing(act, item, check)
    asked = Concession.objects.filter(
        item=item, check_due=check, due_on=standing.due_on, state=ConcessionState.ASKED
    ).first()
    if asked is not None:
        raise NotAllowed(
            f"{asked.asked_by} has asked for a concession for {check.name} of {item.tag} already, until "
            f"{asked.until}: that one has to be granted or refused first."
        )
    _refuse_day(act, standing, until)
    made = act.create(
        Concession(
            item=item,
            check_due=check,
            due_on=standing.due_on,
            until=until,
            reason=reason,
            risk=risk,
            conditions=conditions,
            asked_by=act.who.actor,
            asked_at=act.now,
        )
    )
    _tell(act, made, "asked for", f"until {until}: {reason}")
    return made


def grant(act: Act, concession: Concession, note: str = "") -> Concession:
    """Grant it, if all that it was asked for still holds; promises follow at once.

    Raises NotAllowed as `ask`, if it is decided already or the due date has moved since, and for whoever asked
    for it or failed the item last (rule 7 of the trade).
    """
    concession = _open(concession)
    item, check = fresh(concession.item), concession.check_due
    if concession.asked_by == act.who.actor:
        raise NotAllowed("You asked for this concession: somebody else must grant it.")
    if act.who.actor in who_failed(item, check):
        raise NotAllowed(f"You failed {item.tag}: somebody else must grant a concession for it.")
    standing = _standing(act, item, check)
    if standing.due_on != concession.due_on:
        raise NotAllowed(
            f"The due date of {check.name} of {item.tag} has moved from {concession.due_on} to {standing.due_on} "
            "since this was asked for, so the request has lapsed: ask anew if it is still needed."
        )
    _refuse_day(act, standing, concession.until)
    _decide(act, concession, ConcessionState.GRANTED, note)
    _tell(
        act,
        concession,
        "granted",
        f"until {concession.until}" + (f": {note.strip()}" if note.strip() else ""),
    )
    refit(act, [fresh(item)])
    return concession


def refuse(act: Act, concession: Concession, note: str) -> Concession:
    """Refuse it, with why; not by whoever asked for it."""
    concession = _open(concession)
    if not note.strip():
        raise NotAllowed("Say why it is refused: whoever asked for it has to plan with that.")
    if concession.asked_by == act.who.actor:
        raise NotAllowed("You asked for this concession: somebody else must decide it.")
    _decide(act, concession, ConcessionState.REFUSED, note)
    _tell(act, concession, "refused", note.strip())
    return concession


def end(act: Act, concession: Concession, why: str) -> Concession:
    """End a running concession early, with why: the check is due again as it was without it."""
    concession = _renewed(concession)
    if concession.state != ConcessionState.GRANTED:
        raise NotAllowed(
            f"This concession is {concession.get_state_display().lower()}: there is nothing to end."
        )
    if concession.until < act.today:
        raise NotAllowed(f"This concession ended of itself after {concession.until}.")
    if not why.strip():
        raise NotAllowed("Say why the concession is ended.")
    act.change(
        concession,
        state=ConcessionState.ENDED,
        ended_by=act.who.actor,
        ended_on=act.today,
        ended_why=why.strip()[:400],
    )
    _tell(act, concession, "ended", why.strip())
    refit(act, [fresh(concession.item)])
    return concession


def who_failed(item: Item, check: Check) -> set[str]:
    """Whose fails or doubts of the item stand open, and who made the last fail or doubt of the check."""
    last = (
        Inspection.objects.filter(item=item, check_done=check, struck=False)
        .exclude(verdict=Verdict.PASS)
        .order_by("-done_on", "-id")
        .first()
    )
    people = ports.judge.failed_by(item, None)
    return people | ({last.by, last.recorded_by} - {""} if last else set())


def _standing(act: Act, item: Item, check: Check) -> Extendable:
    found = extendable(item, check, act.today)
    if isinstance(found, str):
        raise NotAllowed(found)
    return found


def _refuse_day(act: Act, standing: Extendable, until: date) -> None:
    """Raise NotAllowed unless `until` extends what stands, within its bound and the use-by date."""
    item, check = standing.item, standing.check
    if until < act.today:
        raise NotAllowed(f"{until} is past: a concession that ended before today extends nothing.")
    if until <= standing.in_date_until:
        so_far = "by a concession " if standing.in_date_until > standing.due_on else ""
        raise NotAllowed(
            f"{check.name} of {item.tag} is {so_far}in date until {standing.in_date_until} as it is: "
            "name a later day, or leave it."
        )
    bound = standing.due_on + timedelta(days=check.concession_days)
    if not check.concession_days:
        raise NotAllowed(
            f"{check.name} of a {item.kind} is never extended: it has to be done by {standing.due_on}."
        )
    if until > bound:
        raise NotAllowed(
            f"{check.name} of {item.tag} was due on {standing.due_on} and may be extended by {check.concession_days} "
            f"days at most, so until {bound}."
        )
    if item.use_by is not None and item.use_by < until:
        raise NotAllowed(
            f"{item.tag} has the use-by date {item.use_by}, which is never conceded and still ends it before {until}: "
            f"ask until {item.use_by} at the latest, or take another piece."
        )
    reached = would_run_until(standing, until, act.today)
    if reached < until:
        raise NotAllowed(
            f"Another rule for {check.name} comes into force after {reached} and makes it due then: "
            f"ask until {reached} at the latest."
        )


def _open(concession: Concession) -> Concession:
    concession = _renewed(concession)
    if concession.state != ConcessionState.ASKED:
        raise NotAllowed(
            f"This concession is {concession.get_state_display().lower()} already, by {concession.decided_by} on "
            f"{concession.decided_on}."
        )
    return concession


def _renewed(concession: Concession) -> Concession:
    return Concession.objects.select_related("item__kind", "check_due").get(pk=concession.pk)


def _decide(act: Act, concession: Concession, state: ConcessionState, note: str) -> None:
    act.change(
        concession,
        state=state,
        decided_by=act.who.actor,
        decided_on=act.today,
        decision_note=note.strip()[:500],
    )


def _tell(act: Act, concession: Concession, what: str, note: str) -> None:
    act.tell(
        Deed.CONCESSION,
        [concession.item],
        note=f"{what} for {concession.check_due.name}, {note}",
        facts={"due_on": concession.due_on, "until": concession.until, "conditions": concession.conditions},
    )
