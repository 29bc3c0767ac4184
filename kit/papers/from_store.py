"""The papers' values filled from the register: load list, issue note, return note, defect tag. Reads only.

With `store_heads` and `store_notes` this is all of the papers that knows the store; the sheets know values.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime

from django.utils.translation import gettext as _

from kit.models import Custody, Item, Job, Standing
from kit.papers.said import word
from kit.papers.store_heads import job_head, paper_piece, stamp, where
from kit.papers.store_notes import defect_tag_of, issue_note_of, return_note_of
from kit.papers.store_transfers import transfer_note_of
from kit.papers.values import CountedLot, LoadList, Piece, Short
from kit.papers.wording import goes_with
from kit.planning import NO_LIMIT, Candidate, KitList, Line, judge_fitness
from kit.ports import ports
from kit.stores import candidates, conceded_texts

__all__ = [
    "defect_tag_of",
    "issue_note_of",
    "load_list_of",
    "return_note_of",
    "said_of_pieces",
    "transfer_note_of",
]

FETCHED_LAST = 10**9  # a piece without a place is fetched after all places


def load_list_of(job: Job, kit: KitList, printed_at: datetime | None = None) -> LoadList:
    """The load list of a kit list: what is promised, out or chosen, in the order of a walk round the store.

    What is back already is left out, and what is chosen but not reserved says so. `fit_until` is as the
    register knew it on the kit list's day.
    """
    back = set(
        job.reservations.filter(standing=Standing.RETURNED, counted=False).values_list("item__tag", flat=True)
    )
    on_line = [(tag, line.line) for line in kit.lines for tag in line.tags if tag not in back]
    lots = [(lot, quantity, line.line) for line in kit.lines for lot, quantity in line.lots]
    items = _items({tag for tag, _ in on_line} | {lot for lot, _, _ in lots})
    known = {c.tag: c for c in candidates(items.values(), kit.as_of, job)}
    reserved = set(
        job.reservations.filter(standing__in=[Standing.PROMISED, Standing.ISSUED]).values_list(
            "line__name", "item__tag"
        )
    )
    granted = ports.judge.concessions([item.pk for item in items.values()])
    order = {line.name: position for position, line in enumerate(kit.need.lines)}
    on_line.sort(key=lambda pair: (*_walk(items[pair[0]]), order[pair[1].name], pair[0]))
    lots.sort(key=lambda lot: (*_walk(items[lot[0]]), order[lot[2].name], lot[0]))
    return LoadList(
        job=job_head(job),
        stamp=stamp(job.revision, printed_at),
        as_of=kit.as_of,
        crew=job.crew,
        pieces=[
            _by_concession(
                _piece(items[tag], line, (line.name, tag) in reserved, known[tag], kit.as_of),
                job,
                granted.get(items[tag].pk, []),
            )
            for tag, line in on_line
        ],
        lots=[
            CountedLot(line.name, line.kind, lot, quantity, where(items[lot]), items[lot].use_by)
            for lot, quantity, line in lots
        ],
        shorts=[
            Short(
                line=each.line.name,
                kind=each.line.kind,
                needed=each.line.quantity,
                short=each.short,
                soonest=each.soonest,
                remedy=each.remedy,
                counted=each.line.counted,
            )
            for each in kit.lines
            if each.short
        ],
    )


def said_of_pieces(job: Job, kit: KitList) -> dict[str, str]:
    """By tag of what is chosen or would also do: its concession, and what it goes with or whose place it takes."""
    said = conceded_texts(kit, job)
    lines = {line.name: line for line in kit.need.lines}
    on = {fit.tag: lines[fit.line] for fit in kit.also_fit}
    on |= {tag: each.line for each in kit.lines for tag in each.tags}
    for tag, item in _items(on).items():
        line = on[tag]
        together = goes_with(item.set_name, item.kind.name, item.mark, line.kind, line.assembly)
        said[tag] = "; ".join(part for part in (said.get(tag, ""), together) if part)
    return said


def _items(tags: Iterable[str]) -> dict[str, Item]:
    rows = Item.objects.select_related("kind", "place", "depot", "transit_to")
    return rows.in_bulk(list(tags), field_name="tag")


def _walk(item: Item) -> tuple[int, str]:
    """Where a piece comes in the walk round the store."""
    if item.place is None or item.custody == Custody.IN_TRANSIT:
        return FETCHED_LAST, where(item)
    return item.place.walk, item.place.name


def _piece(item: Item, line: Line, reserved: bool, known: Candidate, as_of: date) -> Piece:
    fitness = judge_fitness(known.use_by, known.gates)
    until: date | None = fitness.fit_until
    reason = fitness.reason
    if until is None:
        # On paper no date means that none limits it: a piece that is not fit carries the day of the finding.
        failed = [gate.last_done for gate in known.gates if gate.status == "failed" and gate.last_done]
        until, reason = min(failed, default=as_of), f"not fit: {reason}"
    elif until == NO_LIMIT:
        until, reason = None, ""
    piece = paper_piece(
        item,
        line.name if reserved else _("%(line)s, not reserved yet") % {"line": word(line.name)},
        until,
        reason,
    )
    together = goes_with(item.set_name, item.kind.name, item.mark, line.kind, line.assembly)
    return replace(piece, goes_with=together)


def _by_concession(piece: Piece, job: Job, granted: Sequence[str]) -> Piece:
    """With the concession under which it goes out; one that ends before the return covers nothing."""
    if piece.fit_until is not None and piece.fit_until < job.return_on:
        return piece
    return replace(piece, concession=" ".join(granted))
