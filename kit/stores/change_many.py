"""One change made to many pieces in one act, and what it would come to, piece by piece, before it is made.

Each piece goes through the same action as it would alone. What is foretold is the real act, made in its turn and taken
back (`foresee.rehearse`): a piece that the action refuses is named with why, and the others are told with what follows.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from hashlib import sha256

from django.utils.translation import gettext as _

from kit.models import Item, Standing, State
from kit.stores.act import Act, NotAllowed, Who
from kit.stores.current import fresh
from kit.stores.foresee import Stands, rehearse, stands_now
from kit.stores.quarantine import lose, quarantine
from kit.stores.receive import place_named, record_details

LONGEST_NOTE = 500
MOST_PIECES = 500
MOST_MOVED = 200
"""In one act: other people wait for their turn while it runs. Each piece set aside or lost has its promises judged
anew, which takes four times as long as a place or a remark.
"""


class What(StrEnum):
    PLACE = "place"
    REMARK = "remark"
    SET_ASIDE = "set-aside"
    LOST = "lost"


ACTION_OF = {
    What.PLACE: "change item",
    What.REMARK: "change item",
    What.SET_ASIDE: "quarantine",
    What.LOST: "quarantine",
}
"""Which action of kit.roles each asks for, at the depot of the piece."""


@dataclass(frozen=True, slots=True)
class Change:
    """What is to be done to each piece: `text` is the place or the remark, `why` the one reason."""

    what: What
    why: str
    text: str = ""


@dataclass(frozen=True, slots=True)
class Told:
    """What would become of one piece: refused with why, unchanged (before equals after), or changed."""

    item_id: int
    tag: str
    kind: str
    before: str
    after: str
    refused: str = ""

    @property
    def changes(self) -> bool:
        return not self.refused and self.before != self.after


@dataclass(frozen=True, slots=True)
class Foretold:
    """Of all pieces in the order of their tags, and which promises to jobs would no longer hold: (job, tag, why)."""

    pieces: tuple[Told, ...]
    breaks: tuple[tuple[str, str, str], ...]

    @property
    def changing(self) -> list[Told]:
        return [told for told in self.pieces if told.changes]

    @property
    def refused(self) -> list[Told]:
        return [told for told in self.pieces if told.refused]

    @property
    def unchanged(self) -> list[Told]:
        return [told for told in self.pieces if not told.refused and not told.changes]

    @property
    def mark(self) -> str:
        """SHA-256 of all that is told: a press that names it does nothing else than was shown."""
        return sha256(repr((self.pieces, self.breaks)).encode()).hexdigest()


def foresee_change(
    who: Who, item_ids: Collection[int], change: Change, barred: Callable[[Item], str]
) -> Foretold:
    """What the change would bring; nothing is written. `barred` says why the person may not, or is empty.

    Raises NotAllowed where the change as such cannot be made: no reason, no place, too many pieces.
    """
    return rehearse(who, lambda act: _try_each(act, item_ids, change, barred))


def change_many(
    act: Act, item_ids: Collection[int], change: Change, barred: Callable[[Item], str], mark: str
) -> Foretold:
    """Do it to every piece that it changes, if what comes of it is what `mark` was shown for. Raises NotAllowed."""
    done = _try_each(act, item_ids, change, barred)
    if done.mark != mark:
        raise NotAllowed(
            _(
                "Something has changed since this was shown, so nothing was written. Look at what it would do now, "
                "and press again."
            )
        )
    return done


def _try_each(act: Act, item_ids: Collection[int], change: Change, barred: Callable[[Item], str]) -> Foretold:
    _refuse_change(item_ids, change)
    before = stands_now()
    items = Item.objects.filter(pk__in=item_ids).select_related("kind", "depot", "place").order_by("tag")
    pieces = tuple(_try(act, item, change, barred) for item in items)
    return Foretold(pieces, _breaks(before, stands_now()))


def _try(act: Act, item: Item, change: Change, barred: Callable[[Item], str]) -> Told:
    was = _stands(item, change.what)
    try:
        if why := barred(item):
            raise NotAllowed(why)
        with act.attempt():
            _DO[change.what](act, item, change)
    except NotAllowed as refusal:
        return Told(item.pk, item.tag, item.kind.name, was, was, str(refusal))
    return Told(item.pk, item.tag, item.kind.name, was, _stands(fresh(item), change.what))


def _refuse_change(item_ids: Collection[int], change: Change) -> None:
    if not item_ids:
        raise NotAllowed(_("No piece is chosen: tick the rows first."))
    most = MOST_MOVED if change.what in (What.SET_ASIDE, What.LOST) else MOST_PIECES
    if len(item_ids) > most:
        raise NotAllowed(
            _("%(n)s pieces are chosen, and at most %(most)s can be changed so at a time: narrow the list.")
            % {"n": len(item_ids), "most": most}
        )
    if not change.why.strip():
        raise NotAllowed(_("Say why: the one reason goes into the ledger with each piece."))
    if change.what == What.REMARK and not change.text.strip():
        raise NotAllowed(_("Give the remark that is to be added."))


def _stands(item: Item, what: What) -> str:
    """What of the piece the change is about, in words."""
    if what == What.PLACE:
        return item.place.name if item.place else ""
    if what == What.REMARK:
        return item.note
    return _(State(item.state).label)


def _refuse_gone(item: Item) -> None:
    if item.state == State.WITHDRAWN:
        raise NotAllowed(_("%(tag)s is withdrawn: what is recorded of it stays.") % {"tag": item.tag})


# Neither a place nor a note decides whether a piece is fit, so nothing is derived anew by these two.
def _to_place(act: Act, item: Item, change: Change) -> None:
    _refuse_gone(item)
    name = change.text.strip()
    if (item.place.name if item.place else "") == name:
        return
    place = place_named(act, item.depot, name) if name else None
    record_details(act, item, {"place": place}, why=change.why, derive=False)


def _remark(act: Act, item: Item, change: Change) -> None:
    _refuse_gone(item)
    remark = change.text.strip()
    note = f"{item.note.rstrip('. ')}. {remark}" if item.note.strip() else remark
    if len(note) > LONGEST_NOTE:
        raise NotAllowed(
            _("The note of %(tag)s would be longer than %(n)s characters: shorten it on its own page first.")
            % {"tag": item.tag, "n": LONGEST_NOTE}
        )
    record_details(act, item, {"note": note}, why=change.why, derive=False)


def _set_aside(act: Act, item: Item, change: Change) -> None:
    if item.state == State.QUARANTINED:
        return
    if item.state == State.LOST:
        raise NotAllowed(
            _("%(tag)s is noted as lost: when it turns up, it is taken in as found again.")
            % {"tag": item.tag}
        )
    quarantine(act, item, change.why)


def _lose(act: Act, item: Item, change: Change) -> None:
    if item.state == State.LOST:
        return
    lose(act, item, change.why)


_DO: Mapping[What, Callable[[Act, Item, Change], None]] = {
    What.PLACE: _to_place,
    What.REMARK: _remark,
    What.SET_ASIDE: _set_aside,
    What.LOST: _lose,
}


def _breaks(before: Stands, after: Stands) -> tuple[tuple[str, str, str], ...]:
    broken: Sequence[tuple[str, str, str]] = [
        (stand.job, stand.tag, stand.why)
        for key, stand in after.items()
        if stand.standing == Standing.BROKEN and before[key].standing != Standing.BROKEN
    ]
    return tuple(sorted(broken))
