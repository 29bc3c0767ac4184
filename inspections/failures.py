"""How many pieces of a batch or a maker ever failed a check, and how far such a share can be trusted. Reads only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.db.models import Count, Exists, Min, OuterRef, QuerySet

from inspections.judging.failure_share import FailureShare, failure_share
from inspections.models import Inspection, Verdict
from kit.models import Item


@dataclass(frozen=True, slots=True)
class Group:
    """Pieces that share what `named` says (maker; maker and batch): all of them, and those tested and failed.

    `tag` is of any piece of it.
    """

    named: tuple[str, ...]
    tag: str
    pieces: int
    share: FailureShare


def standing() -> QuerySet[Inspection]:
    """Records that count: neither struck out nor answered by one that corrects them."""
    return Inspection.objects.filter(struck=False, corrections__isnull=True)


def failing(items: QuerySet[Item]) -> FailureShare:
    """Of these pieces with a record that counts, how many ever failed. A piece counts once, however often it failed,
    and also when it is withdrawn by now: what failed for good would else be what is left out.
    """
    counts = items.aggregate(**_counts())
    return failure_share(counts["failed"], counts["tested"])


def failing_by(items: QuerySet[Item], columns: Sequence[str]) -> list[Group]:
    """The same for each group of pieces with the same columns; those without any piece tested are left out.

    What has failed most beyond doubt comes first: by the lower end of the interval, and after them the groups of a few
    pieces, so that one bad piece of one does not stand above seven of twenty.
    """
    rows = items.order_by().values(*columns).annotate(pieces=Count("pk"), tag=Min("tag"), **_counts())
    groups = [
        Group(named, row["tag"], row["pieces"], failure_share(row["failed"], row["tested"]))
        for row in rows
        if row["tested"] and (named := tuple(row[column] for column in columns))
    ]
    return sorted(groups, key=_rank)


def _rank(group: Group) -> tuple[bool, float, int, int, tuple[str, ...]]:
    share = group.share
    return share.few, -share.low, -share.failed, -share.tested, group.named


def _counts() -> dict[str, Count]:
    of_item = standing().filter(item=OuterRef("pk"))
    return {
        "tested": Count("pk", filter=Exists(of_item)),
        "failed": Count("pk", filter=Exists(of_item.filter(verdict=Verdict.FAIL))),
    }
