"""Reserving is one press: the best choice, once, and again without a change; the rest needs a reason."""

from datetime import timedelta

import pytest

from kit.models import Job, LedgerEntry, Standing
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    kit_list_of,
    let_go,
    plan_job,
    prove_ledger,
    quarantine,
    receive,
    reserve,
    set_kind,
    substitute,
)
from tests.kit.views.yard import Yard, bag, job_of, yard

pytestmark = pytest.mark.django_db

PLANNER = Who("p.lane", "test")


def held(made: Yard) -> set[str]:
    return set(made.job.reservations.holding().values_list("item__tag", flat=True))


def test_it_takes_the_best_choice_and_a_second_press_changes_nothing() -> None:
    made = yard()
    with acting(PLANNER) as act:
        kit = reserve(act, made.job)
    chosen = {tag for line in kit.lines for tag in line.tags} | {
        lot for line in kit.lines for lot, _ in line.lots
    }
    assert kit.complete
    assert held(made) == chosen
    entries = LedgerEntry.objects.count()
    with acting(PLANNER) as act:
        again = reserve(act, made.job)
    assert again == kit
    assert LedgerEntry.objects.count() == entries


def test_what_one_job_holds_no_other_job_of_that_week_gets() -> None:
    made = yard()
    with acting(PLANNER) as act:
        reserve(act, made.job)
        other = plan_job(act, job_of(made.north, made.arrangement, "J/26-105", load=9, back=14))
        kit = reserve(act, other)
    bags = next(line for line in kit.lines if line.line.kind == "bag")
    assert bags.short == 4 - len(bags.tags)
    assert not held(made) & {tag for line in kit.lines for tag in line.tags}
    codes = {r.tag: [reason.code for reason in r.reasons] for r in kit.refused}
    assert all(codes[tag] == ["promised-elsewhere"] for tag in held(made) & codes.keys())
    assert bags.soonest == made.job.return_on + timedelta(days=1)


def test_a_broken_promise_is_kept_with_why_and_a_substitute_until_a_person_decides() -> None:
    made = yard()
    with acting(PLANNER) as act:
        reserve(act, made.job)
    gone = made.job.reservations.filter(item__kind__name="bag").order_by("item__tag").first()
    assert gone is not None
    with acting(Who("w.hollis", "test")) as act:
        quarantine(act, gone.item, "torn skirt")
    gone.refresh_from_db()
    assert gone.standing == Standing.BROKEN
    assert "torn skirt" in gone.why
    assert gone.proposed is not None
    assert gone.proposed.tag == "NY-B5"
    with acting(PLANNER) as act:
        substitute(act, gone, gone.proposed, "as proposed")
    gone.refresh_from_db()
    assert gone.standing == Standing.RELEASED
    assert kit_list_of(made.job).complete
    assert prove_ledger().fault is None


def test_reserving_again_replaces_what_broke() -> None:
    made = yard()
    with acting(PLANNER) as act:
        reserve(act, made.job)
        gone = made.job.reservations.filter(item__kind__name="bag").order_by("item__tag").first()
        assert gone is not None
        quarantine(act, gone.item, "torn skirt")
        assert reserve(act, made.job).complete
    gone.refresh_from_db()
    assert gone.standing == Standing.RELEASED
    assert gone.why.startswith("replaced")


def test_an_unfit_substitute_is_refused_with_everything_that_speaks_against_it() -> None:
    made = yard()
    with acting(PLANNER) as act:
        reserve(act, made.job)
    one = made.job.reservations.filter(item__kind__name="bag").first()
    assert one is not None
    with pytest.raises(NotAllowed, match=r"use-by date.*It suits 200"), acting(PLANNER) as act:
        substitute(act, one, made.item("NY-B9"), "the big one")
    with pytest.raises(NotAllowed, match="asks for a bag"), acting(PLANNER) as act:
        substitute(act, one, made.item("NY-S1"), "why not")
    with pytest.raises(NotAllowed, match="Say why"), acting(PLANNER) as act:
        substitute(act, one, made.item("NY-B5"), " ")
    one.refresh_from_db()
    assert one.standing == Standing.PROMISED


def test_letting_go_needs_a_reason_and_frees_the_piece() -> None:
    made = yard()
    with acting(PLANNER) as act:
        reserve(act, made.job)
    one = made.job.reservations.filter(item__kind__name="bag").first()
    assert one is not None
    with pytest.raises(NotAllowed, match="Say why"), acting(PLANNER) as act:
        let_go(act, one, "")
    revision = Job.objects.get(pk=made.job.pk).revision
    with acting(PLANNER) as act:
        let_go(act, one, "crew asked for another")
    assert Job.objects.get(pk=made.job.pk).revision == revision + 1
    assert one.item.tag in {fit.tag for fit in kit_list_of(made.job).also_fit} | {
        tag for line in kit_list_of(made.job).lines for tag in line.tags
    }


def test_lots_are_shared_up_to_what_there_is() -> None:
    made = yard()
    with acting(PLANNER) as act:
        reserve(act, made.job)
    lots = made.job.reservations.filter(counted=True)
    stock = lots[0].item
    left = stock.quantity - sum(lot.quantity for lot in lots.filter(item=stock))
    with acting(PLANNER) as act:
        other = plan_job(act, job_of(made.north, made.arrangement, "J/26-200", load=60, back=61))
        kit = reserve(act, other)
    seals = next(line for line in kit.lines if line.line.counted)
    assert sum(quantity for lot, quantity in seals.lots if lot == stock.tag) <= left


def test_an_item_is_free_again_after_turn_round_days() -> None:
    made = yard(bags=4)
    with acting(PLANNER) as act:
        set_kind(act, "bag", turn_round_days=2)
        reserve(act, made.job)
        soon = plan_job(act, job_of(made.north, made.arrangement, "J-soon", load=14, back=15))
        later = plan_job(act, job_of(made.north, made.arrangement, "J-later", load=15, back=16))
        assert not next(line for line in kit_list_of(soon).lines if line.line.kind == "bag").tags
        assert len(next(line for line in kit_list_of(later).lines if line.line.kind == "bag").tags) == 4


def test_a_new_bag_of_the_right_kind_but_never_tested_is_refused() -> None:
    made = yard()
    with acting(PLANNER) as act:
        receive(act, [bag(made.north, "NY-NEW")])
    refused = {r.tag: [reason.code for reason in r.reasons] for r in kit_list_of(made.job).refused}
    assert refused["NY-NEW"] == ["never-checked"]
