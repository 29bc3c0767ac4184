"""The plan board as a page draws it: rows of days, bars over them, and the same as a list of days."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, timedelta
from itertools import groupby

from django.utils.translation import gettext as _

from kit.stores.plan_board import Bar, Board, Scarce
from kit.tables.marks import Mark
from kit.tables.plan import bar_mark, in_words

MOST_SCARCE = 6
"""How many lacking kinds stand at the head of the board."""

MOST_NAMED = 3
"""How many other jobs are named beside one before the rest is only counted."""


@dataclass(frozen=True, slots=True)
class Day:
    """One column of the board."""

    day: date
    today: date

    @property
    def past(self) -> bool:
        return self.day < self.today

    @property
    def is_today(self) -> bool:
        return self.day == self.today

    @property
    def weekend(self) -> bool:
        return self.day.weekday() >= 5


@dataclass(frozen=True, slots=True)
class Cell:
    """`what`: "" an empty day, "bar" the job's own days, "late" days past its return, "turn" turn-round days.

    `holds` marks the one cell of the row in which the bar stands that can be moved; `from_before` and `goes_on` say
    that the bar begins before the board or ends after it.
    """

    what: str
    span: int
    day: Day
    holds: bool = False
    from_before: bool = False
    goes_on: bool = False


@dataclass(frozen=True, slots=True)
class Want:
    """A kind that a job lacks and others want or have in the same days."""

    kind: str
    others: str


@dataclass(frozen=True, slots=True)
class Row:
    bar: Bar
    mark: Mark
    words: str
    cells: tuple[Cell, ...]
    wants: tuple[Want, ...]

    @property
    def first_wants(self) -> tuple[Want, ...]:
        return self.wants[:2]

    @property
    def further_wants(self) -> int:
        return max(0, len(self.wants) - 2)


@dataclass(frozen=True, slots=True)
class Group:
    name: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class ScarceRow:
    scarce: Scarce
    cells: tuple[tuple[Day, int], ...]


@dataclass(slots=True)
class DayEntry:
    """What one day brings: for a narrow screen, where there is no room for bars."""

    day: Day
    loads: list[Row] = field(default_factory=list)
    back: list[Row] = field(default_factory=list)
    free: list[Row] = field(default_factory=list)
    short: list[tuple[str, int]] = field(default_factory=list)

    @property
    def empty(self) -> bool:
        return not (self.loads or self.back or self.free or self.short)


def columns(board: Board) -> list[Day]:
    return [Day(day, board.today) for day in board.days]


def rows_of(board: Board) -> list[Row]:
    wants = _wants(board.scarce)
    return [
        Row(bar, bar_mark(bar), in_words(bar), _cells(bar, board), wants.get(bar.job.pk, ()))
        for bar in board.bars
    ]


def groups_of(rows: Iterable[Row], by: str) -> list[Group]:
    """All in one group, or a group a crew; jobs that name no crew come last."""
    listed = list(rows)
    if by != "crew":
        return [Group("", tuple(listed))]
    listed.sort(key=lambda row: (row.bar.job.crew == "", row.bar.job.crew))
    return [
        Group(crew or _("no crew named"), tuple(some))
        for crew, some in groupby(listed, key=lambda row: row.bar.job.crew)
    ]


def scarcest_rows(board: Board) -> list[ScarceRow]:
    """The kinds of which most is lacking over these days, for the head of the board; the rest stand below it."""
    most = sorted(board.scarce, key=lambda each: (-sum(each.short_on.values()), each.kind))[:MOST_SCARCE]
    return [
        ScarceRow(scarce, tuple((day, scarce.short_on.get(day.day, 0)) for day in columns(board)))
        for scarce in most
    ]


def day_entries(board: Board, rows: Iterable[Row]) -> list[DayEntry]:
    """The days on which anything happens, and today."""
    by_day = {day.day: DayEntry(day) for day in columns(board)}
    for row in rows:
        job = row.bar.job
        for entry, day in (("loads", job.load_on), ("back", job.return_on)):
            if day in by_day:
                getattr(by_day[day], entry).append(row)
        free = row.bar.taken_until + timedelta(days=1)
        if row.bar.load.turn_round_days and free in by_day:
            by_day[free].free.append(row)
    for scarce in board.scarce:
        for day, n in scarce.short_on.items():
            if day in by_day:
                by_day[day].short.append((scarce.kind, n))
    return [entry for entry in by_day.values() if entry.day.is_today or not entry.empty]


def _wants(scarce: Iterable[Scarce]) -> dict[int, tuple[Want, ...]]:
    """By job that lacks something, what others want or have of it meanwhile."""
    found: dict[int, list[Want]] = {}
    for each in scarce:
        for key, rivals in each.rivals.items():
            if rivals:
                names = [rival.job.reference for rival in rivals]
                found.setdefault(key, []).append(Want(each.kind, named(names)))
    return {key: tuple(wants) for key, wants in found.items()}


def named(names: list[str]) -> str:
    """A few of the names, and how many more there are."""
    few = ", ".join(names[:MOST_NAMED])
    left = len(names) - MOST_NAMED
    return few if left <= 0 else _("%(few)s and %(n)s more") % {"few": few, "n": left}


def _cells(bar: Bar, board: Board) -> tuple[Cell, ...]:
    days = columns(board)
    found: list[Cell] = []
    for what, some in groupby(days, key=lambda day: _what(bar, day.day)):
        listed = list(some)
        if not what:
            found.extend(Cell("", 1, day) for day in listed)
        else:
            found.append(
                Cell(
                    what,
                    len(listed),
                    listed[0],
                    from_before=what == "bar" and bar.job.load_on < listed[0].day,
                    goes_on=what == "bar" and bar.job.return_on > listed[-1].day,
                )
            )
    holder = next((n for what in ("bar", "late") for n, cell in enumerate(found) if cell.what == what), None)
    if holder is not None:
        old = found[holder]
        found[holder] = Cell(old.what, old.span, old.day, True, old.from_before, old.goes_on)
    return tuple(found)


def _what(bar: Bar, day: date) -> str:
    return "bar" if bar.on(day) == "job" else bar.on(day)
