"""What moving a job would break, free or make whole, told before it is done.

The real action is done and taken back: it runs in a transaction of its own kind and turn, what stands afterwards is
read, and the transaction is rolled back before the act ends, so no entry is ever written and no number is used up. A
second reckoning beside the action would be quicker, and would one day tell something else than what then happens.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from copy import copy
from dataclasses import dataclass
from datetime import date, timedelta
from hashlib import sha256
from typing import TypeVar

from kit.models import OPEN, Job, JobState, Reservation, Standing
from kit.planning import KitList
from kit.stores.act import Act, Who, acting
from kit.stores.current import renew_job
from kit.stores.knowledge import kit_list_of
from kit.stores.loads import Load, loads_of
from kit.stores.plan_job import change_job

T = TypeVar("T")

MOST_OTHERS = 8
"""Of how many other jobs it is told whether they could be made whole; how many are left out is told as well."""


@dataclass(frozen=True, slots=True)
class Stand:
    """One reservation as it stands: what a move may change of it."""

    job: str
    line: str
    tag: str
    quantity: int
    standing: str
    why: str
    proposed: str
    starts: date
    ends: date


Stands = Mapping[int, Stand]


@dataclass(frozen=True, slots=True)
class OtherJob:
    """Another job and how many pieces its best choice lacks, before the move and after it."""

    job: str
    short_before: int
    short_after: int


@dataclass(frozen=True, slots=True)
class Foreseen:
    """What a move brings. `stands` is every open reservation afterwards, by its key; `before` as it is now.

    `breaks` hold now and would not; `heals` hold again; `unfit_out` are on site and would not be fit for their job any
    longer, `fit_out` would be again; `let_go` are given up. `missing_before` and `missing` count what of the job's own
    kit is neither promised nor out, `short` what would still lack if the best choice were reserved afterwards.
    `others` are jobs of the depot whose best choice becomes better or worse; `others_left_out` were not asked.
    """

    job: str
    load_on: date
    return_on: date
    was: tuple[date, date]
    revision: int
    breaks: tuple[Stand, ...]
    heals: tuple[Stand, ...]
    unfit_out: tuple[Stand, ...]
    fit_out: tuple[Stand, ...]
    let_go: tuple[Stand, ...]
    missing_before: int
    missing: int
    kit: KitList
    others: tuple[OtherJob, ...]
    others_left_out: int
    before: Stands
    stands: Stands

    @property
    def changes(self) -> bool:
        return (self.load_on, self.return_on) != self.was

    @property
    def short(self) -> int:
        return short_of(self.kit)

    @property
    def whole(self) -> bool:
        """Whether the job would have all its kit once the best choice is reserved."""
        return self.kit.complete and not any(each.job == self.job for each in self.unfit_out)

    @property
    def gives(self) -> str:
        """A mark of all that would change its standing: a press that names it does nothing else than was shown."""
        return gives_of(self.before, self.stands)

    @property
    def frees(self) -> tuple[tuple[date, date, int], ...]:
        """Spans of days on which pieces that the job holds now would be free: (first, last, how many pieces)."""
        holding = (Standing.PROMISED, Standing.ISSUED)
        spans: Counter[tuple[date, date]] = Counter()
        for key, old in self.before.items():
            if old.job != self.job or old.standing not in holding:
                continue
            new = self.stands.get(key)
            if new is None or new.standing not in holding or new.starts > old.ends or new.ends < old.starts:
                spans[old.starts, old.ends] += old.quantity
                continue
            if new.starts > old.starts:
                spans[old.starts, new.starts - timedelta(days=1)] += old.quantity
            if new.ends < old.ends:
                spans[new.ends + timedelta(days=1), old.ends] += old.quantity
        return tuple((first, last, n) for (first, last), n in sorted(spans.items()))

    @property
    def reserving_helps(self) -> bool:
        """Whether reserving the best choice after the move would fill something that the move leaves open."""
        return self.short < self.missing

    @property
    def nothing_gives(self) -> bool:
        changed = (
            self.breaks,
            self.heals,
            self.unfit_out,
            self.fit_out,
            self.let_go,
            self.others,
            self.frees,
        )
        return self.changes and not any(changed)

    @property
    def gain(self) -> tuple[OtherJob, ...]:
        return tuple(each for each in self.others if each.short_after < each.short_before)

    @property
    def lose(self) -> tuple[OtherJob, ...]:
        return tuple(each for each in self.others if each.short_after > each.short_before)


@dataclass(frozen=True, slots=True)
class Swings:
    """Of all that is promised: what holds now and would not, holds again, and is on site and would suit no longer."""

    breaks: tuple[Stand, ...]
    heals: tuple[Stand, ...]
    unfit_out: tuple[Stand, ...]

    @property
    def none(self) -> bool:
        return not (self.breaks or self.heals or self.unfit_out)


class _TakenBack(Exception):
    """Ends a rehearsal: the transaction rolls back."""


def rehearse(who: Who, do: Callable[[Act], T]) -> T:
    """The result of `do` as it would be, with all that it wrote taken back. Raises what it raises."""
    found: list[T] = []
    try:
        with acting(who) as act:
            found.append(do(act))
            raise _TakenBack
    except _TakenBack:
        return found[0]


def foresee_move(who: Who, job: Job, load_on: date, return_on: date, others: bool = True) -> Foreseen:
    """What changing the job's window to these days would bring. Nothing is written.

    `others`: whether to ask what other jobs could make of it. Raises NotAllowed where the change would.
    """
    return rehearse(who, lambda act: _move(act, job, load_on, return_on, others))


def _move(act: Act, job: Job, load_on: date, return_on: date, others: bool) -> Foreseen:
    job = renew_job(copy(job))
    was = (job.load_on, job.return_on)
    before, load = stands_now(), loads_of([job])[job.pk]
    asked, left_out = _others(job, (load_on, return_on)) if others else ([], 0)
    shorts = {each.pk: short_of(kit_list_of(each, act.today, mend="nothing")) for each in asked}
    revision = job.revision
    change_job(act, job, load_on=load_on, return_on=return_on)
    after = stands_now()
    changed = [(before[pk], after[pk]) for pk in before.keys() & after.keys() if before[pk] != after[pk]]
    changed.sort(key=lambda pair: (pair[1].starts, pair[1].job, pair[1].line, pair[1].tag))

    def those(test: Callable[[Stand, Stand], bool]) -> tuple[Stand, ...]:
        return tuple(new for old, new in changed if test(old, new))

    out = Standing.ISSUED
    return Foreseen(
        job=job.reference,
        load_on=load_on,
        return_on=return_on,
        was=was,
        revision=revision,
        breaks=those(lambda old, new: old.standing == Standing.PROMISED and new.standing == Standing.BROKEN),
        heals=those(lambda old, new: old.standing == Standing.BROKEN and new.standing == Standing.PROMISED),
        unfit_out=those(lambda old, new: new.standing == out and bool(new.why) and not old.why),
        fit_out=those(lambda old, new: new.standing == out and bool(old.why) and not new.why),
        let_go=tuple(before[pk] for pk in sorted(before.keys() - after.keys())),
        missing_before=load.missing,
        missing=loads_of([job])[job.pk].missing,
        kit=kit_list_of(job, act.today),
        others=_compared(act, asked, shorts),
        others_left_out=left_out,
        before=before,
        stands=after,
    )


def stands_now() -> dict[int, Stand]:
    """Every open reservation of every depot: a piece promised elsewhere may come from here."""
    rows = Reservation.objects.filter(standing__in=OPEN).values_list(
        "pk",
        "job__reference",
        "line__name",
        "item__tag",
        "quantity",
        "standing",
        "why",
        "proposed__tag",
        "starts",
        "ends",
    )
    return {
        pk: Stand(job, line, tag, quantity, standing, why, proposed or "", starts, ends)
        for pk, job, line, tag, quantity, standing, why, proposed, starts, ends in rows
    }


def swings_of(before: Stands, after: Stands) -> Swings:
    """What stands otherwise between the two, the first to load first."""
    pairs = [(before[pk], after[pk]) for pk in sorted(before.keys() & after.keys())]
    pairs.sort(key=lambda pair: (pair[1].starts, pair[1].job, pair[1].line, pair[1].tag))

    def went(old: str, new: str) -> tuple[Stand, ...]:
        return tuple(then for was, then in pairs if (was.standing, then.standing) == (old, new))

    out = Standing.ISSUED
    return Swings(
        breaks=went(Standing.PROMISED, Standing.BROKEN),
        heals=went(Standing.BROKEN, Standing.PROMISED),
        unfit_out=tuple(then for was, then in pairs if then.standing == out and then.why and not was.why),
    )


def short_of(kit: KitList) -> int:
    return sum(line.short for line in kit.lines)


def gives_of(before: Stands, after: Stands) -> str:
    """A mark (SHA-256) of which reservations change their standing between the two, and to what."""
    told = sorted(
        (
            key,
            old.standing,
            after[key].standing if key in after else "",
            bool(key in after and after[key].why),
        )
        for key, old in before.items()
        if key not in after or (old.standing, bool(old.why)) != (after[key].standing, bool(after[key].why))
    )
    return sha256(repr(told).encode()).hexdigest()


def _others(job: Job, window: tuple[date, date]) -> tuple[list[Job], int]:
    """Planned jobs of the depot that lack something and touch the old window or the new one, and how many were left.

    A job that lacks nothing can gain nothing; what it would lose is among what breaks.
    """
    first, last = min(job.load_on, window[0]), max(job.return_on, window[1])
    beside = Job.objects.filter(depot=job.depot_id, state=JobState.PLANNED, load_on__lte=last)
    beside = beside.filter(return_on__gte=first).exclude(pk=job.pk).select_related("depot", "arrangement")
    listed = list(beside.order_by("load_on", "reference"))
    loads: Mapping[int, Load] = loads_of(listed)
    lacking = [each for each in listed if loads[each.pk].missing > 0]
    return lacking[:MOST_OTHERS], max(0, len(lacking) - MOST_OTHERS)


def _compared(act: Act, jobs: Iterable[Job], before: Mapping[int, int]) -> tuple[OtherJob, ...]:
    found = (
        OtherJob(each.reference, before[each.pk], short_of(kit_list_of(each, act.today, mend="nothing")))
        for each in jobs
    )
    return tuple(each for each in found if each.short_before != each.short_after)
