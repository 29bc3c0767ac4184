"""What the register holds as stock for readiness: grouped by the database, never item by item. Reads only."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.db.models import (
    Case,
    Count,
    DateField,
    Expression,
    F,
    IntegerField,
    OuterRef,
    Q,
    QuerySet,
    Subquery,
    Sum,
    Value,
    When,
)
from django.db.models.functions import Coalesce
from django.utils import timezone

from kit.models import Arrangement, Custody, Depot, Item, Kind, Reservation, Standing, State
from kit.planning.mains import Main
from kit.planning.readiness import Readiness, Stock
from kit.planning.readiness_pattern import Pattern
from kit.planning.readiness_stock import DAY, same_mark, slack_of
from kit.stores.knowledge import lines_of
from kit.stores.readiness_sets import sets_in

MOST_DAYS = 3_660
"""Ten years: nothing that is known today reaches further."""

KEYS = ("at_depot", "kind_id", "suits", "seen_mark", "arrives", "until")


def readiness_of(
    arrangement: Arrangement,
    main: Main,
    first: date,
    days: int,
    depots: Collection[Depot] | None = None,
    today: date | None = None,
) -> Readiness:
    """How many stops of the arrangement can be mounted on each of `days` days from `first` on.

    Stops are counted at each of `depots` (all, if None) and added up. What is out and overdue, or should have come
    from another depot and has not, is counted on from no day; a day that is past is judged with what is known today,
    but nothing counts as overdue that was not so on the first day.
    """
    return Question(arrangement, main, first, days, depots, today).known()


class Question:
    """The grouped queries of one question, see `readiness_of`."""

    def __init__(
        self,
        arrangement: Arrangement,
        main: Main,
        first: date,
        days: int,
        depots: Collection[Depot] | None = None,
        today: date | None = None,
    ) -> None:
        self.lines = lines_of(arrangement)
        self.pattern, self.slack, self.main = Pattern(self.lines), slack_of(self.lines), main
        self.first, self.days, self.last = first, days, first + timedelta(days=days - 1)
        self.as_of = min(today or timezone.localdate(), first)
        self.depots = None if depots is None else [depot.pk for depot in depots]
        self.kinds = {kind.pk: kind for kind in Kind.objects.filter(name__in=self.slack)}
        self.codes = dict(Depot.objects.values_list("pk", "code"))

    keys = KEYS

    @property
    def unsized(self) -> list[str]:
        """Kinds sized by the outside diameter, where the main asked about has none: no piece of theirs suits."""
        if self.main.outside_mm is not None:
            return []
        return sorted(
            kind.name
            for kind in self.kinds.values()
            if kind.sized_by == "outside" and kind.name in self.pattern.bore_kinds
        )

    @property
    def cap(self) -> date:
        """A piece that is in date on this day is so on all days asked of, with any margin."""
        return self.last + timedelta(days=max(slack.margin_days for slack in self.slack.values()))

    def known(self) -> Readiness:
        return Readiness(self.lines, self.stock(), self.first, self.days, sets_in(self))

    def stock(self) -> Iterator[Stock]:
        """All that can load on some of the days, and, with negative numbers, what is promised on them."""
        pieces = self.in_date(self.items(counted=False)).values_list(*KEYS).annotate(n=Count("pk")).order_by()
        for *keys, number in pieces:
            yield self.stock_like(keys, number)
        for *keys, number in self._lots():
            yield self.stock_like(keys, number)
        for *keys, starts, ends, before, number in self._promised():
            yield from self._held(self.stock_like(keys, -number), starts, ends, before)

    def stock_like(self, keys: Sequence[Any], number: int) -> Stock:
        """So many pieces with the values of KEYS, there from the first day asked of or the day after they arrive."""
        place, kind_id, suits, mark, arrives, until = keys
        kind = self.kinds[kind_id]
        return Stock(
            depot=self.codes[place],
            kind=kind.name,
            suits=bool(suits),
            mark=same_mark(mark),
            first=self.first if arrives is None else max(self.first, arrives + DAY),
            last=until - timedelta(days=kind.margin_days),
            pieces=number,
        )

    def _held(self, stock: Stock, starts: date, ends: date, before: date | None) -> Iterator[Stock]:
        """The promise on the days that it rules out and that none `before` it, of the same piece, ruled out."""
        begins = starts - timedelta(days=self.slack[stock.kind].turn_round_days)
        if before is not None:
            begins = max(begins, before + DAY)
        begins, ends = max(begins, stock.first), min(ends, stock.last)
        if begins <= ends:
            yield Stock(stock.depot, stock.kind, stock.suits, stock.mark, begins, ends, stock.pieces)

    def in_date(self, items: QuerySet[Item]) -> QuerySet[Item]:
        """Those that are in date on the first day at least."""
        least = min(slack.margin_days for slack in self.slack.values())
        return items.filter(fit_until__gte=self.first + timedelta(days=least))

    def items(self, counted: bool, of_sets: bool = False) -> QuerySet[Item]:
        """Items that could load on some day were they in date, with what tells them apart; those of sets apart."""
        kinds = [
            pk for pk, kind in self.kinds.items() if (kind.name in self.pattern.counted_kinds) == counted
        ]
        in_time = Q(custody=Custody.IN_TRANSIT, arrives_on__gte=self.as_of)
        if counted:
            here = ~Q(custody=Custody.IN_TRANSIT) | in_time
        else:
            issued = Reservation.objects.filter(standing=Standing.ISSUED)
            out = Q(custody=Custody.ON_SITE, pk__in=issued.values("item"))
            here = Q(custody=Custody.STORE) | in_time | out
        found = Item.objects.filter(
            here,
            kind__in=kinds,
            state=State.AVAILABLE,
        )
        found = found.exclude(set_name="") if of_sets else found.filter(set_name="")
        if not counted:
            # What is overdue from a job is out, and nobody knows until when.
            found = found.exclude(pk__in=issued.filter(ends__lt=self.as_of).values("item"))
        if self.depots is not None:
            at_home = Q(depot__in=self.depots) & ~Q(custody=Custody.IN_TRANSIT)
            found = found.filter(at_home | Q(custody=Custody.IN_TRANSIT, transit_to__in=self.depots))
        return found.annotate(**self._told_apart(""))

    def _told_apart(self, at: str) -> dict[str, Expression]:
        """The keys by which the database groups, from an item or from what points at one (`at`)."""
        on_the_way = {f"{at}custody": Custody.IN_TRANSIT}
        marked = [pk for pk, kind in self.kinds.items() if kind.name in self.pattern.mark_kinds]
        return {
            "at_depot": Case(When(**on_the_way, then=F(f"{at}transit_to_id")), default=F(f"{at}depot_id")),
            "suits": Case(*self._suiting(at), default=Value(0), output_field=IntegerField()),
            "seen_mark": Case(When(**{f"{at}kind__in": marked}, then=F(f"{at}mark")), default=Value("")),
            "arrives": Case(
                When(**on_the_way, then=F(f"{at}arrives_on")), default=Value(None), output_field=DateField()
            ),
            "until": Case(
                When(**{f"{at}fit_until__gt": self.cap}, then=Value(self.cap)),
                default=F(f"{at}fit_until"),
                output_field=DateField(),
            ),
        }

    def _suiting(self, at: str) -> Iterator[When]:
        for pk, kind in self.kinds.items():
            span = self.main.span(kind.sized_by)  # type: ignore[arg-type]
            if kind.name in self.pattern.bore_kinds and span is not None:
                margin: Decimal = kind.bore_margin_mm
                yield When(
                    **{
                        f"{at}kind": pk,
                        f"{at}bore_min_mm__lte": span[0] - margin,
                        f"{at}bore_max_mm__gte": span[1] + margin,
                    },
                    then=Value(1),
                )

    def _lots(self) -> QuerySet[Item, tuple[Any, ...]]:
        """Lots by group, with what is left of them that nobody was promised."""
        promised = (
            Reservation.objects.filter(item=OuterRef("pk"), counted=True, standing=Standing.PROMISED)
            .order_by()
            .values("item")
            .annotate(n=Sum("quantity"))
            .values("n")
        )
        free = F("quantity") - Coalesce(Subquery(promised, output_field=IntegerField()), 0)
        return (
            self.in_date(self.items(counted=True))
            .annotate(free=free)
            .filter(free__gt=0)
            .values_list(*KEYS)
            .annotate(n=Sum("free"))
            .order_by()
        )

    def _promised(self) -> QuerySet[Reservation, tuple[Any, ...]]:
        """Promised and issued pieces by group, window, and the end of the piece's promise before, where it matters."""
        turning = [pk for pk, kind in self.kinds.items() if self.slack[kind.name].turn_round_days]
        longest = max(slack.turn_round_days for slack in self.slack.values())
        before: Expression = Value(None, output_field=DateField())
        if turning:
            earlier = Reservation.objects.holding().filter(
                item=OuterRef("item"), starts__lt=OuterRef("starts")
            )
            before = Case(
                When(item__kind__in=turning, then=Subquery(earlier.order_by("-ends").values("ends")[:1])),
                default=before,
            )
        held = Reservation.objects.holding().filter(
            counted=False,
            ends__gte=self.first,
            starts__lte=self.last + timedelta(days=longest),
            item__in=self.in_date(self.items(counted=False)).values("pk"),
        )
        keyed = held.annotate(**self._told_apart("item__"), kind_id=F("item__kind_id"), before=before)
        return keyed.values_list(*KEYS, "starts", "ends", "before").annotate(n=Count("pk")).order_by()
