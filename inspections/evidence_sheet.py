"""The evidence sheet of a job: its kit as issued, what each piece met then, on which records, and who. Reads only.

An auditor holds it against the ledger: every entry that it stands on is named with its whole hash.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from datetime import date, datetime

from django.db.models import Q
from django.utils.translation import gettext as _

from inspections.evidence_gathered import Gathered, gather, met, then
from inspections.knew import Known
from inspections.models import Attachment, Inspection, QuarantineCase
from inspections.papers import calibration_of
from inspections.told_records import (
    case_part,
    due_words,
    file_columns,
    file_rows,
    hash_columns,
    hash_rows,
    record_columns,
    record_row,
)
from kit.models import Deed, Job, LedgerEntry, Reservation
from kit.papers.dossier import Column, Dossier, Part
from kit.papers.said import at, caution, on
from kit.papers.store_heads import job_head, stamp
from kit.papers.wording import millimetres
from kit.planning import NO_LIMIT
from kit.views.story import told


def evidence_of(job: Job, printed_at: datetime | None = None) -> Dossier:
    """The sheet in the active language. Raises NotAllowed if nothing has gone out on the job."""
    sheet = gather(job)
    mark = stamp(job.revision, printed_at)
    head = LedgerEntry.objects.get(number=mark.ledger.entry)
    not_met = [row.item.tag for row in sheet.pieces if not met(sheet, row)]
    banner = (
        _("NOT ALL PIECES MET THEIR RECORDED REQUIREMENTS WHEN THEY WENT OUT")
        if not_met
        else _("Every piece met its recorded requirements when it went out")
    )
    return Dossier(
        name=_("Evidence sheet"),
        about=job.reference,
        stamp=mark,
        lead=[job.site, str(job.depot)],
        banner=banner,
        banner_more=", ".join(not_met),
        code=job.reference,
        parts=list(_parts(sheet, head)),
        caution=caution(),
    )


def _parts(sheet: Gathered, head: LedgerEntry) -> Iterator[Part]:
    yield Part(_("The job"), facts=_job_facts(sheet.job))
    yield _who(sheet)
    yield _issued(sheet)
    yield Part(
        _("What each piece met on the day it went out"),
        said=[
            _(
                "As it was known at the counter then. What was entered later and bears on that day is named"
                " with its entry."
            )
        ],
    )
    for row in sheet.pieces:
        yield _piece(sheet, row)
    yield _while_out(sheet)
    yield _gauges(sheet)
    cases = list(QuarantineCase.objects.filter(job=sheet.job).select_related("item"))
    yield from _cases(cases)
    yield Part(
        _("Certificates, photos and other files of these records and cases"),
        columns=file_columns(),
        rows=file_rows(
            Attachment.objects.filter(Q(inspection__in=list(sheet.relied)) | Q(case__in=cases)).order_by(
                "added_at", "pk"
            )
        ),
        empty=_("No file is attached."),
    )
    yield _proof(sheet)
    yield Part(
        _("To prove it"),
        said=[
            _(
                "The ledger is chained: each hash is made over the entry and the hash before it. manage.py"
                " prove_ledger proves all of it; the entry named here was its last one when this was printed."
            )
        ],
        facts=[(_("Last entry"), str(head.number)), (_("Its hash"), head.hash)],
    )


def _job_facts(job: Job) -> list[tuple[str, str]]:
    head = job_head(job)

    def mm(length: object) -> str:
        return f"{millimetres(length)} mm" if length is not None else ""  # type: ignore[arg-type]

    return [
        (_("Site"), head.site),
        (_("Depot"), head.depot),
        (_("Load on"), on(head.load_on)),
        (_("Return on"), on(head.return_on)),
        (_("Main"), head.main),
        (_("Bore"), mm(head.bore_mm)),
        (_("Bore on the far side"), mm(head.far_bore_mm)),
        (_("Mark of the bases"), head.mark),
        (_("Arrangement"), head.arrangement),
        (_("Crew"), job.crew),
        (_("State"), _(job.get_state_display())),
    ]


def _who(sheet: Gathered) -> Part:
    rows = [
        [str(entry.number), at(entry.happened_at), one["action"], one["text"], entry.actor]
        for entry, one in zip(sheet.of_job, told(sheet.of_job, f"job:{sheet.job.reference}"), strict=True)
        if entry.deed not in (Deed.ISSUED, Deed.TAKEN_BACK, Deed.PRINTED, Deed.RESERVED, Deed.LET_GO)
    ]
    return Part(
        _("What was decided on the job, and by whom"),
        columns=[
            Column(_("Entry"), 0.65),
            Column(_("When"), 1),
            Column(_("What"), 0.9, strong=True),
            Column(_("Said"), 2.6),
            Column(_("By"), 0.8),
        ],
        rows=rows,
    )


def _issued(sheet: Gathered) -> Part:
    rows = []
    for row in sheet.out:
        item = row.item
        quantity = f" × {row.quantity}" if row.counted else ""
        came = on(row.back_on) or _("still out")
        outcome = str(_(row.get_outcome_display())) if row.back_on else ""
        if row.counted and row.back_on:
            outcome = _("%(n)s back") % {"n": row.back_quantity or 0}
        rows.append(
            [
                item.tag,
                f"{item.kind.name}{quantity}, {row.line.name}",
                " ".join(part for part in (item.maker, item.serial) if part),
                _by(row.issued_on, sheet.issues.get(item.tag)),
                "" if row.counted else _fit_until(then(sheet, row)),
                _by(row.back_on, sheet.returns.get(item.tag)) if row.back_on else came,
                outcome,
            ]
        )
    names = (
        (_("Tag"), 1.1),
        (_("What, line"), 1.2),
        (_("Maker, serial"), 1.2),
        (_("Issued"), 1),
        (_("Fit until, as known then"), 1),
        (_("Back"), 1),
        (_("How"), 0.8),
    )
    return Part(
        _("Its kit as issued"),
        columns=[Column(name, share, strong=not index) for index, (name, share) in enumerate(names)],
        rows=rows,
    )


def _by(day: date | None, entry: LedgerEntry | None) -> str:
    return ", ".join(
        part
        for part in (
            on(day),
            entry.actor if entry else "",
            _("entry %(number)s") % {"number": entry.number} if entry else "",
        )
        if part
    )


def _fit_until(known: Known | None) -> str:
    if known is None:
        return _("not known")
    until = known.fitness.fit_until
    if until is None:
        return _("not fit: %(why)s") % {"why": known.fitness.reason}
    return _("no limit") if until == NO_LIMIT else on(until)


def _piece(sheet: Gathered, row: Reservation) -> Part:
    known, tag = then(sheet, row), row.item.tag
    if known is None:
        return Part(f"{tag}: {_('the register did not know it then')}", deep=True)
    words = (
        _("%(tag)s: met its recorded requirements on %(day)s")
        if known.fit
        else _("%(tag)s: DID NOT MEET its recorded requirements on %(day)s")
    )
    learnt = sheet.known[row.item_id].learnt
    said = [one.in_words for one in known.concessions]
    if learnt:
        numbers = ", ".join(str(one.entry.number) for one in learnt)
        said.append(_("Entered later, and bears on that day: entries %(numbers)s.") % {"numbers": numbers})
    if sheet.known[row.item_id].differs:
        differs = ", ".join(sheet.known[row.item_id].differs)
        said.append(_("As known now, this differs: %(what)s.") % {"what": differs})
    rows = []
    for one in known.judged:
        last, verdict, until = due_words(one.due)
        record = _relied_on(sheet, known, one.check.pk, one.due.last_done)
        name = one.check.name if one.gate else _("%(check)s (does not gate)") % {"check": one.check.name}
        rows.append([name, last, verdict, until, _record_words(sheet, record)])
    if row.item.use_by:
        rows.append([_("use-by date"), "", "", on(row.item.use_by), ""])
    return Part(
        words % {"tag": tag, "day": on(known.day)},
        said=said,
        columns=[
            Column(_("Check"), 1.1, strong=True),
            Column(_("Last done"), 0.8),
            Column(_("Verdict"), 0.7),
            Column(_("Due on"), 0.9),
            Column(_("The record relied on"), 2.6),
        ],
        rows=rows,
        empty=_("No check was asked of it."),
        deep=True,
    )


def _relied_on(sheet: Gathered, known: Known, check: int, done: date | None) -> Inspection | None:
    """The record that decided: the last of that day and check that was known and not corrected by then."""
    corrected = {record.corrects_id for record in known.records}
    numbers = [
        record.pk
        for record in known.records
        if record.check_done_id == check and record.done_on == done and record.pk not in corrected
    ]
    record = sheet.records.get(max(numbers, default=0))
    if record is not None:
        sheet.relied[record.pk] = record
    return record


def _record_words(sheet: Gathered, record: Inspection | None) -> str:
    return "" if record is None else f"{record.pk}: {record_row(record, sheet.entries)[4]}"


def _while_out(sheet: Gathered) -> Part:
    rows = []
    for row in sheet.pieces:
        for record in sheet.records.values():
            if record.item_id != row.item_id or row.issued_on is None or record.done_on < row.issued_on:
                continue
            if row.back_on is None or record.done_on <= row.back_on:
                sheet.relied[record.pk] = record
                rows.append([row.item.tag, *record_row(record, sheet.entries)])
    return Part(
        _("Tests before use and while it was out"),
        said=[
            _("Every record of its pieces from the day of issue to the day of return, failures among them.")
        ],
        columns=[Column(_("Tag"), 1, strong=True), *record_columns()],
        rows=rows,
        empty=_("None is recorded."),
    )


def _gauges(sheet: Gathered) -> Part:
    """Each gauge that a record above relied on, and how it stood on the day of each test."""
    rows = [
        [
            record.gauge.tag,
            " ".join(part for part in (record.gauge.maker, record.gauge.serial) if part),
            f"{record.pk}: {record.item.tag}, {record.check_done.name}, {on(record.done_on)}",
            calibration_of(record, record.done_on),
        ]
        for record in sorted(
            sheet.relied.values(), key=lambda one: (one.gauge.tag if one.gauge else "", one.pk)
        )
        if record.gauge
    ]
    return Part(
        _("Gauges relied on, and their calibration on the day of the test"),
        columns=[
            Column(_("Gauge"), 0.9, strong=True),
            Column(_("Maker, serial"), 1),
            Column(_("Record"), 1.7),
            Column(_("How it stood"), 2),
        ],
        rows=rows,
        empty=_("No record above names a gauge."),
    )


def _cases(cases: Sequence[QuarantineCase]) -> Iterator[Part]:
    yield Part(_("Failures and quarantine"), said=[] if cases else [_("No case names this job.")])
    for case in cases:
        decided = _("open") if case.is_open else str(_(case.get_decision_display()))
        words = {"n": case.pk, "tag": case.item.tag, "decided": decided}
        yield case_part(case, _("Case %(n)s, %(tag)s: %(decided)s") % words)


def _proof(sheet: Gathered) -> Part:
    """Every entry that the sheet stands on, in order, with its whole hash."""
    stands_on = {entry.number: entry for entry in sheet.of_job}
    stands_on |= {entry.number: entry for pk in sheet.relied if (entry := sheet.entries.get(pk)) is not None}
    entries = [stands_on[number] for number in sorted(stands_on)]
    words = [
        ", ".join([one["action"], *_tags(entry)]) for entry, one in zip(entries, told(entries), strict=True)
    ]
    return Part(
        _("Entries of the ledger that this stands on"), columns=hash_columns(), rows=hash_rows(entries, words)
    )


MOST_NAMED = 3


def _tags(entry: LedgerEntry) -> list[str]:
    about = json.loads(entry.body)["about"]
    tags = [name.removeprefix("item:") for name in about if name.startswith("item:")]
    return tags if len(tags) <= MOST_NAMED else [_("%(n)s pieces") % {"n": len(tags)}]
