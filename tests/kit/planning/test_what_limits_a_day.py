"""Readiness worked out by hand: which kinds limit a day, marks traded off, margins and turn-round at the edges."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

from kit.planning.mains import Main
from kit.planning.readiness import Stock, ready
from kit.planning.readiness_stock import stock_of
from kit.planning.values import Candidate, Line, Promise

FIRST = date(2026, 11, 2)
LAST = FIRST + timedelta(days=30)
MAIN = Main(Decimal("165.2"))


def pieces(kind: str, number: int, mark: str = "", suits: bool = False, depot: str = "NY") -> Stock:
    return Stock(depot, kind, suits, mark, FIRST, LAST, number)


def one_day(lines: list[Line], *stock: Stock) -> tuple[int, tuple[str, ...]]:
    [answer] = ready(lines, stock, FIRST, 1)
    return answer.stops, answer.limited_by


BAGS, GAUGES = Line("bags", "bag", 5, "bore"), Line("gauges", "gauge", 2)
HEADS, BASES = Line("heads", "head", 2, "mark"), Line("bases", "base", 2, "mark")


def test_the_kind_with_the_fewest_limits():
    # 14 bags make 2 stops of five, 7 gauges 3 of two: more bags would help, more gauges would not.
    assert one_day([BAGS, GAUGES], pieces("bag", 14, suits=True), pieces("gauge", 7)) == (2, ("bag",))


def test_kinds_that_limit_alike_are_all_named_in_the_order_of_the_arrangement():
    stock = pieces("bag", 11, suits=True), pieces("gauge", 5)
    assert one_day([GAUGES, BAGS], *stock) == (2, ("gauge", "bag"))


def test_no_stop_names_all_that_is_missing():
    assert one_day([BAGS, GAUGES], pieces("bag", 4, suits=True), pieces("bag", 9)) == (0, ("bag", "gauge"))
    assert one_day([BAGS, GAUGES]) == (0, ("bag", "gauge"))


def test_depots_do_not_share_a_stop():
    # Eight bags, four at each depot, are no five at either.
    stock = pieces("bag", 4, suits=True), pieces("bag", 4, suits=True, depot="MB")
    assert one_day([BAGS], *stock) == (0, ("bag",))


def test_the_head_and_base_of_a_stop_share_a_mark():
    # Two heads and a base of M3, a head and two bases of M5: a pair is short of either mark.
    stock = pieces("head", 3, "m3"), pieces("base", 1, "m3"), pieces("head", 1, "m5"), pieces("base", 3, "m5")
    assert one_day([HEADS, BASES], *stock) == (0, ("head", "base"))
    more = pieces("base", 1, "m3")
    # Now M3 makes a stop. Another base brings none; another head of M5 does.
    assert one_day([HEADS, BASES], *stock, more) == (1, ("head",))


def test_a_line_of_any_mark_takes_from_the_marks_what_they_can_spare():
    # A stop takes two bases of its mark and one of any: 3 + 3 bases are two stops, one of each mark, and the third
    # base of each is what the other line takes. 2 + 2 + 2 are two stops that take the third pair as vents.
    lines = [BASES, Line("vent base", "base", 1)]
    assert one_day(lines, pieces("base", 3, "m3"), pieces("base", 3, "m5"))[0] == 2
    assert one_day(lines, *(pieces("base", 2, mark) for mark in ("m3", "m5", "m7")))[0] == 2
    # Five bases, though four of a mark: one stop.
    assert one_day(lines, pieces("base", 4, "m3"), pieces("base", 1, "m5"))[0] == 1


def test_a_spare_of_the_bore_and_one_of_any_size_draw_on_the_same_bags():
    # Hall: 2 x 4 that suit and 2 x 1 of any; 9 that suit and one that does not are enough, 7 and 3 are not.
    lines = [Line("bags", "bag", 4, "bore"), Line("trial bag", "bag", 1)]
    assert one_day(lines, pieces("bag", 9, suits=True), pieces("bag", 1)) == (2, ("bag",))
    assert one_day(lines, pieces("bag", 7, suits=True), pieces("bag", 3)) == (1, ("bag",))


def test_kinds_that_limit_only_together_are_named_together():
    # Of M3 there is one head and one base, of M5 one nose and one vent, three of all else: no kind alone would bring a
    # third stop, nor are its own pieces no more than two stops' worth. Noses and vents together would.
    kinds = ("head", "base", "nose", "vent")
    lines = [Line(kind, kind, 1, "mark") for kind in kinds]
    stock = [
        pieces(kind, number, mark)
        for kind, m3, m5 in (("head", 1, 3), ("base", 1, 3), ("nose", 3, 1), ("vent", 3, 1))
        for mark, number in (("m3", m3), ("m5", m5))
    ]
    assert one_day(lines, *stock) == (2, ("nose", "vent"))


def test_in_date_until_the_day_and_the_margin_and_free_after_the_turn_round():
    line = Line("bags", "bag", 1, "bore", margin_days=2, turn_round_days=1)
    bag = Candidate(
        "B1",
        "bag",
        "NY",
        use_by=FIRST + timedelta(days=9),
        bore_min_mm=Decimal(150),
        bore_max_mm=Decimal("165.2"),
        promises=(Promise("J1", FIRST + timedelta(days=3), FIRST + timedelta(days=4)),),
    )
    found = ready([line], stock_of([bag], [line], MAIN, FIRST, FIRST), FIRST, 10)
    # Day 2 is out: its turn-round would end on day 3, when the job loads. Day 7 + 2 is the last in date.
    assert [each.stops for each in found] == [1, 1, 0, 0, 0, 1, 1, 1, 0, 0]


def test_a_bag_that_ends_at_the_bore_suits_it_only_without_a_margin():
    assert MAIN.suits(Decimal(150), Decimal("165.2"), Decimal(0), "inside")
    assert not MAIN.suits(Decimal(150), Decimal("165.2"), Decimal("0.1"), "inside")
    assert not MAIN.suits(Decimal(150), None, Decimal(0), "inside")
    assert not MAIN.suits(Decimal(150), Decimal(200), Decimal(0), "outside")  # not known of this main
    assert Main(Decimal("165.2"), Decimal(180)).suits(Decimal(170), Decimal(190), Decimal(5), "outside")
