"""The depot's own table of mains, and what is promised to a job follows its main: bores, ovality, lining, far side."""

from __future__ import annotations

import json
from decimal import Decimal as D
from typing import Any

import pytest

from kit.models import ArrangementLine, Deed, Job, LedgerEntry, PipeSize, Standing
from kit.stores import (
    LineSpec,
    NotAllowed,
    Who,
    acting,
    bore_of,
    change_job,
    kit_list_of,
    plan_job,
    prove_ledger,
    reserve,
    set_arrangement,
    set_kind,
    set_size,
    withdraw_size,
)
from tests.kit.views.yard import Yard, in_days, job_of, kind, yard

pytestmark = pytest.mark.django_db

PLANNER = Who("p.lane", "test")
BOOK = "survey of 1987"


@pytest.fixture
def made() -> Yard:
    """The yard, whose bags suit 150 to 180 mm, with its job (a measured bore of 159.6 mm) reserved."""
    built = yard()
    with acting(PLANNER) as act:
        reserve(act, built.job)
    return built


def planned(made: Yard, reference: str, **details: Any) -> Job:
    job = job_of(made.north, made.arrangement, reference, 20, 22)
    job.bore_mm = None
    for name, value in details.items():
        setattr(job, name, value)
    with acting(PLANNER) as act:
        plan_job(act, job)
        reserve(act, job)
    return job


def standing(job: Job) -> dict[str, int]:
    rows = job.reservations.filter(item__kind__name="bag").values_list("standing", flat=True)
    return {name: list(rows).count(name) for name in set(rows)}


def whys(job: Job) -> set[str]:
    return set(job.reservations.filter(standing=Standing.BROKEN).values_list("why", flat=True))


def set_(size: str = "6 in", **values: Any) -> list[str]:
    """Set a row of cast iron; the jobs that it moves."""
    with acting(PLANNER) as act:
        _row, moved = set_size(act, "cast iron", size, source=BOOK, **values)
    return [each.job.reference for each in moved]


@pytest.mark.parametrize(
    ("details", "why"),
    [
        ({"ovality_mm": D("45")}, "out of round by 45 mm: 137.1 to 182.1 mm. The ovality decides"),
        ({"far_bore_mm": D("149.9")}, "the main's bore on the far side is 149.9 mm"),
        ({"bore_mm": None, "lining_mm": D("9.5")}, "less twice the lining of 9.5 mm. The lining decides"),
        ({"bore_mm": D("180.1")}, "the main's bore is 180.1 mm; take another size."),
    ],
    ids=["ovality", "far", "lining", "measured"],
)
def test_a_job_judges_its_promises_again_when_its_main_is_another(
    made: Yard, details: dict[str, Any], why: str
) -> None:
    was = {name: getattr(made.job, name) for name in details}
    assert standing(made.job) == {Standing.PROMISED: 4}
    with acting(PLANNER) as act:
        change_job(act, made.job, **details)
    assert standing(made.job) == {Standing.BROKEN: 4}
    assert all(why in text for text in whys(made.job)), whys(made.job)
    with acting(PLANNER) as act:
        change_job(act, made.job, **was)
    assert standing(made.job) == {Standing.PROMISED: 4}
    assert prove_ledger().fault is None


def test_a_kind_that_is_given_a_margin_or_sized_by_the_outside_judges_again(made: Yard) -> None:
    with acting(PLANNER) as act:
        set_kind(act, "bag", bore_margin_mm=D("9.6"))
    assert standing(made.job) == {Standing.PROMISED: 4}
    with acting(PLANNER) as act:
        set_kind(act, "bag", bore_margin_mm=D("9.7"))
    assert standing(made.job) == {Standing.BROKEN: 4}
    assert all("The margin decides" in why for why in whys(made.job))
    with acting(PLANNER) as act:
        set_kind(act, "bag", bore_margin_mm=D(0), sized_by="outside")
    # PE 180 is 180 mm outside, and the bags' range ends there.
    assert standing(made.job) == {Standing.PROMISED: 4}
    with acting(PLANNER) as act:
        change_job(act, made.job, main_material="cast iron", main_sdr="")
    assert all("outside diameter is not known" in why for why in whys(made.job))
    assert standing(made.job) == {Standing.BROKEN: 4}
    assert prove_ledger().fault is None


def test_lines_of_one_side_suit_the_main_of_that_side(made: Yard) -> None:
    with acting(PLANNER) as act:
        lines = [LineSpec("near bags", kind("bag"), 2, "bore"), LineSpec("far bags", kind("bag"), 2, "bore")]
        arrangement, _new = set_arrangement(act, "two sizes", lines)
    for name, side in (("near bags", "near"), ("far bags", "far")):
        ArrangementLine.objects.filter(arrangement=arrangement, name=name).update(side=side)
    job = planned(made, "J-sides", arrangement=arrangement, bore_mm=D(160), far_bore_mm=D(200))
    near, far = kit_list_of(job).lines
    assert (len(near.tags), near.short, far.short) == (2, 0, 2)
    refused = {each.tag: each.reasons for each in kit_list_of(job).refused if each.line == "far bags"}
    assert "on the far side is 200 mm" in refused["NY-B5"][0].text


@pytest.mark.parametrize(
    ("details", "why"),
    [
        ({"ovality_mm": D(-1)}, "must be above 0"),
        ({"lining_mm": D("0.0001")}, "three decimals at most"),
        ({"far_bore_mm": D(0)}, "far side is given as 0 mm"),
        ({"ovality_mm": D("159.6")}, "out of round by 159.6 mm in a bore of 159.6 mm"),
        ({"far_bore_mm": D(20), "ovality_mm": D(21)}, "in a bore of 20 mm"),
        ({"priority": 0}, "priority 0: give a whole number from 1"),
        ({"priority": 10}, "priority 10"),
    ],
)
def test_what_no_job_can_be_is_refused(made: Yard, details: dict[str, Any], why: str) -> None:
    with pytest.raises(NotAllowed, match=why), acting(PLANNER) as act:
        change_job(act, made.job, **details)


def test_round_and_unlined_are_recorded_as_0_and_crew_and_priority_with_them(made: Yard) -> None:
    with acting(PLANNER) as act:
        change_job(act, made.job, ovality_mm=D(0), lining_mm=D(0), crew="Crew 2", priority=7)
    job = Job.objects.get(pk=made.job.pk)
    assert (job.ovality_mm, job.lining_mm, job.crew, job.priority) == (0, 0, "Crew 2", 7)
    assert standing(job) == {Standing.PROMISED: 4}


def test_a_row_gives_jobs_their_bore_and_what_it_moves_is_judged_at_once(made: Yard) -> None:
    iron = planned(made, "J-iron", main_material="Cast Iron", main_size='6"', main_sdr="")
    other = planned(made, "J-spun", main_material="spun iron", main_size="6 in", main_sdr="")
    later = {"load_on": in_days(40), "return_on": in_days(41)}
    iron_by_name = {"main_material": "cast iron", "main_size": "6 in"}
    measured = planned(made, "J-measured", bore_mm=D(160), **iron_by_name, **later)
    left_alone = Job.objects.get(pk=measured.pk).revision
    assert (bore_of(iron)[0], iron.reservations.filter(item__kind__name="bag").count()) == (None, 0)
    assert set_(inside_mm=D("153.4"), note="from the yard's book") == ["J-iron"]
    assert bore_of(iron)[:2] == (D("153.4"), f"the depot's own table: {BOOK}")
    with acting(PLANNER) as act:
        reserve(act, Job.objects.get(pk=iron.pk))
    assert standing(iron) == {Standing.PROMISED: 4}
    revision = Job.objects.get(pk=iron.pk).revision
    assert set_(inside_mm=D("149.9")) == ["J-iron"]
    assert standing(iron) == {Standing.BROKEN: 4}
    assert all("nominal bore is 149.9 mm" in why for why in whys(iron))
    assert Job.objects.get(pk=iron.pk).revision == revision + 1
    assert set_(inside_mm=D("150")) == ["J-iron"]
    assert standing(iron) == {Standing.PROMISED: 4}
    assert bore_of(other)[0] is None
    assert Job.objects.get(pk=measured.pk).revision == left_alone
    assert prove_ledger().fault is None


def test_the_ledger_tells_what_was_set_and_what_it_was_before(made: Yard) -> None:
    iron = planned(made, "J-iron", main_material="cast iron", main_size="6 in", main_sdr="")
    set_(inside_mm=D("153.4"))
    set_("NPS 6", outside_mm=D("177.3"), wall_mm=D("9.5"), note="pit 4")
    entries = LedgerEntry.objects.filter(deed=Deed.SIZED).order_by("number")
    first, second = (json.loads(entry.body) for entry in entries)
    assert first["about"] == ["job:J-iron", "main:cast iron 6 in"]
    assert first["facts"] == {"before": None, "gives": "inside 153.4 mm", "source": BOOK}
    assert second["facts"]["before"] == "inside 153.4 mm"
    assert second["facts"]["gives"] == "outside 177.3 mm, wall 9.5 mm"
    assert second["note"] == "pit 4"
    assert PipeSize.objects.count() == 1
    told = LedgerEntry.objects.filter(deed=Deed.MOVED, mentions__about=f"job:{iron}").latest("number")
    assert "before 153.4 mm, now 158.3 mm" in told.body


def test_the_same_row_again_writes_nothing(made: Yard) -> None:
    set_(inside_mm=D("153.4"))
    entries = LedgerEntry.objects.count()
    assert set_('6"', inside_mm=D("153.400")) == []
    assert LedgerEntry.objects.count() == entries


def test_a_row_that_is_withdrawn_gives_nothing_and_can_be_set_again(made: Yard) -> None:
    iron = planned(made, "J-iron", main_material="cast iron", main_size="6 in", main_sdr="")
    set_(inside_mm=D("160"))
    with acting(PLANNER) as act:
        reserve(act, Job.objects.get(pk=iron.pk))
    row = PipeSize.objects.get()
    with pytest.raises(NotAllowed, match="Say why"), acting(PLANNER) as act:
        withdraw_size(act, row, " ")
    with acting(PLANNER) as act:
        moved = withdraw_size(act, row, "another pipe was dug up")
    assert [(each.job.reference, each.before_mm, each.after_mm) for each in moved] == [("J-iron", 160, None)]
    assert standing(iron) == {Standing.BROKEN: 4}
    with pytest.raises(NotAllowed, match="withdrawn from the table of mains already"), acting(PLANNER) as act:
        withdraw_size(act, row, "again")
    assert set_(inside_mm=D("161")) == ["J-iron"]
    assert standing(iron) == {Standing.PROMISED: 4}
    assert PipeSize.objects.get().withdrawn is False
    assert prove_ledger().fault is None


@pytest.mark.parametrize(
    ("values", "why"),
    [
        ({}, "gives no bore"),
        ({"outside_mm": D(177)}, "gives no bore"),
        ({"wall_mm": D(9)}, "gives no bore"),
        ({"inside_mm": D(150), "wall_mm": D(9)}, "alone says nothing"),
        ({"inside_mm": D(0)}, "must be above 0"),
        ({"outside_mm": D(177), "wall_mm": D("88.5")}, "leaves no bore"),
        ({"inside_mm": D(177), "outside_mm": D(177)}, "check both"),
        ({"inside_mm": D(150), "outside_mm": D(177), "wall_mm": D(9)}, "is 159 mm, and the inside diameter"),
    ],
)
def test_a_row_that_cannot_be_is_refused(made: Yard, values: dict[str, Any], why: str) -> None:
    with pytest.raises(NotAllowed, match=why):
        set_(**values)
    assert not PipeSize.objects.exists()


def test_a_row_names_a_material_a_size_and_a_source(made: Yard) -> None:
    for material, size, source, why in (
        (" ", "6 in", BOOK, "needs a material and a size"),
        ("cast iron", "", BOOK, "needs a material and a size"),
        ("cast iron", "6 in", " ", "come from"),
    ):
        with pytest.raises(NotAllowed, match=why), acting(PLANNER) as act:
            set_size(act, material, size, source=source, inside_mm=D(150))
