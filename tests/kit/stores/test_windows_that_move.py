"""What is promised follows its job and its kind: windows, turn-round days, arrangements, and kit that leaves early."""

from datetime import timedelta

import pytest

from kit.models import Job, Reservation, Standing
from kit.stores import (
    LineSpec,
    NotAllowed,
    Who,
    acting,
    change_job,
    finish_issue,
    issue_piece,
    kit_list_of,
    plan_job,
    prove_ledger,
    reserve,
    set_arrangement,
    set_kind,
    take_back,
)
from tests.kit.views.yard import Yard, in_days, job_of, kind, yard

pytestmark = pytest.mark.django_db

STORES = Who("w.hollis", "test")


@pytest.fixture
def made() -> Yard:
    """The yard, with four bags only, and its job of days 7 to 12 reserved."""
    built = yard(bags=4)
    with acting(STORES) as act:
        reserve(act, built.job)
    return built


def another(made: Yard, reference: str, load: int, back: int) -> Job:
    with acting(STORES) as act:
        job = plan_job(act, job_of(made.north, made.arrangement, reference, load, back))
        reserve(act, job)
    return job


def bags(job: Job, *standings: str) -> set[str]:
    rows = job.reservations.filter(item__kind__name="bag", standing__in=standings or [Standing.PROMISED])
    return set(rows.values_list("item__tag", flat=True))


def chosen(job: Job) -> set[str]:
    return {tag for line in kit_list_of(Job.objects.get(pk=job.pk)).lines for tag in line.tags}


def issue_everything(job: Job) -> None:
    with acting(STORES) as act:
        for promised in job.reservations.filter(standing=Standing.PROMISED).select_related("item"):
            issue_piece(act, job, promised.item)
        finish_issue(act, job, "as agreed")


def test_more_turn_round_days_move_the_windows_and_the_later_job_gives_way(made: Yard) -> None:
    later = another(made, "J-later", 14, 15)
    assert len(bags(later)) == 4
    with acting(STORES) as act:
        set_kind(act, "bag", turn_round_days=2)
    assert bags(made.job) == {"NY-B1", "NY-B2", "NY-B3", "NY-B4"}
    assert set(made.job.reservations.filter(item__kind__name="bag").values_list("ends", flat=True)) == {
        in_days(14)
    }
    assert bags(later, Standing.BROKEN) == bags(made.job)
    with acting(STORES) as act:
        set_kind(act, "bag", turn_round_days=1)
    assert len(bags(later)) == 4
    assert prove_ledger().fault is None


def test_a_job_that_is_out_and_moved_back_breaks_what_was_promised_before_it(made: Yard) -> None:
    with acting(STORES) as act:
        earlier = plan_job(act, job_of(made.north, made.arrangement, "J-earlier", -6, -4))
        reserve(act, earlier)
    assert len(bags(earlier)) == 4
    issue_everything(made.job)
    with acting(STORES) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), load_on=in_days(-5))
    assert len(bags(earlier, Standing.BROKEN)) == 4


def test_a_new_arrangement_and_a_new_window_at_once(made: Yard) -> None:
    with acting(STORES) as act:
        newer, _ = set_arrangement(
            act,
            "small flow stop",
            [LineSpec("bags", kind("bag"), 4, "bore"), LineSpec("seals", kind("seal"), 8)],
        )
        change_job(act, made.job, arrangement=newer, load_on=in_days(9), return_on=in_days(20))
    assert len(bags(made.job)) == 4
    assert set(made.job.reservations.holding().values_list("starts", "ends")) == {(in_days(9), in_days(20))}
    assert made.job.reservations.filter(item__kind__name="base", standing=Standing.RELEASED).count() == 2
    assert set(made.job.reservations.holding().values_list("line__arrangement", flat=True)) == {newer.pk}
    free = another(made, "J-other", 10, 11)
    assert free.reservations.holding().filter(item__kind__name="base").count() == 2
    with acting(STORES) as act:
        change_job(act, made.job, arrangement=made.arrangement, return_on=in_days(300))
    assert len(bags(made.job, Standing.BROKEN)) == 4


def test_no_line_goes_that_a_piece_went_out_for(made: Yard) -> None:
    issue_everything(made.job)
    with acting(STORES) as act:
        base = made.job.reservations.filter(item__kind__name="base").first()
        assert base is not None
        take_back(act, base, "unused")
        newer, _ = set_arrangement(act, "small flow stop", [LineSpec("bags", kind("bag"), 4, "bore")])
    with (
        pytest.raises(NotAllowed, match="for a line that the new arrangement does not have"),
        acting(STORES) as act,
    ):
        change_job(act, Job.objects.get(pk=made.job.pk), arrangement=newer)
    assert kit_list_of(Job.objects.get(pk=made.job.pk)).complete


def test_kit_that_leaves_before_loading_is_away_from_that_day_on(made: Yard) -> None:
    issue_everything(made.job)
    assert set(made.job.reservations.values_list("starts", flat=True)) == {made.today}
    between = another(made, "J-between", 2, 3)
    assert bags(between) == set()
    assert not chosen(between) & bags(made.job, Standing.ISSUED)
    with acting(STORES) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=in_days(13))
    assert set(made.job.reservations.values_list("starts", flat=True)) == {made.today}


def test_kit_promised_to_an_earlier_job_does_not_leave_before_that_one_is_back(made: Yard) -> None:
    another(made, "J-earlier", 1, 3)
    with (
        pytest.raises(NotAllowed, match=r"NY-B1 is promised to J-earlier until .*cannot go out before"),
        acting(STORES) as act,
    ):
        issue_piece(act, made.job, made.item("NY-B1"))


def test_nothing_goes_out_to_a_job_whose_return_is_past(made: Yard) -> None:
    with acting(STORES) as act:
        change_job(act, made.job, load_on=in_days(-5), return_on=in_days(-1))
    with pytest.raises(NotAllowed, match=r"was to be back on .* first"), acting(STORES) as act:
        issue_piece(act, Job.objects.get(pk=made.job.pk), made.item("NY-B1"))


def test_an_overdue_job_breaks_what_was_promised_after_it_and_a_new_return_mends_it(made: Yard) -> None:
    later = another(made, "J-later", 14, 15)
    issue_everything(made.job)
    with acting(STORES) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), load_on=in_days(-3), return_on=in_days(-1))
    assert len(bags(later, Standing.BROKEN)) == 4
    assert all(
        "overdue" in r.why
        for r in Reservation.objects.filter(job=later, standing=Standing.BROKEN)
        if not r.counted
    )
    with acting(STORES) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=made.today + timedelta(days=1))
    assert len(bags(later)) == 4


def test_pieces_let_go_by_a_new_arrangement_are_free_for_whoever_waits_for_them(made: Yard) -> None:
    later = another(made, "J-later", 14, 15)
    with acting(STORES) as act:
        change_job(act, later, load_on=in_days(12))
    assert later.reservations.filter(item__kind__name="base", standing=Standing.BROKEN).count() == 2
    with acting(STORES) as act:
        newer, _ = set_arrangement(act, "small flow stop", [LineSpec("bags", kind("bag"), 4, "bore")])
        change_job(act, Job.objects.get(pk=made.job.pk), arrangement=newer)
    assert later.reservations.filter(item__kind__name="base", standing=Standing.PROMISED).count() == 2


def test_a_wider_margin_and_more_turn_round_at_once(made: Yard) -> None:
    later = another(made, "J-later", 14, 15)
    with acting(STORES) as act:
        set_kind(act, "bag", turn_round_days=3, margin_days=2000)
    assert len(bags(made.job, Standing.BROKEN)) == len(bags(later, Standing.BROKEN)) == 4
    with acting(STORES) as act:
        set_kind(act, "bag", margin_days=0)
    assert (len(bags(made.job)), len(bags(later))) == (4, 0)
