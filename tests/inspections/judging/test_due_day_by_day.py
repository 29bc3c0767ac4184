"""The due engine against a depot lived through day by day, with month arithmetic of its own.

The number of depots tried is FETTLEBOOK_CASES (300 unless set).
"""

import calendar
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from inspections.judging import Call, Interval, Record, Rule, calls_known_by, gates_of, known_by, next_due
from kit.planning import judge_fitness
from tests.counts import cases

FIRST_DAYS = st.dates(date(2023, 12, 1), date(2024, 3, 31)) | st.sampled_from(
    [date(2023, 8, 31), date(2024, 1, 31), date(2024, 2, 29), date(2026, 11, 30), date(2027, 12, 31)]
)
TEXTS = [
    "P1D",
    "P5D",
    "P1W",
    "P2W",
    "P30D",
    "P90D",
    "P1M",
    "P2M",
    "P3M",
    "P1M15D",
    "P2M1W",
    "P6M",
    "P1Y",
    "P1Y1M",
]


@dataclass
class Life:
    """What the stores person knows at the end of a day, kept up to date event by event."""

    rule: Rule
    first_done: date | None = None
    last_done: date | None = None
    verdict: str = ""
    due_on: date | None = None
    used_since: date | None = None

    def use(self, day: date) -> None:
        if self.rule.after_use and self.used_since is None:
            self.used_since = day

    def check(self, day: date, verdict: str) -> None:
        self.first_done = self.first_done or day
        self.last_done, self.verdict, self.used_since = day, verdict, None
        if verdict != "pass":
            self.due_on = day
        elif self.rule.basis == "done":
            self.due_on = month_by_month(day, self.rule.interval, 1)
        else:
            self.due_on = self.walk_to_grid_point(day + timedelta(days=self.rule.early_days))

    def walk_to_grid_point(self, covered: date) -> date:
        assert self.first_done is not None
        k = 0
        while (point := month_by_month(self.first_done, self.rule.interval, k)) <= covered:
            k += 1
        return point

    def answer(self) -> tuple[str, date | None]:
        if self.last_done is None:
            return "never", None
        if self.verdict != "pass":
            return "failed", self.last_done
        assert self.due_on is not None
        if self.used_since is not None and self.used_since < self.due_on:
            return "dated", self.used_since
        return "dated", self.due_on


def month_by_month(day: date, interval: Interval, k: int) -> date:
    """k intervals after a day by turning the leaves of a calendar one at a time; no library's months."""
    year, month = day.year, day.month
    for _ in range(k * (interval.years * 12 + interval.months)):
        month += 1
        if month > 12:
            year, month = year + 1, 1
    clipped = date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
    for _ in range(k * (interval.weeks * 7 + interval.days)):
        clipped += timedelta(days=1)
    return clipped


@st.composite
def lives(draw: st.DrawFn) -> tuple[Rule, list[Record], list[Call], date, int]:
    interval = Interval.parse(draw(st.sampled_from(TEXTS)))
    rule = Rule(
        "check",
        interval,
        basis=draw(st.sampled_from(["done", "anchor"])),
        early_days=draw(st.sampled_from([0, 0, 1, 7, 14, 31])),
        after_use=draw(st.booleans()),
    )
    start = draw(FIRST_DAYS)
    span = draw(st.sampled_from([40, 200, 500]))
    # Days bunch near the start and near due dates, where the edges are.
    edges = [
        (month_by_month(start, interval, k) - start).days + off for k in (1, 2) for off in (-14, -7, -1, 0, 1)
    ]
    offsets = st.sampled_from([0, *(day for day in edges if 0 <= day <= span)]) | st.integers(0, span)
    happenings = draw(st.lists(st.tuples(offsets, st.sampled_from("pppfduu")), max_size=9))
    orders = draw(st.permutations(range(len(happenings))))
    verdicts = {"p": "pass", "f": "fail", "d": "doubt"}
    records, calls = [], []
    for (offset, what), order in zip(happenings, orders, strict=True):
        day = start + timedelta(days=offset)
        if what == "u":
            calls.append(Call(day, order))
        else:
            records.append(Record(day, verdicts[what], order))  # type: ignore[arg-type]
    return rule, records, calls, start, span


def happenings_of(day: date, records: Sequence[Record], calls: Sequence[Call]) -> list[tuple[int, str]]:
    done = [(record.order, record.verdict) for record in records if record.done_on == day]
    used = [(call.order, "use") for call in calls if call.day == day]
    return sorted(done + used)


@settings(max_examples=cases(300))
@given(lives())
def test_every_evening_the_engine_answers_as_the_book_kept_by_hand(
    life: tuple[Rule, list[Record], list[Call], date, int],
) -> None:
    rule, records, calls, start, span = life
    book = Life(rule)
    for offset in range(span + 1):
        day = start + timedelta(days=offset)
        for _, what in happenings_of(day, records, calls):
            if what == "use":
                book.use(day)
            else:
                book.check(day, what)
        known, known_calls = known_by(records, day), calls_known_by(calls, day)
        due = next_due(rule, known, known_calls)
        assert (due.status, due.due_on) == book.answer(), day
        assert due.last_done == book.last_done
        awaiting = book.used_since if due.status == "dated" else None
        assert due.note == (f"used, awaiting its check since {awaiting}" if awaiting else "")
        # In date on the due date, out of date the day after; failed, never done or waiting, out at once.
        status, due_on = book.answer()
        fit_until = judge_fitness(None, gates_of([rule], {"check": known}, known_calls)).fit_until
        in_date = fit_until is not None and day <= fit_until
        by_hand = status == "dated" and not awaiting and due_on is not None and day <= due_on
        assert in_date == by_hand
