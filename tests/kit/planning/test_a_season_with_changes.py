"""A season with the changes of a trial plan: what each does, and that the season it came from stays as it was."""

from __future__ import annotations

from copy import deepcopy
from datetime import date, timedelta
from decimal import Decimal

import pytest

from kit.planning.mains import Main
from kit.planning.rearranging.season import MovableJob, Season
from kit.planning.values import Candidate, Held, Line, Need, Promise
from kit.planning.what_if import (
    AddJob,
    Buy,
    CancelJob,
    Change,
    CloseBench,
    MoveJob,
    SetBench,
    TransferPiece,
    WithdrawPiece,
)
from kit.planning.what_if_season import KindKnown, Known, Trial, with_changes
from kit.planning.what_if_weighed import weigh

TODAY = date(2026, 11, 2)
BAGS = Line("bags", "bag", 2, "bore")
SEALS = Line("seals", "seal", 3, counted=True)
BORE = Decimal("165.2")
KNOWN = Known(
    depots=frozenset({"NY", "MB"}),
    kinds={"bag": KindKnown(bore_margin_mm=Decimal(2)), "seal": KindKnown(counted=True)},
    arrangements={"stop": (BAGS, SEALS)},
)


def on(number: int) -> date:
    return TODAY + timedelta(days=number)


def job(reference: str, load: int, back: int, *promised: Held) -> MovableJob:
    need = Need(reference, "NY", on(load), on(back), BORE, "", (BAGS, SEALS))
    return MovableJob(need, promised=promised)


def bag(tag: str, depot: str = "NY", **other: object) -> Candidate:
    return Candidate(tag, "bag", depot, bore_min_mm=Decimal(150), bore_max_mm=Decimal(180), **other)


SEASON = Season(
    jobs=(job("J1", 2, 4, Held("bags", "B1"), Held("seals", "L1", 3)), job("J2", 8, 9)),
    candidates=(
        bag("B1"),
        bag("B2"),
        bag("B3", "MB"),
        bag("B4", promises=(Promise("OUT", on(-3), on(5), issued=True),), custody="on-site"),
        Candidate("L1", "seal", "NY", quantity=8),
    ),
    as_of=TODAY,
    bench_a_day={"NY": 2},
    renewals={("B1", "hold test"): {on(day): on(day + 180) for day in range(6)}},
)


def made(*changes: Change) -> Trial:
    before = deepcopy(SEASON)
    trial = with_changes(SEASON, changes, KNOWN)
    assert before == SEASON
    return trial


def piece(trial: Trial, tag: str) -> Candidate:
    [found] = [each for each in trial.season.candidates if each.tag == tag]
    return found


def test_no_change_changes_nothing():
    assert made() == Trial(SEASON, {})


def test_a_job_more_stands_in_its_place_and_is_promised_nothing():
    trial = made(AddJob("JX", "NY", on(5), on(6), "stop", BORE, "M3", 4))
    assert [each.need.job for each in trial.season.jobs] == ["J1", "JX", "J2"]
    added = trial.season.jobs[1]
    assert (added.need.lines, added.need.base_mark, added.priority, added.promised) == (
        (BAGS, SEALS),
        "M3",
        4,
        (),
    )


def test_a_job_moved_keeps_what_it_is_promised():
    trial = made(MoveJob("J1", on(10), on(12)))
    assert [each.need.job for each in trial.season.jobs] == ["J2", "J1"]
    assert trial.season.jobs[1].promised == SEASON.jobs[0].promised
    assert trial.season.jobs[1].need.load_on == on(10)


def test_a_job_called_off_is_gone():
    assert [each.need.job for each in made(CancelJob("J1")).season.jobs] == ["J2"]


def test_bags_bought_come_on_their_day_and_a_lot_is_one_lot():
    trial = made(
        Buy("bag", 2, "NY", on(3), Decimal(150), Decimal(180)), Buy("seal", 40, "MB", on(-1), use_by=on(90))
    )
    new = trial.season.candidates[5:]
    assert [(each.kind, each.quantity) for each in new] == [("bag", 1), ("bag", 1), ("seal", 40)]
    assert (new[0].custody, new[0].transit_to, new[0].arrives_on) == ("in-transit", "NY", on(3))
    assert new[0].bore_margin_mm == 2
    assert (new[2].custody, new[2].depot, new[2].use_by) == ("store", "MB", on(90))
    assert len({each.tag for each in trial.season.candidates}) == 8


def test_a_piece_lost_is_no_choice_and_a_piece_sent_is_on_its_way():
    trial = made(WithdrawPiece("B1"), TransferPiece("B3", "NY", on(1)))
    assert piece(trial, "B1").state == "withdrawn"
    assert (piece(trial, "B3").custody, piece(trial, "B3").transit_to) == ("in-transit", "NY")


def test_a_bench_closed_does_no_inspection_on_those_days_and_one_set_does_as_many_as_said():
    trial = made(CloseBench("NY", on(1), on(4)), SetBench("MB", 5))
    assert set(trial.season.renewals["B1", "hold test"]) == {on(0), on(5)}
    assert trial.season.bench_a_day == {"NY": 2, "MB": 5}
    assert made(CloseBench("MB", on(0), on(9))).season.renewals == SEASON.renewals
    assert not made(CloseBench("NY", on(0), on(9))).season.renewals


@pytest.mark.parametrize(
    ("change", "why"),
    [
        (AddJob("J1", "NY", on(1), on(2), "stop"), "There is a job J1 already"),
        (AddJob("JX", "XX", on(1), on(2), "stop"), "no depot XX"),
        (AddJob("JX", "NY", on(1), on(2), "go"), "no arrangement go"),
        (MoveJob("J9", on(1), on(2)), "J9 is no planned job"),
        (CancelJob("J9"), "J9 is no planned job"),
        (Buy("hat", 1, "NY", on(1)), "no kind hat"),
        (WithdrawPiece("B9"), "no piece B9"),
        (TransferPiece("B4", "MB", on(3)), "B4 is not in a store"),
        (TransferPiece("B1", "NY", on(3)), "B1 is at NY already"),
        (TransferPiece("B1", "MB", on(-3)), "which is past"),
        (SetBench("XX", 1), "no depot XX"),
    ],
)
def test_what_does_not_apply_is_left_out_and_told_of(change, why):
    trial = made(change, CancelJob("J2"))
    assert why in trial.not_made[0]
    assert [each.need.job for each in trial.season.jobs] == ["J1"]


def test_a_change_of_a_job_that_an_earlier_change_added_applies():
    assert not made(AddJob("JX", "NY", on(5), on(6), "stop"), MoveJob("JX", on(7), on(8))).not_made


def test_what_is_placed_is_missing_from_the_stops_left_over():
    placed = {
        "J1": [Held("bags", "B1"), Held("bags", "B2"), Held("seals", "L1", 3)],
        "J2": [Held("bags", "B1")],
    }
    found = weigh(SEASON, placed, (BAGS,), Main(BORE), TODAY, 11)
    # B1 and B2 are out with J1 on days 2 to 4. B4 is back after day 5; J2 takes B1 on days 8 and 9.
    assert [day.stops for day in found.stops] == [1, 1, 0, 0, 0, 1, 1, 1, 1, 1, 1]
    assert [(each.job, each.short) for each in found.jobs] == [
        ("J1", ()),
        ("J2", (("bags", 1), ("seals", 3))),
    ]
    assert (found.whole, found.jobs_short, found.pieces_short) == (1, 1, 4)
    seals = weigh(SEASON, placed, (SEALS,), Main(BORE), TODAY, 1)
    assert seals.stops[0].stops == 1  # five of eight are left
