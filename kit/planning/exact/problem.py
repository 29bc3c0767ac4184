"""What the exact core is asked: jobs, their lines as slots, pieces, and which piece may go where at what cost.

Plain values: days are ordinals (`date.toordinal()`), widths whole micrometres, so that every sum is exact.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from itertools import chain

__all__ = ["Job", "Option", "Piece", "Problem", "Promised", "Slot", "Work"]


@dataclass(frozen=True, slots=True)
class Job:
    """A job; `weight` is what it counts that the job is short (its priority)."""

    reference: str
    weight: int = 1


@dataclass(frozen=True, slots=True)
class Slot:
    """One line of one job (`job` is its place in `Problem.jobs`) that wants `quantity` more pieces.

    Slots of one job with the same `assembly` are made up into at most `units` units, `per_unit` pieces of each slot
    to a unit, and all pieces of a unit have one mark. `held`: (mark, pieces) that lie on the line already and are
    not up for choice; they take up units of their mark, even where they are more than the units there should be.
    """

    job: int
    line: str
    quantity: int
    assembly: str = ""
    per_unit: int = 1
    units: int = 0
    held: tuple[tuple[str, int], ...] = ()


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece, which goes to one job at a time; or a `lot` of `quantity`, which all jobs use up whatever the day.

    Pieces with the same `set_name` (not blank) go to a job together or not at all; one of them that no slot of a
    job can take keeps all of them from that job. `mark` as compared: the caller takes off blanks and case.
    """

    tag: str
    quantity: int = 1
    lot: bool = False
    set_name: str = ""
    mark: str = ""


@dataclass(frozen=True, slots=True)
class Option:
    """A piece that may go on a slot, and what that costs.

    `days` from the return to its fit_until, `width` of its bore range in micrometres, `rank` as a substitute (0: of
    the line's own kind). It is away from `starts` to `ends`, ordinals, both included, turn-round included.
    `works`: it may go only if of each of these groups of keys one work at least is done; `barred_by`: keys of works
    that keep it from going. There may be several options of one piece for one slot, with different works.
    """

    piece: str
    slot: int
    days: int = 0
    width: int = 0
    rank: int = 0
    starts: int = 0
    ends: int = 0
    works: tuple[tuple[str, ...], ...] = ()
    barred_by: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Promised:
    """A present promise: giving it up is a change, of a lot each piece given up is one."""

    piece: str
    slot: int
    quantity: int = 1


@dataclass(frozen=True, slots=True)
class Work:
    """An extra work (a transfer, an inspection done in time). Of one `group` at most one is done.

    Which of several works that do equally well is done is the first in the order of `Problem.works`.
    `pool`: where it is done; `Problem.pools` says how many works a pool can do. Blank: no limit.
    """

    key: str
    group: str = ""
    pool: str = ""


@dataclass(frozen=True, slots=True)
class Problem:
    """Everything asked. Jobs stand in their order (loading day, reference); slots in the order of their jobs and,
    within a job, of the arrangement's lines.

    Raises ValueError where the values contradict each other.
    """

    jobs: tuple[Job, ...]
    slots: tuple[Slot, ...]
    pieces: tuple[Piece, ...]
    options: tuple[Option, ...]
    promised: tuple[Promised, ...] = ()
    works: tuple[Work, ...] = ()
    pools: tuple[tuple[str, int], ...] = ()

    def __post_init__(self) -> None:
        tags = Counter(piece.tag for piece in self.pieces)
        _refuse_if(any(count > 1 for count in tags.values()), "a tag is given twice; give each piece once")
        places = [slot.job for slot in self.slots]
        _refuse_if(places != sorted(places), "slots are not in the order of their jobs")
        _refuse_if(any(not 0 <= job < len(self.jobs) for job in places), "a slot names no job")
        _refuse_if(any(slot.quantity < 0 for slot in self.slots), "a slot wants less than nothing")
        _refuse_if(
            any(slot.assembly and slot.per_unit < 1 for slot in self.slots), "an assembly needs pieces a unit"
        )
        names = {work.key for work in self.works}
        pools = dict(self.pools)
        _refuse_if(len(names) != len(self.works), "a work is given twice")
        _refuse_if(any(work.pool and work.pool not in pools for work in self.works), "a work names no pool")
        for option in self.options:
            if option.piece not in tags or not 0 <= option.slot < len(self.slots):
                raise ValueError(f"an option of {option.piece} names no piece or no slot")
            if option.ends < option.starts:
                raise ValueError(f"an option of {option.piece} ends before it starts")
            if not names.issuperset(chain(*option.works, option.barred_by)) or not all(option.works):
                raise ValueError(f"an option of {option.piece} names a work that is not given, or none")
        for promise in self.promised:
            if promise.piece not in tags or not 0 <= promise.slot < len(self.slots):
                raise ValueError(f"a promise of {promise.piece} names no piece or no slot")


def _refuse_if(wrong: bool, why: str) -> None:
    if wrong:
        raise ValueError(why)
