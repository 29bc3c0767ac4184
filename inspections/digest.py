"""What a person with certain roles has before them at a depot on a day, the first to bite first. Reads only."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator
from datetime import date, timedelta

from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections import digest_of_checks as of_checks
from inspections.digest_parts import Line, Section
from kit.models import Depot, JobState, Reservation, Role, Standing
from kit.sentences import said as in_words
from kit.views.day_lists import Van, arriving, broken_promises, loads, returns, vans

STORES_AHEAD_DAYS = 3
CREW_AHEAD_DAYS = 7
PLANNED_AHEAD_DAYS = 14


def digest(role: str, depot: Depot, today: date) -> list[Section]:
    """The sections of one role; see `digest_of`."""
    return digest_of({role}, depot, today)


def digest_of(roles: Collection[str], depot: Depot, today: date) -> list[Section]:
    """The sections of all these roles at the depot, each once; empty ones are left out.

    Whoever loads sees vans, what is late back and what arrives; the planner broken promises first; the examiner the
    bench; the compliance lead what is overdue, set aside, conceded and under review. No job names its crew, so the
    crew sees all jobs of the depot.
    """
    sections = [
        *_sections_of_jobs(frozenset(roles), depot, today),
        *of_checks.sections(frozenset(roles), depot, today),
    ]
    return [section for section in sections if section.lines]


def _sections_of_jobs(roles: frozenset[str], depot: Depot, today: date) -> Iterator[Section]:
    loading, planning = roles & {Role.STORES, Role.CREW}, Role.PLANNER in roles
    broken = list(broken_promises(depot)) if loading or planning else []
    if planning:
        yield _broken(broken)
    elif loading:
        yield _on_site([each for each in broken if each.standing == Standing.ISSUED])
    if loading:
        yield _vans(depot, today, CREW_AHEAD_DAYS if Role.CREW in roles else STORES_AHEAD_DAYS, broken)
        yield _late_back(depot, today)
    if Role.STORES in roles:
        yield _arriving(depot)
    if planning:
        yield _short(depot, today)


def _broken(broken: list[Reservation]) -> Section:
    n = len(broken)
    return Section(
        "broken",
        _("Promises that no longer hold"),
        ngettext("%(n)s promise broken", "%(n)s promises broken", n) % {"n": n},
        tuple(_broken_line(each) for each in broken),
        reverse("today"),
    )


def _on_site(out: list[Reservation]) -> Section:
    n = len(out)
    return Section(
        "on-site",
        _("On site and no longer fit for its job"),
        ngettext("%(n)s piece on site not fit", "%(n)s pieces on site not fit", n) % {"n": n},
        tuple(_broken_line(each) for each in out),
        reverse("today"),
    )


def _broken_line(broken: Reservation) -> Line:
    """One promise that no longer holds: why, and what would take its place."""
    if broken.standing == Standing.ISSUED:
        way = _("It is on site: plan to take it out, and tell the supervisor.")
    elif broken.proposed:
        way = _("Proposed in its place: %(tag)s.") % {"tag": broken.proposed.tag}
    else:
        way = _("Nothing fit was found to take its place.")
    return Line(
        broken.item.tag,
        f"{in_words(broken.line.name)}: {in_words(broken.why)} {way}",
        broken.job.load_on,
        broken.job.reference,
        reverse("job", args=[broken.job.reference]),
    )


def _vans(depot: Depot, today: date, days: int, broken: list[Reservation]) -> Section:
    """Each van, and under it what was to go on it and is not fit any more."""
    ahead = [van for van in vans(depot, today, days) if van.job.state == JobState.PLANNED]
    of_job: dict[int, list[Reservation]] = defaultdict(list)
    for each in broken:
        of_job[each.job_id].append(each)
    lines: list[Line] = []
    for van in ahead:
        lines.append(_van_line(van))
        lines.extend(_broken_line(each) for each in of_job[van.job.pk])
    n = len(ahead)
    said = ngettext("%(n)s van to load", "%(n)s vans to load", n) % {"n": n}
    return Section("vans", _("Vans to load"), said, tuple(lines), reverse("today"))


def _van_line(van: Van) -> Line:
    load = (
        _("%(n)s of %(all)s pieces not promised") % {"n": van.missing, "all": van.needed}
        if van.missing > 0
        else _("every piece promised")
    )
    if van.late:
        load = _("should have been loaded; %(load)s") % {"load": load}
    site = f", {van.job.site}" if van.job.site else ""
    job = van.job.reference
    return Line("", f"{load}{site}", van.job.load_on, job, reverse("job", args=[job]))


def _late_back(depot: Depot, today: date) -> Section:
    late = [job for job in returns(depot, today) if job.return_on < today]
    lines = tuple(
        Line(
            "",
            ngettext("%(n)s piece still out", "%(n)s pieces still out", job.still_out) % {"n": job.still_out},
            job.return_on,
            job.reference,
            reverse("job", args=[job.reference]),
        )
        for job in late
    )
    n = len(late)
    said = ngettext("%(n)s job overdue back", "%(n)s jobs overdue back", n) % {"n": n}
    return Section("late-back", _("Overdue back"), said, lines, reverse("today"))


def _arriving(depot: Depot) -> Section:
    lines = tuple(
        Line(
            item.tag,
            _("%(kind)s from %(depot)s") % {"kind": in_words(item.kind.name), "depot": item.depot},
            item.arrives_on,
            "",
            reverse("item", args=[item.tag]),
        )
        for item in arriving(depot)
    )
    n = len(lines)
    said = ngettext("%(n)s piece arriving", "%(n)s pieces arriving", n) % {"n": n}
    return Section("arriving", _("On its way here"), said, lines, reverse("today"))


def _short(depot: Depot, today: date) -> Section:
    ahead = depot.jobs.loading_between(today, today + timedelta(days=PLANNED_AHEAD_DAYS))
    planned = ahead.filter(state=JobState.PLANNED).order_by("load_on", "reference")
    lines = tuple(_van_line(van) for van in loads(planned, today) if van.missing > 0)
    n = len(lines)
    return Section(
        "short",
        _("Jobs that are short in the next %(days)s days") % {"days": PLANNED_AHEAD_DAYS},
        ngettext("%(n)s job short", "%(n)s jobs short", n) % {"n": n},
        lines,
        reverse("jobs"),
    )
