"""What a plan may count on besides what stands there today: a check done in time, a piece sent in time."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from kit.planning.rearranging import MovableJob, Plan, Season, at_once, check, rearrange
from kit.planning.rearranging.at_once import AtOnce
from kit.planning.values import Candidate, Gate, Held, Line, Need, Promise
from tests.counts import cases
from tests.kit.planning.rearranging.small_seasons import AS_OF, day, small_season

GAUGE = (Line("gauge", "gauge", 1),)


def job(name: str, first: int, last: int, depot: str = "NORTH") -> MovableJob:
    return MovableJob(Need(name, depot, day(first), day(last), Decimal("165.2"), "M3", GAUGE))


def overdue(tag: str, status: str = "dated", **other: object) -> Candidate:
    gate = Gate("calibration", status, day(-3) if status == "dated" else None)  # type: ignore[arg-type]
    return Candidate(tag, "gauge", "NORTH", gates=(gate,), **other)  # type: ignore[arg-type]


def season(jobs: list[MovableJob], *pieces: Candidate, bench: int = 1, months: int = 300) -> Season:
    renewals = {
        (piece.tag, gate.check): {day(n): day(n + months) for n in range(60)}
        for piece in pieces
        for gate in piece.gates
    }
    return Season(
        tuple(jobs),
        pieces,
        AS_OF,
        bench_a_day={"NORTH": bench},
        link_days={("SOUTH", "NORTH"): 2},
        renewals=renewals,
    )


def told(plan: Plan) -> list[tuple[str, str, date]]:
    return [(work.what, work.tag, work.on) for work in plan.works]


def test_an_overdue_check_is_done_the_day_before_loading() -> None:
    plan = rearrange(season([job("J1", 5, 6)], overdue("G1")))
    assert told(plan) == [("check", "G1", day(4))]
    assert plan.pieces_short == 0
    assert plan.jobs[0].lines[0].after == ("G1",)


def test_one_never_done_as_well_but_not_one_that_failed() -> None:
    assert rearrange(season([job("J1", 5, 6)], overdue("G1", "never"))).pieces_short == 0
    assert rearrange(season([job("J1", 5, 6)], overdue("G1", "failed"))).pieces_short == 1


def test_not_in_quarantine_nor_past_its_use_by() -> None:
    for piece in (overdue("G1", state="quarantined"), overdue("G1", use_by=day(4))):
        assert rearrange(season([job("J1", 5, 6)], piece)).pieces_short == 1


def test_not_where_a_pass_would_not_last() -> None:
    assert rearrange(season([job("J1", 5, 9)], overdue("G1"), months=3)).pieces_short == 1


def test_the_bench_does_no_more_a_day_than_it_can() -> None:
    jobs = [job(f"J{n}", 2, 3) for n in range(3)]
    plan = rearrange(season(jobs, *(overdue(f"G{n}") for n in range(3))))
    # Today and tomorrow: two pieces, one a day.
    assert plan.pieces_short == 1
    assert Counter(on for _, _, on in told(plan)) == {day(0): 1, day(1): 1}
    assert rearrange(season(jobs, *(overdue(f"G{n}") for n in range(3)), bench=2)).pieces_short == 0


def test_no_bench_no_works() -> None:
    plan = rearrange(season([job("J1", 5, 6)], overdue("G1"), bench=0))
    assert (plan.pieces_short, plan.works) == (1, ())


def test_done_once_for_all_later_jobs() -> None:
    plan = rearrange(season([job("J1", 5, 6), job("J2", 30, 31)], overdue("G1")))
    assert plan.pieces_short == 0
    assert told(plan) == [("check", "G1", day(4))]


def test_not_while_it_is_out() -> None:
    piece = overdue("G1", promises=(Promise("J9", day(-2), day(4), issued=True),), custody="on-site")
    assert rearrange(season([job("J1", 5, 6)], piece)).pieces_short == 1
    assert told(rearrange(season([job("J1", 6, 7)], piece))) == [("check", "G1", day(5))]


def away(tag: str) -> Candidate:
    return Candidate(tag, "gauge", "SOUTH")


def test_a_piece_is_sent_so_that_it_is_there_before_loading() -> None:
    plan = rearrange(season([job("J1", 5, 6)], away("G1")))
    assert told(plan) == [("transfer", "G1", day(2))]
    assert plan.works[0].arrives_on == day(4)
    assert rearrange(season([job("J1", 2, 6)], away("G1"))).pieces_short == 1
    assert rearrange(season([job("J1", 3, 6)], away("G1"))).pieces_short == 0


def test_once_sent_it_serves_its_new_depot_only() -> None:
    jobs = [job("J1", 3, 4, "SOUTH"), job("J2", 12, 13), job("J3", 20, 21, "SOUTH")]
    plan = rearrange(season(jobs, away("G1")))
    assert [each.short for each in plan.jobs] == [0, 1, 0]
    plan = rearrange(season(jobs[:2], away("G1")))
    assert [each.short for each in plan.jobs] == [0, 0]
    assert told(plan) == [("transfer", "G1", day(9))]


def test_works_never_make_a_plan_worse_and_every_plan_holds() -> None:
    met: Counter[str] = Counter()
    for seed in range(cases(60)):
        plain = small_season(seed)
        gates = {(piece.tag, gate.check) for piece in plain.candidates for gate in piece.gates}
        helped = replace(
            plain,
            bench_a_day={"NORTH": 1, "SOUTH": 1},
            link_days={("SOUTH", "NORTH"): 1, ("NORTH", "SOUTH"): 2},
            renewals={key: {day(n): day(n) + timedelta(days=20) for n in range(12)} for key in gates},
        )
        before, after = rearrange(plain), rearrange(helped)
        check(helped, after)
        assert _first_sums(helped, after) <= _first_sums(plain, before), seed
        if not after.works:
            assert _first_sums(helped, after) == _first_sums(plain, before), seed
        met.update(work.what for work in after.works)
        now = at_once(helped, after)
        weights = [_weight_short(helped, then) for then in (None, now)]
        assert weights[1] <= weights[0], f"{seed}: applied today, more is short than before"
        met["gives up a piece"] += any(each.leaves for each in now)
    assert met["check"]
    assert met["transfer"]
    assert met["gives up a piece"]


def test_nothing_is_let_go_for_what_only_may_come_one_day() -> None:
    """J1 would lose its one gauge to J2, which is whole only once another was sent: till then J1 keeps it."""
    pair = (Line("gauge", "gauge", 2),)
    two = MovableJob(Need("J2", "NORTH", day(5), day(6), Decimal("165.2"), "M3", pair), priority=3)
    one = replace(job("J1", 5, 6), promised=(Held("gauge", "G1", 1),))
    asked = season([one, two], Candidate("G1", "gauge", "NORTH"), away("G2"))
    plan = rearrange(asked)
    assert [each.short for each in plan.jobs] == [1, 0]
    now = at_once(asked, plan)
    assert [(each.leaves, each.comes) for each in now] == [((), ()), ((), ())]
    assert now[0].stays == (Held("gauge", "G1", 1),)
    assert now[1].waits == ("G1", "G2")


def _weight_short(season: Season, now: Sequence[AtOnce] | None) -> int:
    """What the jobs weigh that lack a piece, as promised today or with what can be done at once."""
    weight = 0
    for place, job in enumerate(season.jobs):
        held = Counter[str]()
        for one in job.promised:
            held[one.line] += one.quantity
        for one in now[place].leaves if now else ():
            held[one.line] -= one.quantity
        for one in now[place].comes if now else ():
            held[one.line] += one.quantity
        short = any(held[line.name] < line.quantity for line in job.need.lines)
        weight += job.priority * short
    return weight


def _first_sums(season: Season, plan: Plan) -> tuple[int, int, int]:
    weight = sum(m.priority for m, each in zip(season.jobs, plan.jobs, strict=True) if each.short)
    return weight, plan.pieces_short, plan.changes
