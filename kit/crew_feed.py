"""The jobs of a crew as iCalendar (RFC 5545), for a diary that subscribes to an address.

One all-day event a job, from loading to return. No person is named: crew, site and the state of the kit suffice.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from uuid import NAMESPACE_URL, uuid5

from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from icalendar import Calendar, Event, vDuration, vText

from kit.models import Depot, Job, JobState, LedgerEntry
from kit.stores.loads import Load, loads_of

BACK_DAYS, AHEAD_DAYS = 90, 400
READ_AGAIN_AFTER = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Register:
    """What tells this register from others, and when it was last written to."""

    first_hash: str
    written_at: datetime

    @classmethod
    def now(cls) -> Register:
        entries = LedgerEntry.objects.order_by("number")
        first, last = entries.values_list("hash", flat=True).first(), entries.last()
        written = last.recorded_at if last else datetime(1970, 1, 1, tzinfo=UTC)
        return cls(first or "", written.astimezone(UTC).replace(microsecond=0))

    def last_changed(self, today: date) -> datetime:
        """When a calendar last became what it is: with the last entry of the ledger, or with the new day."""
        midnight = timezone.make_aware(datetime.combine(today, time.min))
        return max(self.written_at, midnight)


def crew_feed(
    depot: Depot, crew: str, today: date, register: Register, address: Callable[[str], str]
) -> bytes:
    """The calendar of one crew of the depot (empty: of all its jobs), from 90 days back to 400 ahead.

    Cancelled jobs stay in it as cancelled, so that a diary strikes them out. `address` makes a full address of a path.
    """
    jobs = Job.objects.filter(depot=depot, return_on__gte=today - timedelta(days=BACK_DAYS))
    jobs = jobs.filter(load_on__lte=today + timedelta(days=AHEAD_DAYS)).select_related("arrangement")
    if crew:
        jobs = jobs.filter(crew=crew)
    listed = list(jobs.order_by("load_on", "reference"))
    loads = loads_of(listed)
    calendar = Calendar()
    calendar.add("prodid", "-//Fettlebook//Jobs of a crew//EN")
    calendar.add("version", "2.0")
    calendar.add("calscale", "GREGORIAN")
    title = _("Jobs of %(crew)s, %(depot)s") % {"crew": crew or _("all crews"), "depot": depot}
    # RFC 7986 names these two; the X- names say the same to older programs.
    calendar.add("name", vText(title))
    calendar.add("x-wr-calname", vText(title))
    calendar.add("refresh-interval", vDuration(READ_AGAIN_AFTER), parameters={"VALUE": "DURATION"})
    calendar.add("x-published-ttl", vDuration(READ_AGAIN_AFTER))
    for job in listed:
        calendar.add_component(_event(job, loads[job.pk], register, address))
    return calendar.to_ical()


def _event(job: Job, load: Load, register: Register, address: Callable[[str], str]) -> Event:
    cancelled = job.state == JobState.CANCELLED
    event = Event()
    # Of the register and the reference, which never changes: however the job moves, it is the same event.
    event.add("uid", str(uuid5(uuid5(NAMESPACE_URL, register.first_hash), f"job {job.reference}")))
    event.add("dtstamp", register.written_at)
    event.add("dtstart", job.load_on)
    # RFC 5545, 3.6.1: the end is not part of the event.
    event.add("dtend", job.return_on + timedelta(days=1))
    # RFC 5545, 3.8.7.4: counts up with each change. Cancelling alone leaves the revision as it is, and comes last.
    event.add("sequence", job.revision + (1 if cancelled else 0))
    event.add("status", "CANCELLED" if cancelled else "CONFIRMED")
    event.add("summary", f"{job.reference}: {job.site}" if job.site else job.reference)
    if job.site:
        event.add("location", job.site)
    event.add("description", "\n".join([*_about(job, load), "", _who_decides()]))
    event.add("url", address(reverse("job", args=[job.reference])))
    # It takes up the crew's time, but not the whole diary of whoever else looks at it.
    event.add("transp", "TRANSPARENT")
    return event


def _about(job: Job, load: Load) -> list[str]:
    told = [_("Arrangement: %(name)s") % {"name": job.arrangement}, _kit(job, load)]
    if job.crew:
        told.insert(0, _("Crew: %(crew)s") % {"crew": job.crew})
    return [*told, _("Load list revision %(n)s") % {"n": job.revision}]


def _kit(job: Job, load: Load) -> str:
    if job.state == JobState.CANCELLED:
        return _("Cancelled.")
    if job.state == JobState.CLOSED:
        return _("All kit is back.")
    if job.state == JobState.OUT:
        return _("The kit is out.")
    if load.broken:
        return _("Kit: %(n)s promises no longer hold, of %(all)s pieces needed.") % {
            "n": load.broken,
            "all": load.needed,
        }
    if load.missing > 0:
        return _("Kit: short of %(n)s in %(all)s.") % {"n": load.missing, "all": load.needed}
    return _("Kit: complete, %(all)s promised.") % {"all": load.needed}


def _who_decides() -> str:
    return _("As recorded. The network operator's procedure and licensed practice decide.")
