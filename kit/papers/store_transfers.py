"""The transfer note of the register. Reads only: what was known of each piece when it left stands in the ledger."""

from __future__ import annotations

import json
from datetime import date, datetime
from typing import Any

from kit.models import Arrival, Deed, LedgerEntry, Transfer, TransferLine
from kit.papers.store_heads import paper_piece, stamp
from kit.papers.transfer_note import LastInspection, SentLot, SentPiece, TransferNote
from kit.papers.values import CountedLot
from kit.papers.wording import day
from kit.planning import NO_LIMIT


def code_of(transfer: Transfer) -> str:
    """What the note's QR code reads: words and digits alone, which every keyboard layout types alike."""
    return f"TRANSFER {transfer.number}"


def transfer_note_of(transfer: Transfer, printed_at: datetime | None = None) -> TransferNote:
    """The note as it went with the van; what has been signed for since stands where the tick box was."""
    told = _told(transfer)
    lines = list(
        transfer.lines.select_related("item__kind", "item__place", "item__depot").order_by("item__tag")
    )
    signed = sum(line.outcome != Arrival.ON_THE_WAY for line in lines)
    return TransferNote(
        number=str(transfer),
        code=code_of(transfer),
        stamp=stamp(1 + signed, printed_at),
        leaves=str(transfer.from_depot),
        to=str(transfer.to_depot),
        sent_on=transfer.sent_on,
        arrives_on=transfer.arrives_on,
        sent_by=transfer.sent_by,
        carrier=transfer.carrier,
        note=transfer.note,
        pieces=[_piece(line, told.get(line.item.tag, {})) for line in lines if not line.item.counted],
        lots=[_lot(line, told.get(line.item.tag, {})) for line in lines if line.item.counted],
    )


def _told(transfer: Transfer) -> dict[str, dict[str, Any]]:
    """By tag, the facts with which the ledger tells of its sending, and the lot that a part was taken from."""
    on_it = set(transfer.lines.values_list("item__tag", flat=True))
    found: dict[str, dict[str, Any]] = {}
    entries = LedgerEntry.objects.filter(mentions__about=f"transfer:{transfer}", deed=Deed.SENT)
    for entry in entries.order_by("number"):
        body = json.loads(entry.body)
        tags = [name.removeprefix("item:") for name in body["about"] if name.startswith("item:")]
        for tag in tags:
            if tag in on_it:
                found[tag] = {**body["facts"], "part_of": next((other for other in tags if other != tag), "")}
    return found


def _piece(line: TransferLine, facts: dict[str, Any]) -> SentPiece:
    until = _day(facts.get("fit_until"))
    reason = "" if until == NO_LIMIT else facts.get("fit_reason", "the ledger does not say")
    if until is None:
        # On paper no date means that none limits it: a piece that is not fit carries the day on which that was known.
        until, reason = line.transfer.sent_on, f"not fit: {reason}"
    piece = paper_piece(line.item, line.item.kind.name, None if until == NO_LIMIT else until, reason)
    inspections = [
        LastInspection(
            one["check"],
            _day(one["done_on"]),
            one["verdict"],
            _day(one["due_on"]),
            one["certificate"],
            one["by"],
        )
        for one in facts.get("inspections", [])
    ]
    return SentPiece(piece, inspections, _outcome(line))


def _lot(line: TransferLine, facts: dict[str, Any]) -> SentLot:
    kind = line.item.kind.name
    lot = CountedLot(kind, kind, line.item.tag, line.quantity, "", line.item.use_by)
    return SentLot(lot, facts.get("part_of", ""), _outcome(line))


def _outcome(line: TransferLine) -> str:
    if line.outcome == Arrival.ON_THE_WAY or line.arrived_on is None:
        return ""
    short = line.arrived_quantity is not None and line.arrived_quantity < line.quantity
    word = f"{line.arrived_quantity} of {line.quantity}" if short else line.outcome
    return f"{word} {day(line.arrived_on)}"


def _day(text: str | None) -> date | None:
    return date.fromisoformat(text) if text else None
