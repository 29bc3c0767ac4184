"""The parts of a digest about checks: the bench, what is overdue, set aside, conceded, under review, ruled anew."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from urllib.parse import urlencode

from django.db.models import Count, Exists, F, OuterRef, Q, Subquery
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from inspections.bench_list import bench_list
from inspections.digest_parts import Line, Section
from inspections.due_list import USE_BY, DueEntry, due_list
from inspections.models import CheckVersion, Concession, ConcessionState, Due, Outcome, QuarantineCase, Review
from inspections.views.panels import interval_in_words
from kit.models import Depot, Item, Role, State
from kit.sentences import said as in_words
from kit.views.day_lists import set_aside

AHEAD_DAYS = 14
NOT_IN_USE = (State.WITHDRAWN, State.LOST)


def sections(roles: frozenset[str], depot: Depot, today: date) -> Iterator[Section]:
    """Those that these roles look after, in order; some may be empty."""
    keeping, granting = Role.COMPLIANCE in roles, roles & {Role.COMPLIANCE, Role.DUTY}
    if Role.EXAMINER in roles:
        yield _bench(depot, today)
    if keeping:
        yield _overdue(depot, today)
        yield _quarantine(depot)
    if granting:
        yield _asked(depot)
        yield _running_out(depot, today)
    if keeping:
        yield _reviews(depot)
        yield _rules(depot, today)


def _bench(depot: Depot, today: date) -> Section:
    lines = tuple(
        _due_line(entry, f"{reverse('record', args=[entry.tag])}?{urlencode({'check': entry.check})}")
        for entry, _load_on in bench_list(depot.pk, today, AHEAD_DAYS)
    )
    n = len(lines)
    return Section(
        "bench",
        _("At the bench: due within %(days)s days, the soonest promised first") % {"days": AHEAD_DAYS},
        ngettext("%(n)s check for the bench", "%(n)s checks for the bench", n) % {"n": n},
        lines,
        f"{reverse('due')}?{urlencode({'within': AHEAD_DAYS})}",
    )


def _due_line(entry: DueEntry, path: str) -> Line:
    if entry.check == USE_BY:
        what = _("%(kind)s: use-by date") % {"kind": in_words(entry.kind)}
    elif entry.due_on is None:
        what = _("%(kind)s: %(check)s never done") % {
            "kind": in_words(entry.kind),
            "check": in_words(entry.check),
        }
    else:
        what = _("%(kind)s: %(check)s due") % {"kind": in_words(entry.kind), "check": in_words(entry.check)}
    return Line(entry.tag, what, entry.due_on, entry.job or "", path)


def _overdue(depot: Depot, today: date) -> Section:
    lines = tuple(
        _due_line(entry, reverse("item", args=[entry.tag])) for entry in due_list(today, depots=[depot.pk])
    )
    said = _("%(n)s overdue or never done") % {"n": len(lines)}
    return Section("overdue", _("Overdue and never done"), said, lines, reverse("due"))


def _quarantine(depot: Depot) -> Section:
    cases = dict(QuarantineCase.objects.filter(decision="", item__depot=depot).values_list("item_id", "pk"))
    lines = tuple(
        Line(
            item.tag,
            f"{in_words(item.kind.name)}: {in_words(item.state_why)}",
            timezone.localdate(item.state_since) if item.state_since else None,
            "",
            reverse("case", args=[cases[item.pk]]) if item.pk in cases else reverse("item", args=[item.tag]),
        )
        for item in set_aside(depot)
    )
    said = _("%(n)s in quarantine") % {"n": len(lines)}
    return Section("quarantine", _("Quarantine, the oldest first"), said, lines, reverse("quarantine"))


def _asked(depot: Depot) -> Section:
    open_ones = (
        Concession.objects.filter(state=ConcessionState.ASKED, item__depot=depot)
        .exclude(item__state__in=NOT_IN_USE)
        .select_related("item", "check_due")
        .order_by("due_on", "item__tag", "check_due__name")
    )
    lines = tuple(
        Line(
            each.item.tag,
            _("%(check)s until %(until)s, asked for by %(who)s: %(why)s")
            % {"check": each.check_due.name, "until": each.until, "who": each.asked_by, "why": each.reason},
            each.due_on,
            "",
            reverse("concession", args=[each.pk]),
        )
        for each in open_ones
    )
    n = len(lines)
    said = ngettext("%(n)s concession asked for", "%(n)s concessions asked for", n) % {"n": n}
    return Section("asked", _("Concessions asked for"), said, lines, reverse("concessions"))


def _running_out(depot: Depot, today: date) -> Section:
    """Granted ones that end soon. One has lapsed where the due date that it extends has moved, and one leans on
    another where that runs longer; a rule that was set since may end it before its day.
    """
    extended = Due.objects.filter(
        item=OuterRef("item"), check_due=OuterRef("check_due"), conceded_from=OuterRef("due_on")
    )
    ending = (
        Concession.objects.running(today)
        .annotate(ends=Subquery(extended.values("due_on")[:1]))
        .filter(item__depot=depot, ends__lte=F("until"))
        .filter(ends__lte=today + timedelta(days=AHEAD_DAYS))
        .exclude(item__state__in=NOT_IN_USE)
        .select_related("item", "check_due")
        .order_by("ends", "item__tag", "check_due__name")
    )
    lines = tuple(
        Line(
            each.item.tag,
            _("%(check)s, due since %(due_on)s, conceded")
            % {"check": each.check_due.name, "due_on": each.due_on},
            each.ends,
            "",
            reverse("concession", args=[each.pk]),
        )
        for each in ending
    )
    n = len(lines)
    said = ngettext("%(n)s concession running out", "%(n)s concessions running out", n) % {"n": n}
    title = _("Concessions that run out within %(days)s days") % {"days": AHEAD_DAYS}
    return Section("running-out", title, said, lines, f"{reverse('concessions')}?part=running")


def _reviews(depot: Depot) -> Section:
    reviews = (
        Review.objects.filter(closed_at__isnull=True, gauge__depot=depot)
        .select_related("gauge")
        .annotate(all=Count("records"), undecided=Count("records", filter=Q(records__outcome=Outcome.OPEN)))
        .order_by("opened_at", "id")
    )
    lines = tuple(
        Line(
            each.gauge.tag,
            _("found out of tolerance: %(n)s of %(all)s records to be decided")
            % {"n": each.undecided, "all": each.all},
            timezone.localdate(each.opened_at),
            "",
            reverse("review", args=[each.pk]),
        )
        for each in reviews
    )
    n = len(lines)
    said = ngettext("%(n)s review open", "%(n)s reviews open", n) % {"n": n}
    return Section("reviews", _("Reviews open"), said, lines, reverse("reviews"))


def _rules(depot: Depot, today: date) -> Section:
    """Versions that come into force soon, of checks of kinds that the depot has."""
    here = Item.objects.filter(depot=depot, kind=OuterRef("of__kind")).exclude(state__in=NOT_IN_USE)
    later = CheckVersion.objects.filter(
        of=OuterRef("of"), in_force_from=OuterRef("in_force_from"), number__gt=OuterRef("number")
    )
    coming = (
        CheckVersion.objects.filter(
            Exists(here),
            ~Exists(later),
            in_force_from__gt=today,
            in_force_from__lte=today + timedelta(days=AHEAD_DAYS),
        )
        .select_related("of__kind")
        .order_by("in_force_from", "of__kind__name", "of__name")
    )
    lines = tuple(
        Line(
            "",
            f"{in_words(each.of.kind.name)}: "
            + _rule_in_words(each)
            + (f" ({each.why})" if each.why else ""),
            each.in_force_from,
            "",
            reverse("kind_checks", args=[each.of.kind_id]),
        )
        for each in coming
    )
    n = len(lines)
    said = ngettext("%(n)s rule coming into force", "%(n)s rules coming into force", n) % {"n": n}
    title = _("Rules that come into force within %(days)s days") % {"days": AHEAD_DAYS}
    return Section("rules", title, said, lines, reverse("kinds"))


def _rule_in_words(version: CheckVersion) -> str:
    if version.retired:
        return _("%(check)s is asked for no more") % {"check": version.of.name}
    return f"{in_words(version.of.name)} {interval_in_words(version)}"
