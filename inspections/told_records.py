"""Records, files and checks as rows of a paper: what an auditor reads in a list. Reads only."""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence

from django.db.models import Prefetch
from django.utils.translation import gettext as _

from inspections.case_story import case_story
from inspections.judging import Due
from inspections.models import Attachment, Inspection, QuarantineCase
from inspections.papers import calibration_of
from inspections.record_values import figures_of
from kit.models import Item, LedgerEntry
from kit.papers.dossier import Column, Part
from kit.papers.said import at, on
from kit.stores.act import label


def verdict_word(verdict: str) -> str:
    words = {"pass": _("pass"), "fail": _("FAIL"), "doubt": _("DOUBT")}
    return words.get(verdict, verdict)


def entries_of_records(entries: Iterable[LedgerEntry]) -> dict[int, LedgerEntry]:
    """By record, the entry that told of it first."""
    name = label(Inspection)
    found: dict[int, LedgerEntry] = {}
    for entry in entries:
        for model, key, _values in json.loads(entry.body)["rows"]:
            if model == name:
                found.setdefault(key, entry)
    return found


def records_of(items: Iterable[Item]) -> list[Inspection]:
    """Every record of these items, corrected ones too, in order of the day done."""
    corrections = Prefetch("corrections", Inspection.objects.order_by("pk"), to_attr="corrected_by")
    rows = Inspection.objects.filter(item__in=list(items)).select_related(
        "item__kind", "check_done", "version", "gauge__kind"
    )
    return list(rows.prefetch_related(corrections).order_by("done_on", "pk"))


RECORD_SHARES = (0.65, 0.8, 1, 0.7, 2.5, 1)


def record_columns() -> list[Column]:
    names = (_("Record"), _("Done on"), _("Check"), _("Verdict"), _("What was read, with what"), _("Ledger"))
    return [
        Column(name, share, strong=index == 3)
        for index, (name, share) in enumerate(zip(names, RECORD_SHARES, strict=True))
    ]


def record_row(record: Inspection, entries: dict[int, LedgerEntry]) -> list[str]:
    entry = entries.get(record.pk)
    return [
        str(record.pk),
        on(record.done_on),
        record.check_done.name,
        verdict_in_full(record),
        " ".join(_what_of(record)),
        f"{entry.number} · {entry.hash[:12]}" if entry else _("not found"),
    ]


def verdict_in_full(record: Inspection) -> str:
    if record.struck:
        return _("struck out")
    said = verdict_word(record.verdict)
    if record.as_left:
        said = _("%(found)s, as left %(left)s") % {"found": said, "left": verdict_word(record.as_left)}
    return said


def _what_of(record: Inspection) -> list[str]:
    """By whom, with which gauge, what came of it and what corrects it: sentences."""
    said = []
    for other in record.corrected_by:  # type: ignore[attr-defined]
        text = _("DOES NOT COUNT: record %(n)s corrects it.")
        if other.struck:
            text = _("DOES NOT COUNT: struck out by record %(n)s.")
        said.append(text % {"n": other.pk})
    if record.corrects_id:
        said.append(_("Corrects record %(n)s.") % {"n": record.corrects_id})
    said.append(_("By %(who)s.") % {"who": record.by or record.recorded_by})
    if not record.why and (figures := figures_of(record)):
        said.append("; ".join(f"{name} {value}" for name, value in figures) + ".")
    if record.gauge:
        said.append(
            _("Gauge %(tag)s, %(stood)s.")
            % {"tag": record.gauge.tag, "stood": calibration_of(record, record.done_on)}
        )
    if record.certificate:
        said.append(_("Certificate %(name)s.") % {"name": record.certificate})
    if record.version:
        said.append(_("Rule version %(n)s.") % {"n": record.version.number})
    said += [
        text if text.endswith((".", "!", "?")) else f"{text}." for text in (record.why, record.note) if text
    ]
    return said


def file_columns() -> list[Column]:
    return [
        Column(_("File"), 1.1, strong=True),
        Column(_("Of"), 0.7),
        Column(_("SHA-256 of its bytes"), 2.3, mono=True),
        Column(_("Added"), 0.9),
    ]


def file_rows(files: Iterable[Attachment]) -> list[list[str]]:
    return [
        [
            f"{one.name} ({one.size} B)",
            _file_of(one),
            # In two lines that end at the same sign whatever the width of the page.
            f"{one.sha256[:32]} {one.sha256[32:]}",
            f"{on(one.added_at.date())}, {one.added_by}",
        ]
        for one in files
    ]


def _file_of(one: Attachment) -> str:
    if one.inspection_id:
        return _("record %(n)s") % {"n": one.inspection_id}
    if one.case_id:
        return _("case %(n)s") % {"n": one.case_id}
    return _("the item")


def due_words(due: Due) -> tuple[str, str, str]:
    """Last done, its verdict, and until when it is in date, in words."""
    if due.status == "never" or due.due_on is None:
        return _("never"), "", _("at once")
    until = on(due.due_on)
    if due.status == "failed":
        until = _("again since %(day)s") % {"day": until}
    elif due.note:
        until = f"{until}: {due.note}"
    if due.conceded_from:
        until = _("%(day)s by concession, was %(was)s") % {"day": until, "was": on(due.conceded_from)}
    return on(due.last_done) or _("never"), verdict_word(due.last_verdict or ""), until


def hash_columns() -> list[Column]:
    return [
        Column(_("Entry"), 0.6, strong=True),
        Column(_("What it tells"), 0.9),
        Column(_("Its hash (SHA-256)"), 2.3, mono=True),
    ]


def hash_rows(entries: Sequence[LedgerEntry], told: Sequence[str]) -> list[list[str]]:
    return [
        [str(entry.number), words, f"{entry.hash[:32]} {entry.hash[32:]}"]
        for entry, words in zip(entries, told, strict=True)
    ]


def case_part(case: QuarantineCase, heading: str) -> Part:
    """The story of a case under its heading, line by line."""
    return Part(
        heading,
        columns=[
            Column(_("When"), 1),
            Column(_("What"), 0.9, strong=True),
            Column(_("Said"), 2.6),
            Column(_("By"), 0.7),
        ],
        rows=[[at(one["at"]), one["action"], one["text"], one["by"]] for one in case_story(case)],
        deep=True,
    )
