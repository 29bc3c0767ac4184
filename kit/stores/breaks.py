"""What breaks in the plan of a depot, ranked by when it bites, and the one-press mends. The list reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from django.db.models import Q

from kit.models import Custody, Depot, Item, Job, JobState, Reservation, Standing, Transfer
from kit.planning import KitList
from kit.planning.breaks import Break, What, bites_on, ranked
from kit.planning.sets import reasons_on
from kit.stores.act import Act, NotAllowed
from kit.stores.arrival import on_the_way
from kit.stores.current import renew_job, renew_reservation
from kit.stores.knowledge import candidates, needs_of
from kit.stores.loads import loads_of
from kit.stores.morning import broken_by_the_day
from kit.stores.move import move_seen
from kit.stores.rejudge import line_is_full, open_reservations
from kit.stores.reserve import let_go, reserve, substitute

AHEAD_DAYS = 28
"""How far ahead a job that was never promised all its kit counts as a break; what broke counts however far."""

ONLY_A_CHECK = frozenset({"check-due-before-return", "never-checked", "last-check-failed"})
ONLY_THE_WAY = frozenset({"in-transit", "other-depot"})

Help = Literal["take", "let-go", "inspect", "hurry", ""]


@dataclass(frozen=True, slots=True)
class BrokenPiece:
    """A piece that breaks and why. `told`: an entry of the ledger tells of it; else only the day has broken it.

    `help`: "take" the proposed piece, "let-go" (its line is full without it), "inspect" it, "hurry" its transfer.
    """

    reservation: Reservation
    why: str
    told: bool
    help: Help

    @property
    def item(self) -> Item:
        return self.reservation.item

    @property
    def proposed(self) -> Item | None:
        return self.reservation.proposed if self.help == "take" else None

    @property
    def consignment(self) -> Transfer | None:
        """The consignment to hurry; None if it travels on none."""
        line = on_the_way(self.item) if self.help == "hurry" else None
        return line.transfer if line else None


@dataclass(frozen=True, slots=True)
class Found:
    """One break with all that is known of it. `lines` (name, how many) of what was never promised; `waiting` jobs."""

    rank: Break
    job: Job
    pieces: tuple[BrokenPiece, ...] = ()
    lines: tuple[tuple[str, int], ...] = ()
    waiting: tuple[Job, ...] = ()

    @property
    def what(self) -> What:
        return self.rank.what


def breaks_of(depot: Depot, today: date) -> list[Found]:
    """All that breaks in the plan of the depot, what wants mending first at the head."""
    found = [
        *_promises(depot, today),
        *_on_site(depot, today),
        *_late_back(depot, today),
        *_never_promised(depot, today),
    ]
    by_rank = {(each.rank.job, each.rank.what): each for each in found}
    return [by_rank[each.job, each.what] for each in ranked((each.rank for each in found), today)]


def _promises(depot: Depot, today: date) -> list[Found]:
    """Promises that no longer hold, those with them that the day itself has broken."""
    broken = open_reservations().filter(job__depot=depot, standing=Standing.BROKEN)
    rows = list(broken.select_related("proposed__place", *_WITH))
    by_day = [(row, why) for row, why in broken_by_the_day(today) if row.job.depot_id == depot.pk]
    codes = _codes(today, [*rows, *(row for row, _why in by_day)])
    by_job: dict[int, list[BrokenPiece]] = defaultdict(list)
    for row in rows:
        by_job[row.job_id].append(BrokenPiece(row, row.why, True, _help(row, codes[row.pk])))
    for row, why in by_day:
        by_job[row.job_id].append(BrokenPiece(row, why, False, _help(row, codes[row.pk])))
    found = []
    for pieces in by_job.values():
        job = pieces[0].reservation.job
        replaceable = sum(piece.help in ("take", "let-go") for piece in pieces)
        day = bites_on("broken", job.load_on, today)
        rank = Break(job.reference, "broken", day, len(pieces), replaceable, job.priority)
        found.append(Found(rank, job, tuple(pieces)))
    return found


_WITH = ("job__depot", "job__arrangement", "line__kind", "item__kind", "item__depot", "item__transit_to")


def _codes(today: date, rows: Iterable[Reservation]) -> dict[int, frozenset[str]]:
    """By reservation, the codes of all reasons why its item may not be promised to its job."""
    by_job: dict[int, list[Reservation]] = defaultdict(list)
    for row in rows:
        by_job[row.job_id].append(row)
    needs = needs_of(listed[0].job for listed in by_job.values())
    found: dict[int, frozenset[str]] = {}
    for key, listed in by_job.items():
        need = needs[key]
        lines = {line.name: line for line in need.lines}
        for row, piece in zip(
            listed, candidates([row.item for row in listed], today, listed[0].job), strict=True
        ):
            reasons = reasons_on(piece, lines[row.line.name], need, today)
            found[row.pk] = frozenset(reason.code for reason in reasons)
    return found


def _help(row: Reservation, codes: frozenset[str]) -> Help:
    if row.proposed_id is not None:
        return "take"
    if row.standing == Standing.BROKEN and line_is_full(row):
        return "let-go"
    if codes and codes <= ONLY_A_CHECK:
        return "inspect"
    if codes and codes <= ONLY_THE_WAY and row.item.custody == Custody.IN_TRANSIT:
        return "hurry"
    return ""


def _on_site(depot: Depot, today: date) -> list[Found]:
    """Pieces in use that are no longer fit for their job, or whose dates have run out while a van is late."""
    rows = open_reservations().filter(job__depot=depot, standing=Standing.ISSUED)
    by_job: dict[int, list[BrokenPiece]] = defaultdict(list)
    for row in rows.filter(~Q(why="") | Q(item__fit_until__lt=today)):
        why = row.why or (
            f"It was in date until {row.item.fit_until} ({row.item.fit_reason}) and is still out: "
            "nobody may rely on it from that day on."
        )
        by_job[row.job_id].append(BrokenPiece(row, why, bool(row.why), ""))
    found = []
    for pieces in by_job.values():
        job = pieces[0].reservation.job
        day = bites_on("on-site", job.load_on, today)
        rank = Break(job.reference, "on-site", day, len(pieces), 0, job.priority)
        found.append(Found(rank, job, tuple(pieces)))
    return found


def _late_back(depot: Depot, today: date) -> list[Found]:
    """Jobs that should have been back, with the jobs that wait for a piece of theirs."""
    rows = list(
        open_reservations().filter(job__depot=depot, standing=Standing.ISSUED, job__return_on__lt=today)
    )
    wanted = open_reservations().filter(
        item__in={row.item_id for row in rows}, standing__in=[Standing.PROMISED, Standing.BROKEN]
    )
    waiting: dict[int, dict[int, Job]] = defaultdict(dict)
    for wish in wanted.exclude(counted=True):
        waiting[wish.item_id][wish.job_id] = wish.job
    by_job: dict[int, list[Reservation]] = defaultdict(list)
    for row in rows:
        by_job[row.job_id].append(row)
    found = []
    for out in by_job.values():
        job = out[0].job
        jobs = {key: each for row in out for key, each in waiting[row.item_id].items() if key != job.pk}
        unasked = sum(not (set(waiting[row.item_id]) - {job.pk}) for row in out)
        day = bites_on("late-back", job.load_on, today, [each.load_on for each in jobs.values()])
        rank = Break(job.reference, "late-back", day, len(out), unasked, job.priority)
        in_order = sorted(jobs.values(), key=lambda each: (each.load_on, each.reference))
        found.append(Found(rank, job, waiting=tuple(in_order)))
    return found


def _never_promised(depot: Depot, today: date) -> list[Found]:
    """Lines of jobs that load soon for which nothing was ever promised, or was let go."""
    last = today + timedelta(days=AHEAD_DAYS)
    jobs = list(
        Job.objects.filter(depot=depot, state=JobState.PLANNED, load_on__lte=last).select_related(
            "depot", "arrangement"
        )
    )
    loads = loads_of(jobs)
    found = []
    for job in jobs:
        lines = tuple(
            (line.line, line.missing - line.broken)
            for line in loads[job.pk].lines
            if line.missing > line.broken
        )
        if lines:
            day = bites_on("short", job.load_on, today)
            rank = Break(job.reference, "short", day, sum(n for _line, n in lines), 0, job.priority)
            found.append(Found(rank, job, lines=lines))
    return found


# The mends: each is one press. All of them use the actions that the other screens use.


def take_proposed(act: Act, reservation: Reservation, proposed: Item) -> Reservation:
    """Put the proposed piece in the place of one that no longer holds; refused if it holds again by now."""
    _refuse_held(renew_reservation(reservation))
    why = f"proposed in its place; {reservation.why}"
    return substitute(act, reservation, proposed, why)


def let_go_needless(act: Act, reservation: Reservation) -> None:
    """Let go a broken promise whose line is full without it."""
    _refuse_held(renew_reservation(reservation))
    if not line_is_full(reservation):
        raise NotAllowed(
            f"{reservation.line.name} of {reservation.job} is not full any more without {reservation.item.tag}: "
            "reserve anew, or put another piece in its place."
        )
    let_go(act, reservation, f"its line is full without it; {reservation.why}")


def reserve_anew(act: Act, job: Job) -> KitList:
    """Reserve the best choice that there is now; what cannot be filled stays short and is told in the kit list."""
    return reserve(act, renew_job(job))


def move_and_reserve(act: Act, job: Job, load_on: date, return_on: date, revision: int) -> KitList:
    """Move the job as it was shown and reserve the best choice; refused, and nothing moved, if it is not whole then."""
    move_seen(act, job, load_on, return_on, revision, note="moved to the soonest day on which it is whole")
    kit = reserve(act, job)
    if not kit.complete:
        short = sum(line.short for line in kit.lines)
        raise NotAllowed(
            f"{job} would not be whole on {load_on} any more: it would be short of {short}. Something it counted on "
            "has been promised or set aside meanwhile; look for the soonest day again."
        )
    return kit


def expect_back(act: Act, job: Job, return_on: date, revision: int) -> bool:
    """Record that a late van comes back on that day: what waits for its pieces is judged by it."""
    renew_job(job)
    if return_on < act.today:
        raise NotAllowed(f"{return_on} is past: give the day on which {job} is expected back.")
    if not job.reservations.filter(standing=Standing.ISSUED).exists():
        raise NotAllowed(f"Nothing of {job} is out any more: it is not late.")
    return move_seen(act, job, job.load_on, return_on, revision, note="late back; expected anew")


def _refuse_held(reservation: Reservation) -> None:
    if reservation.standing != Standing.BROKEN:
        raise NotAllowed(
            f"{reservation.item.tag} is {reservation.get_standing_display().lower()} for {reservation.job} by now: "
            "there is nothing to mend. Look at the list again."
        )
