"""The fewest changes found the long way: every set of changes is made to the register, and every placing tried.

Written from the rules in words; shares nothing with the code under test but the values. `Asked` is one small question.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from itertools import combinations, product

from kit.planning.refusal import Known, OtherJob
from kit.planning.values import Candidate, Held, Need, Promise
from tests.kit.planning.coupled_by_hand import ByHand, codes_alone, seen_by

Act = tuple  # ("0".."4", tag) for what is done to a piece; ("5", job, days, earlier) for a job moved
RANK = {"inspect": 0, "bring": 1, "bring unrecorded": 2, "hurry": 3, "release": 4, "move": 5}
DAY = timedelta(days=1)


def span(first: date, last: date) -> set[date]:
    return {first + n * DAY for n in range((last - first).days + 1)}


@dataclass
class Asked:
    need: Need
    register: tuple[Candidate, ...]
    as_of: date
    held: tuple[Held, ...]
    known: Known
    placings: dict = field(default_factory=dict)
    seen: dict = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.held_tags = {each.tag for each in self.held}
        self.last = max(self.need.load_on - DAY, self.as_of)
        self.pieces = {piece.tag: piece for piece in self.register}

    # What each line may get ------------------------------------------------------------------------------------

    def amounts(self, register: Mapping[str, Candidate]) -> set[tuple[int, ...]]:
        """For each placing that is allowed, how many each line gets beside what is held."""
        key = tuple(map(self._seen, register.values()))
        if key not in self.placings:
            asked = ByHand(self.need, list(register.values()), self.as_of, self.held)
            self.placings[key] = {
                tuple(
                    sum(n for (_, at), n in placing.items() if at == place)
                    for place in range(len(self.need.lines))
                )
                for placing in asked._placings()
                if asked._whole(placing) and asked.made_up(placing)
            }
        return self.placings[key]

    def _seen(self, piece: Candidate) -> tuple:
        """All of a piece that matters to placing it; kept, because the same pieces come again and again."""
        if piece not in self.seen:
            alone = ByHand(self.need, [piece], self.as_of, self.held)
            self.seen[piece] = piece.tag, piece.depot, tuple(alone.fits(piece))
        return self.seen[piece]

    # Jobs moved ------------------------------------------------------------------------------------------------

    def moves_of(self, job: OtherJob) -> Iterator[int]:
        """By how many days the job could be moved, each move by itself."""
        if not job.may_move or job.priority > self.known.priority:
            return
        for days in range(-self.known.most_days, self.known.most_days + 1):
            if days and job.need.load_on + days * DAY >= self.as_of and self._as_full(job, days):
                yield days

    def _as_full(self, job: OtherJob, days: int) -> bool:
        return all(self._holds(job, each, days) or not self._holds(job, each, 0) for each in job.held)

    def _holds(self, job: OtherJob, each: Held, days: int) -> bool:
        piece = self.pieces[each.tag]
        line = next(line for line in job.need.lines if line.name == each.line)
        moved = replace(
            job.need, load_on=job.need.load_on + days * DAY, return_on=job.need.return_on + days * DAY
        )
        seen = seen_by(line, piece.kind)
        return seen is not None and not codes_alone(piece, seen[1], moved, self.as_of)

    def move_sets(self) -> Iterator[dict[str, int]]:
        """Every choice of jobs to be moved, such that no piece is then on two moved jobs on one day."""
        choices = [(job.need.job, (0, *self.moves_of(job))) for job in self.known.jobs]
        for days in product(*(listed for _, listed in choices)):
            moved = {job: n for (job, _), n in zip(choices, days, strict=True) if n}
            if all(self._apart(piece, moved) for piece in self.register):
                yield moved

    @staticmethod
    def _apart(piece: Candidate, moved: Mapping[str, int]) -> bool:
        seen: set[date] = set()
        for promise in piece.promises:
            if promise.job in moved:
                days = span(promise.starts, promise.ends)
                days = {each + moved[promise.job] * DAY for each in days}
                if seen & days:
                    return False
                seen |= days
        return True

    # Pieces changed --------------------------------------------------------------------------------------------

    def works(self, piece: Candidate) -> list[str]:
        """What may be done to a piece: the sorts of work."""
        found = []
        if not any(seen_by(line, piece.kind) for line in self.need.lines):
            return found
        if any(gate.status != "failed" for gate in piece.gates):
            found.append("inspect")
        on_its_way = piece.custody == "in-transit"
        if piece.depot != self.need.depot and not on_its_way:
            found.append(
                "bring" if (piece.depot, self.need.depot) in self.known.link_days else "bring unrecorded"
            )
        if on_its_way and piece.transit_to == self.need.depot:
            found.append("hurry")
        if piece.state == "quarantined":
            found.append("release")
        return found

    def after(self, piece: Candidate, works: frozenset[str]) -> Candidate | None:
        """The piece once these are done to it, its promises being moved already; None if they cannot be, in time."""
        others = [p for p in piece.promises if p.job != self.need.job]
        before = [p.ends for p in others if p.ends < self.need.load_on]
        if piece.kind == "seal" or piece.kind == "tape":
            before, others = [], []
        done = piece
        test_days = [self.last]
        first = self.as_of
        if "hurry" in works:
            if self.last >= self.need.load_on:
                return None
            done = replace(done, arrives_on=self.last)
            first = self.last
        elif piece.custody == "in-transit" and piece.arrives_on:
            first = max(first, piece.arrives_on)
        if bring := {"bring", "bring unrecorded"} & works:
            lead = self.known.link_days.get((piece.depot, self.need.depot), 0)
            leave = self.need.load_on - (1 + lead) * DAY
            if bring and (leave < first or any(p.ends >= leave for p in others)):
                return None
            if piece.set_name and any(
                mate.depot != piece.depot or mate.custody == "in-transit"
                for mate in self.register
                if mate.set_name == piece.set_name and mate.tag not in self.held_tags
            ):
                return None
            done = replace(done, depot=self.need.depot)
            test_days = [leave, self.last]
        if "release" in works:
            done = replace(done, state="available")
        if "inspect" in works:
            test_days = [day for day in test_days if day >= first and all(day > end for end in before)]
            passed = [self._passed(done, day) for day in test_days]
            return next((each for each in passed if each is not None), None)
        return done

    def _passed(self, piece: Candidate, day: date) -> Candidate | None:
        """The piece with all checks passed that do not hold until the return; None if a pass would not do either."""
        margins = {
            seen[1].margin_days for line in self.need.lines if (seen := seen_by(line, piece.kind)) is not None
        }
        until = self.need.return_on + min(margins, default=0) * DAY
        gates = []
        for gate in piece.gates:
            if gate.status == "failed" or (gate.status == "dated" and not gate.note and gate.due_on >= until):
                gates.append(gate)
                continue
            due = (
                date(2100, 1, 1)
                if self.known.renewals is None
                else self.known.renewals.get((piece.tag, gate.check), {}).get(day)
            )
            if due is None or due < until:
                return None
            gates.append(replace(gate, status="dated", due_on=due, last_done=day, note=""))
        return replace(piece, gates=tuple(gates))

    def sets_whole(self, done: Mapping[str, frozenset[str]]) -> bool:
        """Whether no set is parted by what is brought."""

        def brought(tag: str) -> bool:
            return bool(done.get(tag, frozenset()) & {"bring", "bring unrecorded"})

        return all(
            brought(mate.tag)
            for piece in self.register
            if piece.set_name and brought(piece.tag) and piece.tag not in self.held_tags
            for mate in self.register
            if (mate.set_name, mate.depot) == (piece.set_name, piece.depot) and mate.tag not in self.held_tags
        )

    # The answer ------------------------------------------------------------------------------------------------

    def best(self, fill: list[int], now: tuple[int, ...]) -> tuple:
        """The order of the best set of changes: (bought in all, bought by line, how many, sorts from the least liked,
        days moved, moved earlier, changes in order)."""
        best: tuple | None = None
        for moved in self.move_sets():
            register = {
                piece.tag: replace(
                    piece,
                    promises=tuple(
                        Promise(
                            p.job,
                            p.starts + moved.get(p.job, 0) * DAY,
                            p.ends + moved.get(p.job, 0) * DAY,
                            p.issued,
                        )
                        for p in piece.promises
                    ),
                )
                for piece in self.register
            }
            acts = [(piece.tag, sort) for piece in self.register for sort in self.works(piece)]
            acts = [act for act in acts if act[0] not in self.held_tags or self.pieces[act[0]].quantity > 1]
            for size in range(len(acts) + 1):
                # Nothing bought and no more changes than these: a greater set is no better.
                if best is not None and best[0] == 0 and size + len(moved) > best[2]:
                    break
                for chosen in combinations(acts, size):
                    key = self._order(fill, now, register, chosen, moved)
                    if key is not None and (best is None or key < best):
                        best = key
        assert best is not None
        return best

    def _order(self, fill, now, register, chosen, moved) -> tuple | None:
        done: dict[str, frozenset[str]] = {}
        for tag, sort in chosen:
            done[tag] = done.get(tag, frozenset()) | {sort}
        if not self.sets_whole(done):
            return None
        after = dict(register)
        for tag, works in done.items():
            if (changed := self.after(register[tag], works)) is None:
                return None
            after[tag] = changed
        wanted = [
            max(line.quantity - sum(h.quantity for h in self.held if h.line == line.name), 0)
            for line in self.need.lines
        ]
        shortages = [
            tuple(wanted[place] - amounts[place] for place in fill)
            for amounts in self.amounts(after)
            if all(got >= had for got, had in zip(amounts, now, strict=True))
        ]
        if not shortages:
            return None
        short = min(shortages, key=lambda each: (sum(each), each))
        return order_of(
            short,
            [(RANK[sort], tag) for tag, sort in chosen],
            [(job, days) for job, days in moved.items()],
        )


def order_of(short: tuple[int, ...], works: list[tuple[int, str]], moved: list[tuple[str, int]]) -> tuple:
    counts = [sum(rank == each for rank, _ in works) for each in (4, 3, 2, 1)]
    acts = sorted([*((rank, tag) for rank, tag in works), *((5, job, abs(n), n < 0) for job, n in moved)])
    return (
        sum(short),
        short,
        len(acts),
        len(moved),
        sum(abs(n) for _, n in moved),
        sum(n < 0 for _, n in moved),
        *counts,
        acts,
    )
