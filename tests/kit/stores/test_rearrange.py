"""Rearranging in the database: proposed without writing, applied in one act, refused once the register has moved."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest

from kit.models import Deed, Depot, DepotLink, Item, Job, Kind, LedgerEntry, Reservation, Standing
from kit.planning.rearranging import plan_json
from kit.stores import (
    Act,
    LineSpec,
    Moves,
    NotAllowed,
    Who,
    acting,
    apply_plan,
    depot_named,
    plan_job,
    propose_plan,
    prove_ledger,
    quarantine,
    receive,
    set_arrangement,
    set_kind,
)
from kit.stores.reserve import promise

pytestmark = pytest.mark.django_db

PLANNER = Who("p.planner", "test")


def _day(offset: int) -> date:
    return date.today() + timedelta(days=offset)


def _job(act: Act, reference: str, depot: Depot, first: int, last: int, bore: int = 160, **other: int) -> Job:
    arrangement, _ = set_arrangement(
        act,
        "stop",
        [
            LineSpec("bags", set_kind(act, "bag", has_bore=True), 1, "bore"),
            LineSpec("seals", set_kind(act, "seal", counted=True), 2),
        ],
    )
    return plan_job(
        act,
        Job(
            reference=reference,
            depot=depot,
            load_on=_day(first),
            return_on=_day(last),
            bore_mm=Decimal(bore),
            arrangement=arrangement,
            **other,
        ),
    )


def _bag(tag: str, depot: Depot, low: int, high: int) -> Item:
    kind = Kind.objects.get(name="bag")
    return Item(tag=tag, kind=kind, depot=depot, bore_min_mm=Decimal(low), bore_max_mm=Decimal(high))


@pytest.fixture
def yard() -> dict[str, Job]:
    """Two jobs in the same days. WIDE holds the only bag that would do for NARROW, though another suits it as well."""
    with acting(PLANNER) as act:
        depot = depot_named(act, "NY")
        jobs = {
            "WIDE": _job(act, "WIDE", depot, 3, 5, bore=160),
            "NARROW": _job(act, "NARROW", depot, 4, 6, bore=200),
        }
        receive(act, [_bag("B1", depot, 150, 250), _bag("B2", depot, 150, 180)])
        seal = set_kind(act, "seal", counted=True)
        receive(act, [Item(tag="L1", kind=seal, depot=depot, quantity=3)])
        line = {line.name: line for line in jobs["WIDE"].arrangement.lines.all()}
        promise(act, jobs["WIDE"], line["bags"], Item.objects.get(tag="B1"))
        promise(act, jobs["WIDE"], line["seals"], Item.objects.get(tag="L1"), 2)
        act.tell(Deed.RESERVED, [jobs["WIDE"]], note="as it came to hand")
    return jobs


def _promised(job: str) -> dict[str, int]:
    rows = Reservation.objects.filter(job__reference=job, standing=Standing.PROMISED)
    return dict(rows.order_by("item__tag").values_list("item__tag", "quantity"))


def test_proposing_writes_nothing(yard: dict[str, Job]) -> None:
    before = LedgerEntry.objects.count()
    told = plan_json(propose_plan(None, date.today()).plan)
    assert LedgerEntry.objects.count() == before
    assert told == {
        "objective": {"jobs_short": 1, "pieces_short": 1, "changes": 1},
        "proven": True,
        "gap": 0.0,
        "jobs": [
            {
                "job": "WIDE",
                "changed": True,
                "lines": [
                    {"line": "bags", "tags": ["B2"], "short": 0},
                    {"line": "seals", "lots": [{"lot": "L1", "quantity": 2}], "short": 0},
                ],
            },
            {
                "job": "NARROW",
                "changed": False,
                "lines": [
                    {"line": "bags", "tags": ["B1"], "short": 0},
                    {"line": "seals", "lots": [{"lot": "L1", "quantity": 1}], "short": 1},
                ],
            },
        ],
    }


def test_applied_in_one_act_with_an_entry_a_job(yard: dict[str, Job]) -> None:
    proposed = propose_plan(None, date.today())
    with acting(PLANNER) as act:
        assert apply_plan(act, Moves.from_plain(proposed.moves.as_plain())) == 2
    assert _promised("WIDE") == {"B2": 1, "L1": 2}
    assert _promised("NARROW") == {"B1": 1, "L1": 1}
    told = LedgerEntry.objects.filter(deed=Deed.REARRANGED).order_by("number")
    assert [entry.mentions.filter(about__startswith="job:").get().about for entry in told] == [
        "job:WIDE",
        "job:NARROW",
    ]
    assert "left: B1 (bags); came: B2 (bags)" in told[0].body
    assert prove_ledger().fault is None


def test_a_second_time_there_is_nothing_to_change(yard: dict[str, Job]) -> None:
    with acting(PLANNER) as act:
        apply_plan(act, propose_plan(None, date.today()))
    again = propose_plan(None, date.today())
    assert again.plan.changes == 0
    assert again.moves.moves == ()
    before = LedgerEntry.objects.count()
    with acting(PLANNER) as act:
        assert apply_plan(act, again) == 0
    assert LedgerEntry.objects.count() == before


def test_refused_once_the_register_has_moved(yard: dict[str, Job]) -> None:
    proposed = propose_plan(None, date.today())
    with acting(PLANNER) as act:
        quarantine(act, Item.objects.get(tag="B2"), why="torn skirt")
    before = LedgerEntry.objects.count(), _promised("WIDE")
    with pytest.raises(NotAllowed, match="has moved since the plan was made"), acting(PLANNER) as act:
        apply_plan(act, proposed)
    assert (LedgerEntry.objects.count(), _promised("WIDE")) == before


def test_refused_on_another_day(yard: dict[str, Job]) -> None:
    proposed = propose_plan(None, _day(-1))
    with pytest.raises(NotAllowed, match="was made on"), acting(PLANNER) as act:
        apply_plan(act, proposed)


def test_priority_decides_who_goes_short(yard: dict[str, Job]) -> None:
    with acting(PLANNER) as act:
        _job(act, "URGENT", yard["WIDE"].depot, 3, 6, bore=200, priority=5)
    plan = propose_plan(None, date.today()).plan
    got = {job.need.job: job.lines[0].tags for job in plan.jobs}
    assert got == {"URGENT": ("B1",), "WIDE": ("B2",), "NARROW": ()}


def test_what_is_issued_stays_and_its_job_is_left_alone(yard: dict[str, Job]) -> None:
    reservation = Reservation.objects.get(item__tag="B1")
    with acting(PLANNER) as act:
        act.change(reservation, standing=Standing.ISSUED, issued_on=act.today)
        act.change(reservation.item, custody="on-site")
        act.tell(Deed.ISSUED, [reservation.job, reservation.item])
    plan = propose_plan(None, date.today()).plan
    assert [job.need.job for job in plan.jobs] == ["NARROW"]
    assert plan.jobs[0].lines[0].tags == ()
    assert plan.jobs[0].lines[1].lots == (("L1", 1),)


def test_jobs_of_other_depots_keep_what_they_hold(yard: dict[str, Job]) -> None:
    with acting(PLANNER) as act:
        mill = depot_named(act, "MB")
    assert propose_plan([mill.pk], date.today()).plan.jobs == ()
    here = propose_plan([yard["WIDE"].depot.pk], date.today()).plan
    assert [job.need.job for job in here.jobs] == ["WIDE", "NARROW"]


def test_a_transfer_in_time_is_proposed_and_what_waits_for_it_is_not_promised(yard: dict[str, Job]) -> None:
    with acting(PLANNER) as act:
        mill = depot_named(act, "MB")
        receive(act, [_bag("B9", mill, 190, 210)])
        act.create(DepotLink(from_depot=mill, to_depot=yard["WIDE"].depot, lead_days=2))
        act.tell(Deed.LINKED, [mill])
    proposed = propose_plan(None, date.today())
    told = plan_json(proposed.plan)
    assert told["objective"]["changes"] == 0
    assert told["works"] == [
        {
            "work": "transfer",
            "tag": "B9",
            "on": _day(1).isoformat(),
            "depot": "MB",
            "to": "NY",
            "arrives_on": _day(3).isoformat(),
        }
    ]
    with acting(PLANNER) as act:
        apply_plan(act, proposed)
    assert _promised("WIDE") == {"B1": 1, "L1": 2}
    assert _promised("NARROW") == {"L1": 1}
    assert prove_ledger().fault is None
