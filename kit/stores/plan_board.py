"""The plan of a depot over some days: which job takes which, how its kit stands, what is wanted twice. Reads only."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from django.db.models import Count, Max, Q, Sum

from kit.models import Depot, Item, Job, JobState, Kind, Reservation, Standing, State
from kit.stores.loads import Load, loads_of

How = Literal["late-back", "not-loaded", "out", "broken", "short", "complete"]


@dataclass(frozen=True, slots=True)
class Bar:
    """One job on the plan. `unfit`: pieces on site that are no longer fit for it."""

    job: Job
    load: Load
    unfit: int
    today: date

    @property
    def how(self) -> How:
        """What matters most about it today."""
        if self.job.state == JobState.OUT:
            return "late-back" if self.job.return_on < self.today else "out"
        if self.job.load_on < self.today:
            return "not-loaded"
        if self.load.broken:
            return "broken"
        return "short" if self.load.missing > 0 else "complete"

    def on(self, day: date) -> Literal["job", "late", "turn", ""]:
        """What the day is to it: of the job, past its return and still out, its turn-round, or none of them."""
        if self.job.load_on <= day <= self.job.return_on:
            return "job"
        if self.job.return_on < day <= self.back_on:
            return "late"
        return "turn" if self.back_on < day <= self.taken_until else ""

    @property
    def back_on(self) -> date:
        """The last day on which its kit is away: the return day, or today where that is past and the kit still out."""
        return self.today if self.how == "late-back" else self.job.return_on

    @property
    def taken_until(self) -> date:
        """The last day on which its kit is taken, turn-round days with it."""
        return self.back_on + timedelta(days=self.load.turn_round_days)

    def takes(self, day: date) -> bool:
        return self.job.load_on <= day <= self.taken_until

    def meets(self, other: Bar) -> bool:
        return self.job.load_on <= other.taken_until and other.job.load_on <= self.taken_until


@dataclass(frozen=True, slots=True)
class Rival:
    """A job beside one that lacks a kind: it wants (`lacks`) or has (`holds`) some of it in the same days."""

    job: Job
    lacks: int
    holds: int


@dataclass(frozen=True, slots=True)
class Scarce:
    """A kind that some jobs lack: how many on each day, which jobs lack how many, and by lacking job its rivals."""

    kind: str
    short_on: dict[date, int]
    lacking: tuple[tuple[Job, int], ...]
    rivals: dict[int, tuple[Rival, ...]]

    @property
    def holding(self) -> tuple[tuple[Job, int], ...]:
        """The jobs that hold some of it while another lacks it, with how many."""
        found = {rival.job.pk: (rival.job, rival.holds) for each in self.rivals.values() for rival in each}
        return tuple(sorted((pair for pair in found.values() if pair[1]), key=lambda pair: pair[0].load_on))


@dataclass(frozen=True, slots=True)
class Board:
    """The open jobs of a depot that take a day from `first` to `last`, both with it, by loading day and reference."""

    depot: Depot
    first: date
    last: date
    today: date
    bars: tuple[Bar, ...]
    scarce: tuple[Scarce, ...]

    @property
    def days(self) -> tuple[date, ...]:
        return tuple(self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1))


def monday_of(day: date) -> date:
    return day - timedelta(days=day.weekday())


def board_of(depot: Depot, first: date, weeks: int, today: date, crew: str | None = None) -> Board:
    """The plan of `weeks` weeks from the day `first` on; of one crew only, if that is named.

    What is scarce is told of all the depot's jobs, whichever crew is asked for.
    """
    last = first + timedelta(days=7 * weeks - 1)
    longest = Kind.objects.aggregate(n=Max("turn_round_days"))["n"] or 0
    jobs = Job.objects.filter(depot=depot, state__in=[JobState.PLANNED, JobState.OUT], load_on__lte=last)
    jobs = jobs.filter(Q(return_on__gte=first - timedelta(days=longest)) | Q(state=JobState.OUT))
    listed = list(jobs.select_related("depot", "arrangement"))
    loads = loads_of(listed)
    out = Reservation.objects.filter(job__in=listed, standing=Standing.ISSUED).exclude(why="").order_by()
    unfit = dict(out.values_list("job_id").annotate(n=Count("pk")))
    bars = tuple(Bar(job, loads[job.pk], unfit.get(job.pk, 0), today) for job in listed)
    bars = tuple(bar for bar in bars if bar.taken_until >= first)
    scarce = scarce_of(bars, first, last, stock_of(depot))
    if crew is not None:
        bars = tuple(bar for bar in bars if bar.job.crew == crew)
    return Board(depot, first, last, today, bars, scarce)


def scarce_of(bars: Sequence[Bar], first: date, last: date, stock: Stock) -> tuple[Scarce, ...]:
    """Kinds that a planned job of these lacks on one of the days, by name.

    A job that holds something lacks what reserving did not find. Of a job for which nothing was reserved yet, only
    what is fewer in the depot than all jobs of one of its days need together counts as lacking: the rest it need only
    be given. That looks at numbers alone; which size or mark suits is told by the job's kit list.
    """
    lacking: dict[str, list[tuple[Bar, int]]] = defaultdict(list)
    for bar in bars:
        if bar.job.state == JobState.PLANNED:
            begun = bar.load.promised + bar.load.gone + bar.load.broken > 0
            for kind, n in bar.load.missing_by_kind().items():
                if begun or _overdrawn(kind, bar, bars, stock):
                    lacking[kind].append((bar, n))
    found = []
    for kind, wishes in sorted(lacking.items()):
        short_on: Counter[date] = Counter()
        for bar, n in wishes:
            for day in _days(max(first, bar.job.load_on), min(last, bar.job.return_on)):
                short_on[day] += n
        if short_on:
            lacks = {bar.job.pk: n for bar, n in wishes}
            rivals = {bar.job.pk: _rivals(kind, bar, bars, lacks) for bar, _n in wishes}
            found.append(Scarce(kind, dict(short_on), tuple((bar.job, n) for bar, n in wishes), rivals))
    return tuple(found)


Stock = Mapping[str, Mapping[date, int]]
"""By kind, how many are in date until which day."""


def stock_of(depot: Depot) -> Stock:
    """What is available in the depot or on its way there; lots count with what they hold."""
    here = Item.objects.filter(Q(depot=depot, transit_to=None) | Q(transit_to=depot), state=State.AVAILABLE)
    rows = here.exclude(fit_until=None).values_list("kind__name", "fit_until").annotate(n=Sum("quantity"))
    found: dict[str, dict[date, int]] = defaultdict(dict)
    for kind, fit_until, n in rows.order_by():
        found[kind][fit_until] = n
    return found


def _overdrawn(kind: str, bar: Bar, bars: Iterable[Bar], stock: Stock) -> bool:
    """Whether on one day of the job all jobs together need more of the kind than is in date on it."""
    needs = [(other, other.load.needed_by_kind().get(kind, 0)) for other in bars if other.meets(bar)]
    return any(
        sum(n for other, n in needs if other.takes(day))
        > sum(n for fit_until, n in stock.get(kind, {}).items() if fit_until >= day)
        for day in _days(bar.job.load_on, bar.job.return_on)
    )


def _rivals(kind: str, bar: Bar, bars: Iterable[Bar], lacks: Mapping[int, int]) -> tuple[Rival, ...]:
    found = (
        Rival(other.job, lacks.get(other.job.pk, 0), other.load.held_by_kind().get(kind, 0))
        for other in bars
        if other.job.pk != bar.job.pk and other.meets(bar)
    )
    return tuple(rival for rival in found if rival.lacks or rival.holds)


def _days(first: date, last: date) -> Iterator[date]:
    for n in range((last - first).days + 1):
        yield first + timedelta(days=n)


def crews_of(depot: Depot) -> list[str]:
    """The crews that jobs of the depot name, by name."""
    named = Job.objects.filter(depot=depot).exclude(crew="").order_by("crew")
    return list(named.values_list("crew", flat=True).distinct())
