"""Work on a quarantine case: findings, actions, notices considered, companions looked at, the re-test asked for."""

from __future__ import annotations

from inspections.actions.cases import subjects_of
from inspections.models import CaseCompanion, CaseNote, Looked, NoteKind, QuarantineCase
from inspections.notices import notices_for
from kit.models import Deed, State
from kit.stores import Act, NotAllowed, quarantine

NOTE_KINDS = (NoteKind.FINDING, NoteKind.ACTION)


def add_note(act: Act, case: QuarantineCase, kind: NoteKind | str, text: str) -> CaseNote:
    """Note what was found or done. Raises NotAllowed without text, or once the case is decided."""
    case = _as_now(case)
    if kind not in NOTE_KINDS:
        raise NotAllowed(f"A note of a case is a finding or an action, not {kind!r}.")
    _refuse_closed(case)
    if not text.strip():
        raise NotAllowed("Write what was found or done: an empty note helps nobody.")
    return _note(act, case, NoteKind(kind), text.strip())


def consider(act: Act, case: QuarantineCase, key: str, text: str) -> CaseNote:
    """Note that a notice was considered, and with what outcome: the tool asks, a person decides.

    Possible after a withdrawal or a loss too. Raises NotAllowed without text, or if the notice is not one of the
    case's.
    """
    case = _as_now(case)
    notice = next((one for one in notices_for(case) if one.key == key), None)
    if notice is None:
        raise NotAllowed(f"{key!r} is no notice of case {case.pk}: choose one of those shown.")
    if not text.strip():
        raise NotAllowed("Write what you decided about this notice and why: it stays with the case.")
    return _note(act, case, NoteKind.NOTICE, text.strip(), about=key)


def look_at(act: Act, companion: CaseCompanion, looked: Looked | str, text: str = "") -> CaseCompanion:
    """Say of one companion that it was looked at and left in use, or set it aside as well.

    Possible after a withdrawal or a loss too: the fault may lie in the companion. Raises NotAllowed if it was looked
    at already, or cannot be set aside.
    """
    companion = CaseCompanion.objects.select_related("case__item", "item").get(pk=companion.pk)
    case, item = companion.case, companion.item
    if looked not in (Looked.LEFT, Looked.SET_ASIDE):
        raise NotAllowed(f"Say whether {item.tag} is left in use or set aside as well.")
    if companion.looked != Looked.OPEN:
        word = Looked(companion.looked).label.lower()
        raise NotAllowed(f"{item.tag} was dealt with by {companion.by}: {word}.")
    if looked == Looked.SET_ASIDE and item.state in (State.WITHDRAWN, State.LOST):
        raise NotAllowed(
            f"{item.tag} is {item.get_state_display().lower()}, so it cannot be set aside: note what is known of "
            "it and choose that it was looked at."
        )
    act.change(companion, looked=looked, text=text.strip()[:400], by=act.who.actor, at=act.now)
    word = "left in use" if looked == Looked.LEFT else "set aside as well"
    more = f": {text.strip()}" if text.strip() else ""
    act.tell(
        Deed.INVESTIGATED,
        [*subjects_of(case), item],
        note=f"case {case.pk} of {case.item.tag}: {item.tag} was looked at and {word}{more}",
    )
    if looked == Looked.SET_ASIDE:
        quarantine(act, item, f"used with {case.item.tag} (case {case.pk}): {text.strip() or case.why}"[:500])
    return companion


def leave_rest(act: Act, case: QuarantineCase, text: str) -> int:
    """All companions not looked at yet were looked at and stay in use, for one reason; gives how many."""
    rows = list(case.companions.filter(looked=Looked.OPEN))
    if not rows:
        raise NotAllowed(f"Every companion in case {case.pk} was looked at already.")
    if not text.strip():
        raise NotAllowed("Write why all of them may stay in use: one reason stands for every piece.")
    for row in rows:
        look_at(act, row, Looked.LEFT, text)
    return len(rows)


def require_retest(act: Act, case: QuarantineCase, required: bool, why: str = "") -> None:
    """Say whether a release calls for the failed checks again. To do without needs why."""
    case = _as_now(case)
    _refuse_closed(case)
    if not required and not why.strip():
        raise NotAllowed(
            "Write why no re-test is needed before it goes out: whoever releases it relies on that."
        )
    if not act.change(case, retest_required=required):
        return
    said = "a re-test is asked for on release" if required else "no re-test is asked for on release"
    _note(act, case, NoteKind.ACTION, f"{said}: {why.strip()}" if why.strip() else said)


def _note(act: Act, case: QuarantineCase, kind: NoteKind, text: str, about: str = "") -> CaseNote:
    note = act.create(
        CaseNote(case=case, kind=kind, about=about, text=text[:1000], by=act.who.actor, at=act.now)
    )
    act.tell(
        Deed.INVESTIGATED, subjects_of(case), note=f"case {case.pk}: {kind.label.lower()}: {text[:1000]}"
    )
    return note


def _as_now(case: QuarantineCase) -> QuarantineCase:
    return QuarantineCase.objects.select_related("item", "job").get(pk=case.pk)


def _refuse_closed(case: QuarantineCase) -> None:
    if not case.is_open:
        raise NotAllowed(
            f"Case {case.pk} of {case.item.tag} was decided by {case.decided_by}: "
            f"{case.get_decision_display().lower()}. Nothing is added to it any more."
        )
