"""Made-up histories of one check on one item: rule changes, late entries, corrections, calls, concessions.

`histories()` draws them as plain rows, so that whoever stores such rows can use them too.
"""

from dataclasses import replace
from datetime import date

from hypothesis import strategies as st

from tests.inspections.judging.history_rows import (
    DONE,
    ConcessionRow,
    Entry,
    History,
    RuleRow,
    VersionRow,
    days,
)
from tests.inspections.judging.kept_by_hand import Card

INTERVALS = ["P1D", "P5D", "P2W", "P30D", "P1M", "P1M15D", "P2M1W", "P3M", "P6M", "P1Y", "P1Y1M"]
STORAGE = ["", "", "P3D", "P2W", "P1M", "P4M"]
FIRST_DAYS = [date(2023, 8, 31), date(2024, 1, 31), date(2024, 2, 29), date(2026, 11, 30), date(2025, 1, 15)]


@st.composite
def rule_rows(draw: st.DrawFn) -> RuleRow:
    gates = draw(st.booleans())
    return RuleRow(
        interval=draw(st.sampled_from(INTERVALS)),
        basis=draw(st.sampled_from(["done", "anchor"])),
        early_days=draw(st.sampled_from([0, 0, 1, 7, 31])),
        gates=gates,
        after_use=draw(st.sampled_from([False, False, False, True])),
        after_repair=draw(st.booleans()),
        after_quarantine=draw(st.booleans()),
        after_uses=draw(st.sampled_from([0, 0, 1, 2, 3])),
        after_storage=draw(st.sampled_from(STORAGE)),
        grace_days=0 if gates else draw(st.sampled_from([0, 1, 14])),
    )


@st.composite
def books(draw: st.DrawFn, start: date) -> tuple[Entry, ...]:
    """Entries in order of recording; some days after the fact, some that correct an earlier record."""
    entries: list[Entry] = []
    recorded_on = start
    kinds = (
        ["pass"] * 4 + ["use"] * 3 + ["correction"] * 2 + ["fail", "doubt", "repair", "quarantine", "ordered"]
    )
    begun = draw(st.sampled_from([True, True, True, True, False]))
    if begun:
        entries.append(Entry(start, "pass", 1, start))
    for order in range(2, draw(st.integers(0, 9)) + 2):
        recorded_on += days(draw(st.sampled_from([0, 0, 0, 1, 2, 5, 14, 30])))
        day = recorded_on - days(draw(st.sampled_from([0, 0, 0, 0, 1, 3, 20])))
        what, corrects = draw(st.sampled_from(kinds)), None
        records = [entry for entry in entries if entry.what in (*DONE, "struck")]
        if what == "correction":
            if not records:
                continue
            wrong = draw(st.sampled_from(records))
            corrects, what = wrong.order, draw(st.sampled_from(["pass", "pass", "pass", "fail", "struck"]))
            day = draw(st.sampled_from([wrong.day, wrong.day, day]))
        entries.append(Entry(day, what, order, recorded_on, corrects))
    return tuple(entries)


@st.composite
def histories(draw: st.DrawFn) -> History:
    """A check whose rule changes near the days on which it would fall due, where the edges are."""
    start = draw(st.sampled_from(FIRST_DAYS))
    entries = draw(books(start))
    rules = draw(st.lists(rule_rows(), min_size=1, max_size=4))
    if draw(st.booleans()):  # often one thing changes and the rest stays
        rules = [
            rules[0],
            *(
                replace(rules[0], interval=r.interval, after_uses=r.after_uses, basis=r.basis)
                for r in rules[1:]
            ),
        ]
    ends = [entry.day for entry in entries] or [start]
    seen_on = draw(st.sampled_from(ends))
    card = Card(entries, seen_on)
    falls_due = sorted({due for rule in rules if (due := card.plain_due(rule)) is not None})
    near = st.sampled_from([*falls_due, *ends]) if falls_due else st.sampled_from(ends)
    edge = st.builds(
        lambda day, off: day + days(off), near, st.sampled_from([-20, -2, -1, 0, 0, 1, 1, 2, 20])
    )

    first = draw(st.sampled_from([date.min, date.min, date.min, None]))
    versions = [VersionRow(first or draw(edge), rules[0], 1, start - days(30))]
    for number, rule in enumerate(rules[1:], start=2):
        begins = draw(edge)
        known_on = begins - days(draw(st.sampled_from([0, 1, 30, 200, 200, 200, -10])))
        asked_for = draw(st.sampled_from([True, True, True, False]))
        versions.append(VersionRow(begins, rule if asked_for else None, number, known_on))

    concessions = []
    for _ in range(draw(st.integers(0, 4)) if falls_due else 0):
        due_on = draw(st.sampled_from(falls_due) | near) + days(draw(st.sampled_from([0, 0, 0, 0, 1, -1])))
        granted_on = due_on + days(draw(st.sampled_from([-200, -200, -200, -30, -7, 0, 3])))
        until = due_on + days(draw(st.sampled_from([1, 2, 14, 60])))
        ended = draw(st.sampled_from([None, None, None, 0, 5, 30, 220]))
        concessions.append(
            ConcessionRow(due_on, until, granted_on, None if ended is None else granted_on + days(ended))
        )

    lately = st.sampled_from([seen_on, seen_on, max(ends)])
    later = st.builds(lambda day, off: day + days(off), lately, st.integers(0, 60))
    asked = draw(st.lists(lately | later | edge, min_size=1, max_size=4, unique=True))
    recorded_to = draw(st.sampled_from([None, None, None, *(entry.recorded_on for entry in entries)]))
    return History(start, tuple(versions), entries, tuple(concessions), tuple(asked), recorded_to)
