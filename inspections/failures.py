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
    """Pieces that share what `named` says (maker; maker and batch), and how many of those tested failed.

    `tag` is of any piece of it.
    """

    named: tuple[str, ...]
    tag: str
    share: FailureShare


def standing() -> QuerySet[Inspection]:
    """Records that count: neither struck out nor answered by one that corrects them."""
    return Inspection.objects.filter(struck=False, corrections__isnull=True)


def tested_of(items: QuerySet[Item]) -> QuerySet[Item]:
    """Of these pieces those with a record that counts: what a share is taken of."""
    return items.filter(Exists(standing().filter(item=OuterRef("pk"))))


def failed_of(items: QuerySet[Item]) -> QuerySet[Item]:
    """Of these pieces those with a failed record that counts: what a share is."""
    return items.filter(Exists(standing().filter(item=OuterRef("pk"), verdict=Verdict.FAIL)))


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
    rows = items.order_by().values(*columns).annotate(tag=Min("tag"), **_counts())
    groups = [
        Group(named, row["tag"], failure_share(row["failed"], row["tested"]))
        for row in rows
        if row["tested"] and (named := tuple(row[column] for column in columns))
    ]
    return sorted(groups, key=_rank)


def summed(groups: Sequence[Group], place: int) -> list[Group]:
    """These groups taken together by one of the columns that name them, in the same order of rank."""
    found: dict[str, list[Group]] = {}
    for group in groups:
        found.setdefault(group.named[place], []).append(group)
    taken = [Group((name,), min(g.tag for g in same), whole_of(same)) for name, same in found.items()]
    return sorted(taken, key=_rank)


def whole_of(groups: Sequence[Group]) -> FailureShare:
    """The share of all these groups together."""
    return failure_share(sum(g.share.failed for g in groups), sum(g.share.tested for g in groups))


def _rank(group: Group) -> tuple[bool, float, int, int, tuple[str, ...]]:
    share = group.share
    return share.few, -share.low, -share.failed, -share.tested, group.named


def _counts() -> dict[str, Count]:
    of_item = standing().filter(item=OuterRef("pk"))
    return {
        "tested": Count("pk", filter=Exists(of_item)),
        "failed": Count("pk", filter=Exists(of_item.filter(verdict=Verdict.FAIL))),
    }
