"""What a change of the table of mains would bring, told before it is made, and the change made as it was shown.

As with a move of a job, the real action is done and taken back: nothing is written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from hashlib import sha256

from kit.stores.act import Act, NotAllowed, Who
from kit.stores.foresee import Stand, Stands, gives_of, rehearse, stands_now, swings_of
from kit.stores.mains import MovedBore

ChangeTable = Callable[[Act], Sequence[MovedBore]]
"""Changes the table and gives the open jobs whose main that moves."""


@dataclass(frozen=True, slots=True)
class ForeseenTable:
    """The open jobs whose main would be another, and of their promises those that would break or hold again;
    `unfit_out` are on site and would not suit their job any longer. `seen` is a mark of all this.
    """

    moved: tuple[MovedBore, ...]
    breaks: tuple[Stand, ...]
    heals: tuple[Stand, ...]
    unfit_out: tuple[Stand, ...]
    seen: str


def foresee_table(who: Who, change: ChangeTable) -> ForeseenTable:
    """What the change would bring. Nothing is written. Raises NotAllowed where the change would."""
    return rehearse(who, lambda act: _told(act, change))


def change_as_seen(act: Act, change: ChangeTable, seen: str) -> Sequence[MovedBore]:
    """Make the change; refused, with nothing written, if it brings something else by now than was shown."""
    before = stands_now()
    moved = change(act)
    if _mark(moved, before, stands_now()) != seen:
        raise NotAllowed(
            "Something else would move by now than was shown: nothing is recorded. Look at what moves now, then "
            "record it."
        )
    return moved


def _told(act: Act, change: ChangeTable) -> ForeseenTable:
    before = stands_now()
    moved = change(act)
    after = stands_now()
    swings = swings_of(before, after)
    return ForeseenTable(
        moved=tuple(moved),
        breaks=swings.breaks,
        heals=swings.heals,
        unfit_out=swings.unfit_out,
        seen=_mark(moved, before, after),
    )


def _mark(moved: Sequence[MovedBore], before: Stands, after: Stands) -> str:
    """A mark (SHA-256) of which jobs move from which size to which, and which reservations change their standing."""
    sizes = [
        (
            each.job.reference,
            *map(str, (each.before_mm, each.after_mm, each.outside_before_mm, each.outside_after_mm)),
        )
        for each in moved
    ]
    return sha256(repr((sizes, gives_of(before, after))).encode()).hexdigest()
