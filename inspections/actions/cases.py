"""Quarantine cases open, grow and close with what happens to the item: plugged into the store (kit.ports)."""

from __future__ import annotations

from collections.abc import Sequence

from inspections.actions.calls import call_for
from inspections.actions.case_chain import Companion, companions_of, outing_of
from inspections.judge import last_record
from inspections.models import (
    CaseCompanion,
    CaseNote,
    Cause,
    Check,
    CheckVersion,
    Decision,
    Looked,
    NoteKind,
    QuarantineCase,
)
from kit.models import Deed, Item, State
from kit.stores import Act, chunked, fresh, refit

CLOSING = {State.WITHDRAWN: Decision.WITHDRAWN, State.LOST: Decision.LOST}


def open_case(item: Item) -> QuarantineCase | None:
    """The case under which the item is set aside; None if there is none."""
    return QuarantineCase.objects.filter(item=item, decision="").select_related("item", "job").first()


def case_number(item: Item) -> str:
    """The number of the open case as papers name it; empty if there is none."""
    number = QuarantineCase.objects.filter(item=item, decision="").values_list("pk", flat=True).first()
    return "" if number is None else str(number)


def subjects_of(case: QuarantineCase) -> list[Item | str]:
    """What an entry about the case is about."""
    return [case.item, f"case:{case.pk}"]


def hear(act: Act, item: Item, why: str) -> None:
    """An item was set aside, withdrawn or lost: open its case, add the further reason to it, or close it.

    With the cause of a withdrawal or a loss the case is decided, whatever is still to be looked at in it.
    """
    case = open_case(item)
    if item.state == State.QUARANTINED:
        if case is None:
            _open(act, item, why)
        else:
            act.create(
                CaseNote(case=case, kind=NoteKind.REASON, text=why[:1000], by=act.who.actor, at=act.now)
            )
            act.tell(Deed.INVESTIGATED, subjects_of(case), note=f"case {case.pk}: further reason noted")
    elif case is not None:
        decision = CLOSING[State(item.state)]
        close(act, case, decision, cause=why)
        act.tell(
            Deed.INVESTIGATED,
            subjects_of(case),
            note=f"case {case.pk} closed, {decision.label.lower()}: {why}",
        )


def hear_received(act: Act, items: Sequence[Item]) -> None:
    """Items came in that are not available: those set aside get a case each, all at once.

    They are new, so none has been out with others; their due dates are left to the caller.
    """
    open_many(act, [item for item in items if item.state == State.QUARANTINED])


def open_missing(act: Act) -> int:
    """Open a case for every item that was set aside before cases were kept; gives how many."""
    rows = Item.objects.filter(state=State.QUARANTINED).exclude(cases__decision="")
    ids = list(rows.order_by("pk").values_list("pk", flat=True))
    for chunk in chunked(ids):
        open_many(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
        refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
    return len(ids)


def open_many(act: Act, items: Sequence[Item]) -> None:
    """A case and a call for re-tests for each, by who set it aside and when, in a fixed number of queries."""
    cases = [
        QuarantineCase(
            item=item,
            opened_at=item.state_since or act.now,
            opened_by=item.state_by or act.who.actor,
            why=(item.state_why or "set aside")[:500],
        )
        for item in items
    ]
    act.create_each(
        cases,
        Deed.INVESTIGATED,
        subjects=subjects_of,
        note=lambda case: f"case {case.pk} opened",
    )
    after = last_record() if items else 0
    act.create_each(
        [call_for(act, item, Cause.QUARANTINE, after=after) for item in items],
        Deed.RETEST,
        subjects=lambda call: [call.item],
        note=lambda call: "set aside: checks that are asked for after quarantine are due again",
    )


def close(act: Act, case: QuarantineCase, decision: Decision, *, findings: str = "", cause: str = "") -> None:
    """Decide the case; whoever calls tells of it."""
    act.change(
        case,
        decision=decision,
        decided_at=act.now,
        decided_by=act.who.actor,
        findings=findings[:1000],
        cause=cause[:400],
    )


def _open(act: Act, item: Item, why: str) -> None:
    outing = outing_of(item)
    case = act.create(
        QuarantineCase(
            item=item,
            opened_at=act.now,
            opened_by=act.who.actor,
            why=why[:500],
            job=outing.job if outing else None,
        )
    )
    companions = companions_of(item, outing, act.today)
    act.create_many([_row(act, case, companion) for companion in companions])
    act.create(call_for(act, item, Cause.QUARANTINE))
    _looked_at_elsewhere(act, case)
    note = f"case {case.pk} opened"
    if companions:
        note += f"; used with it: {', '.join(companion.item.tag for companion in companions)}"
    act.tell(Deed.INVESTIGATED, [*subjects_of(case), *([case.job] if case.job else [])], note=note)
    if _asked_after_quarantine(item):
        refit(act, [fresh(item)])


def _row(act: Act, case: QuarantineCase, companion: Companion) -> CaseCompanion:
    row = CaseCompanion(
        case=case, item=companion.item, job=companion.outing.job if companion.outing else None
    )
    if companion.item.state == State.QUARANTINED:
        # It is looked into in a case of its own already.
        row.looked, row.by, row.at = Looked.SET_ASIDE, act.who.actor, act.now
        row.text = f"set aside already: case {case_number(companion.item) or 'not known'}"
    return row


def _looked_at_elsewhere(act: Act, case: QuarantineCase) -> None:
    """Where the item waits to be looked at as a companion, it is set aside now."""
    for row in CaseCompanion.objects.filter(item=case.item, looked=Looked.OPEN).order_by("pk"):
        act.change(
            row,
            looked=Looked.SET_ASIDE,
            text=f"set aside by itself: case {case.pk}",
            by=act.who.actor,
            at=act.now,
        )


def _asked_after_quarantine(item: Item) -> bool:
    """Whether a check of the kind is, or is to be, due again after a quarantine: only then a date moves."""
    return (
        Check.objects.filter(kind_id=item.kind_id, after_quarantine=True).exists()
        or CheckVersion.objects.filter(of__kind_id=item.kind_id, after_quarantine=True).exists()
    )
