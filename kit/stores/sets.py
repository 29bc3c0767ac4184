"""Sets: pieces of one depot that go out together or not at all; made up and taken apart, each in one act."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kit.models import Deed, Item, Reservation, Standing, State
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh
from kit.stores.quarantine import refuse_away
from kit.stores.rejudge import rejudge
from kit.stores.set_promises import SetAt, members_of, set_at

MOST_OF_A_SET = 40
"""How many pieces one set takes; what is mounted together is fewer (common practice, no source)."""


def mates_of(item: Item) -> list[Item]:
    """The other pieces of its set at its depot, in order of their tags, whatever their state. Reads only."""
    if not item.set_name:
        return []
    return [mate for mate in members_of({set_at(item)})[set_at(item)] if mate.pk != item.pk]


def bind_set(act: Act, name: str, items: Sequence[Item], why: str) -> list[Item]:
    """Make these pieces up into the set of that name at their depot, or add to it: all its pieces must be among them.

    What they are promised to is judged again in the same act. Gives the pieces as they are then, each once.
    """
    name = " ".join(name.split())
    if not name:
        raise NotAllowed("Give the set a name: what is written on its box, or what everybody calls it.")
    if len(name) > 60:
        raise NotAllowed(f"The name of the set has {len(name)} characters, and 60 is the most: shorten it.")
    if not why.strip():
        raise NotAllowed(f"Say why the set {name} is made up.")
    listed = _as_now(items)
    for item in listed:
        _refuse_piece(item, name)
    if len(listed) < 2:
        raise NotAllowed(f"A set holds two pieces or more: scan what goes out together as {name}.")
    if len(listed) > MOST_OF_A_SET:
        raise NotAllowed(f"A set takes {MOST_OF_A_SET} pieces at most: make up several.")
    _refuse_depots(listed, name)
    _refuse_name(listed, name)
    _refuse_promises(listed, name)
    changed = [item for item in listed if act.change(item, set_name=name)]
    if changed:
        tags = ", ".join(item.tag for item in listed)
        note = f"set {name} made up of {tags}: {why.strip()}"
        act.tell(Deed.BOUND, [*listed, listed[0].depot], note=note, facts={"set": name})
        rejudge(act, [item.pk for item in listed])
    return listed


def unbind_set(act: Act, items: Sequence[Item], why: str) -> list[Item]:
    """Take these pieces out of their sets; a piece that would be left as a set by itself is taken out with them.

    Gives all pieces that are of no set any more. What they and their mates are promised to is judged again.
    """
    if not why.strip():
        raise NotAllowed("Say why the set is taken apart.")
    listed = _as_now(items)
    if not listed:
        raise NotAllowed("Name the pieces that leave their set.")
    touched: dict[int, Item] = {}
    leaving: dict[SetAt, dict[int, Item]] = {}
    for item in listed:
        if not item.set_name:
            raise NotAllowed(f"{item.tag} is of no set, so there is nothing to take apart.")
        _refuse_away(item, "taken out of its set")
        leaving.setdefault(set_at(item), {})[item.pk] = item
    there = members_of(leaving.keys())
    for at, pieces in leaving.items():
        name, members = at[1], there[at]
        staying = [member for member in members if member.pk not in pieces]
        if len(staying) == 1:
            alone = staying.pop()
            pieces[alone.pk] = alone
        for piece in pieces.values():
            act.change(piece, set_name="")
        said = f"set {name} taken apart" if not staying else f"taken out of the set {name}"
        tags = ", ".join(sorted(piece.tag for piece in pieces.values()))
        act.tell(
            Deed.BOUND,
            [*pieces.values(), *staying, members[0].depot],
            note=f"{said}: {tags}; {why.strip()}",
            facts={"set": name},
        )
        touched.update((member.pk, member) for member in members)
    rejudge(act, sorted(touched))
    return [piece for pieces in leaving.values() for piece in pieces.values()]


def _as_now(items: Iterable[Item]) -> list[Item]:
    """Each piece once, as it stands now, in the order given."""
    return [fresh(item) for item in {item.pk: item for item in items}.values()]


def _refuse_piece(item: Item, name: str) -> None:
    if item.counted:
        raise NotAllowed(f"{item.tag} is a lot and is counted: only single pieces make up the set {name}.")
    if item.state in (State.WITHDRAWN, State.LOST):
        do = "take it out of its set first" if item.set_name else f"leave it out of the set {name}"
        raise NotAllowed(f"{item.tag} is {item.get_state_display().lower()}: {do}.")
    _refuse_away(item, f"made up into the set {name}")
    if item.set_name not in ("", name):
        raise NotAllowed(
            f"{item.tag} is of the set {item.set_name} already: take it out of that one first, or leave it out."
        )


def _refuse_away(item: Item, done: str) -> None:
    # What was lost while it was out never comes back to the counter; it must not keep its set for ever.
    if item.state != State.LOST:
        refuse_away(item, done)


def _refuse_depots(listed: Sequence[Item], name: str) -> None:
    first = listed[0]
    for other in listed[1:]:
        if other.depot_id != first.depot_id:
            raise NotAllowed(
                f"{first.tag} is at {first.depot} and {other.tag} at {other.depot}: a set stands in one depot. "
                f"Send one of them there before {name} is made up, or leave it out."
            )


def _refuse_name(listed: Sequence[Item], name: str) -> None:
    """A set that is there grows only as a whole; in another spelling its name would be taken for it."""
    own = {item.pk for item in listed}
    there = Item.objects.filter(depot=listed[0].depot, set_name__iexact=name).order_by("tag")
    others = [item for item in there if item.pk not in own]
    if others:
        tags = ", ".join(item.tag for item in others)
        raise NotAllowed(
            f"{listed[0].depot} has a set {others[0].set_name} already, of {tags}: give this one another name, or scan "
            "those pieces as well to add to it."
        )


def _refuse_promises(listed: Sequence[Item], name: str) -> None:
    """Pieces that are promised to different jobs cannot go out together: somebody must say which job gets the set."""
    jobs: dict[int, set[str]] = {item.pk: set() for item in listed}
    rows = Reservation.objects.filter(item__in=listed, standing=Standing.PROMISED)
    for item_id, reference in rows.values_list("item_id", "job__reference"):
        jobs[item_id].add(reference)
    promised = [item for item in listed if jobs[item.pk]]
    for other in promised[1:]:
        if jobs[other.pk] != jobs[promised[0].pk]:
            first = promised[0]
            raise NotAllowed(
                f"{first.tag} is promised to {', '.join(sorted(jobs[first.pk]))} and {other.tag} to "
                f"{', '.join(sorted(jobs[other.pk]))}: they cannot go out together as {name}. Let one of the two go "
                "first, or leave it out."
            )
