"""Rearrange the promises of a season: `propose_plan` reads and reckons, a person looks, `apply_plan` promises."""

from __future__ import annotations

import hashlib
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from kit.models import ArrangementLine, Deed, Item, Job, Reservation, Standing
from kit.planning import Held
from kit.planning.exact import Limits
from kit.planning.rearranging import Plan, Season, at_once, rearrange
from kit.processors import limits_here
from kit.stores.act import Act, NotAllowed
from kit.stores.rejudge import take_up
from kit.stores.reserve import let_go_replaced, promise, revise
from kit.stores.season import season_of


@dataclass(frozen=True, slots=True)
class Move:
    """What one job gives up and what it is promised instead.

    `waits`: tags that come only after a work is done; `stays`: what is given up only then.
    """

    job: str
    leaves: tuple[Held, ...]
    comes: tuple[Held, ...]
    waits: tuple[str, ...] = ()
    stays: tuple[Held, ...] = ()


@dataclass(frozen=True, slots=True)
class Moves:
    """All that applying a plan does, and what the plan was made from: small enough to keep between two requests.

    `depots`: ids, None for all. `fingerprint` stands for all that the plan looked at.
    """

    depots: tuple[int, ...] | None
    today: date
    fingerprint: str
    moves: tuple[Move, ...]

    def as_plain(self) -> dict[str, Any]:
        """As the plain values that JSON knows."""

        def plain(listed: Iterable[Held]) -> list[list[str | int]]:
            return [[held.line, held.tag, held.quantity] for held in listed]

        return {
            "depots": None if self.depots is None else list(self.depots),
            "today": self.today.isoformat(),
            "fingerprint": self.fingerprint,
            "moves": [
                [move.job, plain(move.leaves), plain(move.comes), list(move.waits), plain(move.stays)]
                for move in self.moves
            ],
        }

    @classmethod
    def from_plain(cls, data: dict[str, Any]) -> Moves:
        """What `as_plain` gave."""

        def held(listed: Iterable[Sequence[Any]]) -> tuple[Held, ...]:
            return tuple(Held(line, tag, quantity) for line, tag, quantity in listed)

        return cls(
            depots=None if data["depots"] is None else tuple(data["depots"]),
            today=date.fromisoformat(data["today"]),
            fingerprint=data["fingerprint"],
            moves=tuple(
                Move(job, held(leaves), held(comes), tuple(waits), held(stays))
                for job, leaves, comes, waits, stays in data["moves"]
            ),
        )


@dataclass(frozen=True, slots=True)
class ProposedPlan:
    """A plan to look at, and the moves that would bring it about."""

    plan: Plan
    moves: Moves


def propose_plan(depots: Collection[int] | None, today: date, limits: Limits | None = None) -> ProposedPlan:
    """The best plan for all jobs of these depots (ids; None: all) that are not issued and whose return is not past.

    Nothing is written. Where the register says how many inspections a day a bench does, or how long the way from
    another depot is, the plan may count on such works. What waits for one is not promised by applying the plan, and
    what is to make room for it is not let go (`kit.planning.rearranging.at_once`).
    """
    season = season_of(depots, today)
    plan = rearrange(season, limits or limits_here())
    moves = tuple(
        Move(now.job.need.job, now.leaves, now.comes, now.waits, now.stays)
        for now in at_once(season, plan)
        if now.leaves or now.comes or now.waits
    )
    return ProposedPlan(
        plan,
        Moves(None if depots is None else tuple(sorted(depots)), today, fingerprint_of(season), moves),
    )


def fingerprint_of(season: Season) -> str:
    """SHA-256 over all that a plan is made from."""
    return hashlib.sha256(repr(season).encode()).hexdigest()


def apply_plan(act: Act, moves: Moves | ProposedPlan) -> int:
    """Let go what the plan gives up and promise what it gives, each job with an entry of its own; the number of jobs.

    What waits for a work that the plan counts on is left as it is.

    Raises NotAllowed, and writes nothing, if the register is no longer as it was when the plan was made.
    """
    if isinstance(moves, ProposedPlan):
        moves = moves.moves
    if moves.today != act.today:
        raise NotAllowed(
            f"The plan was made on {moves.today} and today is {act.today}: have it made anew, and look at it again."
        )
    if fingerprint_of(season_of(moves.depots, moves.today)) != moves.fingerprint:
        raise NotAllowed(
            "The register has moved since the plan was made: a job, a piece or a promise is no longer as it was. "
            "Have the plan made anew, and look at it again."
        )
    now = [move for move in moves.moves if move.leaves or move.comes]
    jobs = {
        job.reference: job
        for job in Job.objects.filter(reference__in=[move.job for move in now]).select_related(
            "depot", "arrangement"
        )
    }
    # All that is given up first: what one job gives up another may be promised.
    touched = {item_id for move in now for item_id in _give_up(act, jobs[move.job], move)}
    for move in now:
        touched.update(_take(act, jobs[move.job], move))
    for job in jobs.values():
        let_go_replaced(act, job)
    take_up(act, sorted(touched), jobs.values())
    return len(now)


def _give_up(act: Act, job: Job, move: Move) -> list[int]:
    """Let go what the job gives up; ids of the items."""
    given: list[Reservation] = []
    for held in move.leaves:
        left = held.quantity
        rows = job.reservations.filter(
            line__name=held.line, item__tag=held.tag, standing=Standing.PROMISED
        ).select_related("item")
        for reservation in rows.order_by("-pk"):
            if left and reservation.quantity > left:
                act.change(reservation, quantity=reservation.quantity - left)
                given.append(reservation)
                left = 0
            elif left:
                left -= reservation.quantity
                act.change(reservation, standing=Standing.RELEASED, why="rearranged", proposed=None)
                given.append(reservation)
    if given:
        note = f"let go to rearrange: {_words(move.leaves)}"
        act.tell(Deed.LET_GO, [job, *(reservation.item for reservation in given)], note=note)
    return [reservation.item_id for reservation in given]


def _take(act: Act, job: Job, move: Move) -> list[int]:
    """Promise what comes to the job, and tell what left and what came; ids of the items."""
    lines = {line.name: line for line in ArrangementLine.objects.filter(arrangement=job.arrangement)}
    tags = {held.tag for held in (*move.comes, *move.leaves)}
    items = {item.tag: item for item in Item.objects.filter(tag__in=tags).select_related("kind", "depot")}
    for held in move.comes:
        promise(act, job, lines[held.line], items[held.tag], held.quantity)
    revise(act, job)
    said = [
        f"left: {_words(move.leaves)}" if move.leaves else "",
        f"came: {_words(move.comes)}" if move.comes else "",
    ]
    act.tell(
        Deed.REARRANGED,
        [job, *items.values()],
        note="; ".join(part for part in said if part),
        facts={
            "left": [[held.line, held.tag, held.quantity] for held in move.leaves],
            "came": [[held.line, held.tag, held.quantity] for held in move.comes],
        },
    )
    return [items[held.tag].pk for held in move.comes]


def _words(listed: Iterable[Held]) -> str:
    return ", ".join(
        f"{held.tag}{f' x {held.quantity}' if held.quantity > 1 else ''} ({held.line})" for held in listed
    )
