"""The passport of an item: all that the register knows of it, for whoever takes it over or audits it. Reads only."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime

from django.db.models import Q
from django.utils import timezone
from django.utils.translation import gettext as _

from inspections.models import Attachment, Concession, QuarantineCase, ReviewedRecord
from inspections.told_records import (
    case_part,
    due_words,
    entries_of_records,
    file_columns,
    file_rows,
    record_columns,
    record_row,
    records_of,
    verdict_word,
)
from inspections.views.panels import checks_of
from kit.models import Custody, Item, LedgerEntry, Reservation, State
from kit.papers.dossier import Column, Dossier, Part
from kit.papers.said import at, caution, on
from kit.papers.store_heads import stamp
from kit.tables.items import bore_text, use_by_text
from kit.views.story import told


def passport_of(item: Item, today: date, printed_at: datetime | None = None) -> Dossier:
    """The passport as the register knows the item now, in the active language."""
    entries = list(
        LedgerEntry.objects.filter(mentions__about=f"item:{item.tag}")
        .prefetch_related("corrections")
        .order_by("number")
    )
    mark = stamp(1, printed_at)
    head = LedgerEntry.objects.get(number=mark.ledger.entry)
    fits = item.state == State.AVAILABLE and item.fit_on(today)
    banner = (
        _("Meets its recorded requirements on %(day)s")
        if fits
        else _("Does not meet its recorded requirements on %(day)s")
    )
    return Dossier(
        name=_("Item passport"),
        about=item.tag,
        stamp=mark,
        lead=[item.kind.name, " ".join(part for part in (item.maker, item.serial) if part)],
        banner=banner % {"day": on(today)},
        banner_more=item.state_why if item.state != State.AVAILABLE else item.fit_reason,
        code=item.tag,
        parts=list(_parts(item, today, entries, head)),
        caution=caution(),
    )


def _parts(item: Item, today: date, entries: list[LedgerEntry], head: LedgerEntry) -> Iterator[Part]:
    yield Part(_("What it is"), facts=_identity(item))
    yield Part(_("How it stands"), facts=_standing(item))
    yield _checks(item, today)
    yield _records(item, entries)
    yield _jobs(item)
    yield from _cases(item)
    yield from _concessions(item)
    yield from _reviews(item)
    yield Part(
        _("Certificates, photos and other files"),
        columns=file_columns(),
        rows=file_rows(Attachment.objects.filter(item=item).order_by("added_at", "pk")),
        empty=_("No file is attached."),
    )
    yield _story(item, entries)
    yield Part(
        _("To prove it"),
        said=[
            _(
                "Each line of its story is an entry of the ledger with the first 12 signs of its hash. The ledger is"
                " chained: each hash is made over the entry and the hash before it. manage.py prove_ledger proves all"
                " of it; the entry named here was its last one when this was printed."
            )
        ],
        facts=[(_("Last entry"), str(head.number)), (_("Its hash"), head.hash)],
    )


def _identity(item: Item) -> list[tuple[str, str]]:
    return [
        (_("Tag"), item.tag),
        (_("Kind"), item.kind.name),
        (_("Quantity"), str(item.quantity) if item.counted else ""),
        (_("Maker"), item.maker),
        (_("Maker's serial"), item.serial),
        (_("Batch"), item.batch),
        (_("Bore, mm"), bore_text(item)),
        (_("Mark"), item.mark),
        (_("Made on"), on(item.made_on)),
        (_("Use-by date"), use_by_text(item)),
        (_("Set"), item.set_name),
        (_("Note"), item.note),
    ]


def _standing(item: Item) -> list[tuple[str, str]]:
    until = on(item.fit_until) if item.limited else _("no date limits it")
    where = _(str(item.get_custody_display()))
    if item.custody == Custody.STORE and item.place:
        where = f"{where}: {item.place}"
    return [
        (_("Fit until"), until if item.fit_until else _("not fit now")),
        (_("What decides it"), item.fit_reason),
        (_("State"), _(item.get_state_display())),
        (_("Why"), item.state_why),
        (_("Since, by"), f"{at(item.state_since)}, {item.state_by}" if item.state_since else ""),
        (_("Depot"), str(item.depot)),
        (_("Where it is"), where),
    ]


def _checks(item: Item, today: date) -> Part:
    rows = []
    for line in checks_of(item, today):
        last, verdict, until = due_words(line.due) if line.due else (_("never"), "", "")
        gates = _("yes") if line.check.gates else _("no")
        rows.append([line.check.name, line.rhythm, last, verdict, until, gates, line.check.source])
    names = (
        (_("Check"), 1.2),
        (_("How often"), 1.2),
        (_("Last done"), 0.9),
        (_("Verdict"), 0.8),
        (_("Due on"), 1.1),
        (_("Gates"), 0.6),
        (_("Source of the rule"), 1.2),
    )
    return Part(
        _("Checks asked of it, and when each is due"),
        columns=[Column(name, share, strong=index in (0, 4)) for index, (name, share) in enumerate(names)],
        rows=rows,
        empty=_("No check is asked of it."),
    )


def _records(item: Item, entries: list[LedgerEntry]) -> Part:
    found = entries_of_records(entries)
    return Part(
        _("Every record of a check"),
        said=[_("Nothing is edited away: what was wrong stands beside what corrects it.")],
        columns=record_columns(),
        rows=[record_row(record, found) for record in records_of([item])],
        empty=_("No check is recorded."),
    )


def _jobs(item: Item) -> Part:
    rows = (
        Reservation.objects.filter(item=item, issued_on__isnull=False)
        .select_related("job", "line")
        .order_by("issued_on", "pk")
    )
    return Part(
        _("Jobs it went out on"),
        columns=[
            Column(_("Job"), 0.9, strong=True),
            Column(_("Site"), 1.4),
            Column(_("Line"), 1),
            Column(_("Issued"), 0.8),
            Column(_("Back"), 0.8),
            Column(_("How it came back"), 1),
        ],
        rows=[
            [
                row.job.reference,
                row.job.site,
                row.line.name,
                on(row.issued_on),
                on(row.back_on) or _("still out"),
                _(row.get_outcome_display()),
            ]
            for row in rows
        ],
        empty=_("It has not been out on a job."),
    )


def _cases(item: Item) -> Iterator[Part]:
    cases = QuarantineCase.objects.filter(item=item).select_related("job")
    yield Part(
        _("Quarantine"),
        said=[] if cases else [_("It has not been set aside.")],
    )
    for case in cases:
        decided = _("open") if case.is_open else str(_(case.get_decision_display()))
        heading = _("Case %(n)s: %(decided)s") % {"n": case.pk, "decided": decided}
        if case.job:
            heading = _("Case %(n)s, job %(job)s: %(decided)s") % {
                "n": case.pk,
                "job": case.job,
                "decided": decided,
            }
        yield case_part(case, heading)


def _concessions(item: Item) -> Iterator[Part]:
    rows = [
        [
            one.check_due.name,
            on(one.due_on),
            on(one.until),
            _(one.get_state_display()),
            " ".join(
                part
                for part in (one.reason, one.risk, one.conditions, one.decision_note, one.ended_why)
                if part
            ),
            ", ".join(dict.fromkeys(who for who in (one.asked_by, one.decided_by, one.ended_by) if who)),
        ]
        for one in Concession.objects.filter(item=item).select_related("check_due").order_by("asked_at", "pk")
    ]
    if rows:
        yield Part(
            _("Concessions"),
            columns=[
                Column(_("Check"), 1, strong=True),
                Column(_("Was due"), 0.8),
                Column(_("Until"), 0.8),
                Column(_("State"), 0.7),
                Column(_("Why, at what risk, on what conditions"), 2.4),
                Column(_("Who"), 0.8),
            ],
            rows=rows,
        )


def _reviews(item: Item) -> Iterator[Part]:
    """What a gauge found out of tolerance put in doubt: of this item as the piece tested, or as the gauge."""
    reviewed = (
        ReviewedRecord.objects.filter(Q(inspection__item=item) | Q(review__gauge=item))
        .select_related("review__gauge", "inspection__item", "inspection__check_done")
        .order_by("review__opened_at", "inspection__done_on", "pk")
    )
    rows = [
        [
            one.review.gauge.tag,
            f"{one.inspection_id}: {one.inspection.item.tag}, {one.inspection.check_done.name}, "
            f"{on(one.inspection.done_on)}",
            verdict_word(one.inspection.verdict),
            verdict_word(one.rejudged) or _("cannot be computed"),
            _(one.get_outcome_display()),
            " ".join(part for part in (one.note, one.decided_by) if part),
        ]
        for one in reviewed
    ]
    if rows:
        yield Part(
            _("Reviews after a gauge was found out of tolerance"),
            columns=[
                Column(_("Gauge"), 0.9, strong=True),
                Column(_("Record"), 1.8),
                Column(_("Verdict"), 0.7),
                Column(_("Judged again"), 0.8),
                Column(_("Decided"), 1),
                Column(_("Why, by"), 1.2),
            ],
            rows=rows,
        )


def _story(item: Item, entries: list[LedgerEntry]) -> Part:
    rows = []
    for entry, one in zip(entries, told(entries, f"item:{item.tag}"), strict=True):
        said = [one["text"]]
        if one["corrects"]:
            said.append(_("Corrects %(entry)s.") % {"entry": one["corrects"]})
        if one["corrected_by"]:
            said.append(_("Corrected by entry %(n)s.") % {"n": one["corrected_by"]})
        when = on(timezone.localdate(one["at"])) if one["day_only"] else at(one["at"])
        if one["late"]:
            when = f"{when}, {one['late']}"
        rows.append(
            [
                str(entry.number),
                when,
                one["action"],
                " ".join(said),
                f"{entry.actor}, {entry.source}",
                entry.hash[:12],
            ]
        )
    return Part(
        _("Its whole story"),
        columns=[
            Column(_("Entry"), 0.65),
            Column(_("When"), 0.95),
            Column(_("What"), 0.95, strong=True),
            Column(_("Said"), 2.2),
            Column(_("By"), 0.8),
            Column(_("Hash"), 1.05, mono=True),
        ],
        rows=rows,
        empty=_("The ledger tells nothing of it."),
    )
