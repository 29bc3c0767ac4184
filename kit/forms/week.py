"""A week, Monday to Sunday, as a filter of a list: "2026-W49" in an address, its two days on the screen."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from django import forms
from django.utils.translation import gettext as _

from kit.days import date_format
from kit.tables.marks import short_day

WEEKS_OFFERED = 26


def week_of(day: date) -> str:
    """The ISO 8601 week in which the day lies, as "2026-W49"."""
    year, week, _weekday = day.isocalendar()
    return f"{year:04}-W{week:02}"


def days_of(week: str) -> tuple[date, date]:
    """Monday and Sunday of an ISO 8601 week. ValueError for anything else."""
    if len(week) != len("2026-W49"):
        raise ValueError(f"not a week: {week}")
    monday = date.fromisoformat(f"{week}-1")
    if week_of(monday) != week or monday > date.max - timedelta(days=6):
        raise ValueError(f"not a week: {week}")
    return monday, monday + timedelta(days=6)


def in_words(week: str) -> str:
    monday, sunday = days_of(week)
    return _("%(first)s to %(last)s") % {"first": date_format(monday, "j M"), "last": short_day(sunday)}


class WeekField(forms.ChoiceField):
    """Offers half a year of weeks; takes any week, so that a view kept by name still answers when it is past."""

    def offer_from(self, day: date, asked: str = "") -> None:
        weeks = [week_of(day + timedelta(weeks=number)) for number in range(WEEKS_OFFERED)]
        if asked and asked not in weeks and self._is_week(asked):
            weeks.insert(0, asked)
        self.choices = [("", _("any")), *((week, in_words(week)) for week in weeks)]

    def valid_value(self, value: Any) -> bool:
        return self._is_week(str(value))

    @staticmethod
    def _is_week(text: str) -> bool:
        try:
            days_of(text)
        except ValueError:
            return False
        return True
