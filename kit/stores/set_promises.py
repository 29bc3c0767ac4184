"""Sets among the promises of a job: whether one is promised, issued or could be taken up as a whole. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from kit.models import HOLDING, OPEN, Item, Job, Reservation, Standing
from kit.planning import Need, Reason
from kit.planning.sets import SET_NOT_WHOLE, reasons_on, set_not_whole
from kit.stores.knowledge import candidates, chunked, held_by
from kit.stores.unit_promises import Begun

SetAt = tuple[int, str]
"""(id of the depot, name): what tells sets apart."""

GONE = frozenset({Standing.ISSUED, Standing.RETURNED})


def set_at(item: Item) -> SetAt:
    return item.depot_id, item.set_name


def mate_ids(item_ids: Sequence[int]) -> list[int]:
    """Ids of the other pieces of the sets that these items are of."""
    sets: set[SetAt] = set()
    for chunk in chunked(item_ids):
        rows = Item.objects.filter(pk__in=chunk).exclude(set_name="")
        sets.update(rows.values_list("depot_id", "set_name"))
    known = set(item_ids)
    return sorted(
        item.pk for members in members_of(sets).values() for item in members if item.pk not in known
    )


def members_of(sets: Collection[SetAt]) -> dict[SetAt, list[Item]]:
    """The pieces of these sets, in order of their tags, whatever their state."""
    found: dict[SetAt, list[Item]] = defaultdict(list)
    for chunk in chunked(sorted({name for _, name in sets})):
        rows = Item.objects.filter(set_name__in=chunk).select_related("kind", "depot", "place", "transit_to")
        for item in rows.order_by("tag"):
            if set_at(item) in sets:
                found[set_at(item)].append(item)
    return found


def set_reasons(
    today: date, job: Job, need: Need, listed: Sequence[Reservation], own: Mapping[int, str]
) -> dict[int, str]:
    """By reservation of the job, why its set cannot go as a whole, or go again; those of which it can are left out.

    `own` says by reservation what speaks against its piece by itself; it knows all `listed`. A mate is there if it is
    out or back already, or if the job has an open reservation of it and nothing speaks against it. So all of a set
    are flagged together, and taken up again together.
    """
    asked = [each for each in listed if each.item.set_name and each.standing != Standing.ISSUED]
    if not asked:
        return {}
    members = members_of({set_at(each.item) for each in asked})
    promises = _promises(job, members.values())
    known = {each.pk: each for each in listed}
    found: dict[int, str] = {}
    for at, pieces in members.items():
        if len(pieces) < 2:
            continue
        against: dict[str, Reason] = {}
        waiting: list[Reservation] = []
        for piece in pieces:
            promise = promises.get(piece.pk)
            if promise is None:
                why = f"it is not promised to {job}; reserve anew, or take the set apart."
                against[piece.tag] = Reason(SET_NOT_WHOLE, None, why)
            elif promise.standing not in GONE:
                promise = known.get(promise.pk, promise)
                text = own[promise.pk] if promise.pk in own else _against_alone(today, job, need, promise)
                if text:
                    against[piece.tag] = Reason(SET_NOT_WHOLE, None, text)
                elif promise.standing == Standing.BROKEN:
                    waiting.append(promise)
        full = _without_room(job, need, waiting)
        against.update(full)
        for each in asked:
            if set_at(each.item) == at:
                others = [tag for tag in against if tag != each.item.tag]
                if others:
                    found[each.pk] = set_not_whole(at[1], others, against).text
                elif each.item.tag in full:
                    found[each.pk] = full[each.item.tag].text
    return found


def _promises(job: Job, sets: Iterable[Sequence[Item]]) -> dict[int, Reservation]:
    """By item, the reservation that speaks for it on this job; a holding one before a broken one."""
    ids = [item.pk for pieces in sets for item in pieces]
    rows = job.reservations.filter(item_id__in=ids, standing__in=[*OPEN, Standing.RETURNED])
    rows = rows.select_related("line", "item__kind", "item__depot", "item__transit_to").order_by("pk")
    found: dict[int, Reservation] = {}
    for row in rows:
        if row.item_id not in found or row.standing != Standing.BROKEN:
            found[row.item_id] = row
    return found


def _against_alone(today: date, job: Job, need: Need, reservation: Reservation) -> str:
    """Why the piece of a reservation may not be promised to the job, whatever its set; empty if it may."""
    [piece] = candidates([reservation.item], today, job)
    line = next(line for line in need.lines if line.name == reservation.line.name)
    texts = [reason.text for reason in reasons_on(piece, line, need, today)]
    if reservation.standing == Standing.BROKEN and line.assembly:
        texts.append(Begun(job, need).mixed_by(line, reservation.item))
    return " ".join(text for text in texts if text)


def _without_room(job: Job, need: Need, waiting: Sequence[Reservation]) -> dict[str, Reason]:
    """Of broken promises of one set that would all do again, those for whose line there is no room any more."""
    if not waiting:
        return {}
    room = {line.name: line.quantity for line in need.lines}
    for held in held_by(job):
        room[held.line] = room.get(held.line, 0) - held.quantity
    found: dict[str, Reason] = {}
    for each in waiting:
        room[each.line.name] = room.get(each.line.name, 0) - each.quantity
        if room[each.line.name] < 0:
            why = f"it would do again, but {each.line.name} of {job} is full by now; let it go."
            found[each.item.tag] = Reason(SET_NOT_WHOLE, None, f"It{why[2:]}")
    return found


@dataclass(frozen=True, slots=True)
class SetInPart:
    """A set of which some pieces are out on a job and others are still here."""

    name: str
    out: tuple[str, ...]
    here: tuple[str, ...]

    def __str__(self) -> str:
        return (
            f"the set {self.name} would go out without {', '.join(self.here)}: scan what is missing as well, or take "
            f"{', '.join(self.out)} back unused and leave the whole set here"
        )


def sets_in_part(job: Job) -> list[SetInPart]:
    """The sets that would leave with the van in part, as issued so far."""
    rows = job.reservations.filter(standing__in=GONE).exclude(item__set_name="")
    gone = {row.item_id for row in rows}
    out = {row.item_id for row in rows if row.standing == Standing.ISSUED}
    if not out:
        return []
    sets = set(Item.objects.filter(pk__in=out).values_list("depot_id", "set_name"))
    found = []
    for (_, name), pieces in sorted(members_of(sets).items()):
        here = tuple(piece.tag for piece in pieces if piece.pk not in gone)
        if here:
            found.append(SetInPart(name, tuple(p.tag for p in pieces if p.pk in out), here))
    return found


def mates_wanted(job: Job, item: Item) -> list[Item]:
    """The other pieces of the item's set that the job does not hold."""
    if not item.set_name:
        return []
    held = set(
        job.reservations.filter(standing__in=[*HOLDING, Standing.RETURNED]).values_list("item_id", flat=True)
    )
    members = members_of({set_at(item)}).get(set_at(item), [])
    return [mate for mate in members if mate.pk != item.pk and mate.pk not in held]


def mates_promised(job: Job, item: Item) -> list[str]:
    """Tags of the other pieces of the item's set that the job holds or has out."""
    if not item.set_name:
        return []
    mates = job.reservations.holding().filter(item__depot=item.depot_id, item__set_name=item.set_name)
    return list(mates.exclude(item=item).order_by("item__tag").values_list("item__tag", flat=True))
