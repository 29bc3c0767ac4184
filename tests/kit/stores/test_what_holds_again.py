"""What holds again is taken up again, by whatever freed it; what is proposed would do."""

import pytest

from inspections.actions import release
from kit.models import Job, Reservation, Standing
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    cancel_job,
    change_job,
    finish_issue,
    issue_piece,
    kit_list_of,
    let_go,
    plan_job,
    quarantine,
    receive,
    reserve,
    set_kind,
    substitute,
    take_back,
)
from tests.kit.views.yard import Yard, bag, in_days, job_of, record_checks, yard

pytestmark = pytest.mark.django_db

STORES, LEAD = Who("w.hollis", "test"), Who("c.field", "test")


@pytest.fixture
def made() -> Yard:
    """The yard, five bags for a job of four, reserved."""
    built = yard()
    with acting(STORES) as act:
        reserve(act, built.job)
    return built


def of(job: Job, tag: str) -> Reservation:
    return (
        job.reservations.select_related("item__kind", "line", "job__depot").filter(item__tag=tag).latest("pk")
    )


def clash(made: Yard) -> Job:
    """A second job of days 20 to 22, with the pieces of the first, which runs into it and is out."""
    with acting(STORES) as act:
        second = plan_job(act, job_of(made.north, made.arrangement, "J-second", 20, 22))
        reserve(act, second)
        for promised in made.job.reservations.filter(standing=Standing.PROMISED).select_related("item"):
            issue_piece(act, made.job, promised.item)
        finish_issue(act, made.job)
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=in_days(20))
    return second


def broken(job: Job) -> int:
    return job.reservations.filter(standing=Standing.BROKEN).count()


def test_an_extension_taken_back_mends_the_job_it_ran_into(made: Yard) -> None:
    second = clash(made)
    assert broken(second) > 0
    with acting(STORES) as act:
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=in_days(19))
    assert broken(second) == 0


def test_what_another_job_gives_up_holds_again(made: Yard) -> None:
    with acting(STORES) as act:
        second = plan_job(act, job_of(made.north, made.arrangement, "J-second", 20, 22))
        reserve(act, second)
        change_job(act, Job.objects.get(pk=second.pk), load_on=in_days(12))
    lost = second.reservations.filter(standing=Standing.BROKEN, item__kind__name="bag")
    tags = sorted(lost.values_list("item__tag", flat=True))
    assert len(tags) >= 3
    with acting(STORES) as act:
        let_go(act, of(made.job, tags[0]), "not wanted")
    assert of(second, tags[0]).standing == Standing.PROMISED
    with acting(STORES) as act:
        cancel_job(act, made.job, "main renewed")
    assert broken(second) == 0


def test_a_piece_that_would_do_again_fills_a_line_that_has_become_short(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        issue_piece(act, made.job, made.item("NY-B5"))
    with acting(LEAD) as act:
        record_checks(
            act, [made.item("NY-B1")], days_ago=0
        )  # a release asks for a re-test, unless it was passed
        release(act, made.item("NY-B1"), "grease on the tag only")
    assert of(made.job, "NY-B1").standing == Standing.BROKEN
    assert "line is full" in of(made.job, "NY-B1").why
    with acting(STORES) as act:
        let_go(act, of(made.job, "NY-B2"), "not wanted")
    assert of(made.job, "NY-B1").standing == Standing.PROMISED


def test_a_moved_window_does_not_overfill_a_line(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        issue_piece(act, made.job, made.item("NY-B5"))
    with acting(LEAD) as act:
        record_checks(
            act, [made.item("NY-B1")], days_ago=0
        )  # a release asks for a re-test, unless it was passed
        release(act, made.item("NY-B1"), "grease on the tag only")
        change_job(act, Job.objects.get(pk=made.job.pk), return_on=in_days(13))
    assert of(made.job, "NY-B1").standing == Standing.BROKEN
    with acting(STORES) as act:
        [spare] = receive(act, [bag(made.north, "NY-B6")])
        record_checks(act, [spare])
    with pytest.raises(NotAllowed, match="bags of J/26-104 is full"), acting(STORES) as act:
        substitute(act, of(made.job, "NY-B1"), spare, "no")


def test_a_piece_the_job_lost_can_be_put_in_the_place_of_another(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        issue_piece(act, made.job, made.item("NY-B5"))
    with acting(LEAD) as act:
        record_checks(
            act, [made.item("NY-B1")], days_ago=0
        )  # a release asks for a re-test, unless it was passed
        release(act, made.item("NY-B1"), "grease on the tag only")
        substitute(act, of(made.job, "NY-B2"), made.item("NY-B1"), "closer to hand")
    assert of(made.job, "NY-B1").standing == Standing.PROMISED
    assert made.job.reservations.filter(item__tag="NY-B1", standing=Standing.RELEASED).count() == 1
    with pytest.raises(NotAllowed, match="NY-B3 is reserved for J/26-104 already"), acting(LEAD) as act:
        substitute(act, of(made.job, "NY-B1"), made.item("NY-B3"), "no")


def test_a_proposal_that_is_set_aside_gives_way_to_another(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    assert of(made.job, "NY-B1").proposed == made.item("NY-B5")
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B5"), "smells of oil")
    assert of(made.job, "NY-B1").proposed is None


def test_a_proposal_that_another_job_takes_gives_way(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        second = plan_job(act, job_of(made.north, made.arrangement, "J-second", 8, 9))
        reserve(act, second)
    assert of(second, "NY-B5").standing == Standing.PROMISED
    assert of(made.job, "NY-B1").proposed is None


def test_a_piece_taken_at_the_counter_fills_the_line_and_nothing_is_proposed_for_it(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        [other] = receive(act, [bag(made.north, "NY-B7")])
        record_checks(act, [other])
        assert of(made.job, "NY-B1").proposed == made.item("NY-B5")
        issue_piece(act, made.job, made.item("NY-B7"))
    assert of(made.job, "NY-B1").proposed is None


def test_a_wider_margin_withdraws_a_proposal_it_makes_too_short(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        set_kind(act, "bag", margin_days=2000)
    assert of(made.job, "NY-B1").proposed is None


def test_two_lost_pieces_of_a_job_are_proposed_two(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        quarantine(act, made.item("NY-B2"), "smells of oil")
    proposed = [of(made.job, tag).proposed for tag in ("NY-B1", "NY-B2")]
    assert sorted(item.tag for item in proposed if item) == ["NY-B5"]


def test_what_is_left_of_a_closed_job_is_free_for_others(made: Yard) -> None:
    with acting(STORES) as act:
        second = plan_job(act, job_of(made.north, made.arrangement, "J-second", 20, 22))
        reserve(act, second)
        change_job(act, Job.objects.get(pk=second.pk), load_on=in_days(12))
        first = of(made.job, "NY-B1")
        issue_piece(act, made.job, first.item)
        finish_issue(act, made.job, "the rest follows")
    assert broken(second) > 1
    with acting(STORES) as act:
        take_back(act, of(made.job, "NY-B1"), "unused")
    assert Job.objects.get(pk=made.job.pk).state == "closed"
    assert broken(second) == 0


def test_reserving_takes_up_a_lost_piece_that_would_do_on_another_line(made: Yard) -> None:
    """The best choice may be the very piece that stands broken on a line that is full by now."""
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
        issue_piece(act, made.job, made.item("NY-B5"))
    with acting(LEAD) as act:
        record_checks(
            act, [made.item("NY-B1")], days_ago=0
        )  # a release asks for a re-test, unless it was passed
        release(act, made.item("NY-B1"), "grease on the tag only")
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B2"), "smells of oil")
        assert reserve(act, Job.objects.get(pk=made.job.pk)).complete
    assert kit_list_of(made.job).complete
