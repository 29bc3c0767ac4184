"""What a piece more or an inspection in time is said to give equals what counting again with them gives."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from hypothesis import given, settings

from kit.planning.mains import Main
from kit.planning.readiness import Readiness, Stock, ready
from kit.planning.readiness_gain import Dropping, kept_in_date, one_more
from kit.planning.readiness_stock import stock_of
from kit.planning.values import Line
from tests.counts import cases
from tests.kit.planning.registers import AS_OF, day
from tests.kit.planning.test_readiness_equals_a_recount import DAYS, arrangements, stores

FIRST = date(2026, 11, 2)


def on(number: int) -> date:
    return FIRST + timedelta(days=number)


@given(arrangements(odd=True), stores())
@settings(max_examples=cases(200), deadline=None)
def test_each_gain_is_what_a_recount_with_the_pieces_gives(lines, store):
    stock = stock_of(store, lines, Main(Decimal("165.2")), AS_OF, day(0))
    known = Readiness(lines, stock, day(0), DAYS)
    now = known.answer()
    for gain in one_more(known, now):

        def with_more(pieces: int, gain=gain) -> list[int]:
            more = Stock(gain.depot, *gain.alike, day(0), day(DAYS), pieces)
            return [each.stops for each in ready(lines, [*stock, more], day(0), DAYS)]

        gained = [after - before.stops for after, before in zip(with_more(gain.pieces), now, strict=True)]
        assert sum(gained) == gain.stops > 0
        assert sum(1 for each in gained if each) == gain.days
        assert next(day(number) for number, each in enumerate(gained) if each) == gain.first
        # Of that mark one piece fewer gives nothing.
        assert with_more(gain.pieces - 1) == [each.stops for each in now]


def test_bags_that_fall_due_together_are_one_inspection_worth_doing():
    lines = [Line("bags", "bag", 2, "bore"), Line("gauges", "gauge", 1)]
    stock = [
        Stock("NY", "bag", True, "", FIRST, on(30), 1),
        Stock("NY", "bag", True, "", FIRST, on(3), 1),
        Stock("NY", "gauge", False, "", FIRST, on(30), 1),
        Stock("MB", "bag", True, "", FIRST, on(5), 1),
    ]
    known = Readiness(lines, stock, FIRST, 10)
    dropping = [
        Dropping(on(3), Stock("NY", "bag", True, "", on(4), on(7), 1)),
        # The lone bag of the other depot makes no stop, in date or not.
        Dropping(on(5), Stock("MB", "bag", True, "", on(6), on(9), 1)),
    ]
    [gain] = kept_in_date(known, known.answer(), dropping, 10)
    assert (gain.depot, gain.kind, gain.pieces, gain.stops, gain.days) == ("NY", "bag", 1, 4, 4)
    assert (gain.first, gain.due_on) == (on(4), on(3))


def test_one_of_two_bags_short_is_not_said_to_help_but_two_are():
    lines = [Line("bags", "bag", 3)]
    known = Readiness(lines, [Stock("NY", "bag", False, "", FIRST, on(30), 4)], FIRST, 5)
    [gain] = one_more(known, known.answer())
    assert (gain.pieces, gain.stops, gain.days) == (2, 5, 5)


def test_the_mark_that_gives_most_is_named():
    lines = [Line("heads", "head", 1, "mark"), Line("bases", "base", 1, "mark")]
    stock = [
        Stock("NY", "head", False, "m3", FIRST, on(30), 1),
        Stock("NY", "base", False, "m3", FIRST, on(30), 1),
        Stock("NY", "base", False, "m5", FIRST, on(30), 2),
    ]
    known = Readiness(lines, stock, FIRST, 5)
    [gain] = one_more(known, known.answer())
    assert (gain.kind, gain.mark, gain.pieces, gain.stops) == ("head", "m5", 1, 5)
