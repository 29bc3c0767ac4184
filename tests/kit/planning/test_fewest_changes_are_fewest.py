"""The fewest changes equal trying every set of changes: enough, least in number, and the first by preference."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from hypothesis import HealthCheck, given, settings

from kit.planning import draw_up
from kit.planning.kit_list import KitList
from kit.planning.refusal import Change, Refusal, WayOut, ways_out
from tests.counts import cases
from tests.kit.planning.changes_by_hand import Asked, order_of
from tests.kit.planning.changes_registers import asked
from tests.kit.planning.coupled_by_hand import ByHand

QUIET = settings(
    max_examples=cases(60),
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)


def answer(asked: Asked) -> tuple[KitList, Refusal]:
    kit = draw_up(asked.need, asked.register, asked.as_of, held=asked.held)
    return kit, ways_out(kit, asked.register, asked.held, asked.known)


def rank(change: Change) -> int:
    sort = {"inspect": 0, "hurry": 3, "release": 4}
    return sort.get(change.what, 1 if change.lead_days is not None else 2)


def order(asked: Asked, way: WayOut, fill: list[int]) -> tuple:
    bought = {each.line: each.quantity for each in way.buy}
    short = tuple(bought.get(asked.need.lines[place].name, 0) for place in fill)
    works = [(rank(change), change.tag) for change in way.changes if change.what != "move"]
    moved = [(change.tag, change.days) for change in way.changes if change.what == "move"]
    return order_of(short, works, moved)


def compare(asked: Asked) -> None:
    kit, refusal = answer(asked)
    short = [place for place, line in enumerate(kit.lines) if line.short]
    assert set(refusal.lines) == {asked.need.lines[place].name for place in short}
    taken = [sum(h.quantity for h in asked.held if h.line == line.line.name) for line in kit.lines]
    now = tuple(
        max(line.line.quantity - line.short - already, 0)
        for line, already in zip(kit.lines, taken, strict=True)
    )
    open_lines = [place for place in short if not refusal.lines[asked.need.lines[place].name].enter]
    for place in open_lines:
        way = refusal.lines[asked.need.lines[place].name]
        assert way.proven
        assert order(asked, way, [place]) == asked.best([place], now), (place, way)
    if len(open_lines) > 1:
        assert order(asked, refusal.whole, open_lines) == asked.best(open_lines, now)
        assert refusal.whole.proven


@QUIET
@given(asked(coupled=False))
def test_lines_that_nothing_couples(question: Asked) -> None:
    compare(question)


@QUIET
@given(asked(coupled=True))
def test_assemblies_sets_substitutes_and_lots(question: Asked) -> None:
    compare(question)


@QUIET
@given(asked(coupled=True))
def test_the_soonest_whole_day_equals_looking_at_every_day(question: Asked) -> None:
    kit, refusal = answer(question)
    if kit.complete or refusal.whole.enter:
        return
    length = question.need.return_on - question.need.load_on
    first = max(question.need.load_on + timedelta(days=1), question.as_of)

    def whole(load_on: date) -> bool:
        later = replace(question.need, load_on=load_on, return_on=load_on + length)
        by_hand = ByHand(later, question.register, question.as_of)
        wanted = {place: line.quantity for place, line in enumerate(later.lines)}
        return any(
            all(sum(n for (_, at), n in p.items() if at == place) == q for place, q in wanted.items())
            for p in by_hand._placings()
            if by_hand._whole(p) and by_hand.made_up(p)
        )

    days = (first + timedelta(days=n) for n in range(30))
    assert refusal.soonest == next((each for each in days if whole(each)), None)
