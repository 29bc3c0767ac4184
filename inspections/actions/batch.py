"""Record one check of many pieces in one act: all of them, or none and which one bars it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inspections.actions.form_checks import BadAnswers, record_answers
from inspections.actions.record import Finding, record
from inspections.models import Check, Inspection, Method, Verdict
from kit.models import Item
from kit.stores import Act, NotAllowed


class BatchRefused(NotAllowed):
    """One piece bars the whole batch; `item` is which."""

    def __init__(self, item: Item, why: str) -> None:
        self.item = item
        super().__init__(f"Nothing is recorded, because of {item.tag}: {why}")


@dataclass(frozen=True, slots=True)
class BatchPiece:
    """One piece of a batch. With the form of a check, only an exception has a verdict of its own."""

    item: Item
    verdict: str = Verdict.PASS
    note: str = ""


@dataclass(frozen=True, slots=True)
class Shared:
    """What all pieces have in common. `texts` are the answers to the form, by name of field; None: no form.

    `after_record` is the number of the record made last before the batch was begun: a piece that got a record of the
    check since was done by somebody else meanwhile, or the batch was sent twice.
    """

    done_on: date
    by: str = ""
    certificate: str = ""
    note: str = ""
    texts: Mapping[str, str] | None = None
    after_record: int | None = None


def refuse_method(check: Check) -> None:
    """Raise NotAllowed for a check whose readings differ from piece to piece."""
    if check.method != Method.PLAIN:
        raise NotAllowed(
            f"{check.name} of {check.kind} is a {check.method}: each piece has readings of its own, so it is recorded "
            "piece by piece at the bench."
        )


def record_batch(act: Act, check: Check, pieces: Sequence[BatchPiece], shared: Shared) -> list[Inspection]:
    """Record the check of every piece; fails set aside, as one by one. An exception (a fail or a doubt) says why.

    Raises BadAnswers for the shared answers, BatchRefused naming the first piece that bars, NotAllowed for an
    empty batch or a check with readings of its own; then the transaction must be given up.
    """
    refuse_method(check)
    if not pieces:
        raise NotAllowed("The batch is empty: scan the pieces first.")
    _refuse_pieces(check, pieces)
    _refuse_done_since(check, pieces, shared)
    return [_record_or_bar(act, check, piece, shared) for piece in pieces]


def _refuse_pieces(check: Check, pieces: Sequence[BatchPiece]) -> None:
    seen: set[int] = set()
    for piece in pieces:
        if piece.item.pk in seen:
            raise BatchRefused(piece.item, "it is in the batch twice; take one of them out.")
        seen.add(piece.item.pk)
        if not check.is_asked_of(piece.item):
            raise BatchRefused(piece.item, f"{check.name} is not asked of it; take it out.")
        if piece.verdict != Verdict.PASS and not piece.note.strip():
            raise BatchRefused(
                piece.item, f"it is a {piece.verdict}, and nothing says why; write what was found."
            )


def _refuse_done_since(check: Check, pieces: Sequence[BatchPiece], shared: Shared) -> None:
    if shared.after_record is None:
        return
    items = {piece.item.pk: piece.item for piece in pieces}
    since = Inspection.objects.filter(
        check_done=check, item__in=items, done_on=shared.done_on, pk__gt=shared.after_record, struck=False
    )
    made = since.order_by("pk").first()
    if made is not None:
        raise BatchRefused(
            items[made.item_id],
            f"{made.recorded_by} recorded it since the batch was begun: take it out, or empty the batch if it is done.",
        )


def _record_or_bar(act: Act, check: Check, piece: BatchPiece, shared: Shared) -> Inspection:
    try:
        return _record(act, check, piece, shared)
    except BadAnswers:
        raise
    except NotAllowed as refusal:
        raise BatchRefused(piece.item, str(refusal)) from refusal


def _record(act: Act, check: Check, piece: BatchPiece, shared: Shared) -> Inspection:
    note = "; ".join(part for part in (piece.note.strip(), shared.note.strip()) if part)[:500]
    if shared.texts is not None and piece.verdict == Verdict.PASS:
        return record_answers(
            act,
            piece.item,
            check,
            shared.texts,
            shared.done_on,
            by=shared.by,
            certificate=shared.certificate,
            note=note,
        )
    finding = Finding(
        piece.item,
        check,
        shared.done_on,
        piece.verdict,
        by=shared.by,
        certificate=shared.certificate,
        note=note,
    )
    return record(act, finding)
