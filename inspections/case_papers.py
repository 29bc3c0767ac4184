"""The disposal note of a withdrawn item, filled from the register and its last case. Reads only."""

from __future__ import annotations

from datetime import datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from inspections.models import Decision, NoteKind, QuarantineCase
from kit.models import Item, State
from kit.papers.disposal_note import DisposalNote
from kit.papers.store_heads import stamp
from kit.papers.wording import moment
from kit.stores import NotAllowed


def disposal_note_of(item: Item, printed_at: datetime | None = None) -> DisposalNote:
    """What the note of this item says. Raises NotAllowed if it is not withdrawn."""
    if item.state != State.WITHDRAWN or item.state_since is None:
        raise NotAllowed(
            f"{item.tag} is not withdrawn, so it has no disposal note: withdraw it first, with the cause."
        )
    case = QuarantineCase.objects.filter(item=item, decision=Decision.WITHDRAWN).select_related("job").last()
    return DisposalNote(
        tag=item.tag,
        kind=item.kind.name,
        stamp=stamp(1, printed_at),
        cause=item.state_why,
        withdrawn_by=item.state_by,
        withdrawn_at=timezone.localtime(item.state_since),
        depot=str(item.depot),
        maker=item.maker,
        serial=item.serial,
        batch=item.batch,
        case=str(case.pk) if case else "",
        set_aside=_set_aside(case) if case else "",
        job=case.job.reference if case and case.job else "",
        found=_found(case) if case else [],
    )


def _set_aside(case: QuarantineCase) -> str:
    return f"{case.why} ({case.opened_by}, {moment(timezone.localtime(case.opened_at))})"


def _found(case: QuarantineCase) -> list[str]:
    kinds = [NoteKind.FINDING, NoteKind.ACTION, NoteKind.REASON]
    return [
        f"{_(note.get_kind_display())}: {note.text} ({note.by})" for note in case.notes.filter(kind__in=kinds)
    ]
