"""A recount of who may go on a job, who is refused and why, and which choice is the best: by trying every one.

Slow, plain, and written from the design page alone, without sight of the code it checks, so that both are unlikely to
be wrong in the same way.
"""

from __future__ import annotations

import calendar
import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from tests.recount.rows import Check, Due, Item, Job, Line, Promise, Register

UNLIMITED_DAYS = 36_525

# When a check is due ------------------------------------------------------------------------------------------------


def add(day: date, months: int, days: int) -> date:
    """Months first, clipped to the last day of the month, then days."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    clipped = min(day.day, calendar.monthrange(year, month + 1)[1])
    return date(year, month + 1, clipped) + timedelta(days=days)


def due_of(register: Register, item: Item, check: Check, as_of: date) -> Due:
    records = [
        r for r in register.records if r.tag == item.tag and r.check == check.name and r.done_on <= as_of
    ]
    if not records:
        return Due(check, None, None, False)
    latest = records[0]
    for record in records[1:]:
        if record.done_on >= latest.done_on:
            latest = record
    if latest.verdict != "pass":
        return Due(check, latest.done_on, latest.done_on, True)
    if not check.anchor:
        return Due(check, latest.done_on, add(latest.done_on, check.months, check.days), False)
    first = min(record.done_on for record in records)
    steps = 1
    while True:
        point = add(first, steps * check.months, steps * check.days)
        if point > latest.done_on + timedelta(days=check.early_days):
            return Due(check, latest.done_on, point, False)
        steps += 1


def dues_of(register: Register, item: Item, as_of: date) -> list[Due]:
    key = (item.tag, as_of)
    if key not in register.dues:
        checks = register.checks.get(item.kind, [])
        register.dues[key] = [due_of(register, item, check, as_of) for check in checks]
    return register.dues[key]


def fit_until(register: Register, item: Item, as_of: date) -> date | None:
    """The earliest limit; None where no date limits the item. Meant for items that are not refused."""
    limits = [due.due_on for due in dues_of(register, item, as_of) if due.check.gates and due.due_on]
    if item.use_by:
        limits.append(item.use_by)
    return min(limits, default=None)


# Who is refused, and why --------------------------------------------------------------------------------------------


Reasons = list[tuple[str, date | None]]


@dataclass(frozen=True)
class Window:
    load_on: date
    return_on: date


def window_of(register: Register, promise: Promise) -> Window:
    """What a promise holds the item for; from the day it was issued if that was before loading."""
    job = register.jobs[promise.job]
    return Window(min(job.load_on, promise.out_since or job.load_on), job.return_on)


def clash(turn_round: timedelta, one: Window, other: Window) -> bool:
    """Both ends belong to a window, and whichever job is the earlier one is followed by the turn-round days."""
    return one.load_on <= other.return_on + turn_round and other.load_on <= one.return_on + turn_round


def turn_round_of(register: Register, item: Item) -> timedelta:
    return timedelta(days=register.kinds[item.kind].turn_round_days)


def to_others(register: Register, item: Item, job: Job) -> list[Promise]:
    return [p for p in register.promises if p.tag == item.tag and p.job != job.reference and not p.back]


def free_quantity(register: Register, item: Item, job: Job) -> int:
    """How many of an item the job may have, those included that it holds already.

    What is counted is used up: pieces promised to any other job are gone, whenever that job is. What has been issued
    has left the stock.
    """
    if not register.kinds[item.kind].counted:
        return 1
    mine = sum(
        p.quantity for p in register.promises if p.tag == item.tag and p.job == job.reference and p.out_since
    )
    return item.quantity + mine - sum(p.quantity for p in to_others(register, item, job) if not p.out_since)


def promise_reasons(register: Register, item: Item, job: Job, window: Window, as_of: date) -> Reasons:
    """One reason for each promise in the way, with the last day of it; a piece that is overdue has no such day."""
    turn_round = turn_round_of(register, item)
    counted = register.kinds[item.kind].counted
    found: Reasons = []
    if counted and free_quantity(register, item, job) > 0:
        return found
    for promise in to_others(register, item, job):
        held = window_of(register, promise)
        last = held.return_on + turn_round
        if promise.out_since and last < as_of:
            found.append(("on-site", None))
        elif counted or clash(turn_round, window, held):
            found.append(("on-site" if promise.out_since else "promised-elsewhere", last))
    return found


def place_reasons(item: Item, job: Job, window: Window, as_of: date) -> Reasons:
    """Not at the job's depot, and not there by transfer before loading either."""
    found: Reasons = []
    if item.sent_to:
        assert item.arrives_on
        if item.sent_to == job.depot and as_of <= item.arrives_on < window.load_on:
            return []
        found.append(("in-transit", item.arrives_on if item.sent_to == job.depot else None))
    if item.depot != job.depot:
        found.append(("other-depot", None))
    return found


def date_reasons(register: Register, item: Item, window: Window, as_of: date) -> Reasons:
    """Out of date before the return and the margin of the kind, or not known to be in date at all."""
    found: Reasons = []
    needed_until = window.return_on + timedelta(days=register.kinds[item.kind].margin_days)
    if item.use_by and item.use_by < needed_until:
        found.append(("use-by-before-return", item.use_by))
    for due in dues_of(register, item, as_of):
        if not due.check.gates:
            continue
        if due.due_on is None:
            found.append(("never-checked", None))
        elif due.failed:
            found.append(("last-check-failed", due.due_on))
        elif due.due_on < needed_until:
            found.append(("check-due-before-return", due.due_on))
    return found


def reasons(register: Register, item: Item, line: Line, job: Job, window: Window, as_of: date) -> Reasons:
    """All reasons, with their dates; empty if the item may go."""
    found = date_reasons(register, item, window, as_of)
    if item.state != "available":
        found.append((item.state, None))
    found += promise_reasons(register, item, job, window, as_of)
    if "bore" in line.match and not (
        job.bore is not None
        and item.bore_min is not None
        and item.bore_max is not None
        and item.bore_min <= job.bore <= item.bore_max
    ):
        found.append(("wrong-bore", None))
    if "mark" in line.match and not (item.mark and item.mark.casefold() == job.mark.casefold()):
        found.append(("wrong-mark", None))
    return found + place_reasons(item, job, window, as_of)


# The choice ---------------------------------------------------------------------------------------------------------


@dataclass
class Piece:
    """What may be chosen from: so many of one item, for these lines (by place)."""

    tag: str
    quantity: int
    lines: frozenset[int]
    days: int
    width: Decimal


Choice = dict[int, list[str]]  # place of a line -> tags, one a piece
MEMORY: dict[Any, Choice] = {}  # choices found already, by all that they depend on


def ways(quantity: int, places: list[int], short: dict[int, int]) -> Iterator[dict[int, int]]:
    """All ways to give up to `quantity` to these lines, none more than it is still short of."""
    for counts in itertools.product(*(range(min(quantity, short[place]) + 1) for place in places)):
        if sum(counts) <= quantity:
            yield dict(zip(places, counts, strict=True))


def all_choices(pieces: list[Piece], short: dict[int, int]) -> Iterator[list[dict[int, int]]]:
    """Every way to give the pieces to the lines: for each piece, how many of it go to which line."""
    if not pieces:
        yield []
        return
    for counts in ways(pieces[0].quantity, sorted(pieces[0].lines), short):
        rest = {place: open_yet - counts.get(place, 0) for place, open_yet in short.items()}
        for others in all_choices(pieces[1:], rest):
            yield [counts, *others]


def best_choice(pieces: list[Piece], needs: dict[int, int], held: Choice) -> Choice:
    """Of all choices the first by the design's order; `needs` is what the held pieces leave open of each line."""
    best: tuple[Any, Choice] | None = None
    for given in all_choices(pieces, needs):
        short = dict(needs)
        days, width = 0, Decimal(0)
        chosen: Choice = {place: list(held[place]) for place in needs}
        for piece, counts in zip(pieces, given, strict=True):
            for place, count in counts.items():
                short[place] -= count
                days += count * piece.days
                width += count * piece.width
                chosen[place] += [piece.tag] * count
        key: Any = (sum(short.values()), [short[place] for place in sorted(short)])
        if best and key > best[0][:2]:
            continue
        key = (*key, days, width, [sorted(chosen[place]) for place in sorted(chosen)])
        if best is None or key < best[0]:
            best = (key, {place: sorted(tags) for place, tags in chosen.items()})
    assert best is not None
    return best[1]


def held_by(register: Register, job: Job) -> Choice:
    held: Choice = {place: [] for place in range(len(job.lines))}
    for promise in register.promises:
        if promise.job == job.reference:
            place = next(n for n, line in enumerate(job.lines) if line.name == promise.line)
            held[place] += [promise.tag] * promise.quantity
    return held


def choose(
    register: Register, job: Job, window: Window, as_of: date, held: Choice, only_kind: str | None = None
) -> Choice:
    """The choice over the whole job: kinds do not compete with each other, so each by itself.

    With `only_kind`, only how many pieces of that kind are short where is asked: the later rules are left out.
    """
    chosen: Choice = {}
    for kind in {line.kind for line in job.lines} if only_kind is None else {only_kind}:
        places = [n for n, line in enumerate(job.lines) if line.kind == kind]
        needs = {n: job.lines[n].quantity - len(held[n]) for n in places}
        pieces = []
        for item in register.items.values():
            if item.kind != kind:
                continue
            lines = frozenset(
                n for n in places if not reasons(register, item, job.lines[n], job, window, as_of)
            )
            free = free_quantity(register, item, job) - sum(held[n].count(item.tag) for n in held)
            if not lines or free <= 0:
                continue
            limit = fit_until(register, item, as_of)
            days = UNLIMITED_DAYS if limit is None else (limit - window.return_on).days
            width = item.bore_max - item.bore_min if item.bore_min and item.bore_max else Decimal(0)
            if only_kind is not None:
                days, width = 0, Decimal(0)
            pieces.append(Piece(item.tag, free, lines, days, width))
        key = (repr(pieces), repr(needs), repr({n: held[n] for n in places}))
        if key not in MEMORY:
            MEMORY[key] = best_choice(pieces, needs, {n: held[n] for n in places})
        chosen.update(MEMORY[key])
    return chosen
