"""Stops counted by groups of like pieces equal those counted copy by copy, piece by piece, day by day."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal

from hypothesis import given, settings
from hypothesis import strategies as st

from kit.planning.mains import Main
from kit.planning.readiness import ready
from kit.planning.readiness_stock import stock_of
from kit.planning.values import Line, Substitute
from tests.counts import cases
from tests.kit.planning.registers import AS_OF, AWAY, HERE, day, kind_settings, mostly, pieces
from tests.kit.planning.stops_by_hand import stops_by_hand

KINDS = ("bag", "head", "base")
MATCHES = ("any", "bore", "mark", "bore+mark")
DAYS = 6


@st.composite
def arrangements(draw: st.DrawFn, odd: bool = False) -> tuple[Line, ...]:
    """A few lines of few kinds, so that they often draw on the same pieces; `odd`: with assemblies, substitutes."""
    settings_of = {kind: draw(kind_settings) for kind in (*KINDS, "seal")}
    lines = []
    for number in range(draw(st.integers(1, 3))):
        kind = draw(st.sampled_from((*KINDS, "seal")))
        substitutes = ()
        if odd and kind != "seal" and draw(mostly(False, True)):
            other = draw(st.sampled_from([each for each in KINDS if each != kind]))
            substitutes = (Substitute(other, **settings_of[other]),)
        lines.append(
            Line(
                name=f"line {number}",
                kind=kind,
                quantity=draw(st.integers(1, 2)),
                match="any" if kind == "seal" else draw(st.sampled_from(MATCHES)),
                counted=kind == "seal",
                assembly=draw(mostly("", "made up")) if odd and kind != "seal" else "",
                substitutes=substitutes,
                **settings_of[kind],
            )
        )
    return tuple(lines)


@st.composite
def stores(draw: st.DrawFn) -> tuple:
    number = draw(st.integers(0, 7))
    found = [draw(pieces(f"T{each}", KINDS)) for each in range(number)]
    found = [replace(piece, set_name=draw(mostly("", "", "", "set one"))) for piece in found]
    lots = [draw(pieces(f"L{each}", ("seal",), most=4)) for each in range(draw(st.integers(0, 2)))]
    return (*found, *lots)


def check(lines: tuple[Line, ...], store: tuple, bore_mm: Decimal) -> None:
    answer = ready(lines, stock_of(store, lines, Main(bore_mm), AS_OF, day(0)), day(0), DAYS)
    assert [each.day for each in answer] == [day(number) for number in range(DAYS)]
    for each in answer:
        by_hand = {
            depot: stops_by_hand(
                lines,
                [p for p in store if depot in (p.depot, p.transit_to)],
                bore_mm,
                each.day,
                AS_OF,
                depot,
            )
            for depot in (HERE, AWAY)
        }
        assert each.stops == sum(by_hand.values())
        assert {depot: stops for depot, stops in each.by_depot if stops} == {
            depot: stops for depot, stops in by_hand.items() if stops
        }


@given(arrangements(), stores(), st.sampled_from((Decimal("165.2"), Decimal("200"))))
@settings(max_examples=cases(300), deadline=None)
def test_plain_lines(lines, store, bore_mm):
    check(lines, store, bore_mm)


@given(arrangements(odd=True), stores(), st.sampled_from((Decimal("165.2"), Decimal("200"))))
@settings(max_examples=cases(300), deadline=None)
def test_assemblies_and_substitutes(lines, store, bore_mm):
    check(lines, store, bore_mm)
