"""The due dates of a depot as a calendar (RFC 5545) that a calendar program reads again and again. Reads only.

It depends on nothing but the register and the day: the same twice on one day unless something was recorded between.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from urllib.parse import urlencode
from uuid import NAMESPACE_URL, uuid5

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from icalendar import Calendar, Event, vDuration, vText

from inspections.due_list import USE_BY, DueEntry, due_list
from kit.crew_feed import Register
from kit.days import date_format
from kit.models import Depot

BACK_DAYS, AHEAD_DAYS = 90, 400
MOST_A_DAY = 10
READ_AGAIN_AFTER = timedelta(hours=6)


def feed(depot: Depot, today: date, register: Register, address: Callable[[str], str]) -> bytes:
    """The calendar of the depot as of `today`: what falls due from 90 days back to 400 ahead, use-by dates with it.

    One all-day event an item and check; where more than ten fall due of one check on one day, one event for them all;
    and one today for all that was never done. `address` makes a full address of a path.
    """
    entries = due_list(today, AHEAD_DAYS, [depot.pk])
    calendar = Calendar()
    calendar.add("prodid", "-//Fettlebook//Due dates//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    # RFC 7986: what the calendar is called, and how often it is worth reading it again; X-WR-CALNAME and
    # X-PUBLISHED-TTL are how older programs ask for the same. The library does not take these two names for text.
    title = _("Due dates, %(depot)s") % {"depot": depot}
    calendar.add("name", vText(title))
    calendar.add("x-wr-calname", vText(title))
    calendar.add("refresh-interval", vDuration(READ_AGAIN_AFTER), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(READ_AGAIN_AFTER))
    maker = _Maker(depot, register, address)
    for (day, check), due in sorted(_by_day_and_check(entries, today).items()):
        if len(due) > MOST_A_DAY:
            calendar.add_component(maker.of_many(day, check, due))
        else:
            for entry in due:
                calendar.add_component(maker.of_one(day, entry))
    never = [entry for entry in entries if entry.due_on is None]
    if never:
        calendar.add_component(maker.of_never_done(today, never))
    return calendar.to_ical()


def _by_day_and_check(entries: Iterable[DueEntry], today: date) -> dict[tuple[date, str], list[DueEntry]]:
    grouped: dict[tuple[date, str], list[DueEntry]] = defaultdict(list)
    for entry in entries:
        if entry.due_on is not None and entry.due_on >= today - timedelta(days=BACK_DAYS):
            grouped[entry.due_on, entry.check].append(entry)
    return grouped


@dataclass(frozen=True, slots=True)
class _Maker:
    depot: Depot
    register: Register
    address: Callable[[str], str]

    def of_one(self, day: date, entry: DueEntry) -> Event:
        what = _("use-by date") if entry.check == USE_BY else _("%(check)s due") % {"check": entry.check}
        # Without the day: when the due date moves, the same event moves with it.
        name = f"item {entry.tag} {entry.check}"
        about = [f"{entry.tag}: {_in_words(entry)}"]
        return self._event(name, day, f"{entry.tag}: {what}", about, reverse("item", args=[entry.tag]))

    def of_many(self, day: date, check: str, entries: Sequence[DueEntry]) -> Event:
        n = len(entries)
        summary = (
            ngettext("%(n)s use-by date", "%(n)s use-by dates", n) % {"n": n}
            if check == USE_BY
            else _("%(check)s due, %(n)s items") % {"check": check, "n": n}
        )
        about = [f"{entry.tag}: {_in_words(entry)}" for entry in entries]
        query = {"check": check, "depot": self.depot.code, "within": AHEAD_DAYS}
        path = f"{reverse('due')}?{urlencode(query)}"
        return self._event(f"many {self.depot.code} {check} {day}", day, summary, about, path)

    def of_never_done(self, today: date, entries: Sequence[DueEntry]) -> Event:
        n = len(entries)
        summary = ngettext("%(n)s check never done", "%(n)s checks never done", n) % {"n": n}
        about = [f"{entry.tag}: {entry.kind}, {entry.check}" for entry in entries]
        path = f"{reverse('due')}?{urlencode({'stands': 'never', 'depot': self.depot.code})}"
        return self._event(f"never {self.depot.code}", today, summary, about, path)

    def _event(self, name: str, day: date, summary: str, about: list[str], path: str) -> Event:
        event = Event()
        event.add("uid", str(uuid5(uuid5(NAMESPACE_URL, self.register.first_hash), name)))
        event.add("dtstamp", self.register.written_at)
        event.add("dtstart", day)
        # RFC 5545, 3.6.1: the end is not part of the event.
        event.add("dtend", day + timedelta(days=1))
        event.add("summary", summary)
        event.add("description", "\n".join([*about, "", _who_decides()]))
        event.add("url", self.address(path))
        # It takes nobody's time: a diary that it stands in shows the day as free.
        event.add("transp", "TRANSPARENT")
        return event


def _who_decides() -> str:
    return _("As recorded. The network operator's procedure and licensed practice decide.")


def _in_words(entry: DueEntry) -> str:
    """Why it is due, whether it goes out after that day, where it is promised: "bag, last done 3 March 2027, ..."."""
    said = [entry.kind]
    if entry.check == USE_BY:
        said.append(_("in date on this day and out of date the day after"))
    else:
        if entry.last_done:
            said.append(_("last done %(day)s") % {"day": date_format(entry.last_done, "j F Y")})
        if entry.gates:
            said.append(_("does not go out after this day without it"))
    if entry.job:
        said.append(_("promised to %(job)s") % {"job": entry.job})
    return ", ".join(said)
