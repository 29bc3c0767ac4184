"""What to do now, in order: each step with its reason, what it rests on, and the one press that does or begins it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.http import HttpRequest
from django.urls import reverse
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.models import JobState, Reservation, Role, Standing
from kit.planning.breaks import Break, bites_on, ranked
from kit.ports import ports
from kit.tables.marks import short_day

MOST_STEPS = 8
# Of one day: what is in use comes first, then vans, what their loads lack, what comes in, and what only waits.
ON_SITE, VAN, BROKEN, COMES_IN, BENCH, DECIDE, SHORT = range(7)


@dataclass(frozen=True, slots=True)
class Press:
    """One press: a way on, or with `sends` a form to that address, done at once."""

    url: str
    label: str
    icon: str
    sends: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Step:
    """`subject` is a tag or job, `url` its page; `day` is when it bites, `weight` its order within that day."""

    subject: str
    url: str
    what: str
    why: str
    day: date
    weight: int
    press: Press | None = None
    after: tuple[Any, ...] = field(default=())


def steps(request: HttpRequest, parts: dict[str, Any]) -> list[Step]:
    """All steps of the person's roles at this depot, the first to bite first. `parts` are the lists of the page."""
    desk = request.desk
    found: list[Step] = []
    if Role.STORES in desk.roles:
        found += [*_vans(parts, desk.today), *_returns(parts, desk.today), *_arriving(parts, desk)]
    elif Role.CREW in desk.roles:
        found += _crew(request, parts)
    if desk.may("reserve"):
        found += _broken(parts["broken"], desk.today)
    if Role.PLANNER in desk.roles:
        found += _short(parts["short"])
    for more in ports.today_steps:
        found += more(request)
    return sorted(found, key=lambda step: (max(step.day, desk.today), step.weight, step.after, step.subject))


def _job(reference: str) -> str:
    return reverse("job", args=[reference])


def _vans(parts: dict[str, Any], today: date) -> Iterator[Step]:
    """Vans of today and late ones, to be issued; what is issued already and tomorrow's stand in the list below."""
    for van in parts["vans_today"]:
        reference = van.job.reference
        told = {"day": short_day(van.job.load_on), "gone": van.issued, "all": van.needed}
        why = _("It was to be loaded on %(day)s.") % told if van.late else _("It loads today.")
        if van.issued:
            why += " " + _("%(gone)s of %(all)s issued.") % told
        if van.missing > 0:
            why += " " + _("%(n)s not promised.") % {"n": van.missing}
        press = Press(reverse("issue", args=[reference]), _("Issue"), "out")
        yield Step(reference, _job(reference), _("Load the van"), why, van.job.load_on, VAN, press)


def _returns(parts: dict[str, Any], today: date) -> Iterator[Step]:
    for job in parts["returns"]:
        if job.return_on > today:
            continue
        why = ngettext(
            "%(n)s piece or lot is still out", "%(n)s pieces and lots are still out", job.still_out
        )
        why = why % {"n": job.still_out}
        due = _("due back today") if job.return_on == today else _("due back on %(day)s")
        why = f"{why}, {due % {'day': short_day(job.return_on)}}."
        press = Press(reverse("take_back", args=[job.reference]), _("Take back"), "back")
        after = (job.return_on,)
        yield Step(
            job.reference,
            _job(job.reference),
            _("Take its kit back"),
            why,
            job.return_on,
            COMES_IN,
            press,
            after,
        )


def _arriving(parts: dict[str, Any], desk: Any) -> Iterator[Step]:
    for one, _mark in parts["consignments"]:
        if one.to_depot_id != desk.depot.pk or one.arrives_on > desk.today:
            continue
        why = _("Expected on %(day)s.") % {"day": short_day(one.arrives_on)}
        press = Press(reverse("transfer_arrive", args=[one.number]), _("Sign for it"), "bring-in")
        url = reverse("transfer", args=[one.number])
        after = (one.arrives_on,)
        yield Step(str(one), url, _("Sign for what arrives"), why, one.arrives_on, COMES_IN, press, after)


def _crew(request: HttpRequest, parts: dict[str, Any]) -> Iterator[Step]:
    """Of the vans ahead and the jobs that are out, those whose crew names the person first."""
    today = request.desk.today
    user: Any = request.user
    names = [name.casefold() for name in (user.get_full_name(), user.get_username()) if name]
    for van in parts["vans"]:
        job = van.job
        if job.state != JobState.PLANNED:
            continue
        why = _("It loads on %(day)s.") % {"day": short_day(job.load_on)}
        press = Press(reverse("load_list", args=[job.reference]), _("Load list"), "kit-list")
        after = (not _names(job.crew, names),)
        yield Step(
            job.reference,
            _job(job.reference),
            _("Check the load"),
            _of(why, job.crew),
            job.load_on,
            VAN,
            press,
            after,
        )
    for job in parts["returns"]:
        why = _("Back on %(day)s.") % {"day": short_day(job.return_on)}
        press = (
            Press(reverse("van", args=[job.reference]), _("Report"), "van")
            if request.desk.may("enter at the van")
            else None
        )
        after = (not _names(job.crew, names),)
        yield Step(
            job.reference,
            _job(job.reference),
            _("Report what was used and what failed"),
            _of(why, job.crew),
            today,
            COMES_IN,
            press,
            after,
        )


def _names(crew: str, names: Iterable[str]) -> bool:
    return any(name in crew.casefold() for name in names)


def _of(why: str, crew: str) -> str:
    return f"{why} {_('Crew: %(crew)s.') % {'crew': crew}}" if crew else why


def _broken(rows: list[Reservation], today: date) -> Iterator[Step]:
    """Piece by piece, job by job in the order in which it bites; a press takes what is proposed in its place."""
    by_job: dict[tuple[str, bool], list[Reservation]] = {}
    for row in rows:
        by_job.setdefault((row.job.reference, row.standing == Standing.ISSUED), []).append(row)
    order = [each.job for each in ranked((_rank(same, today) for same in by_job.values()), today)]
    for (reference, out), same in by_job.items():
        for row in same:
            day = today if out else row.job.load_on
            told = {"job": reference, "day": short_day(row.job.load_on)}
            what = (
                _("On site with %(job)s, and no longer fit") % told
                if out
                else _("Promised to %(job)s, and not fit; it loads on %(day)s") % told
            )
            url = reverse("item", args=[row.item.tag])
            after = (order.index(reference),)
            yield Step(
                row.item.tag, url, what, row.why, day, ON_SITE if out else BROKEN, _mend(row, out), after
            )


def _rank(rows: list[Reservation], today: date) -> Break:
    first, replaceable = rows[0], sum(row.proposed_id is not None for row in rows)
    what: Any = "on-site" if first.standing == Standing.ISSUED else "broken"
    day = bites_on(what, first.job.load_on, today)
    return Break(first.job.reference, what, day, len(rows), replaceable, first.job.priority)


def _mend(row: Reservation, out: bool) -> Press:
    if out:
        return Press(_job(row.job.reference), _("To the job"), "job")
    if row.proposed is None:
        return Press(reverse("substitute", args=[row.pk]), _("Put another"), "swap")
    sends = (("do", "take"), ("reservation", str(row.pk)), ("proposed", row.proposed.tag), ("back", "today"))
    return Press(reverse("breaks"), _("Take %(tag)s") % {"tag": row.proposed.tag}, "swap", sends)


def _short(vans: list[Any]) -> Iterator[Step]:
    for van in vans:
        unpromised = van.missing - van.broken
        if unpromised <= 0:
            continue
        reference = van.job.reference
        why = _("%(n)s of %(all)s were never promised; it loads on %(day)s.") % {
            "n": unpromised,
            "all": van.needed,
            "day": short_day(van.job.load_on),
        }
        sends = (("do", "reserve"), ("job", reference), ("back", "today"))
        press = Press(reverse("breaks"), _("Reserve"), "tick", sends)
        yield Step(reference, _job(reference), _("Reserve its kit"), why, van.job.load_on, SHORT, press)
