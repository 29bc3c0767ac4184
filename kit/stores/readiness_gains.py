"""Which inspections, done in time, would keep stops in the count: found by groups, then looked at piece by piece."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import Count, DateField, F, Value
from django.db.models.functions import Coalesce

from kit.models import Item
from kit.planning.readiness import Day, Readiness, Stock
from kit.planning.readiness_gain import Dropping, Gain, kept_in_date
from kit.planning.readiness_pattern import Alike
from kit.planning.readiness_stock import DAY, same_mark
from kit.planning.values import NO_LIMIT
from kit.stores.readiness import KEYS, Question

MOST_GAINS = 10
_LOOKED_AT = 25

Group = tuple[str, Alike, date | None]


@dataclass(frozen=True, slots=True)
class Inspection:
    """What it gives to inspect these pieces before the day on which they fall due."""

    gain: Gain
    tags: tuple[str, ...]


def inspections_in_time(asked: Question, known: Readiness, days: Sequence[Day]) -> list[Inspection]:
    """For pieces of the limiting kinds that drop out within the days, or have already: what their inspection gives.

    Those of one sort that fall due on one day are taken together. A pass is taken to last until the use-by date or the
    next check of the piece that falls due, whichever comes first. What failed or waits for a repair is left out.
    """
    limiting = {kind for day in days for kind in day.limited_by}
    groups = list(_groups(asked, limiting))
    hopeful = kept_in_date(known, days, groups, _LOOKED_AT)
    pieces: dict[Group, list[tuple[str, Dropping]]] = {
        (gain.depot, gain.alike, gain.due_on): [] for gain in hopeful
    }
    for tag, piece in _pieces(asked, {gain.kind for gain in hopeful}, {gain.due_on for gain in hopeful}):
        if (key := (piece.back.depot, piece.back.alike, piece.due_on)) in pieces:
            pieces[key].append((tag, piece))
    found = kept_in_date(known, days, (piece for each in pieces.values() for _tag, piece in each), MOST_GAINS)
    return [
        Inspection(gain, tuple(tag for tag, _piece in pieces[gain.depot, gain.alike, gain.due_on]))
        for gain in found
    ]


def _groups(asked: Question, kinds: Collection[str]) -> Iterator[Dropping]:
    limit = Coalesce(F("use_by"), Value(NO_LIMIT), output_field=DateField())
    falling = (
        asked.items(counted=False)
        .filter(kind__name__in=kinds, fit_until__lt=asked.cap)
        .annotate(limit=limit)
        .filter(limit__gt=F("fit_until"))
        .values_list(*KEYS, "fit_until", "limit")
        .annotate(n=Count("pk"))
        .order_by()
    )
    for *keys, due_on, limited, number in falling:
        if piece := _dropping(asked, keys, due_on, limited, number):
            yield piece


def _pieces(
    asked: Question, kinds: Collection[str], due: Collection[date | None]
) -> Iterator[tuple[str, Dropping]]:
    """The pieces of some groups, each with its own next limit."""
    items = asked.items(counted=False).filter(kind__name__in=kinds, fit_until__in=due)
    for item in items.order_by("tag"):
        keys = [getattr(item, key) for key in KEYS]
        if item.fit_until is not None and (
            piece := _dropping(asked, keys, item.fit_until, _next_limit(item, item.fit_until), 1)
        ):
            yield item.tag, piece


def _next_limit(item: Item, due_on: date) -> date:
    """What limits the item once all that falls due on its first limit has been passed."""
    limits = [gate.due_on for gate in item.gates if gate.due_on is not None and gate.due_on > due_on]
    return min([*limits, item.use_by or NO_LIMIT])


def _dropping(
    asked: Question, keys: Sequence[object], due_on: date, limit: date, number: int
) -> Dropping | None:
    stock = asked.stock_like([*keys[:-1], limit], number)
    margin = timedelta(days=asked.slack[stock.kind].margin_days)
    first = max(stock.first, due_on - margin + DAY)
    if first > min(stock.last, asked.last):
        return None
    back = Stock(stock.depot, stock.kind, stock.suits, same_mark(stock.mark), first, stock.last, stock.pieces)
    return Dropping(due_on, back)
