"""Release an item from quarantine: by somebody who neither set it aside nor failed it."""

from __future__ import annotations

from django.utils import timezone

from inspections.actions.calls import call_for
from inspections.actions.case_chain import gating_checks, standing_records
from inspections.actions.cases import close, open_case
from inspections.models import Cause, Check, Decision, Looked, QuarantineCase, Verdict
from inspections.notices import not_considered
from kit.models import Deed, Item, State
from kit.ports import ports
from kit.stores import Act, NotAllowed, fresh, refit, set_aside


def release(act: Act, item: Item, findings: str) -> None:
    """Return the item to the store, with what the investigation found. Its checks still decide whether it is fit.

    Its case is closed, and unless a person said that none is needed, re-tests are called for: see `retests_due`.
    Raises NotAllowed if the item is not in quarantine, no findings are given, the person set it aside or failed it
    (rule 7 of the trade), or something in its case waits to be looked at or considered.
    """
    item = fresh(item)
    if item.state != State.QUARANTINED:
        raise NotAllowed(f"{item.tag} is not in quarantine.")
    if not findings.strip():
        raise NotAllowed("Write what was found and why the item may go back into the store.")
    if bars := bars_to_release(item, act.who.actor):
        raise NotAllowed(" ".join(bars))
    act.change(item, state=State.AVAILABLE, state_why="", state_by=act.who.actor, state_since=act.now)
    case = open_case(item)
    again = retests_due(case) if case else []
    for check in again:
        act.create(call_for(act, item, Cause.ORDERED, "released from quarantine", check))
    if case is not None:
        close(act, case, Decision.RELEASED, findings=findings.strip())
    act.tell(
        Deed.RELEASED,
        [item, *([f"case:{case.pk}"] if case else [])],
        note=findings.strip(),
        facts={"checks_due_again": [check.name for check in again]},
    )
    refit(act, [fresh(item)])


def barred_from_release(item: Item) -> frozenset[str]:
    """Everybody who may not release the item: who set it aside since its last release, or failed it."""
    apart = set_aside(item)
    return apart.people | ports.judge.failed_by(item, apart.since)


def bars_to_release(item: Item, actor: str) -> list[str]:
    """Why this person may not release the item now, a sentence each; empty if they may."""
    apart = set_aside(item)
    bars = []
    if actor in apart.people:
        bars.append(f"You set {item.tag} aside: somebody else must release it.")
    elif actor in ports.judge.failed_by(item, apart.since):
        bars.append(f"You failed {item.tag}: somebody else must release it.")
    case = open_case(item)
    return [*bars, *(waits_for(case) if case else [])]


def waits_for(case: QuarantineCase) -> list[str]:
    """What is still to be done in the case before anybody may release its item, a sentence each."""
    waiting = []
    left = case.companions.filter(looked=Looked.OPEN).values_list("item__tag", flat=True)
    if left:
        waiting.append(
            f"Not looked at yet, though used with {case.item.tag}: {', '.join(left)}. Say of each in case {case.pk} "
            "whether it is left in use or set aside as well."
        )
    waiting.extend(
        f"Not considered yet in case {case.pk}: {str(notice.words).rstrip('.')}. Note there what you decided."
        for notice in not_considered(case)
    )
    return waiting


def retests_due(case: QuarantineCase) -> list[Check]:
    """The checks that a release calls for: those that failed, or if none did the first gating one by name.

    Left out is what was passed on or after the day on which the case was opened, and recorded since. None if a
    person said that no re-test is required, or if nothing gates.
    """
    checks = gating_checks(case.item) if case.retest_required else []
    if not checks:
        return []
    opened_on = timezone.localdate(case.opened_at)
    failed: set[int] = set()
    passed: set[int] = set()
    for record in standing_records(case.item).order_by("done_on", "id"):
        here, since = record.check_done_id, record.recorded_at >= case.opened_at
        if record.leaves != Verdict.PASS:
            failed.add(here)
            passed.discard(here)
        elif since and record.done_on >= opened_on:
            passed.add(here)
        elif not since:
            # What failed before the case and was passed before it is not what the case is about.
            failed.discard(here)
    asked = [check for check in checks if check.pk in failed] or checks[:1]
    return [check for check in asked if check.pk not in passed]
