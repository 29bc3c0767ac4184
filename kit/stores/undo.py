"""Undo the last acts of the counter: a further entry that puts back what one did, and points at it.

Nothing is taken out of the ledger. An act is undone within a few minutes and only while nothing else has become of
the piece since; what set a piece aside, lost it or noted its use stands, because others rely on it at once.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings
from django.db import IntegrityError, transaction
from django.db.models import QuerySet
from django.utils import timezone

from kit.models import (
    Custody,
    Deed,
    Depot,
    Item,
    Job,
    JobState,
    LedgerEntry,
    Outcome,
    Reservation,
    Standing,
)
from kit.stores.act import Act, NotAllowed, about, label
from kit.stores.current import fresh, renew_reservation
from kit.stores.rejudge import rejudge, take_up
from kit.stores.reserve import refusal_text, revise
from kit.stores.windows import window

COUNTER = "counter screen"
_SORTS = (Deed.ISSUED, Deed.SHORT, Deed.TAKEN_BACK)
# A paper says what was so when it was printed: it stands in nobody's way.
_IN_NOBODYS_WAY = (Deed.PRINTED,)


@dataclass(frozen=True)
class LastAct:
    """An act of the counter that may still be undone, as far as its age goes; `tag` is empty when a van left."""

    entry: LedgerEntry
    job: Job
    tag: str
    until: datetime

    @property
    def number(self) -> int:
        return self.entry.number

    @property
    def deed(self) -> str:
        return self.entry.deed


def last_acts(depots: Iterable[Depot], job: Job | None = None, most: int = 5) -> list[LastAct]:
    """What the counter did in the last minutes for jobs of these depots and is not undone, the latest first."""
    since = timezone.now() - timedelta(minutes=settings.COUNTER_UNDO_MINUTES)
    entries = LedgerEntry.objects.filter(
        recorded_at__gte=since, source=COUNTER, deed__in=_SORTS, corrections__isnull=True
    ).order_by("-number")
    if job is not None:
        entries = entries.filter(mentions__about=about(job))
    found: list[LastAct] = []
    ids = {depot.pk for depot in depots}
    for entry in entries[: most * 4]:
        one = _as_last_act(entry)
        if one is not None and one.job.depot_id in ids:
            found.append(one)
    return found[:most]


def _as_last_act(entry: LedgerEntry) -> LastAct | None:
    """The entry as an act of the counter; None for what only follows from one (a job that closes by itself)."""
    body = json.loads(entry.body)
    named = _named(body, "item:")
    job = Job.objects.select_related("depot").filter(reference__in=_named(body, "job:")).first()
    if job is None or (not named and entry.deed == Deed.TAKEN_BACK):
        return None
    until = entry.recorded_at + timedelta(minutes=settings.COUNTER_UNDO_MINUTES)
    return LastAct(entry, job, named[0] if named else "", until)


def _named(body: dict[str, Any], start: str) -> list[str]:
    return [name.removeprefix(start) for name in body["about"] if name.startswith(start)]


def undo(act: Act, number: int) -> LastAct:
    """Put back what the counter did by the entry of that number. Raises NotAllowed with why it stands."""
    entry = LedgerEntry.objects.filter(number=number, source=COUNTER, deed__in=_SORTS).first()
    one = _as_last_act(entry) if entry is not None else None
    if entry is None or one is None:
        raise NotAllowed(f"Entry {number} is no act of the counter that can be undone.")
    if entry.corrections.exists():
        raise NotAllowed(f"Entry {number} is undone already.")
    if act.now > one.until:
        raise NotAllowed(
            f"That was more than {settings.COUNTER_UNDO_MINUTES} minutes ago and stands. "
            "Record what is so now: take the piece back, or issue it."
        )
    if not one.tag:
        _undo_leaving(act, one)
        return one
    item = fresh(Item.objects.get(tag=one.tag))
    _refuse_later(entry, item)
    reservation = renew_reservation(_reservation_of(entry))
    if entry.deed == Deed.ISSUED:
        _undo_issue(act, one, reservation, item)
    else:
        _undo_return(act, one, reservation, item)
    return one


def _undo_leaving(act: Act, one: LastAct) -> None:
    """The van has not left after all: the issue is open again, and its pieces stay issued."""
    if one.job.state != JobState.OUT:
        raise NotAllowed(f"{one.job} is {one.job.get_state_display().lower()} by now: nothing to undo.")
    _refuse_later(one.entry, one.job)
    act.change(one.job, state=JobState.PLANNED)
    act.tell(Deed.UNDONE, [one.job], note=f"the issue of {one.job} is open again", corrects=one.entry)


def _undo_issue(act: Act, one: LastAct, reservation: Reservation, item: Item) -> None:
    job = reservation.job
    if reservation.standing != Standing.ISSUED:
        raise NotAllowed(f"{item.tag} is not out on {job} any more.")
    closing = LedgerEntry.objects.filter(
        mentions__about=about(job),
        number__gt=one.number,
        deed__in=[Deed.ISSUED, Deed.SHORT],
        corrections__isnull=True,
    ).exclude(mentions__about__startswith="item:")
    if job.state == JobState.OUT and closing.exists():
        raise NotAllowed(
            f"The issue of {job} was finished since. Undo that first if the van is still here, or take "
            f"{item.tag} back."
        )
    if item.counted:
        act.change(item, quantity=item.quantity + reservation.quantity)
    else:
        act.change(item, custody=Custody.STORE)
    reservation.item = item
    if _was_promised_in_passing(one.entry, item):
        act.change(
            reservation,
            standing=Standing.RELEASED,
            issued_on=None,
            why="taken at the counter and put back at once",
            proposed=None,
        )
        revise(act, job)
    else:
        starts, _ = window(job, item.kind)
        _change(act, reservation, item, standing=Standing.PROMISED, issued_on=None, starts=starts)
    act.tell(
        Deed.UNDONE,
        [job, item],
        note=f"{item.tag} did not go out to {job}: it is in the store",
        facts={"line": reservation.line.name, "quantity": reservation.quantity},
        corrects=one.entry,
    )
    rejudge(act, [item.pk])
    take_up(act, [item.pk], [job])


def _undo_return(act: Act, one: LastAct, reservation: Reservation, item: Item) -> None:
    job = reservation.job
    if reservation.standing != Standing.RETURNED:
        raise NotAllowed(f"{item.tag} is not back from {job}.")
    if reservation.outcome == Outcome.USED and not item.counted:
        raise NotAllowed(
            f"{item.tag} came back used: that is noted for its checks, and only a check answers it. "
            "Have it checked."
        )
    if reservation.outcome in (Outcome.DAMAGED, Outcome.MISSING) or _moved_its_state(one.entry, item):
        raise NotAllowed(
            f"{item.tag} is {reservation.outcome} by what was entered, and its state with it: that is not undone at "
            "the counter. Note it found again if it was lost, or have it looked at and released."
        )
    if job.state != JobState.OUT:
        by_it = _of_the_same_act(one.entry).filter(mentions__about=about(job)).order_by("-number").first()
        if job.state not in (JobState.CLOSED, JobState.PLANNED) or by_it is None:
            raise NotAllowed(f"{job} is {job.get_state_display().lower()} by now: {item.tag} stays back.")
        if job.state == JobState.CLOSED:
            _refuse_later(by_it, job)
            act.change(job, state=JobState.OUT)
    came_back = reservation.back_quantity or 0
    if item.counted and item.quantity < came_back:
        raise NotAllowed(f"Only {item.quantity} of {item.tag} are left in the store: it stays back.")
    _change(
        act,
        reservation,
        item,
        standing=Standing.ISSUED,
        outcome=Outcome.NONE,
        back_on=None,
        back_quantity=None,
    )
    if item.counted:
        act.change(item, quantity=item.quantity - came_back)
    else:
        act.change(item, custody=Custody.ON_SITE)
    act.tell(
        Deed.UNDONE,
        [job, item],
        note=f"{item.tag} is not back: it is still out on {job}",
        facts={"quantity": came_back},
        corrects=one.entry,
    )
    rejudge(act, [item.pk])


def _change(act: Act, reservation: Reservation, item: Item, **values: Any) -> None:
    """Change the reservation; what the database refuses becomes a sentence."""
    try:
        with transaction.atomic():
            act.change(reservation, **values)
    except IntegrityError as refusal:
        raise NotAllowed(f"It stands as it is: {item.tag}: {refusal_text(refusal)}.") from refusal


def _reservation_of(entry: LedgerEntry) -> Reservation:
    name = label(Reservation)
    keys = [key for of, key, values in json.loads(entry.body)["rows"] if of == name and "standing" in values]
    return Reservation.objects.get(pk=keys[-1])


def _of_the_same_act(entry: LedgerEntry) -> QuerySet[LedgerEntry]:
    """All that one press wrote carries one moment and one name."""
    return LedgerEntry.objects.filter(recorded_at=entry.recorded_at, actor=entry.actor, source=entry.source)


def _was_promised_in_passing(entry: LedgerEntry, item: Item) -> bool:
    rows = _of_the_same_act(entry).filter(number__lt=entry.number, deed=Deed.RESERVED)
    return rows.filter(mentions__about=about(item)).exists()


def _moved_its_state(entry: LedgerEntry, item: Item) -> bool:
    moves = [Deed.QUARANTINED, Deed.LOST, Deed.FOUND_AGAIN]
    return _of_the_same_act(entry).filter(deed__in=moves, mentions__about=about(item)).exists()


def _refuse_later(entry: LedgerEntry, subject: Item | Job) -> None:
    """Refuse if the ledger tells of anything else of the item or job since, beside what the act itself brought."""
    same = _of_the_same_act(entry).values("number")
    later = (
        LedgerEntry.objects.filter(mentions__about=about(subject), number__gt=entry.number)
        .exclude(number__in=same)
        .exclude(deed__in=_IN_NOBODYS_WAY)
        .order_by("number")
        .first()
    )
    if later is not None:
        what = str(Deed(later.deed).label).lower()
        raise NotAllowed(
            f"Something else has become of {subject} since: {what}, by {later.actor} (entry {later.number}). "
            "So this is not undone; record what is so now."
        )
