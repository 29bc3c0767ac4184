"""What happened in a quarantine case, the oldest first, as components/timeline.html takes it."""

from __future__ import annotations

from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _

from inspections.models import Looked, NoteKind, QuarantineCase
from inspections.notices import NOTICES


def case_story(case: QuarantineCase) -> list[dict[str, Any]]:
    """Opening, notes, companions looked at and the decision, in order of time."""
    entries = [_entry(case.opened_at, _("Set aside"), case.why, case.opened_by, "set-aside")]
    notices = {notice.key: notice for notice in NOTICES}
    for note in case.notes.all():
        about = notices.get(note.about)
        text = f"{about.words} {capfirst(note.text)}" if about else note.text
        entries.append(_entry(note.at, str(NoteKind(note.kind).label), text, note.by))
    for row in case.companions.exclude(looked=Looked.OPEN).select_related("item"):
        said = Looked(row.looked).label.lower()
        text = f"{row.item.tag}: {said}. {capfirst(row.text)}".strip()
        entries.append(_entry(row.at, _("Used with it"), text, row.by))
    if not case.is_open:
        text = " ".join(part for part in (case.findings, case.cause) if part)
        entries.append(_entry(case.decided_at, str(case.get_decision_display()), text, case.decided_by))
    return sorted(entries, key=lambda entry: entry["at"])


def _entry(at: Any, action: str, text: str, by: str, mark: str = "") -> dict[str, Any]:
    return {"at": at, "action": action, "text": text, "by": by, "mark": mark}
