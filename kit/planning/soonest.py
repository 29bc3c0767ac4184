"""The soonest later day on which coupled lines would be full, a job as long choosing afresh.

Where nothing couples lines, a piece more never hurts, and only days on which one comes free need trying (see
`mending.soonest_full`). Where an assembly, a set or a substitute couples them that is not so: a piece more may bring
the whole job nearer by leaving one line short. So every day is looked at on which any piece comes free or drops out;
between two such days nothing changes. What fills lines alike is counted instead of told apart, and the core is asked
once for each different count.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from kit.planning.as_slots import SetKey, as_compared, kinds_of, lot_kinds, set_key, slots_of
from kit.planning.exact import Job, Limits, Option, Piece, Problem, solve
from kit.planning.fitness import NO_LIMIT
from kit.planning.reasons import is_fit, reasons_for
from kit.planning.sets import as_kind, sets_of
from kit.planning.values import Candidate, Need

NOT_MENDED_BY_WAITING = frozenset(
    {
        "use-by-before-return",
        "check-due-before-return",
        "never-checked",
        "last-check-failed",
        "quarantined",
        "withdrawn",
        "lost",
        "wrong-bore",
        "wrong-mark",
    }
)
"""Time alone never mends these: a later loading day leaves them as they are or makes them worse."""

_AMOUNTS_ALONE = Limits(ties_columns=-1)


@dataclass(frozen=True, slots=True, order=True)
class _Like:
    """What makes pieces of one use: the lines they fill with the rank they have there, and their mark if it counts."""

    lines: tuple[tuple[int, int], ...]
    mark: str


def soonest_coupled(
    need: Need, lines: Sequence[int], short: Collection[int], candidates: Iterable[Candidate], as_of: date
) -> dict[int, date]:
    """For short lines among these coupled ones, the earliest later loading day on which they would be full."""
    hopeful = _hopeful(need, lines, candidates, as_of)
    lots = lot_kinds(need.lines)
    changes: dict[date, list[tuple[str, bool]]] = defaultdict(list)
    for tag, (piece, _) in hopeful.items():
        for day, is_there in _days_of(piece, need, as_of):
            changes[day].append((tag, is_there))
    in_set = {piece.tag: key for key, members in _sets(hopeful).items() for piece in members}
    room = {place: need.lines[place].quantity for place in lines}
    stock = _Stock(hopeful, in_set, lots, room)
    found: dict[int, date] = {}
    seen: set[_Counts] = set()
    for day in sorted(changes):
        for tag, is_there in changes[day]:
            stock.put(tag, is_there)
        counts = stock.counts()
        open_lines = [place for place in lines if place in short and place not in found]
        if counts in seen or not any(_enough(counts, place, room) for place in open_lines):
            continue
        seen.add(counts)
        lacking = dict(zip(lines, _shortages(need, lines, counts), strict=True))
        found.update({place: day for place in open_lines if lacking[place] == 0})
        if len(found) == len(set(short) & set(lines)):
            break
    return found


def _hopeful(
    need: Need, lines: Sequence[int], candidates: Iterable[Candidate], as_of: date
) -> dict[str, tuple[Candidate, _Like]]:
    """The pieces that may fill one of the lines some later day, less those whose set never can go."""
    found: dict[str, tuple[Candidate, _Like]] = {}
    listed = list(candidates)
    for piece in listed:
        on: list[tuple[int, int]] = []
        marked = False
        for place in lines:
            for rank, seen in kinds_of(need.lines[place]):
                if seen.kind == piece.kind and not any(
                    reason.code in NOT_MENDED_BY_WAITING for reason in reasons_for(piece, seen, need, as_of)
                ):
                    on.append((place, rank))
                    marked = marked or bool(seen.assembly)
        if on:
            found[piece.tag] = piece, _Like(tuple(on), as_compared(piece.mark) if marked else "")
    never = {key for key, members in sets_of(listed).items() if any(m.tag not in found for m in members)}
    return {tag: each for tag, each in found.items() if set_key(each[0]) not in never}


def _sets(hopeful: dict[str, tuple[Candidate, _Like]]) -> dict[SetKey, list[Candidate]]:
    return sets_of(piece for piece, _ in hopeful.values())


def _days_of(piece: Candidate, need: Need, as_of: date) -> Iterator[tuple[date, bool]]:
    """The later loading days on which it changes whether the piece can go, with whether it can from then on.

    On which lines it fits at all is known already, and margin and turn-round are its kind's: any line will do.
    """
    seen = next(line for each in need.lines if (line := as_kind(each, piece.kind)) is not None)
    seen = replace(seen, match="any", assembly="")
    length = need.return_on - need.load_on
    days = {need.load_on.toordinal() + 1}
    for promise in piece.promises:
        if promise.job != need.job:
            days.add(promise.ends.toordinal() + 1)
            days.add(promise.starts.toordinal() - length.days - seen.turn_round_days)
    if piece.arrives_on is not None:
        days.add(piece.arrives_on.toordinal() + 1)
    if piece.fit_until is not None and piece.fit_until != NO_LIMIT:
        days.add(piece.fit_until.toordinal() - length.days - seen.margin_days + 1)
    # A promise without end (9999-12-31) leaves no later day to try.
    last = date.max.toordinal() - length.days - seen.margin_days - seen.turn_round_days
    before = False
    for day in sorted(days):
        if need.load_on.toordinal() < day <= last:
            load_on = date.fromordinal(day)
            is_there = is_fit(piece, seen, replace(need, load_on=load_on, return_on=load_on + length), as_of)
            if is_there != before:
                yield load_on, is_there
                before = is_there


@dataclass(frozen=True, slots=True)
class _Counts:
    """How many there are of each use, and how many whole sets of each make-up; never more than can be used."""

    loose: frozenset[tuple[_Like, int]]
    sets: frozenset[tuple[tuple[_Like, ...], int]]


class _Stock:
    """What can go on a day, counted by use."""

    def __init__(
        self,
        hopeful: dict[str, tuple[Candidate, _Like]],
        in_set: dict[str, SetKey],
        lots: Collection[str],
        room: dict[int, int],
    ) -> None:
        self.hopeful, self.in_set, self.lots, self.room = hopeful, in_set, lots, room
        self.loose: Counter[_Like] = Counter()
        self.sets: Counter[tuple[_Like, ...]] = Counter()
        members: dict[SetKey, list[_Like]] = defaultdict(list)
        for tag, key in in_set.items():
            members[key].append(hopeful[tag][1])
        self.make_up = {key: tuple(sorted(likes)) for key, likes in members.items()}
        self.there: Counter[SetKey] = Counter()

    def put(self, tag: str, is_there: bool) -> None:
        """Note that a piece can go from now on, or that it cannot any more."""
        piece, like = self.hopeful[tag]
        step = 1 if is_there else -1
        key = self.in_set.get(tag)
        if key is None:
            self.loose[like] += step * (max(piece.quantity, 0) if piece.kind in self.lots else 1)
            return
        whole = len(self.make_up[key])
        was = self.there[key] == whole
        self.there[key] += step
        self.sets[self.make_up[key]] += int(self.there[key] == whole) - int(was)

    def counts(self) -> _Counts:
        return _Counts(
            frozenset(
                (like, min(count, _takes(like, self.room))) for like, count in self.loose.items() if count > 0
            ),
            frozenset(
                (likes, most)
                for likes, count in self.sets.items()
                if (most := min(count, _narrowest(likes, self.room)[1])) > 0
            ),
        )


def _takes(like: _Like, room: dict[int, int]) -> int:
    """How many pieces of this use the lines take at most."""
    return sum(room[place] for place, _ in like.lines)


def _narrowest(likes: tuple[_Like, ...], room: dict[int, int]) -> tuple[tuple[int, ...], int]:
    """The lines that let the fewest sets of this make-up go, and how many go at most."""
    return min(
        (
            (tuple(place for place, _ in like.lines), _takes(like, room) // likes.count(like))
            for like in likes
        ),
        key=lambda each: (each[1], each[0]),
    )


def _enough(counts: _Counts, place: int, room: dict[int, int]) -> bool:
    """Whether that many might lie on the line, if little else wanted them: else nobody need be asked."""
    ready = sum(count for like, count in counts.loose if any(p == place for p, _ in like.lines))
    # Sets that must pass the same lines go there at the cost of each other.
    passing: dict[tuple[int, ...], list[tuple[int, int, int]]] = defaultdict(list)
    for likes, count in counts.sets:
        on_line = sum(any(p == place for p, _ in like.lines) for like in likes)
        if on_line:
            through, most = _narrowest(likes, room)
            passing[through].append((count, on_line, most))
    for listed in passing.values():
        together = sum(count * on_line for count, on_line, _ in listed)
        ready += min(together, max(most for *_, most in listed) * max(on_line for _, on_line, _ in listed))
    return ready >= room[place]


def _shortages(need: Need, lines: Sequence[int], counts: _Counts) -> tuple[int, ...]:
    """What each of the lines is short in the best choice; a line that is not proven so counts as short."""
    own = {place: number for number, place in enumerate(lines)}
    slots = list(slots_of(0, need))
    pieces: list[Piece] = []
    likes: list[_Like] = []
    for like, count in sorted(counts.loose):
        pieces.append(Piece(str(len(pieces)), quantity=count, lot=True, mark=like.mark))
        likes.append(like)
    for number, (members, count) in enumerate(sorted(counts.sets)):
        for copy in range(count):
            for like in members:
                pieces.append(Piece(str(len(pieces)), set_name=f"{number}/{copy}", mark=like.mark))
                likes.append(like)
    options = [
        Option(piece.tag, own[place], rank=rank)
        for piece, like in zip(pieces, likes, strict=True)
        for place, rank in like.lines
    ]
    problem = Problem((Job(need.job),), tuple(slots[place] for place in lines), tuple(pieces), tuple(options))
    solution = solve(problem, _AMOUNTS_ALONE)
    return solution.score.shortages if solution.proven else tuple(1 for _ in lines)
