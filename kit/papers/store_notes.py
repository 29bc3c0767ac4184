"""Issue note, return note and defect tag of the register. Reads only.

What was so when a piece went out or came back is read in the ledger: a note printed anew says the same.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Any

from django.db.models import QuerySet
from django.utils import timezone

from kit.models import Deed, Item, Job, LedgerEntry, Reservation, Standing, State
from kit.models import Outcome as Returned
from kit.papers.store_heads import job_head, paper_piece, place_name, stamp
from kit.papers.values import (
    CountedLot,
    DefectTag,
    IssueNote,
    NextStep,
    Outcome,
    Piece,
    ReturnedLot,
    ReturnedPiece,
    ReturnNote,
    ShortIssue,
    StillOut,
)
from kit.papers.wording import goes_with
from kit.planning import NO_LIMIT
from kit.ports import ports
from kit.stores import NotAllowed

FURTHER = "further reason: "


@dataclass(frozen=True, slots=True)
class _Told:
    """One entry of the ledger, read."""

    number: int
    deed: str
    actor: str
    at: datetime
    about: tuple[str, ...]
    facts: dict[str, Any]
    note: str

    @property
    def tags(self) -> list[str]:
        return [name.removeprefix("item:") for name in self.about if name.startswith("item:")]


def issue_note_of(job: Job, printed_at: datetime | None = None) -> IssueNote:
    """What has gone out on the job, dates as they were at the counter. Raises NotAllowed if nothing has."""
    out = list(_reservations(job).filter(standing__in=[Standing.ISSUED, Standing.RETURNED]))
    told = _entries(f"job:{job.reference}", [Deed.ISSUED, Deed.SHORT])
    if not out or not told:
        raise NotAllowed(
            f"Nothing has been issued to {job} yet, so there is no issue note: issue its kit first."
        )
    at_counter = {tag: entry for entry in told for tag in entry.tags}
    closing = next((entry for entry in reversed(told) if "short" in entry.facts), None)
    last = told[-1]
    return IssueNote(
        number=f"I-{last.number}",
        job=job_head(job),
        stamp=stamp(job.revision, printed_at),
        issued_at=timezone.localtime(last.at),
        issued_by=_names(entry.actor for entry in told),
        received_by="",
        pieces=[_issued_piece(r, at_counter.get(r.item.tag)) for r in out if not r.counted],
        lots=[
            CountedLot(
                r.line.name, r.item.kind.name, r.item.tag, r.quantity, place_name(r.item), r.item.use_by
            )
            for r in out
            if r.counted
        ],
        shorts=_short_issues(job, out, closing),
    )


def return_note_of(job: Job, printed_at: datetime | None = None) -> ReturnNote:
    """What came back from the job and where each piece goes now. Raises NotAllowed if nothing has."""
    back = list(_reservations(job).filter(standing=Standing.RETURNED))
    told = [entry for entry in _entries(f"job:{job.reference}", [Deed.TAKEN_BACK]) if entry.tags]
    if not back or not told:
        raise NotAllowed(
            f"Nothing is back from {job} yet, so there is no return note: take its kit back first."
        )
    at_counter = {tag: entry for entry in told for tag in entry.tags}
    last = told[-1]
    return ReturnNote(
        number=f"R-{last.number}",
        job=job_head(job),
        stamp=stamp(job.revision, printed_at),
        taken_back_at=timezone.localtime(last.at),
        taken_back_by=_names(entry.actor for entry in told),
        handed_in_by="",
        pieces=[_returned_piece(r, at_counter.get(r.item.tag)) for r in back if not r.counted],
        lots=[
            ReturnedLot(r.line.name, r.item.kind.name, r.item.tag, r.quantity, r.back_quantity or 0)
            for r in back
            if r.counted
        ],
        still_out=[
            StillOut(r.item.tag, r.item.kind.name, r.line.name)
            for r in _reservations(job).filter(standing=Standing.ISSUED)
        ],
    )


def defect_tag_of(item: Item, printed_at: datetime | None = None) -> DefectTag:
    """The tag of a piece that is set aside. Raises NotAllowed if it is not."""
    if item.state != State.QUARANTINED:
        raise NotAllowed(
            f"{item.tag} is not set aside, so it has no defect tag: quarantine it first, with why."
        )
    told = _entries(f"item:{item.tag}", [Deed.QUARANTINED, Deed.FOUND_AGAIN, Deed.RECEIVED])
    opening = next((entry for entry in reversed(told) if not _is_further(entry)), None)
    further = [entry for entry in told if _is_further(entry) and opening and entry.number > opening.number]
    since = item.state_since or (opening.at if opening else None)
    if since is None:
        raise NotAllowed(
            f"The register does not say when {item.tag} was set aside: quarantine it again, with why."
        )
    return DefectTag(
        tag=item.tag,
        kind=item.kind.name,
        stamp=stamp(1 + len(further), printed_at),
        why=item.state_why,
        found="; ".join(entry.note.removeprefix(FURTHER) for entry in further),
        set_aside_by=item.state_by,
        set_aside_at=timezone.localtime(since),
        depot=str(item.depot),
        maker=item.maker,
        serial=item.serial,
        job=_last_job(item, timezone.localdate(since)),
        case=_case_of(item, opening),
        place=place_name(item),
    )


def _case_of(item: Item, opening: _Told | None) -> str:
    """The number of its case; where nobody keeps cases, the entry with which it began."""
    if number := ports.case_of(item):
        return number
    return f"ledger {opening.number}" if opening else ""


def _is_further(entry: _Told) -> bool:
    return entry.note.startswith(FURTHER)


def _entries(about: str, deeds: Sequence[Deed]) -> list[_Told]:
    """Entries of these deeds about one thing, oldest first; what was undone at the counter is not so."""
    rows = (
        LedgerEntry.objects.filter(mentions__about=about, deed__in=deeds)
        .exclude(corrections__deed=Deed.UNDONE)
        .order_by("number")
    )
    found = []
    for row in rows:
        body = json.loads(row.body)
        found.append(
            _Told(
                number=row.number,
                deed=row.deed,
                actor=row.actor,
                at=row.happened_at,
                about=tuple(body["about"]),
                facts=body["facts"],
                note=body["note"],
            )
        )
    return found


def _reservations(job: Job) -> QuerySet[Reservation]:
    return job.reservations.select_related("item__kind", "item__place", "item__depot", "line__kind").order_by(
        "line__position", "item__tag"
    )


def _issued_piece(reservation: Reservation, told: _Told | None) -> Piece:
    """A piece with its dates as they were when it went out."""
    facts = told.facts if told else {}
    written = facts.get("fit_until")
    until = date.fromisoformat(written) if written else None
    reason = facts.get("fit_reason", "the ledger does not say") if until != NO_LIMIT else ""
    limit = None if until == NO_LIMIT else until
    piece = paper_piece(reservation.item, reservation.line.name, limit, reason)
    return replace(piece, goes_with=_together(reservation, told))


def _together(reservation: Reservation, told: _Told | None) -> str:
    """What the piece went with, or whose place it took: its set as it was when that was told."""
    item, line = reservation.item, reservation.line
    of_set = told.facts.get("set", "") if told else ""
    return goes_with(of_set, item.kind.name, item.mark, line.kind.name, line.assembly)


def _short_issues(job: Job, out: Sequence[Reservation], closing: _Told | None) -> list[ShortIssue]:
    """The lines of which less went out than the arrangement asks for, with who agreed to it."""
    issued: dict[str, int] = {}
    for reservation in out:
        issued[reservation.line.name] = issued.get(reservation.line.name, 0) + reservation.quantity
    agreed = closing if closing is not None and closing.deed == Deed.SHORT else None
    return [
        ShortIssue(
            line=line.name,
            kind=line.kind.name,
            needed=line.quantity,
            issued=issued.get(line.name, 0),
            reason=agreed.note if agreed else "the issue is not closed yet",
            agreed_by=agreed.actor if agreed else "",
        )
        for line in job.arrangement.lines.select_related("kind").order_by("position")
        if issued.get(line.name, 0) < line.quantity
    ]


def _returned_piece(reservation: Reservation, told: _Told | None) -> ReturnedPiece:
    item = reservation.item
    step, detail = _next_step(reservation, told)
    outcome = Outcome[Returned(reservation.outcome).name]
    note = told.note if told else ""
    return ReturnedPiece(
        tag=item.tag,
        kind=item.kind.name,
        line=reservation.line.name,
        outcome=outcome,
        next_step=step,
        next_detail=detail,
        maker=item.maker,
        serial=item.serial,
        note="" if note.casefold() == outcome.value else note,
        goes_with=_together(reservation, told),
    )


def _next_step(reservation: Reservation, told: _Told | None) -> tuple[NextStep, str]:
    """Where a piece that came back goes: the register's word on it now wins over what the counter foresaw."""
    item = reservation.item
    if item.state == State.LOST or (
        reservation.outcome == Returned.MISSING and item.state == State.AVAILABLE
    ):
        return NextStep.LOOK_FOR, item.state_why
    if item.state != State.AVAILABLE:
        return NextStep.QUARANTINE, item.state_why
    again = told.facts.get("checks_due_again", []) if told else []
    if again:
        return NextStep.AWAITING_CHECK, ", ".join(again)
    return NextStep.TO_STORE, place_name(item)


def _last_job(item: Item, set_aside_on: date) -> str:
    """The job that the piece was on when it was set aside, or came back from on that day."""
    rows = item.reservations.filter(
        standing__in=[Standing.ISSUED, Standing.RETURNED], issued_on__lte=set_aside_on
    )
    last = rows.select_related("job").order_by("-issued_on", "-pk").first()
    if last is None or (last.back_on is not None and last.back_on < set_aside_on):
        return ""
    return last.job.reference


def _names(actors: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(actors))
