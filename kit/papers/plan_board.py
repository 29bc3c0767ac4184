"""The plan board on paper: one A4 sheet, lying, for each week; words and shapes, no colour."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.papers.said import word
from kit.papers.stamp import Stamp, needs_count, needs_text
from kit.papers.typeset import Plain, typeset
from kit.papers.wording import day, weekday

DayMark = Literal["", "job", "late", "turn"]

ROOM_MM = 160.0
"""What the rows of a sheet have of its height, below the head and above the foot."""
TALLEST_MM, LEAST_MM = 8.0, 3.6
LARGEST_PT, LEAST_PT = 9.5, 7.0
MOST_ROWS = int(ROOM_MM / LEAST_MM)
"""How many rows one sheet takes at the least size, 44. A week of more goes on to further sheets that say so."""


@dataclass(frozen=True, slots=True)
class PlanRow:
    """One job in one week. `days`: what each of the seven days is to it; `stands`: how its kit stands, in words."""

    reference: str
    revision: int
    crew: str
    site: str
    load_on: date
    return_on: date
    days: tuple[DayMark, ...]
    stands: str

    def __post_init__(self) -> None:
        needs_text(self.reference, "job reference")
        needs_count(self.revision, f"the revision of {self.reference}", 1)
        if len(self.days) != 7:
            raise ValueError(f"{self.reference} has {len(self.days)} days in a week; it must be 7.")


@dataclass(frozen=True, slots=True)
class LackRow:
    """A kind that jobs of the week lack: how many on each of the seven days, which jobs, and who has some meanwhile."""

    kind: str
    days: tuple[int, ...]
    lacking: str
    holding: str = ""


@dataclass(frozen=True, slots=True)
class PlanWeek:
    """A week from its first day on."""

    first: date
    rows: Sequence[PlanRow]
    lacks: Sequence[LackRow] = ()


@dataclass(frozen=True, slots=True)
class PlanBoard:
    """The plan of a depot, or of one crew of it. `as_of` is the day whose knowledge it shows."""

    depot: str
    as_of: date
    stamp: Stamp
    weeks: Sequence[PlanWeek]
    crew: str = ""

    def __post_init__(self) -> None:
        needs_text(self.depot, "depot")
        needs_count(len(self.weeks), "the number of weeks", 1)


def plan_board_pdf(board: PlanBoard) -> bytes:
    """A tagged PDF (PDF/UA-1): one lying A4 sheet a week while no week has more than MOST_ROWS rows.

    Rows and type shrink with the number of jobs, from 9.5 pt down to 7 pt and no further. Kinds that are lacking
    take what the jobs leave, the last of those rows naming the rest. A week with more jobs is parted evenly over as
    many sheets as it needs, headed "sheet 1 of 2": no job is left off and nothing set smaller.
    """
    whose = f"{board.depot}, {board.crew}" if board.crew else board.depot
    sheets = [sheet for week in board.weeks for sheet in _sheets(week, whose, board.as_of)]
    data: dict[str, Plain] = {"sheets": list(sheets)}
    first, last = board.weeks[0].first, board.weeks[-1].first + timedelta(days=6)
    title = _("Plan board, %(whose)s, %(first)s to %(last)s") % {
        "whose": whose,
        "first": weekday(first),
        "last": weekday(last),
    }
    return typeset("plan_board", title, board.stamp, data)


def sizes(rows: int) -> tuple[float, float]:
    """(height of a row in mm, size of the type in pt) for so many rows on a sheet."""
    height = max(LEAST_MM, min(TALLEST_MM, ROOM_MM / max(rows, 1)))
    share = (height - LEAST_MM) / (TALLEST_MM - LEAST_MM)
    return height, min(LARGEST_PT, LEAST_PT + 2 * share * (LARGEST_PT - LEAST_PT))


def _sheets(week: PlanWeek, whose: str, as_of: date) -> list[Plain]:
    parts = _parted(week)
    days: list[Plain] = [_day(week.first + timedelta(days=n), as_of) for n in range(7)]
    found: list[Plain] = []
    for number, rows in enumerate(parts, start=1):
        lacks = _fitting(week.lacks, MOST_ROWS - len(rows)) if number == 1 else []
        height, size = sizes(len(rows) + len(lacks))
        heading = _("Plan of %(whose)s, week of %(day)s") % {"whose": whose, "day": weekday(week.first)}
        if len(parts) > 1:
            heading += _(", sheet %(n)s of %(all)s") % {"n": number, "all": len(parts)}
        found.append(
            {
                "heading": heading,
                "as_of": _("as of %(day)s") % {"day": weekday(as_of)},
                "count": ngettext("%(n)s job", "%(n)s jobs", len(week.rows)) % {"n": len(week.rows)},
                "days": days,
                "height_mm": f"{height:.2f}",
                "size_pt": f"{size:.2f}",
                "rows": [_row(row, week.first) for row in rows],
                "lacks": [
                    {
                        "kind": word(lack.kind),
                        "lacking": lack.lacking,
                        "holding": lack.holding,
                        "days": [f"−{n}" if n else "" for n in lack.days],
                    }
                    for lack in lacks
                ],
            }
        )
    return found


def _parted(week: PlanWeek) -> list[Sequence[PlanRow]]:
    """The rows of each sheet: one sheet if they have room, else as many as they need, evenly filled."""
    sheets = 1
    while True:
        share = max(1, -(-len(week.rows) // sheets))
        if share + min(1, len(week.lacks)) <= MOST_ROWS:
            return [week.rows[n : n + share] for n in range(0, len(week.rows), share)] or [()]
        sheets += 1


def _fitting(lacks: Sequence[LackRow], room: int) -> list[LackRow]:
    """The kinds that lack most, as many as there is room for; what is left over stands in one row at the end."""
    ordered = sorted(lacks, key=lambda lack: (-sum(lack.days), lack.kind))
    if len(ordered) <= room:
        return ordered
    kept, rest = ordered[: room - 1], ordered[room - 1 :]
    days = tuple(sum(lack.days[n] for lack in rest) for n in range(7))
    names = ", ".join(word(lack.kind) for lack in rest)
    return [*kept, LackRow(_("%(n)s further kinds") % {"n": len(rest)}, days, names, _("see the screen"))]


def _day(which: date, as_of: date) -> Plain:
    when = _("today") if which == as_of else _("past") if which < as_of else ""
    return {"name": weekday(which).rsplit("\u00a0", 1)[0], "when": when, "today": which == as_of}


def _row(row: PlanRow, first: date) -> Plain:
    spans: list[Plain] = []
    n = 0
    while n < 7:
        mark, m = row.days[n], n
        while m < 7 and row.days[m] == mark and mark:
            m += 1
        m = max(m, n + 1)
        spans.append({"what": mark, "span": m - n})
        n = m
    beyond = []
    if row.load_on < first:
        beyond.append(_("from %(day)s") % {"day": short_day(row.load_on)})
    if row.return_on > first + timedelta(days=6):
        beyond.append(_("to %(day)s") % {"day": short_day(row.return_on)})
    return {
        "reference": row.reference,
        "revision": _("rev %(n)s") % {"n": row.revision},
        "crew": row.crew,
        "site": row.site,
        "beyond": " ".join(beyond),
        "spans": spans,
        "stands": row.stands,
    }


def short_day(when: date) -> str:
    """`12 Nov`: the year stands in the heading."""
    return day(when).rsplit("\u00a0", 1)[0]
