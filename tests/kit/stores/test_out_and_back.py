"""Issue by scanning against the kit list, take back over days, and what follows for the next job."""

from datetime import timedelta

import pytest

from inspections.actions import Finding, record
from inspections.models import Check
from kit.models import Custody, Item, Job, JobState, LedgerEntry, Reservation, Standing, State
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    differences,
    finish_issue,
    issue_piece,
    kit_list_of,
    plan_job,
    prove_ledger,
    receive,
    reserve,
    short_lines,
    take_back,
)
from tests.kit.views.yard import Yard, job_of, kind, yard

pytestmark = pytest.mark.django_db

STORES = Who("w.hollis", "test counter")


@pytest.fixture
def made() -> Yard:
    """The yard with its job reserved."""
    built = yard()
    with acting(STORES) as act:
        reserve(act, built.job)
    return built


def issue_all(made: Yard) -> list[Reservation]:
    with acting(STORES) as act:
        for reservation in made.job.reservations.filter(standing=Standing.PROMISED).select_related("item"):
            issue_piece(act, made.job, reservation.item)
        finish_issue(act, made.job)
    return list(made.job.reservations.filter(standing=Standing.ISSUED).select_related("item__kind", "job"))


def job(made: Yard) -> Job:
    return Job.objects.get(pk=made.job.pk)


def test_issued_pieces_are_on_site_and_lots_leave_the_stock(made: Yard) -> None:
    lot = made.job.reservations.filter(counted=True)[0]
    stock = Item.objects.get(pk=lot.item_id).quantity
    issue_all(made)
    assert set(
        Item.objects.filter(reservations__job=made.job, counted=False).values_list("custody", flat=True)
    ) == {Custody.ON_SITE}
    assert Item.objects.get(pk=lot.item_id).quantity == stock - lot.quantity
    assert job(made).state == JobState.OUT
    assert kit_list_of(job(made)).complete


def test_the_issue_entry_keeps_what_was_known_of_the_piece(made: Yard) -> None:
    issue_all(made)
    entry = LedgerEntry.objects.filter(deed="issued", mentions__about="item:NY-B1").get()
    assert f'"fit_until":"{made.item("NY-B1").fit_until}"' in entry.body


def test_a_wrong_piece_is_refused_with_why(made: Yard) -> None:
    spare = made.item("NY-B5")
    with (
        pytest.raises(NotAllowed, match="not on the load list of J/26-104: bags wants NY-B1"),
        acting(STORES) as act,
    ):
        issue_piece(act, made.job, spare)
    with pytest.raises(NotAllowed, match="suits 200"), acting(STORES) as act:
        issue_piece(act, made.job, made.item("NY-B9"))
    with acting(STORES) as act:
        issue_piece(act, made.job, made.item("NY-B1"))
    with pytest.raises(NotAllowed, match="issued to J/26-104 already"), acting(STORES) as act:
        issue_piece(act, made.job, made.item("NY-B1"))
    assert not Reservation.objects.filter(item=spare).exists()


def test_a_piece_of_a_kind_the_job_does_not_need_is_refused(made: Yard) -> None:
    with acting(STORES) as act:
        [pump] = receive(act, [Item(tag="NY-P1", kind=kind("pump"), depot=made.north)])
    with pytest.raises(NotAllowed, match="NY-P1 is a pump; J/26-104 needs none"), acting(STORES) as act:
        issue_piece(act, made.job, pump)


def test_a_short_issue_needs_a_reason(made: Yard) -> None:
    with acting(STORES) as act:
        issue_piece(act, made.job, made.item("NY-B1"))
    with pytest.raises(NotAllowed, match="short of 3 x bags"), acting(STORES) as act:
        finish_issue(act, made.job)
    assert job(made).state == JobState.PLANNED
    with acting(STORES) as act:
        finish_issue(act, made.job, "agreed with the planner: one side only")
    assert job(made).state == JobState.OUT
    assert [line.line for line in short_lines(made.job)] == ["bags", "bases", "seals"]
    assert LedgerEntry.objects.filter(deed="issued short").count() == 1


def test_a_used_bag_waits_for_its_check_and_the_check_frees_it(made: Yard) -> None:
    out = issue_all(made)
    used = next(r for r in out if r.item.tag == "NY-B1")
    with acting(STORES) as act:
        take_back(act, used, "used")
    back = made.item("NY-B1")
    assert (back.custody, back.fit_until) == (Custody.STORE, None)
    assert "awaiting its check" in back.fit_reason
    next_job = job_of(made.north, made.arrangement, "J-next", load=30, back=31)
    with acting(STORES) as act:
        plan_job(act, next_job)
    codes = {r.tag: [reason.code for reason in r.reasons] for r in kit_list_of(next_job).refused}
    assert codes["NY-B1"] == ["check-due-before-return"]
    with acting(Who("e.marsh", "bench")) as act:
        record(act, Finding(back, Check.objects.in_force().get(kind=back.kind), act.today, "pass"))
    assert made.item("NY-B1").fit_on(made.today)
    assert "NY-B1" not in {r.tag for r in kit_list_of(next_job).refused}
    assert differences() == []


def test_an_unused_piece_is_back_as_it_was(made: Yard) -> None:
    out = issue_all(made)
    before = made.item("NY-B2").fit_until
    with acting(STORES) as act:
        take_back(act, next(r for r in out if r.item.tag == "NY-B2"), "unused")
    assert (made.item("NY-B2").custody, made.item("NY-B2").fit_until) == (Custody.STORE, before)


def test_a_damaged_piece_is_set_aside_and_a_missing_one_is_lost(made: Yard) -> None:
    out = {r.item.tag: r for r in issue_all(made)}
    with pytest.raises(NotAllowed, match="say what was found"), acting(STORES) as act:
        take_back(act, out["NY-B1"], "damaged")
    with acting(STORES) as act:
        take_back(act, out["NY-B1"], "damaged", why="cut at the seam")
        take_back(act, out["NY-B2"], "missing", why="left in the trench")
    assert (made.item("NY-B1").state, made.item("NY-B1").state_why) == (
        State.QUARANTINED,
        "damaged on J/26-104: cut at the seam",
    )
    assert made.item("NY-B2").state == State.LOST


def test_back_over_days_and_the_job_closes_with_the_last_piece(made: Yard) -> None:
    out = issue_all(made)
    lots = [r for r in out if r.counted]
    pieces = [r for r in out if not r.counted]
    stock = {r.pk: Item.objects.get(pk=r.item_id).quantity for r in lots}
    with acting(STORES) as act:
        for reservation in pieces:
            take_back(act, reservation, "unused")
    assert job(made).state == JobState.OUT
    with pytest.raises(NotAllowed, match="between 0 and"), acting(STORES) as act:
        take_back(act, lots[0], "used", quantity=lots[0].quantity + 1)
    with acting(STORES) as act:
        for reservation in lots:
            take_back(act, reservation, "used", quantity=1)
    for reservation in lots:
        assert Item.objects.get(pk=reservation.item_id).quantity == stock[reservation.pk] + 1
    assert job(made).state == JobState.CLOSED
    assert prove_ledger().fault is None


def test_days_of_return_are_checked(made: Yard) -> None:
    one = issue_all(made)[0]
    with pytest.raises(NotAllowed, match="cannot be back"), acting(STORES) as act:
        take_back(act, one, "unused", back_on=made.today - timedelta(days=1))
    with pytest.raises(NotAllowed, match="in the future"), acting(STORES) as act:
        take_back(act, one, "unused", back_on=made.today + timedelta(days=1))
    one.refresh_from_db()
    assert one.standing == Standing.ISSUED


def test_a_piece_that_failed_after_it_was_promised_does_not_go_out(made: Yard) -> None:
    item = made.item("NY-B1")
    with acting(Who("e.marsh", "bench")) as act:
        record(
            act,
            Finding(
                item, Check.objects.in_force().get(kind=item.kind), act.today, "fail", note="drops 12 mbar"
            ),
        )
    with pytest.raises(NotAllowed, match=r"may not go out.*failed"), acting(STORES) as act:
        issue_piece(act, made.job, item)
    assert made.item("NY-B1").state == State.QUARANTINED
