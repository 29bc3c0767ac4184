"""What inspections put among the steps of the day: for the bench, and for who decides."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import urlencode
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.bench_list import bench_list
from inspections.case_list import age_days, cases_at
from inspections.concession_list import ASKED, listed_concessions
from inspections.due_list import due_list
from inspections.models import Review
from inspections.tables.due import check_text
from inspections.views.panels import BENCH_DAYS
from kit.models import Custody, Role
from kit.sentences import said
from kit.tables.marks import short_day
from kit.views.now import BENCH, DECIDE, Press, Step

MOST_OF_A_SORT = 5


def bench(request: HttpRequest) -> Iterator[Step]:
    """For the examiner: the head of the bench list, what is promised by the day on which its job loads."""
    if Role.EXAMINER not in request.desk.roles:
        return
    today = request.desk.today
    listed = bench_list(request.desk.depot.pk, today, BENCH_DAYS)
    here = [(entry, load_on) for entry, load_on in listed if entry.custody == Custody.STORE]
    for place, (entry, load_on) in enumerate(here[:MOST_OF_A_SORT]):
        why = _due_words(entry.due_on, today)
        if entry.job and load_on:
            why += " " + _("Promised to %(job)s, which loads on %(day)s.") % {
                "job": entry.job,
                "day": short_day(load_on),
            }
        url = f"{reverse('record', args=[entry.tag])}?{urlencode({'check': entry.check})}"
        yield Step(
            entry.tag,
            reverse("item", args=[entry.tag]),
            f"{said(entry.kind)}: {check_text(entry.check)}",
            why,
            today,
            BENCH,
            Press(url, _("Record"), "bench"),
            (place,),
        )


def _due_words(due_on: date | None, today: date) -> str:
    if due_on is None:
        return _("Never done.")
    if due_on < today:
        days = (today - due_on).days
        return ngettext("Overdue by %(n)s day.", "Overdue by %(n)s days.", days) % {"n": days}
    return _("Due on %(day)s.") % {"day": short_day(due_on)}


def decide(request: HttpRequest) -> Iterator[Step]:
    """Concessions for who may grant; for the compliance lead what is overdue though promised, reviews and cases."""
    desk = request.desk
    if desk.may("grant concession"):
        yield from _concessions(desk.depot.pk, desk.today, request.user.get_username())
    if Role.COMPLIANCE not in desk.roles:
        return
    yield from _promised_overdue(desk.depot.pk, desk.today)
    for review in (
        Review.objects.filter(gauge__depot=desk.depot, closed_at=None)
        .select_related("gauge")
        .order_by("opened_at", "pk")[:MOST_OF_A_SORT]
    ):
        url = reverse("review", args=[review.pk])
        why = _("Its gauge was found out of tolerance: what was tested with it is in doubt until you decide.")
        press = Press(url, _("Review"), "recall")
        yield Step(review.gauge.tag, url, _("Decide a review"), why, desk.today, DECIDE, press, (1,))
    for case in cases_at([desk.depot.pk])[:MOST_OF_A_SORT]:
        url = reverse("case", args=[case.pk])
        days = age_days(case, desk.today)
        why = ngettext("Set aside %(n)s day ago: %(why)s", "Set aside %(n)s days ago: %(why)s", days)
        press = Press(url, _("To the case"), "quarantine")
        yield Step(
            case.item.tag,
            reverse("item", args=[case.item.tag]),
            _("Decide a quarantine case"),
            why % {"n": days, "why": said(case.why)},
            desk.today,
            DECIDE,
            press,
            (3, -days),
        )


def _concessions(depot: int, today: date, me: str) -> Iterator[Step]:
    """Those that somebody else asked for: nobody decides on their own."""
    asked = [row for row in listed_concessions(today, [depot]) if row.stands == ASKED]
    others = [row for row in asked if row.concession.asked_by != me]
    for row in others[:MOST_OF_A_SORT]:
        one = row.concession
        url = reverse("concession", args=[row.pk])
        told = {"due": short_day(one.due_on), "until": short_day(one.until), "who": one.asked_by}
        why = _("Due %(due)s, asked until %(until)s by %(who)s.") % told
        what = _("Decide a concession: %(check)s") % {"check": said(one.check_due.name)}
        press = Press(url, _("Decide"), "evidence")
        yield Step(one.item.tag, reverse("item", args=[one.item.tag]), what, why, today, DECIDE, press, (0,))


def _promised_overdue(depot: int, today: date) -> Iterator[Step]:
    entries = [entry for entry in due_list(today, depots=[depot]) if entry.job]
    for entry in entries[:MOST_OF_A_SORT]:
        url = f"{reverse('due')}?{urlencode({'q': entry.tag})}"
        why = _due_words(entry.due_on, today) + " " + _("Promised to %(job)s.") % {"job": entry.job}
        what = _("Overdue though promised: %(check)s") % {"check": check_text(entry.check)}
        press = Press(url, _("In the due list"), "due")
        yield Step(entry.tag, reverse("item", args=[entry.tag]), what, why, today, DECIDE, press, (2,))
