"""What failed among the pieces of a kind or of a batch, on their pages in the store."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from django.db.models import Q, QuerySet
from django.http import HttpRequest
from django.urls import reverse
from django.utils.formats import number_format
from django.utils.http import urlencode
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from inspections.failures import Group, failing, failing_by, standing, summed, whole_of
from inspections.judging.failure_share import FailureShare
from inspections.models import QuarantineCase, Verdict
from inspections.views.tested_pieces import pieces_url
from kit.models import Item, Kind
from kit.pictures_of_numbers import Interval, picture_of_intervals
from kit.ports import Panel
from kit.stores.related import Batch

MOST_GROUPS = 10
MOST_RECORDS = 20


def percent(share: float) -> str:
    """As whole per cent; below one with a decimal, so that little does not read as none."""
    value = 100 * share
    return number_format(value, 1 if 0 < value < 1 else 0) + "\u00a0%"


def interval_in_words(share: FailureShare) -> str:
    return _("%(low)s to %(high)s") % {"low": percent(share.low), "high": percent(share.high)}


def _row(label: str, share: FailureShare) -> Interval:
    figures = _("%(n)s of %(m)s") % {"n": share.failed, "m": share.tested}
    return Interval(label, figures, share.share, share.low, share.high)


def _in_words(rows: Sequence[Interval]) -> str:
    return " ".join(f"{row.label}: {row.figures}, {percent(row.low)} – {percent(row.high)}." for row in rows)


def _picture(rows: Sequence[Interval], level: float | None, name: str) -> SafeString:
    return picture_of_intervals(
        rows, _("Share of tested pieces that ever failed a check"), _in_words(rows), level, name
    )


def kind_panel(request: HttpRequest, kind: Kind) -> Panel | None:
    """By maker and by batch, what ever failed; nothing where nothing was tested."""
    items = Item.objects.filter(kind=kind, depot__in=request.desk.depots)
    groups = failing_by(items, ("maker", "batch"))
    whole = whole_of(groups)
    if not whole.tested:
        return None
    by_batch = [group for group in groups if group.named[1]]
    by_maker = summed(groups, 0)
    parts = [
        _part("batches-failed", _("By batch"), by_batch, whole, _batch_name, kind),
        _part("makers-failed", _("By maker"), by_maker, whole, _maker_name, kind),
    ]
    return Panel(
        "failures/kind_panel.html",
        {
            "whole": whole,
            "share": percent(whole.share or 0),
            "interval": interval_in_words(whole),
            "tested_url": pieces_url(kind.name),
            "failed_url": pieces_url(kind.name, failed=True),
            # What rests on more than a few pieces first.
            "parts": sorted((part for part in parts if part), key=lambda part: part["few"]),
            "weeks_url": reverse("due_weeks") + "?" + urlencode({"depot": "", "kind": kind.name}),
        },
    )


def _batch_name(group: Group) -> tuple[str, str]:
    maker, batch = group.named
    return f"{batch}, {maker}" if maker else batch, reverse("maker_batch", args=[group.tag])


def _maker_name(group: Group) -> tuple[str, str]:
    return group.named[0] or _("maker not recorded"), ""


def _narrowing(group: Group) -> dict[str, str]:
    """What narrows the list of tested pieces to this group: its maker, and its batch if it is one."""
    return dict(zip(("maker", "batch"), group.named, strict=False))


def _part(
    name: str, heading: str, groups: list[Group], whole: FailureShare, named: Any, kind: Kind
) -> dict[str, Any] | None:
    if not groups:
        return None
    shown = groups[:MOST_GROUPS]
    rows = [_row(named(group)[0], group.share) for group in shown]
    level = whole.share or 0.0
    return {
        "id": name,
        "heading": heading,
        "few": groups[0].share.few,
        "picture": _picture(rows, level, name),
        "rows": [
            {
                "label": named(group)[0],
                "url": named(group)[1],
                "group": group,
                "tested_url": pieces_url(kind.name, **_narrowing(group)),
                "failed_url": pieces_url(kind.name, failed=True, **_narrowing(group)),
                "share": percent(group.share.share or 0),
                "interval": interval_in_words(group.share),
                "above": group.share.above(level),
            }
            for group in shown
        ],
        "more": len(groups) - len(shown),
    }


def _batch_rows(
    batch: Batch, own: FailureShare, rest: FailureShare, items: QuerySet[Item]
) -> list[dict[str, Any]]:
    """The picture of a batch as rows, each figure with the list of the pieces that it counts."""
    of_it = {"maker": batch.maker, "batch": batch.number}
    # The others are told apart by any piece of the batch: the number alone is a maker's own.
    not_it = {"but": items.values_list("tag", flat=True).order_by("tag")[0]}
    return [
        {
            "label": label,
            "share": share,
            "percent": percent(share.share) if share.share is not None else "–",
            "interval": interval_in_words(share),
            "tested_url": pieces_url(batch.kind.name, **narrowed),
            "failed_url": pieces_url(batch.kind.name, failed=True, **narrowed),
        }
        for label, share, narrowed in (
            (_("This batch"), own, of_it),
            (_("All others of the kind"), rest, not_it),
        )
    ]


def batch_panel(request: HttpRequest, batch: Batch) -> Panel | None:
    """What failed of the batch beside what failed of all other pieces of the kind, its failures and open cases."""
    at = Item.objects.filter(depot__in=request.desk.depots)
    items = batch.among(at)
    others = at.filter(kind=batch.kind).exclude(Q(maker=batch.maker) & Q(batch=batch.number))
    own, rest = failing(items), failing(others)
    rows = [_row(_("This batch"), own), _row(_("All others of the kind"), rest)]
    records = (
        standing()
        .filter(item__in=items, verdict__in=[Verdict.FAIL, Verdict.DOUBT])
        .select_related("item", "check_done")
        .order_by("-done_on", "-pk")
    )
    cases = QuarantineCase.objects.filter(item__in=items, decision="").select_related("item", "job")
    return Panel(
        "failures/batch_panel.html",
        {
            "own": own,
            "rest": rest,
            "interval": interval_in_words(own),
            "share": percent(own.share or 0),
            "picture": _picture(rows, None, "batch-failed"),
            "rows": _batch_rows(batch, own, rest, items),
            "records": records[:MOST_RECORDS],
            "more": max(0, records.count() - MOST_RECORDS),
            "cases": cases.order_by("opened_at", "pk"),
        },
    )
