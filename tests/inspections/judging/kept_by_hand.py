"""The due date as a stores person would find it with a card and a wall calendar: one day after the other.

Written from the definitions and apart from the engine, with month arithmetic of its own. It never reckons the
end of a run of days in date; it asks of each single day and counts on until the answer is no.
"""

import calendar
import re
from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from tests.inspections.judging.history_rows import (
    CALLS,
    ConcessionRow,
    Entry,
    History,
    RuleRow,
    VersionRow,
    days,
)

FAR_OFF = days(1800)
"""Past every date that a made-up history leads to: in date still then, nothing limits it."""
REASONS = {
    "use": "used, awaiting its check since {}",
    "repair": "repaired, awaiting its check since {}",
    "quarantine": "set aside, awaiting its re-test since {}",
    "ordered": "re-test ordered, awaiting it since {}",
}


def after(day: date, interval: str, k: int = 1) -> date:
    """k intervals after a day: months counted on the calendar's leaves, clipped once, then weeks and days."""
    size = {letter: int(count) for count, letter in re.findall(r"(\d+)([YMWD])", interval)}
    leaf = day.year * 12 + day.month - 1 + k * (size.get("Y", 0) * 12 + size.get("M", 0))
    year, month = leaf // 12, leaf % 12 + 1
    clipped = date(year, month, min(day.day, calendar.monthrange(year, month)[1]))
    return clipped + days(k * (size.get("W", 0) * 7 + size.get("D", 0)))


class Card:
    """The card of one check on one item, written up to and with the evening of `as_of`."""

    def __init__(self, entries: Iterable[Entry], as_of: date, recorded_to: date | None = None) -> None:
        self.first: date | None = None
        self.last: date | None = None
        self.verdict = ""
        self.in_store_since: date | None = None
        self.since_last: list[tuple[date, str]] = []
        lines: list[list[object]] = []
        line_of: dict[int, list[object]] = {}
        for entry in sorted(entries, key=lambda entry: entry.order):
            if entry.what in CALLS:
                lines.append([entry.day, entry.what])
            elif recorded_to is None or entry.recorded_on <= recorded_to:
                if entry.corrects is None:
                    line_of[entry.order] = [entry.day, entry.what]
                    lines.append(line_of[entry.order])
                else:  # written over the old line, where that stands
                    line_of[entry.order] = line_of[entry.corrects]
                    line_of[entry.order][:] = [entry.day, entry.what]
        for day in sorted({line[0] for line in lines if line[0] <= as_of}):  # type: ignore[operator, type-var]
            for line in lines:
                if line[0] == day and line[1] != "struck":
                    self._write(day, str(line[1]))  # type: ignore[arg-type]

    def _write(self, day: date, what: str) -> None:
        if what in CALLS:
            self.since_last.append((day, what))
            if what == "use":
                self.in_store_since = day
            return
        self.first = self.first or day
        self.last = self.in_store_since = day
        self.verdict = what
        self.since_last = []

    def plain_due(self, rule: RuleRow) -> date | None:
        """The due date by interval and time in store; None without a pass as the latest record."""
        if self.verdict != "pass" or self.first is None or self.last is None or self.in_store_since is None:
            return None
        if rule.basis == "done":
            due = after(self.last, rule.interval)
        else:
            k = 1
            while (due := after(self.first, rule.interval, k)) <= self.last + days(rule.early_days):
                k += 1
        if rule.after_storage:
            due = min(due, after(self.in_store_since, rule.after_storage))
        return due

    def called_for(self, rule: RuleRow) -> tuple[date, str] | None:
        """The day from which the check is called for, and the words for it."""
        asks = {
            "use": rule.after_use,
            "repair": rule.after_repair,
            "quarantine": rule.after_quarantine,
            "ordered": True,
        }
        uses = [day for day, what in self.since_last if what == "use"]
        counted = 0
        for day, what in self.since_last:
            if asks[what]:
                return day, REASONS[what].format(day)
            counted += what == "use"
            if what == "use" and counted == rule.after_uses:
                if len(uses) == 1:
                    return day, f"used once since its last check, on {uses[0]}"
                return day, f"used {len(uses)} times since its last check, the last on {uses[-1]}"
        return None


class ByHand:
    """What the card and the calendar say of a history on the day asked."""

    def __init__(self, history: History, as_of: date) -> None:
        self.as_of = as_of
        self.card = Card(history.entries, as_of, history.recorded_to)
        self.versions = [v for v in history.versions if v.in_force_from <= as_of or v.known_on <= as_of]
        self.concessions = [
            row
            for row in history.concessions
            if row.granted_on <= as_of and not (row.ended_on is not None and row.ended_on <= as_of)
        ]
        self._dues: dict[tuple[RuleRow, bool], date] = {}

    def rule_on(self, day: date) -> RuleRow | None:
        held: VersionRow | None = None
        for version in self.versions:
            if version.in_force_from > day:
                continue
            if (
                held is None
                or version.in_force_from > held.in_force_from
                or (version.in_force_from == held.in_force_from and version.number > held.number)
            ):
                held = version
        return held.rule if held else None

    def due(self, rule: RuleRow, conceded: bool = True) -> date:
        """The due date by one rule of a check whose latest record is a pass."""
        if (rule, conceded) not in self._dues:
            plain = self.card.plain_due(rule)
            assert plain is not None
            self._dues[rule, conceded] = _put_off(plain, self.concessions if conceded else [])
        return self._dues[rule, conceded]

    def in_date_on(self, day: date, conceded: bool = True, gating: bool = False) -> bool:
        rule = self.rule_on(day)
        if rule is None or (gating and not rule.gates):
            return True
        if self.card.verdict != "pass" or self.card.called_for(rule):
            return False
        return day <= self.due(rule, conceded)

    def last_in_date(self, conceded: bool = True, gating: bool = False) -> date:
        """The last day of the unbroken run from the day asked, which must be in date itself."""
        day = self.as_of
        while self.in_date_on(day + days(1), conceded, gating):
            day += timedelta(days=1)
            if day - self.as_of > FAR_OFF:
                return date.max
        return day

    def asked_for_ever(self) -> bool:
        """Whether the check is asked for on the day asked or, by what is known, on a later one."""
        later = [v.in_force_from for v in self.versions if v.in_force_from > self.as_of]
        return any(self.rule_on(day) is not None for day in [self.as_of, *later])

    def answer(self) -> tuple[str, date | None, str] | None:
        """Status, due date and note."""
        if not self.asked_for_ever():
            return None
        rule = self.rule_on(self.as_of)
        if rule is not None and self.card.last is None:
            return "never", None, ""
        if rule is not None and self.card.verdict != "pass":
            return "failed", self.card.last, ""
        if self.in_date_on(self.as_of):
            return "dated", self.last_in_date(), ""
        assert rule is not None
        if called := self.card.called_for(rule):
            return "dated", min(called[0], self.due(rule, conceded=False)), called[1]
        return "dated", self.due(rule), ""

    def conceded_from(self) -> date | None:
        """The due date without the concession, on the first day that would be out of date without one."""
        if not self.in_date_on(self.as_of):
            rule = self.rule_on(self.as_of)
            assert rule is not None
            if self.card.verdict != "pass" or self.card.called_for(rule):
                return None
            plain = self.due(rule, conceded=False)
            return plain if plain != self.due(rule) else None
        day = self.as_of
        while self.in_date_on(day) and day - self.as_of <= FAR_OFF:
            if not self.in_date_on(day, conceded=False):
                rule = self.rule_on(day)
                assert rule is not None
                return self.due(rule, conceded=False)
            day += timedelta(days=1)
        return None

    def grace_until(self) -> date | None:
        """So many days after the due date as the rule gives under which it goes out of date."""
        answer = self.answer()
        if answer is None or answer[0] != "dated" or answer[1] in (None, date.max):
            return None
        due_on = answer[1]
        assert due_on is not None
        rule = self.rule_on(due_on + days(1) if self.in_date_on(self.as_of) else self.as_of)
        assert rule is not None
        return due_on + days(rule.grace_days) if rule.grace_days else None


def _put_off(plain: date, concessions: Sequence[ConcessionRow]) -> date:
    due = plain
    for row in concessions:
        if row.due_on == plain and row.until > due:
            due = row.until
    return due
