"""The result of a stock-take as a paper: who counted, what differed and how each was settled. Reads only."""

from __future__ import annotations

import json
from collections.abc import Sequence
from datetime import datetime

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.models import LedgerEntry, StockTake
from kit.papers.dossier import Column, Dossier, Part
from kit.papers.said import at, caution
from kit.papers.store_heads import stamp
from kit.stores import LineNow, lines_now
from kit.stores.act import about


def words_of(sort: str) -> str:
    """How a line of a stock-take stands, in a word or two."""
    return {
        "even": _("here"),
        "explained": _("explained"),
        "missing": _("not seen"),
        "elsewhere": _("belongs elsewhere"),
        "unknown": _("unknown code"),
        "uncounted": _("to count"),
        "settled": _("settled"),
    }[sort]


def result_of(take: StockTake, printed_at: datetime | None = None) -> Dossier:
    """The result as it stands, in the active language; of an open count it says that it is not closed."""
    lines = lines_now(take)
    left = sum(now.open for now in lines)
    if take.open:
        banner = _("NOT CLOSED YET: this is how it stands")
    else:
        banner = _("Closed on %(at)s by %(who)s") % {"at": at(take.closed_at), "who": take.closed_by}
    return Dossier(
        name=_("Stock-take"),
        about=str(take),
        stamp=stamp(1, printed_at),
        lead=[take.where],
        banner=banner,
        banner_more=ngettext("%(n)s is left to settle.", "%(n)s are left to settle.", left) % {"n": left}
        if left
        else "",
        code=str(take),
        parts=[
            _count(take, lines),
            _counters(lines),
            _differences(lines),
            _lots(lines),
            _even(lines),
            _entries(take),
        ],
        caution=caution(),
    )


def _count(take: StockTake, lines: Sequence[LineNow]) -> Part:
    expected = sum(now.line.expected for now in lines)
    seen = sum(now.line.expected and now.line.seen_at is not None for now in lines)
    sorts = ("even", "explained", "settled", "missing", "elsewhere", "unknown", "uncounted")
    counts = [(words_of(sort), sum(now.sort == sort for now in lines)) for sort in sorts]
    return Part(
        _("The count"),
        facts=[
            (_("Counted"), take.where),
            (_("Begun"), f"{at(take.started_at)}, {take.started_by}"),
            (_("Closed"), f"{at(take.closed_at)}, {take.closed_by}" if take.closed_at else _("not yet")),
            (_("In the book at the start"), str(expected)),
            (_("Seen of them"), str(seen)),
            *((word, str(number)) for word, number in counts if number),
            (_("Note"), take.note),
        ],
    )


def _counters(lines: Sequence[LineNow]) -> Part:
    """Each person who scanned: how much, from when to when."""
    moments: dict[str, list[datetime]] = {}
    for now in lines:
        if now.line.seen_at is not None:
            moments.setdefault(now.line.seen_by, []).append(now.line.seen_at)
    return Part(
        _("Who counted"),
        columns=[
            Column(_("Who"), strong=True),
            Column(_("Pieces and lots seen")),
            Column(_("First")),
            Column(_("Last")),
        ],
        rows=[[who, str(len(all_)), at(min(all_)), at(max(all_))] for who, all_ in sorted(moments.items())],
        empty=_("Nobody has seen anything yet."),
    )


def _differences(lines: Sequence[LineNow]) -> Part:
    rows = []
    for now in lines:
        line = now.line
        if now.sort == "even" or (
            line.settled == "counted" and line.counted_quantity == line.quantity_at_start
        ):
            continue
        decided = str(_(line.get_settled_display())) if line.settled else words_of(now.sort)
        rows.append(
            [
                str(line),
                line.item.kind.name if line.item else _("unknown code"),
                _("yes") if line.expected else _("no"),
                f"{at(line.seen_at)}, {line.seen_by}" if line.seen_at else _("not seen"),
                decided,
                f"{at(line.settled_at)}, {line.settled_by}" if line.settled else "",
                now.why,
            ]
        )
    names = (
        (_("Tag or code"), 1.1),
        (_("Kind"), 0.9),
        (_("Expected here"), 0.85),
        (_("Seen"), 1.1),
        (_("How it was settled"), 1),
        (_("When, by"), 1.1),
        (_("Why"), 1.7),
    )
    return Part(
        _("What differed from the book, and how each was settled"),
        columns=[Column(name, share, strong=index in (0, 4)) for index, (name, share) in enumerate(names)],
        rows=rows,
        empty=_("Nothing differed."),
    )


def _lots(lines: Sequence[LineNow]) -> Part:
    return Part(
        _("Lots counted"),
        columns=[
            Column(_("Lot"), strong=True),
            Column(_("Kind")),
            Column(_("In the book at the start")),
            Column(_("Counted"), strong=True),
        ],
        rows=[
            [
                str(now.line),
                now.line.item.kind.name,
                "" if now.line.quantity_at_start is None else str(now.line.quantity_at_start),
                str(now.line.counted_quantity),
            ]
            for now in lines
            if now.line.item and now.line.counted_quantity is not None
        ],
        empty=_("No lot is counted."),
    )


def _even(lines: Sequence[LineNow]) -> Part:
    return Part(
        _("Here as the book has it"),
        columns=[Column(_("Tag"), strong=True), Column(_("Kind")), Column(_("Seen")), Column(_("By"))],
        rows=[
            [str(now.line), now.line.item.kind.name, at(now.line.seen_at), now.line.seen_by]
            for now in lines
            if now.sort == "even" and now.line.item
        ],
        empty=_("Nothing yet."),
    )


def _entries(take: StockTake) -> Part:
    entries = LedgerEntry.objects.filter(mentions__about=about(take)).order_by("number")
    return Part(
        _("Entries of the ledger that this stands on"),
        columns=[
            Column(_("Entry"), 0.65, strong=True),
            Column(_("When"), 1),
            Column(_("Said"), 2.4),
            Column(_("By"), 0.8),
            Column(_("Hash"), 1.05, mono=True),
        ],
        rows=[
            [
                str(entry.number),
                at(entry.happened_at),
                json.loads(entry.body)["note"],
                entry.actor,
                entry.hash[:12],
            ]
            for entry in entries
        ],
    )
