"""The bench sheet filled from the bench list: the limits of each check as they are in force, boxes for what is read."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, datetime

from django.utils.translation import gettext as _

from inspections.due_list import DueEntry
from inspections.judging import Field, FormFault, permissible_error
from inspections.limits import form_of
from inspections.models import Check, Method
from inspections.views.checks_words import figure, rule_in_words
from kit.models import Depot, Item
from kit.papers.bench_sheet import BenchSheet, Box, ToTest
from kit.papers.said import caution, on, word
from kit.papers.store_heads import stamp
from kit.stores import NotAllowed
from kit.tables.items import bore_text

MOST = 150
"""Checks on one sheet: what a bench does not do in a week is printed when its turn comes."""
POINTS = 10
"""Lines for the points of a calibration: five up and five down, common practice, no source."""


def bench_sheet_of(
    listed: Sequence[tuple[DueEntry, date | None]],
    depot: Depot,
    today: date,
    printed_at: datetime | None = None,
) -> BenchSheet:
    """The sheet of these entries in their order. Raises NotAllowed for none, and for more than a sheet takes."""
    if not listed:
        raise NotAllowed(_("Nothing on the bench list is left by this choice, so there is no bench sheet."))
    if len(listed) > MOST:
        raise NotAllowed(
            _(
                "These are %(n)s checks; a bench sheet takes %(most)s. Narrow the list by kind, check or place."
            )
            % {"n": len(listed), "most": MOST}
        )
    checks = {
        (check.kind.name, check.name): check
        for check in Check.objects.in_force()
        .filter(name__in={entry.check for entry, _load in listed})
        .select_related("kind")
    }
    items = Item.objects.in_bulk([entry.item_id for entry, _load in listed])
    return BenchSheet(
        title=_("Bench sheet"),
        about=f"{depot}, {on(today)}",
        stamp=stamp(1, printed_at),
        rows=[
            _to_test(entry, load, items[entry.item_id], checks.get((entry.kind, entry.check)), today)
            for entry, load in listed
        ],
        caution=caution(),
    )


def _to_test(entry: DueEntry, load: date | None, item: Item, check: Check | None, today: date) -> ToTest:
    about = [
        _("Serial %(serial)s") % {"serial": item.serial} if item.serial else "",
        item.maker,
        _("bore %(bore)s mm") % {"bore": bore_text(item)} if bore_text(item) else "",
        _("mark %(mark)s") % {"mark": item.mark} if item.mark else "",
        _("lies in %(place)s") % {"place": entry.place} if entry.place else "",
        _("for %(job)s, loads %(day)s") % {"job": entry.job, "day": on(load)} if entry.job and load else "",
    ]
    return ToTest(
        tag=entry.tag,
        kind=word(entry.kind),
        check=word(entry.check),
        due=_due(entry, today),
        about=[" · ".join(part for part in about if part)],
        limits=[words for words in _limits(check) if words] if check else [],
        boxes=list(_boxes(check)) if check else [],
        points=POINTS if check and check.method == Method.CALIBRATION else 0,
    )


def _due(entry: DueEntry, today: date) -> str:
    if entry.due_on is None:
        return _("never done: due at once")
    if entry.due_on < today:
        return _("overdue since %(day)s") % {"day": on(entry.due_on)}
    return _("due on %(day)s") % {"day": on(entry.due_on)}


def _limits(check: Check) -> Iterator[str]:
    """What the rule in force asks, as the settings say it; of a calibration the error that it comes to as well.

    What a form asks stands at its boxes.
    """
    said = dict(rule_in_words(check))
    names = [_("Judged by"), _("Printed for other units")] if check.method != Method.PLAIN else []
    for name in [*names, _("Procedure")]:
        if words := said.get(name):
            yield f"{name}: {words}"
    if check.method == Method.CALIBRATION and check.accuracy_class is not None and check.span is not None:
        most = permissible_error(check.accuracy_class, check.span)
        yield _("error %(most)s %(unit)s at most") % {"most": f"{float(most):g}", "unit": check.unit}


def _boxes(check: Check) -> Iterator[Box]:
    if check.method == Method.HOLD_TEST:
        yield Box(_("Start pressure"), check.unit)
        yield Box(_("End pressure"), check.unit)
        yield Box(_("Minutes held"), "min")
        yield Box(_("Gauge (tag)"))
        yield Box(_("Temperature at the start"), "°C")
        yield Box(_("Temperature at the end"), "°C")
    elif check.method == Method.CALIBRATION:
        yield Box(_("Reference used (tag or certificate)"), wide=True)
    elif check.form:
        try:
            fields = form_of(check).fields
        except FormFault:
            fields = ()
        # A ratio is worked out from others, never read.
        yield from (_field_box(one) for one in fields if one.kind != "ratio")
    yield Box(_("What was found"), wide=True)


def _field_box(one: Field) -> Box:
    answers = " / ".join(str(_(answer)) for answer in one.answers)
    return Box(one.label, one.unit, answers or _field_limit(one), wide=one.kind == "text")


def _field_limit(one: Field) -> str:
    if one.least is not None and one.most is not None:
        return _("%(low)s to %(high)s") % {"low": figure(one.least), "high": figure(one.most)}
    if one.most is not None:
        return _("%(n)s at most") % {"n": figure(one.most)}
    return _("%(n)s at least") % {"n": figure(one.least)} if one.least is not None else ""
