"""Where a piece is and with what, with what it was used, and what is like it: parts of its page."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import groupby
from typing import Any

from django.db.models import QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.links import item_link, job_link, linked, register_url
from kit.models import Custody, Item, Reservation
from kit.stores import on_the_way
from kit.stores.related import kinds_instead, of_its_batch, stand_ins
from kit.stores.together import Beside, companions_of_late, out_with, outings_of
from kit.tables.items import bore_text
from kit.tables.marks import fettle_of, mark_of, short_day, standing_of
from kit.views.some import some_of

OUTINGS, ALIKE = 8, 6


def where_it_is(request: HttpRequest, item: Item, out: Sequence[Reservation]) -> dict[str, Any]:
    """Where it is, in facts that lead on, and for each job on which it is out what is out with it."""
    beside = out_with(out)
    return {
        "facts": [*_place(request, item), *_way(item), *(fact for row in out for fact in _job(row))],
        "jobs": [_with(row, beside[row.job_id]) for row in out],
    }


def _place(request: HttpRequest, item: Item) -> list[tuple[Any, Any]]:
    """In the store the place with how much else lies there; elsewhere the place to which it belongs."""
    where: Any = _(item.get_custody_display())
    if item.place is None:
        at: Any = _("no place recorded")
    else:
        url = register_url({"depot": item.depot.code, "place": str(item.place_id)})
        at = linked(url, item.place)
    if item.custody != Custody.STORE:
        return [(_("Where it is"), where), (_("Belongs at"), at)]
    rows = [(_("Where it is"), where), (_("Place in the store"), at)]
    if item.place is not None and item.depot in request.desk.depots:
        lying = Item.objects.in_use().filter(place=item.place, custody=Custody.STORE).exclude(pk=item.pk)
        others = lying.count()
        narrowed = {
            "depot": item.depot.code,
            "place": str(item.place_id),
            "custody": "store",
            "state": "in-use",
        }
        words = ngettext("%(n)s other piece or lot", "%(n)s other pieces and lots", others) % {"n": others}
        rows.append((_("Lies there with"), linked(register_url(narrowed), words)))
    return rows


def _way(item: Item) -> list[tuple[Any, Any]]:
    if item.custody != Custody.IN_TRANSIT:
        return []
    line = on_the_way(item)
    rows: list[tuple[Any, Any]] = [
        (_("On its way to"), item.transit_to),
        (_("Expected there"), short_day(item.arrives_on) if item.arrives_on else _("not recorded")),
        (_("Sent by"), item.sent_by),
    ]
    if line is not None:
        rows.append(
            (_("Consignment"), linked(reverse("transfer", args=[line.transfer.number]), line.transfer))
        )
    return rows


def _job(row: Reservation) -> list[tuple[Any, Any]]:
    job = row.job
    return [
        (_("Out on job"), job_link(job)),
        (_("Site"), job.site or _("not recorded")),
        (_("Crew"), job.crew or _("not recorded")),
        (_("Issued on"), short_day(row.issued_on) if row.issued_on else _("not recorded")),
        (_("Expected back"), short_day(job.return_on)),
    ]


def _with(row: Reservation, beside: Sequence[Beside]) -> dict[str, Any]:
    """What is out with it on one job: bound pieces as rows, the rest by line."""
    rest = [one for one in beside if not one.bound]
    return {
        "job": row.job,
        "line": row.line.name,
        "number": len(beside),
        "bound": [(one, _bound_words(one)) for one in beside if one.bound],
        "by_line": [
            (line, _tags(list(same))) for line, same in groupby(rest, key=lambda one: one.row.line.name)
        ],
        "rest": len(rest),
    }


def _bound_words(one: Beside) -> str:
    if one.bound == "set":
        return _("of its set %(name)s") % {"name": one.item.set_name}
    return _("made up into a unit with it: %(assembly)s, mark %(mark)s") % {
        "assembly": one.row.line.assembly,
        "mark": one.item.mark,
    }


def _tags(beside: Sequence[Beside]) -> SafeString:
    """Links side by side, each as large as a finger; of a lot with how much of it."""
    links = ((item_link(one.item), f" × {one.row.quantity}" if one.row.counted else "") for one in beside)
    return format_html('<ul class="tags" role="list">{}</ul>', format_html_join("", "<li>{}{}</li>", links))


def used_with(request: HttpRequest, item: Item) -> dict[str, Any] | None:
    """Each time it went out, and what went with it again and again. ?outings=all shows every one."""
    some = some_of(request, "outings", outings_of(item), OUTINGS)
    if not some.number:
        return None
    own = {depot.pk for depot in request.desk.depots}
    return {
        "outings": [
            {"row": row, "mark": standing_of(row), "seen": row.job.depot_id in own} for row in some.shown
        ],
        "number": some.number,
        "left_out": some.left_out,
        "companions": [
            {
                "one": one,
                "seen": one.depot_id in own,
                "jobs": [(job, depot in own) for job, depot in one.jobs],
            }
            for one in (companions_of_late(item) if some.number > 1 else ())
        ],
    }


def related_to(request: HttpRequest, item: Item) -> dict[str, Any] | None:
    """Others of its batch, and what could stand in for it. ?related=all shows every one."""
    parts = []
    if item.batch:
        batch = of_its_batch(item, request.desk.depots)
        parts.append(
            {
                "id": "of-its-batch",
                "heading": _("Of its batch %(batch)s") % {"batch": item.batch},
                "url": reverse("maker_batch", args=[item.tag]),
                "url_text": _("The page of the batch"),
                "none": _("No other piece of this batch is recorded at your depots."),
                **_alike(request, batch),
            }
        )
    if not item.counted:
        parts.append(
            {
                "id": "stand-ins",
                "heading": _("What could stand in for it today"),
                "hint": _stand_in_words(item),
                "none": _(
                    "Nothing at its depot could: all that suits is promised, out, set aside or not fit."
                ),
                **_alike(request, stand_ins(item, request.desk.today)),
            }
        )
    instead = list(kinds_instead(item))
    if not parts and not instead:
        return None
    return {"parts": parts, "instead": instead}


def _alike(request: HttpRequest, found: QuerySet[Item]) -> dict[str, Any]:
    today: date = request.desk.today
    some = some_of(request, "related", found.select_related("kind", "depot", "place", "transit_to"), ALIKE)
    shown = [
        {
            "item": one,
            "mark": mark_of(one, today),
            "fettle": fettle_of(one, today),
            "size": ", ".join(part for part in (bore_text(one), one.mark) if part),
        }
        for one in some.shown
    ]
    return {"rows": shown, "number": some.number, "left_out": some.left_out}


def _stand_in_words(item: Item) -> str:
    asked = [_("of its kind and depot, in the store, in fettle today, promised to nobody and of no set")]
    if item.bore_min_mm is not None:
        asked.append(_("with a range that covers its own"))
    if item.mark:
        asked.append(_("of the mark %(mark)s") % {"mark": item.mark})
    return ", ".join(asked)
