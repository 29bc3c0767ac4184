"""What breaks in the plan of a depot: all of it, and each mend by one press, refused once the state has moved."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import transaction
from django.utils import timezone
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from kit.models import Custody, Depot, Item, Job, JobState, Reservation, Standing
from kit.planning.breaks import ranked
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    change_job,
    issue_piece,
    let_go,
    lose,
    prove_ledger,
    quarantine,
    reserve,
    send,
)
from kit.stores.breaks import (
    AHEAD_DAYS,
    Found,
    breaks_of,
    expect_back,
    let_go_needless,
    move_and_reserve,
    reserve_anew,
    take_proposed,
)
from kit.stores.move import soonest_whole
from tests.counts import cases
from tests.kit.stores import small_store
from tests.kit.stores.reckoning import read_tables
from tests.kit.stores.test_foretold_is_what_then_happens import live, windows
from tests.kit.stores.test_windows_that_move import another, bags, issue_everything
from tests.kit.views.yard import STORES, Yard, bag, in_days, receive, record_checks, yard

pytestmark = pytest.mark.django_db(transaction=True)

PLANNER = Who("p.lanner", "test")


@pytest.fixture
def made() -> Yard:
    """The yard, five bags for a job of four in seven days, reserved."""
    built = yard()
    with acting(STORES) as act:
        reserve(act, built.job)
    return built


def found(made: Yard, what: str, days: int = 0) -> list[Found]:
    return [each for each in breaks_of(made.north, in_days(days)) if each.what == what]


def fresh(job: Job) -> Job:
    return Job.objects.select_related("depot", "arrangement").get(pk=job.pk)


def test_a_whole_plan_breaks_nowhere(made: Yard) -> None:
    assert breaks_of(made.north, made.today) == []


def test_a_piece_that_fails_breaks_its_job_and_the_proposed_one_takes_its_place(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "torn skirt")
    [broken] = found(made, "broken")
    assert (broken.rank.pieces, broken.rank.replaceable, broken.rank.bites_on) == (1, 1, in_days(7))
    [piece] = broken.pieces
    assert (piece.item.tag, piece.help, piece.told) == ("NY-B1", "take", True)
    assert piece.proposed is not None
    with acting(PLANNER) as act:
        take_proposed(act, piece.reservation, piece.proposed)
    assert breaks_of(made.north, made.today) == []
    tables = read_tables()
    with pytest.raises(NotAllowed, match="there is nothing to mend"), acting(PLANNER) as act:
        take_proposed(act, piece.reservation, piece.proposed)
    assert read_tables() == tables
    assert prove_ledger().fault is None


def test_a_proposed_piece_that_is_gone_by_now_is_refused_in_a_sentence(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "torn skirt")
    [piece] = found(made, "broken")[0].pieces
    proposed = piece.proposed
    assert proposed is not None
    with acting(STORES) as act:
        lose(act, proposed, "not on its rack")
    with pytest.raises(NotAllowed, match="recorded as lost"), acting(PLANNER) as act:
        take_proposed(act, piece.reservation, proposed)
    [piece] = found(made, "broken")[0].pieces
    assert (piece.help, piece.proposed) == ("", None)


def test_a_job_that_is_extended_while_out_breaks_the_one_after_it(made: Yard) -> None:
    later = another(made, "J-later", 14, 15)
    issue_everything(made.job)
    with acting(PLANNER) as act:
        change_job(act, fresh(made.job), return_on=in_days(14))
    [broken] = found(made, "broken")
    assert broken.job == later
    # Four bags and two bases, and the one bag that is left takes one place; seals are counted and there are more.
    assert (broken.rank.pieces, broken.rank.replaceable) == (6, 1)
    best = soonest_whole(PLANNER, fresh(later), made.today)
    assert best is not None
    assert best.load_on == in_days(15)
    with acting(PLANNER) as act:
        kit = move_and_reserve(act, fresh(later), best.load_on, best.return_on, best.revision)
    assert kit.complete
    assert len(bags(later)) == 4
    assert breaks_of(made.north, made.today) == []


def test_a_move_that_would_not_make_it_whole_any_more_moves_nothing(made: Yard) -> None:
    later = another(made, "J-later", 14, 15)
    issue_everything(made.job)
    with acting(PLANNER) as act:
        change_job(act, fresh(made.job), return_on=in_days(14))
    best = soonest_whole(PLANNER, fresh(later), made.today)
    assert best is not None
    with acting(STORES) as act:
        for tag in ("NY-B5", "NY-B2"):
            lose(act, made.item(tag), "not on its rack")
    tables = read_tables()
    with pytest.raises(NotAllowed, match=r"would not be whole on .* short of 1"), acting(PLANNER) as act:
        move_and_reserve(act, fresh(later), best.load_on, best.return_on, fresh(later).revision)
    assert read_tables() == tables
    with pytest.raises(NotAllowed, match="has changed since this was shown"), acting(PLANNER) as act:
        move_and_reserve(act, fresh(later), best.load_on, best.return_on, best.revision + 7)


def test_a_piece_lost_on_site_bites_at_once(made: Yard) -> None:
    issue_everything(made.job)
    with acting(STORES) as act:
        lose(act, made.item("NY-B1"), "left in the trench")
    [site] = found(made, "on-site")
    assert (site.rank.bites_on, site.rank.pieces, site.rank.replaceable) == (made.today, 1, 0)
    assert "recorded as lost" in site.pieces[0].why


def test_a_van_that_is_late_is_there_before_anybody_acts_and_bites_when_the_next_one_loads(
    made: Yard,
) -> None:
    later = another(made, "J-later", 14, 15)
    issue_everything(made.job)
    assert found(made, "late-back", days=12) == []
    [late] = found(made, "late-back", days=13)
    assert late.job == made.job
    assert late.waiting == (later,)
    assert (late.rank.bites_on, late.rank.pieces) == (in_days(14), 7)
    # Only by the day: no entry tells of it yet. Five of the pieces are wanted by the later job.
    [broken] = found(made, "broken", days=13)
    assert broken.job == later
    assert all(not piece.told and "overdue" in piece.why for piece in broken.pieces)


def test_a_late_van_expected_anew_is_late_no_more(made: Yard) -> None:
    later = another(made, "J-later", 14, 15)
    issue_everything(made.job)
    with acting(STORES) as act:
        change_job(act, fresh(made.job), load_on=in_days(-3), return_on=in_days(-1))
    job = fresh(made.job)
    # Both bite when the later job loads; the van has six pieces that are waited for, the job lacks five.
    assert [each.what for each in breaks_of(made.north, made.today)] == ["late-back", "broken"]
    with pytest.raises(NotAllowed, match="is past"), acting(PLANNER) as act:
        expect_back(act, job, in_days(-1), job.revision)
    with acting(PLANNER) as act:
        assert expect_back(act, job, in_days(1), job.revision)
    assert breaks_of(made.north, made.today) == []
    assert len(bags(later)) == 4


def test_a_van_that_nobody_waits_for_comes_last(made: Yard) -> None:
    issue_everything(made.job)
    with acting(STORES) as act:
        change_job(act, fresh(made.job), load_on=in_days(-3), return_on=in_days(-1))
    [late] = breaks_of(made.north, made.today)
    assert (late.what, late.rank.bites_on, late.waiting) == ("late-back", None, ())


def test_a_date_that_runs_out_on_a_late_van_is_told(made: Yard) -> None:
    with acting(STORES) as act:
        [short_lived] = receive(act, [bag(made.north, "NY-B0", use_by=in_days(12))])
        record_checks(act, [short_lived])
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "torn skirt")
        reserve(act, fresh(made.job))
    assert "NY-B0" in bags(made.job)
    issue_everything(made.job)
    assert found(made, "on-site", days=12) == []
    [site] = found(made, "on-site", days=13)
    [piece] = site.pieces
    assert (piece.item.tag, piece.told) == ("NY-B0", False)
    assert f"in date until {in_days(12)}" in piece.why


def test_a_transfer_that_is_late_can_only_be_hurried(made: Yard) -> None:
    with acting(STORES) as act:
        [coming] = receive(act, [bag(made.mill, "MB-B1", use_by=in_days(400))])
        record_checks(act, [coming])
        for tag in ("NY-B1", "NY-B2"):
            lose(act, made.item(tag), "not on its rack")
        send(act, coming, made.north, in_days(3))
    with acting(STORES) as act:
        reserve(act, fresh(made.job))
    assert breaks_of(made.north, in_days(3)) == []
    [broken] = found(made, "broken", days=4)
    [piece] = broken.pieces
    assert (piece.item.tag, piece.help, piece.told) == ("MB-B1", "hurry", False)
    assert piece.item.custody == Custody.IN_TRANSIT
    assert piece.consignment is not None
    assert piece.consignment.to_depot == made.north


def test_a_check_that_falls_due_in_the_window_asks_for_an_inspection(made: Yard) -> None:
    with acting(STORES) as act:
        for tag in ("NY-B1", "NY-B2", "NY-B3", "NY-B4", "NY-B5"):
            record_checks(act, [made.item(tag)], days_ago=9)
        change_job(act, fresh(made.job), load_on=in_days(170), return_on=in_days(190))
    [broken] = found(made, "broken")
    helps = {piece.item.tag: piece.help for piece in broken.pieces}
    assert set(helps.values()) == {"inspect"}
    assert {tag for tag in helps if tag.startswith("NY-B")} == {"NY-B1", "NY-B2", "NY-B3", "NY-B4"}


def test_what_was_let_go_is_not_dropped_in_silence(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "torn skirt")
    with acting(STORES) as act:
        reserve_anew(act, fresh(made.job))
        lose(act, made.item("NY-B5"), "not on its rack")
    [broken] = found(made, "broken")
    [piece] = broken.pieces
    assert piece.help == ""
    with pytest.raises(NotAllowed, match="not full any more"), acting(PLANNER) as act:
        let_go_needless(act, piece.reservation)
    with acting(PLANNER) as act:
        let_go(act, piece.reservation, "lost")
    [short] = breaks_of(made.north, made.today)
    assert (short.what, short.lines, short.rank.pieces) == ("short", (("bags", 1),), 1)


def test_a_broken_one_whose_line_another_fills_is_let_go_by_one_press(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "torn skirt")
        issue_piece(act, made.job, made.item("NY-B5"))
    [broken] = found(made, "broken")
    [piece] = broken.pieces
    assert (piece.item.tag, piece.help, broken.rank.replaceable) == ("NY-B1", "let-go", 1)
    with acting(PLANNER) as act:
        let_go_needless(act, piece.reservation)
    assert found(made, "broken") == []


@settings(
    max_examples=cases(40), suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow]
)
@given(
    steps=st.lists(st.tuples(st.integers(0, 4), st.integers(0, 9), windows), min_size=1, max_size=6),
    later=st.integers(0, 15),
)
def test_nothing_is_dropped_in_silence(small, steps, later) -> None:
    with transaction.atomic():
        live(steps)
        day = timezone.localdate() + timedelta(days=later)
        for depot in Depot.objects.all():
            told = breaks_of(depot, day)
            assert [each.rank for each in told] == ranked([each.rank for each in told], day)
            assert_all_told(depot, day, told)
        transaction.set_rollback(True)


@pytest.fixture
def small() -> None:
    small_store.build(timezone.localdate())


def assert_all_told(depot: Depot, day, told: list[Found]) -> None:
    """Straight from the rows: what is broken, unfit on site, late, and lacking without ever having been promised."""
    rows = Reservation.objects.filter(job__depot=depot, job__state__in=["planned", "out"])
    pieces = {(each.what, piece.reservation.pk) for each in told for piece in each.pieces if piece.told}
    broken = {("broken", row.pk) for row in rows.filter(standing=Standing.BROKEN)}
    unfit = {("on-site", row.pk) for row in rows.filter(standing=Standing.ISSUED).exclude(why="")}
    assert pieces == broken | unfit
    late = {row.job.reference for row in rows.filter(standing=Standing.ISSUED, job__return_on__lt=day)}
    assert {each.job.reference for each in told if each.what == "late-back"} == late
    short = {}
    for job in Job.objects.filter(depot=depot, state=JobState.PLANNED):
        if job.load_on > day + timedelta(days=AHEAD_DAYS):
            continue
        for line in job.arrangement.lines.all():
            on_line = job.reservations.filter(line=line).exclude(standing=Standing.RELEASED)
            have = sum(row.quantity for row in on_line)
            if have < line.quantity:
                short[job.reference, line.name] = line.quantity - have
    said = {(each.job.reference, line): n for each in told for line, n in each.lines}
    assert said == short
    by_day = {
        piece.reservation.pk
        for each in told
        for piece in each.pieces
        if not piece.told and each.what == "broken"
    }
    gone = set()
    for row in rows.filter(standing=Standing.PROMISED).select_related("item", "job"):
        item: Item = row.item
        overdue = item.arrives_on is not None and item.arrives_on < day
        still_out = Reservation.objects.filter(
            item=item, standing=Standing.ISSUED, ends__lt=day, counted=False
        )
        if overdue or still_out.exclude(job=row.job).exists():
            gone.add(row.pk)
    assert by_day == gone
