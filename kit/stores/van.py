"""Take in what a crew entered beside the van: each entry once and only once, and what cannot be done is kept for a
person to settle.

An entry that sets a piece aside is done even when the job is over: what failed must not go out again because the
phone found its signal late. The time by the phone's clock is kept as it was said. Where that clock is off by more than
a few minutes, or ahead of the store's, the ledger puts the entry at its arrival and says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from uuid import UUID

from kit.models import Deed, Item, Job, Reservation, Standing, State, Taken, VanDeed, VanEntry
from kit.planning.sets import as_kind, reasons_on
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh, renew, renew_job
from kit.stores.knowledge import candidates, need_of
from kit.stores.quarantine import quarantine

CLOCK_TRUSTED: Final = timedelta(minutes=5)
MOST_CLOCK_S: Final = 2_000_000_000  # what a column of whole numbers holds: some sixty years
_ASIDE: Final = (VanDeed.FAILED, VanDeed.REPORTED)
_EVER_OUT: Final = (Standing.ISSUED, Standing.RETURNED)
# Being on this very site speaks against no spare.
_NO_MATTER: Final = frozenset({"on-site", "promised-elsewhere"})


@dataclass(frozen=True, slots=True)
class Said:
    """One entry as the phone has it. `said_at` is aware; `note` and `spare` may be empty."""

    uid: UUID
    what: VanDeed
    code: str
    said_at: datetime
    note: str = ""
    spare: str = ""


def take_in(act: Act, job: Job, said: Said, clock_ahead: timedelta) -> VanEntry:
    """Do what the entry says, or keep it open with why not; the entry as it stands, if it was taken in before.

    Raises NotAllowed where the uid is that of an entry of another person, which no phone of ours sends.
    """
    before = VanEntry.objects.select_related("item", "spare").filter(uid=said.uid).first()
    if before is not None:
        if before.made_by != act.who.actor:
            raise NotAllowed(f"Entry {said.uid} was made by {before.made_by}: only they can send it again.")
        return before
    item = _piece(said.code)
    try:
        with act.attempt():
            return _do(act, renew_job(job), item, said, clock_ahead)
    except NotAllowed as refusal:
        return _keep(act, job, item, said, clock_ahead, Taken.OPEN, why=str(refusal))


def _do(act: Act, job: Job, item: Item | None, said: Said, clock_ahead: timedelta) -> VanEntry:
    if item is None:
        raise NotAllowed(f"No piece of the register is called {said.code}.")
    reservation = _held(job, item, said.what)
    spare = _spare_for(act, job, reservation, said) if said.what == VanDeed.SWAPPED else None
    entry = _keep(act, job, item, said, clock_ahead, Taken.DONE, spare=spare)
    if said.what in _ASIDE:
        how = "failed its test before use" if said.what == VanDeed.FAILED else "reported by the crew"
        quarantine(act, item, f"{how} on {job}: {said.note}" if said.note else f"{how} on {job}")
    return entry


def _held(job: Job, item: Item, what: VanDeed, as_spare: bool = False) -> Reservation:
    """How the job holds the piece; NotAllowed with how it stands instead."""
    mine = job.reservations.select_related("line").filter(item=item)
    if what in _ASIDE:
        wanted = mine.filter(standing__in=_EVER_OUT).order_by("-pk").first()
        if wanted is None:
            raise NotAllowed(f"{item.tag} was never issued to {job}: set it aside by hand if it is at fault.")
        return wanted
    held = mine.open().first()
    if held is None:
        last = mine.order_by("-pk").first()
        how = (
            f"is {last.get_standing_display().lower()} by now"
            if last is not None
            else "is not on its kit list"
        )
        raise NotAllowed(f"{item.tag} {how}: {job} does not hold it.")
    if held.standing == Standing.BROKEN:
        raise NotAllowed(f"{item.tag} may not go out: {held.why}")
    # What a spare stands in for may well be set aside: it has just failed.
    if item.state != State.AVAILABLE and (what != VanDeed.SWAPPED or as_spare):
        raise NotAllowed(f"{item.tag} is {item.get_state_display().lower()}: {item.state_why}")
    if what != VanDeed.SEEN and held.standing != Standing.ISSUED:
        raise NotAllowed(f"{item.tag} is promised to {job}, but was never issued to it.")
    return held


def _spare_for(act: Act, job: Job, reservation: Reservation, said: Said) -> Item:
    """The spare that was taken instead; NotAllowed if the job does not have it out or it cannot stand in there."""
    spare = _piece(said.spare)
    if spare is None:
        raise NotAllowed(f"No piece of the register is called {said.spare or 'nothing'}, given as the spare.")
    if spare.pk == reservation.item_id:
        raise NotAllowed(f"{spare.tag} cannot be its own spare.")
    _held(job, spare, VanDeed.SWAPPED, as_spare=True)
    need = need_of(job)
    line = next(line for line in need.lines if line.name == reservation.line.name)
    if as_kind(line, spare.kind.name) is None:
        raise NotAllowed(f"{spare.tag} is a {spare.kind.name}: it cannot stand in on {line.name}.")
    [candidate] = candidates([spare], act.today, job)
    against = [r.text for r in reasons_on(candidate, line, need, act.today) if r.code not in _NO_MATTER]
    if against:
        raise NotAllowed(" ".join(against))
    return spare


def _keep(
    act: Act,
    job: Job,
    item: Item | None,
    said: Said,
    clock_ahead: timedelta,
    taken: Taken,
    why: str = "",
    spare: Item | None = None,
) -> VanEntry:
    seconds = round(clock_ahead.total_seconds())
    entry = act.create(
        VanEntry(
            uid=said.uid,
            job=job,
            what=said.what,
            code=said.code[:200],
            item=item,
            spare_code=said.spare[:200],
            spare=spare,
            note=said.note.strip()[:500],
            made_by=act.who.actor,
            said_at=said.said_at,
            clock_ahead_s=max(-MOST_CLOCK_S, min(seconds, MOST_CLOCK_S)),
            arrived_at=act.now,
            taken=taken,
            why=why[:600],
        )
    )
    subjects: list[Job | Item] = [job, *(one for one in (item, spare) if one is not None)]
    act.tell(
        Deed.VAN,
        subjects,
        note=_words(entry),
        facts={"said_at": said.said_at, "clock_ahead_seconds": seconds, "uid": str(said.uid)},
        happened_at=said.said_at if clock_is_trusted(entry) else act.now,
    )
    return entry


def clock_is_trusted(entry: VanEntry) -> bool:
    """Whether the phone's clock was near the store's, and the entry not from a time to come."""
    near = abs(entry.clock_ahead_s) <= CLOCK_TRUSTED.total_seconds()
    return near and entry.said_at <= entry.arrived_at


def _words(entry: VanEntry) -> str:
    text = f"{entry.get_what_display()}: {entry.code}"
    if entry.spare_code:
        text += f", by {entry.spare_code}"
    if entry.note:
        text += f"; {entry.note}"
    if entry.taken == Taken.OPEN:
        text += f". Not taken in: {entry.why}"
    if not clock_is_trusted(entry):
        text += ". The phone's clock was not near the store's: its time is kept as it said it."
    return text


def settle_van_entry(act: Act, entry: VanEntry, note: str) -> VanEntry:
    """A person saw to an entry that could not be taken in; `note` says what was done. NotAllowed if none is open."""
    entry = renew(entry, "job", "item")
    if entry.taken != Taken.OPEN:
        raise NotAllowed(f"{entry} is {entry.get_taken_display().lower()} already.")
    if not note.strip():
        raise NotAllowed("Say what was done about it: the note goes into the ledger.")
    act.change(
        entry,
        taken=Taken.SETTLED,
        settled_by=act.who.actor,
        settled_at=act.now,
        settled_note=note.strip()[:500],
    )
    subjects: list[Job | Item] = [entry.job, *([entry.item] if entry.item is not None else [])]
    act.tell(Deed.VAN, subjects, note=f"{entry} of {entry.made_by} settled: {note.strip()}")
    return entry


def _piece(code: str) -> Item | None:
    """The piece of exactly that tag, as it is now."""
    item = Item.objects.filter(tag=code).first()
    return fresh(item) if item is not None else None
