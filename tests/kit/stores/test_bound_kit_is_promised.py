"""Sets, assemblies and substitutes in the store: reserved, put in by hand, judged again, issued and rearranged."""

from __future__ import annotations

import pytest

from inspections.actions import release
from kit.models import Item, Job, Reservation, Standing
from kit.planning.rearranging import check
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    apply_plan,
    bind_set,
    change_details,
    finish_issue,
    issue_piece,
    kit_list_of,
    let_go,
    propose_plan,
    prove_ledger,
    quarantine,
    receive,
    reserve,
    set_kind,
    substitute,
    unbind_set,
)
from kit.stores.breaks import take_proposed
from kit.stores.season import season_of
from kit.stores.set_promises import sets_in_part
from tests.kit.stores.bound_yard import PLANNER, a_job, bound_yard, day, item, on_lines, standing

pytestmark = pytest.mark.django_db


@pytest.fixture
def job() -> Job:
    bound_yard()
    with acting(PLANNER) as act:
        return a_job(act, "J1")


def _aside(*tags: str) -> None:
    with acting(PLANNER) as act:
        for tag in tags:
            quarantine(act, item(tag), why="torn")


def _of(job: Job, tag: str) -> Reservation:
    return job.reservations.open().get(item__tag=tag)


def test_the_best_choice_takes_a_set_whole_a_mark_together_and_the_lot_that_expires_first(job: Job) -> None:
    with acting(PLANNER) as act:
        kit = reserve(act, job)
    assert kit.complete
    assert on_lines(job) == {
        "bags": ["B1"],
        "tubes": ["T1"],
        "heads": ["H1"],
        "bases": ["S1"],
        "seals": ["L0", "L1"],
    }
    assert dict(job.reservations.filter(counted=True).values_list("item__tag", "quantity")) == {
        "L0": 3,
        "L1": 1,
    }
    assert prove_ledger().fault is None


def test_a_set_is_refused_with_the_mate_and_why(job: Job) -> None:
    _aside("T1")
    refused = {each.tag: each.reasons for each in kit_list_of(job).refused if each.line == "bags"}
    assert [reason.code for reason in refused["B1"]] == ["set-not-whole"]
    assert "PAIR 1" in refused["B1"][0].text
    assert "T1" in refused["B1"][0].text
    assert "quarantine (torn)" in refused["B1"][0].text
    assert {line.line.name: line.tags for line in kit_list_of(job).lines}["bags"] == ("B2",)


def test_a_mate_of_a_kind_that_the_job_does_not_ask_for_counts(job: Job) -> None:
    with acting(PLANNER) as act:
        gauge = set_kind(act, "gauge")
        receive(act, [Item(tag="G1", kind=gauge, depot=item("B9").depot)])
        bind_set(act, "BOX", [item("B9"), item("G1")], "one box")
    [reasons] = [
        each.reasons for each in kit_list_of(job).refused if each.tag == "B9" and each.line == "bags"
    ]
    assert (
        reasons[0].text == "Its set BOX goes as a whole, and G1 of it cannot go: J1 has no line for a gauge."
    )


def test_a_substitute_is_promised_for_its_own_days(job: Job) -> None:
    _aside("B1", "B2", "B9")
    with acting(PLANNER) as act:
        kit = reserve(act, job)
    assert kit.complete
    assert kit.lines[0].instead == (("W1", "wide bag"),)
    wide = _of(job, "W1")
    assert (wide.starts, wide.ends) == (day(3), day(7))
    assert on_lines(job)["tubes"] == ["T9"]


def test_by_hand_a_substitute_kind_is_taken_and_no_other(job: Job) -> None:
    _aside("B1", "B2")
    with acting(PLANNER) as act:
        reserve(act, job)
    assert on_lines(job)["bags"] == ["B9"]
    with (
        pytest.raises(NotAllowed, match="H2 is a head; bags of J1 asks for a bag, or instead a wide bag"),
        acting(PLANNER) as act,
    ):
        substitute(act, _of(job, "B9"), item("H2"), "at hand")
    with acting(PLANNER) as act:
        substitute(act, _of(job, "B9"), item("W1"), "at hand")
    assert on_lines(job)["bags"] == ["W1"]


def test_by_hand_no_set_is_split_and_no_mark_mixed(job: Job) -> None:
    with acting(PLANNER) as act:
        reserve(act, job)
    with (
        pytest.raises(NotAllowed, match=r"B1 is of the set PAIR 1, which goes as a whole, and T1 of it"),
        acting(PLANNER) as act,
    ):
        substitute(act, _of(job, "B1"), item("B9"), "nearer the door")
    with (
        pytest.raises(NotAllowed, match=r"H3 is marked V and head unit of J1 .* begun with II already"),
        acting(PLANNER) as act,
    ):
        substitute(act, _of(job, "H1"), item("H3"), "nearer the door")
    with acting(PLANNER) as act:
        substitute(act, _of(job, "H1"), item("H2"), "nearer the door")
    assert on_lines(job)["heads"] == ["H2"]


def test_by_hand_one_of_a_set_alone_is_refused(job: Job) -> None:
    _aside("B1", "B2", "B9", "T1")
    with acting(PLANNER) as act:
        reserve(act, job)
        unused = _of(job, "T9")
    with (
        pytest.raises(
            NotAllowed, match=r"T2 is of the set PAIR 2, which goes as a whole: B2 of it would have"
        ),
        acting(PLANNER) as act,
    ):
        substitute(act, unused, item("T2"), "at hand")


def test_what_breaks_one_of_a_set_breaks_the_others_and_all_are_taken_up_together(job: Job) -> None:
    with acting(PLANNER) as act:
        reserve(act, job)
    _aside("T1")
    assert {tag: standing(job)[tag] for tag in ("B1", "T1")} == {"B1": "broken", "T1": "broken"}
    flagged = _of(job, "B1")
    assert "PAIR 1" in flagged.why
    assert "T1" in flagged.why
    assert "torn" in flagged.why
    assert (flagged.proposed.tag, _of(job, "T1").proposed.tag) == ("B2", "T2")
    with acting(Who("x.examiner", "test")) as act:
        release(act, item("T1"), "mended")
    assert {standing(job)[tag] for tag in ("B1", "T1")} == {"promised"}
    assert _of(job, "B1").why == ""
    assert prove_ledger().fault is None


def test_the_proposed_set_is_taken_in_one_press(job: Job) -> None:
    with acting(PLANNER) as act:
        reserve(act, job)
    _aside("T1")
    with acting(PLANNER) as act:
        take_proposed(act, _of(job, "B1"), item("B2"))
    assert on_lines(job)["bags"] == ["B2"]
    assert on_lines(job)["tubes"] == ["T2"]
    assert set(standing(job).values()) == {"promised"}


def test_one_of_a_set_let_go_flags_the_others_until_it_is_reserved_anew(job: Job) -> None:
    with acting(PLANNER) as act:
        reserve(act, job)
        let_go(act, _of(job, "T1"), "wanted elsewhere")
    assert standing(job)["B1"] == "broken"
    assert "T1 of it cannot go: it is not promised to J1" in _of(job, "B1").why
    with acting(PLANNER) as act:
        unbind_set(act, [item("B1")], "never mounted")
    assert standing(job)["B1"] == "promised"


def test_a_van_never_leaves_with_a_set_in_part(job: Job) -> None:
    with acting(PLANNER) as act:
        reserve(act, job)
        issue_piece(act, job, item("B1"))
    [parted] = sets_in_part(job)
    assert (parted.name, parted.out, parted.here) == ("PAIR 1", ("B1",), ("T1",))
    with (
        pytest.raises(NotAllowed, match="PAIR 1 would go out without T1: scan what is missing"),
        acting(PLANNER) as act,
    ):
        finish_issue(act, job, "the crew leader agreed")
    with acting(PLANNER) as act:
        issue_piece(act, job, item("T1"))
        finish_issue(act, job, "heads follow")
    assert sets_in_part(job) == []


def test_at_the_counter_one_of_a_set_that_nobody_reserved_is_refused(job: Job) -> None:
    with pytest.raises(NotAllowed, match="B1 is of the set PAIR 1"), acting(PLANNER) as act:
        issue_piece(act, job, item("B1"))
    with acting(PLANNER) as act:
        assert issue_piece(act, job, item("W1")).line.name == "bags"
        issue_piece(act, job, item("H3"))
    with pytest.raises(NotAllowed, match="S1 is marked II"), acting(PLANNER) as act:
        issue_piece(act, job, item("S1"))


def test_a_season_with_a_set_an_assembly_and_a_substitute_is_rearranged(job: Job) -> None:
    """J1 holds loose pieces and V; the second job in the same days can be whole only with sets, II and so on."""
    with acting(PLANNER) as act:
        reserve(act, job)
        others = [a_job(act, f"J{number}", 4, 6) for number in (2, 3, 4)]
    proposed = propose_plan(None, day(0))
    assert proposed.plan.proven
    check(season_of(None, day(0)), proposed.plan)
    given = {
        each.need.job: {line.line.name: line.tags for line in each.lines if line.tags}
        for each in proposed.plan.jobs
    }
    bags = [given[name].get("bags", ()) for name in ("J1", "J2", "J3", "J4")]
    assert sorted(tag for tags in bags for tag in tags) == ["B1", "B2", "B9", "W1"]
    for lines in given.values():
        for number in ("1", "2"):
            assert (f"B{number}" in lines["bags"]) == (f"T{number}" in lines.get("tubes", ()))
        marks = {item(tag).mark.lower() for name in ("heads", "bases") for tag in lines.get(name, ())}
        assert len(marks) <= 1
    with acting(PLANNER) as act:
        apply_plan(act, proposed)
    assert all(set(standing(each).values()) <= {Standing.PROMISED} for each in (job, *others))
    assert on_lines(job)["bags"] == ["B1"]
    assert prove_ledger().fault is None


def test_a_mark_read_again_breaks_the_promise_that_mixes_a_unit_and_heals_it(job: Job) -> None:
    with acting(PLANNER) as act:
        reserve(act, job)
    held = on_lines(job)
    head, base = held["heads"][0], held["bases"][0]
    with acting(PLANNER) as act:
        change_details(act, item(base), "the stamp was misread", mark="VII")
    assert standing(job)[head] == Standing.PROMISED
    broken = _of(job, base)
    assert broken.standing == Standing.BROKEN
    assert f"{base} is marked VII" in broken.why
    assert broken.proposed is not None
    assert broken.proposed.mark.casefold() == item(head).mark.casefold()
    with acting(PLANNER) as act:
        change_details(act, item(head), "so was this one", mark="vii")
    assert standing(job) | {head: Standing.PROMISED, base: Standing.PROMISED} == standing(job)
    assert prove_ledger().fault is None
