"""Which piece may go where once a check is done or the piece is sent, and on which days that may be."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence, Set
from dataclasses import replace
from datetime import date, timedelta

from kit.planning.as_slots import kinds_of, option_of, places_of_width
from kit.planning.exact import Option, Problem, Work, meet
from kit.planning.rearranging.season import Season, WorkToDo
from kit.planning.reasons import is_fit
from kit.planning.values import Candidate, Gate, Line, Need

BENCH_DAYS = 10


def after_checks(candidate: Candidate, done: Mapping[str, tuple[date, date]]) -> Candidate:
    """The piece as it will be once checks are passed; `done`: check -> (day done, day due next)."""
    gates = tuple(
        Gate(gate.check, "dated", done[gate.check][1], done[gate.check][0]) if gate.check in done else gate
        for gate in candidate.gates
    )
    return replace(candidate, gates=gates)


def free_from(candidate: Candidate, as_of: date) -> date | None:
    """The first day on which something can be done to the piece; None if it is not known when it is at hand."""
    first = as_of
    for promise in candidate.promises:
        if promise.issued and promise.ends < as_of:
            return None
        first = max(first, promise.ends + timedelta(days=1))
    out = candidate.custody == "on-site" and not any(promise.issued for promise in candidate.promises)
    return None if out or candidate.custody == "in-transit" or candidate.state != "available" else first


class Adding:
    """Goes over some slots once more and adds what works would bring."""

    def __init__(
        self,
        season: Season,
        asked: Problem,
        stays: Mapping[str, Sequence[Option]],
        slots: Set[int],
        promised: Set[tuple[str, int]],
    ) -> None:
        """`stays`: by piece, what it is given to and stays on; `slots`: where any piece may help; `promised`: where
        that piece may (tag, slot).
        """
        self.season, self.asked, self.stays = season, asked, stays
        self.slots, self.promised = slots, promised
        self.units = places_of_width(season.candidates)
        self.works: dict[str, Work] = {}
        self.named: dict[str, WorkToDo] = {}
        self.by_tag: dict[str, list[str]] = defaultdict(list)
        self.options: list[Option] = []
        self.by_kind: dict[str, list[Candidate]] = defaultdict(list)
        lots = {piece.tag for piece in asked.pieces if piece.lot}
        self.free: dict[str, date] = {}
        self.days: dict[str, set[date]] = defaultdict(set)
        for candidate in season.candidates:
            first = free_from(candidate, season.as_of)
            if candidate.tag not in lots and not candidate.set_name and first is not None:
                self.by_kind[candidate.kind].append(candidate)
                self.free[candidate.tag] = first

    def result(self) -> tuple[Problem, dict[str, WorkToDo]]:
        """The question with these options, and what each key of a work stands for."""
        hopeful = list(self._hopeful())
        # A check done for one job serves a later one: each may count on the days that any of them gives.
        for _, _, _, need, candidate in hopeful:
            if candidate.depot == need.depot:
                self.days[candidate.tag].update(self._days_before(need, self.free[candidate.tag]))
        for each in hopeful:
            self._add(*each)
        options = [*self.asked.options, *self.options]
        problem = replace(
            self.asked,
            options=tuple(self._barred(option) for option in options),
            works=tuple(self.works[key] for key in sorted(self.works)),
            pools=tuple(
                (f"{depot} {day}", self.season.bench_a_day[depot])
                for depot, day in sorted(
                    {(work.depot, work.on) for work in self.named.values() if work.what == "check"}
                )
            ),
        )
        return problem, self.named

    def _hopeful(self) -> Iterator[tuple[int, int, Line, Need, Candidate]]:
        """(slot, rank, line as the kind sees it, need, piece) where a work might help."""
        offered = {(option.piece, option.slot) for option in self.asked.options}
        slot = 0
        for movable in self.season.jobs:
            for line in movable.need.lines:
                for rank, seen in kinds_of(line):
                    for candidate in self.by_kind.get(seen.kind, ()):
                        key = candidate.tag, slot
                        if key not in offered and (slot in self.slots or key in self.promised):
                            yield slot, rank, seen, movable.need, candidate
                slot += 1

    def _add(self, slot: int, rank: int, line: Line, need: Need, candidate: Candidate) -> None:
        if candidate.depot == need.depot:
            found = self._by_checks(line, need, candidate)
        else:
            found = self._by_transfer(line, need, candidate)
        if found is None:
            return
        groups, then = found
        option = replace(option_of(then, slot, line, rank, need, self.units), works=groups)
        if not any(meet(option, other) for other in self.stays.get(candidate.tag, ())):
            self.options.append(option)

    def _by_checks(
        self, line: Line, need: Need, candidate: Candidate
    ) -> tuple[tuple[tuple[str, ...], ...], Candidate] | None:
        """Which checks would let the piece go: for each, the works of which one is needed, and the piece then.

        What it counts in days left is as if they were done on the last of these days.
        """
        if not self.season.bench_a_day.get(candidate.depot):
            return None
        until = need.return_on + timedelta(days=line.margin_days)
        groups = []
        done: dict[str, tuple[date, date]] = {}
        for gate in candidate.gates:
            if gate.status == "dated" and not gate.waits and gate.due_on is not None and gate.due_on >= until:
                continue
            holds = self.season.renewals.get((candidate.tag, gate.check), {})
            days = [
                day
                for day in sorted(self.days[candidate.tag])
                if day < need.load_on
                and holds.get(day) is not None
                and holds[day] >= until
                and not self._is_out(candidate, day)
            ]
            if gate.status == "failed" or not days:
                return None
            groups.append((gate.check, days))
            done[gate.check] = days[-1], holds[days[-1]]
        then = after_checks(candidate, done)
        if not groups or not is_fit(then, line, need, self.season.as_of):
            return None
        return tuple(
            tuple(self._check(candidate, check, day) for day in days) for check, days in groups
        ), then

    def _is_out(self, candidate: Candidate, day: date) -> bool:
        stays = self.stays.get(candidate.tag, ())
        return any(stay.starts <= day.toordinal() <= stay.ends for stay in stays)

    def _days_before(self, need: Need, first: date) -> Iterator[date]:
        for ahead in range(min(BENCH_DAYS, (need.load_on - first).days), 0, -1):
            yield need.load_on - timedelta(days=ahead)

    def _check(self, candidate: Candidate, check: str, day: date) -> str:
        return self._work(
            WorkToDo("check", candidate.tag, day, candidate.depot, check=check),
            group=f"check {candidate.tag} {check}",
            pool=f"{candidate.depot} {day}",
        )

    def _by_transfer(
        self, line: Line, need: Need, candidate: Candidate
    ) -> tuple[tuple[tuple[str, ...], ...], Candidate] | None:
        """On which days the piece could be sent so that it is there before loading, and the piece then."""
        lead = self.season.link_days.get((candidate.depot, need.depot))
        if lead is None:
            return None
        then = replace(candidate, depot=need.depot)
        if not is_fit(then, line, need, self.season.as_of):
            return None
        last = need.load_on - timedelta(days=1 + lead)
        days = [day for day in self._sending_days(candidate, need.depot, lead) if day <= last]
        if not days:
            return None
        return (tuple(self._transfer(candidate, need.depot, day, lead) for day in days),), then

    def _sending_days(self, candidate: Candidate, depot: str, lead: int) -> list[date]:
        """Days worth sending on: the latest for each loading at the other depot. An earlier one brings no more."""
        first = self.free[candidate.tag]
        # What it stays on at its own depot comes before.
        for stay in self.stays.get(candidate.tag, ()):
            first = max(first, date.fromordinal(stay.ends) + timedelta(days=1))
        return sorted(
            {
                day
                for movable in self.season.jobs
                if movable.need.depot == depot
                and (day := movable.need.load_on - timedelta(days=1 + lead)) >= first
            }
        )

    def _transfer(self, candidate: Candidate, depot: str, day: date, lead: int) -> str:
        work = WorkToDo(
            "transfer",
            candidate.tag,
            day,
            candidate.depot,
            to_depot=depot,
            arrives_on=day + timedelta(days=lead),
        )
        return self._work(work, group=f"transfer {candidate.tag}", pool="")

    def _work(self, work: WorkToDo, group: str, pool: str) -> str:
        # Keys sort by day, the latest first: what need not be done yet is not asked for.
        key = f"{date.max.toordinal() - work.on.toordinal():07} {work.what} {work.tag} {work.check}{work.to_depot}"
        if key not in self.works:
            self.works[key] = Work(key, group, pool)
            self.named[key] = work
            self.by_tag[work.tag].append(key)
        return key

    def _barred(self, option: Option) -> Option:
        """The option with the works that keep the piece from it: it cannot be out and on the bench, or sent away."""
        keys = self.by_tag.get(option.piece)
        if not keys:
            return option
        needed = {key for group in option.works for key in group}
        here = self._depot_of(option)
        barred = []
        for key in keys:
            work = self.named[key]
            day = work.on.toordinal()
            if key in needed:
                continue
            if needed and work.what != self.named[next(iter(needed))].what:
                barred.append(key)
                continue
            if work.what == "check" and option.starts <= day <= option.ends:
                barred.append(key)
            if work.what == "transfer" and work.depot == here and day <= option.ends:
                barred.append(key)
        return replace(option, barred_by=tuple(sorted(barred)))

    def _depot_of(self, option: Option) -> str:
        return self.season.jobs[self.asked.slots[option.slot].job].need.depot
