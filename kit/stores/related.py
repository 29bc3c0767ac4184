"""What is like a piece: others of its maker's batch, and what could take its place. Reads only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Self

from django.db.models import Exists, OuterRef, QuerySet

from kit.models import HOLDING, Depot, Item, Kind, LineSubstitute, Reservation


@dataclass(frozen=True, slots=True)
class Batch:
    """A batch is a maker's: the same number of another maker, or on another kind, is another batch."""

    kind: Kind
    maker: str
    number: str

    @classmethod
    def of(cls, item: Item) -> Self:
        return cls(item.kind, item.maker, item.batch)

    def among(self, items: QuerySet[Item]) -> QuerySet[Item]:
        return items.filter(kind=self.kind, maker=self.maker, batch=self.number)


def of_its_batch(item: Item, depots: Sequence[Depot]) -> QuerySet[Item]:
    """The others of its maker's batch at these depots, whatever their state; none if no batch is recorded."""
    if not item.batch:
        return Item.objects.none()
    here = Item.objects.filter(depot__in=[depot.pk for depot in depots])
    return Batch.of(item).among(here).exclude(pk=item.pk).order_by("tag")


def stand_ins(item: Item, today: date) -> QuerySet[Item]:
    """What could go out in its place today: of its kind and depot, in the store, fit, promised to no job that is not
    over, bound in no set, of the same mark, and with a range that covers its own. What lasts longest comes first.

    A job asks for less than that (a bore, not a range): what a job could take says its own page.
    """
    held = Reservation.objects.filter(item=OuterRef("pk"), standing__in=HOLDING, ends__gte=today)
    found = Item.objects.issuable(today).filter(
        ~Exists(held), kind=item.kind_id, depot=item.depot_id, set_name="", counted=False
    )
    if item.counted:
        return found.none()
    if item.mark:
        found = found.filter(mark=item.mark)
    if item.bore_min_mm is not None:
        found = found.filter(bore_min_mm__lte=item.bore_min_mm, bore_max_mm__gte=item.bore_max_mm)
    return found.exclude(pk=item.pk).order_by("-fit_until", "tag")


def kinds_instead(item: Item) -> QuerySet[LineSubstitute]:
    """Which other kinds the arrangements in force let stand in for its kind, with the line on which they do."""
    rows = LineSubstitute.objects.filter(line__kind=item.kind_id, line__arrangement__current=True)
    return rows.select_related("kind", "line__arrangement").order_by(
        "kind__name", "line__arrangement__name", "line__position"
    )
