"""A lot is promised up to what there is, however many lines and jobs share it."""

import pytest
from django.db.models import Sum

from inspections.actions import release
from kit.models import Arrangement, Item, Job, Reservation, Standing
from kit.stores import (
    LineSpec,
    Who,
    acting,
    change_job,
    count_stock,
    issue_piece,
    plan_job,
    prove_ledger,
    quarantine,
    reserve,
    set_arrangement,
)
from kit.workbooks.loading import load_register
from tests.kit.views.yard import Yard, in_days, job_of, kind, yard

pytestmark = pytest.mark.django_db

STORES = Who("w.hollis", "test")


@pytest.fixture
def made() -> Yard:
    """The yard with a further job that takes 6 and 3 seals of the one lot of 20 on two lines, reserved."""
    built = yard()
    with acting(STORES) as act:
        two_lines, _ = set_arrangement(
            act, "two lines", [LineSpec("seals", kind("seal"), 6), LineSpec("spare seals", kind("seal"), 3)]
        )
        built.job = plan_job(act, job_of(built.north, two_lines, "J-two"))
        reserve(act, built.job)
    return built


def promised(lot: Item) -> int:
    rows = Reservation.objects.filter(item=lot, standing=Standing.PROMISED)
    return int(rows.aggregate(n=Sum("quantity"))["n"] or 0)


def test_a_count_below_what_one_job_was_promised_on_two_lines_flags_one_of_them(made: Yard) -> None:
    assert promised(made.item("LOT-7")) == 9
    with acting(STORES) as act:
        count_stock(act, made.item("LOT-7"), 7, "counted")
    assert promised(made.item("LOT-7")) <= 7
    with acting(STORES) as act:
        count_stock(act, made.item("LOT-7"), 2, "counted")
    assert promised(made.item("LOT-7")) == 0


def test_what_holds_again_does_not_take_more_than_there_is(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("LOT-7"), "wet box")
        count_stock(act, made.item("LOT-7"), 8, "counted")
    lot = made.item("LOT-7")
    assert promised(lot) == 0
    with acting(Who("c.field", "test")) as act:
        release(act, lot, "dry again")
    assert promised(lot) == 6
    assert prove_ledger().fault is None


def test_a_lot_that_is_partly_out_does_not_count_as_being_there(made: Yard) -> None:
    with acting(STORES) as act:
        issue_piece(act, made.job, made.item("LOT-7"))
        left = made.job.reservations.get(standing=Standing.PROMISED).quantity
        count_stock(act, made.item("LOT-7"), left - 1, "counted")
    assert promised(made.item("LOT-7")) == 0


def test_of_two_jobs_the_later_one_gives_way(made: Yard) -> None:
    with acting(STORES) as act:
        small = Arrangement.objects.get(name="small flow stop", current=True)
        later = plan_job(act, job_of(made.north, small, "J-later", load=30, back=31))
        reserve(act, later)
        count_stock(act, made.item("LOT-7"), 12, "counted")
    assert later.reservations.get(item__tag="LOT-7").standing == Standing.BROKEN
    assert not made.job.reservations.filter(standing=Standing.BROKEN).exists()


def test_a_shift_of_the_job_keeps_both_lines(made: Yard) -> None:
    with acting(STORES) as act:
        count_stock(act, made.item("LOT-7"), 9, "counted")
        change_job(act, Job.objects.get(pk=made.job.pk), load_on=in_days(8), return_on=in_days(13))
    assert promised(made.item("LOT-7")) == 9


def test_a_register_that_brings_a_later_use_by_and_a_new_count_of_a_lot_is_loaded(
    made: Yard, tmp_path
) -> None:
    with acting(STORES) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=in_days(500))
    assert promised(made.item("LOT-7")) == 0
    path = tmp_path / "items.csv"
    path.write_text(f"tag,kind,depot,use_by,quantity\nLOT-7,seal,NY,{in_days(900).isoformat()},25\n")
    report = load_register(path, STORES)
    assert not report.faults
    assert promised(made.item("LOT-7")) == 9


def test_what_is_out_of_a_lot_is_out_whoever_was_promised_the_rest(made: Yard) -> None:
    """Found by a plan lived at random: the issued part was flagged for promises that broke in the same act."""
    with acting(STORES) as act:
        other = plan_job(act, job_of(made.north, made.arrangement, "J-other", load=9, back=14))
        reserve(act, other)
        out = made.job.reservations.select_related("item").order_by("-quantity").first()
        issue_piece(act, made.job, out.item)
        count_stock(act, made.item("LOT-7"), 3, "counted")
    assert set(made.job.reservations.filter(standing=Standing.ISSUED).values_list("why", flat=True)) == {""}
    assert not other.reservations.filter(item=out.item, standing=Standing.PROMISED).exists()
    assert prove_ledger().fault is None
