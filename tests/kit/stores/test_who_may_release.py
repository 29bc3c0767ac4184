"""Nobody releases what they set aside or failed, whatever happened to the item in between."""

from datetime import timedelta

import pytest

from inspections.actions import Finding, record, release
from inspections.models import Check
from kit.models import State
from kit.stores import (
    NotAllowed,
    Who,
    acting,
    arrive,
    find_again,
    issue_piece,
    lose,
    quarantine,
    receive,
    reserve,
    send,
    take_back,
)
from tests.kit.views.yard import Yard, bag, yard

pytestmark = pytest.mark.django_db

STORES, LEAD, BENCH, OTHER = (Who(name, "test") for name in ("w.hollis", "c.field", "e.marsh", "o.price"))


@pytest.fixture
def made() -> Yard:
    return yard()


def refused(made: Yard, who: Who, tag: str = "NY-B1") -> bool:
    """True if the person may not release it; released if they may."""
    try:
        with acting(who) as act:
            release(act, made.item(tag), "looked at and found well")
    except NotAllowed as refusal:
        return "somebody else must release it" in str(refusal)
    return False


def inspect(made: Yard, who: Who, verdict: str, by: str = "", days_ago: int = 0, tag: str = "NY-B1") -> None:
    item = made.item(tag)
    check = Check.objects.in_force().get(kind=item.kind)
    with acting(who) as act:
        record(act, Finding(item, check, act.today - timedelta(days=days_ago), verdict, by=by))


def test_a_piece_lost_and_found_is_still_not_released_by_who_set_it_aside(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    with acting(LEAD) as act:
        lose(act, made.item("NY-B1"), "not in the cage")
        find_again(act, made.item("NY-B1"), "behind the rack")
    assert refused(made, LEAD)
    assert refused(made, STORES)
    assert not refused(made, OTHER)


def test_who_gave_a_further_reason_set_it_aside_as_well(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    with acting(LEAD) as act:
        quarantine(act, made.item("NY-B1"), "worn seam too")
    assert refused(made, LEAD)
    assert refused(made, STORES)
    assert not refused(made, OTHER)


def test_who_did_the_failed_check_days_before_it_was_entered_does_not_release(made: Yard) -> None:
    inspect(made, STORES, "fail", by="e.marsh", days_ago=3)
    assert made.item("NY-B1").state == State.QUARANTINED
    inspect(made, LEAD, "pass")
    assert refused(made, BENCH)
    assert refused(made, STORES)
    assert not refused(made, LEAD)


def test_a_doubt_left_open_when_it_was_set_aside_bars_though_it_is_answered_since(made: Yard) -> None:
    inspect(made, BENCH, "doubt", days_ago=2)
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "in doubt")
    inspect(made, LEAD, "pass")
    assert refused(made, BENCH)
    assert not refused(made, LEAD)


def test_a_fail_answered_before_it_was_set_aside_bars_nobody(made: Yard) -> None:
    inspect(made, BENCH, "doubt", days_ago=2)
    inspect(made, LEAD, "pass")
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    assert not refused(made, BENCH)


def test_a_release_ends_it_for_everybody(made: Yard) -> None:
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    assert not refused(made, LEAD)
    with acting(LEAD) as act:
        quarantine(act, made.item("NY-B1"), "smells again")
    assert not refused(made, STORES)


def test_who_received_it_set_aside_does_not_release_it(made: Yard) -> None:
    with acting(STORES) as act:
        receive(act, [bag(made.north, "NY-Q1", state=State.QUARANTINED)])
    with acting(OTHER) as act:
        lose(act, made.item("NY-Q1"), "not in the cage")
        find_again(act, made.item("NY-Q1"), "behind the rack")
    assert refused(made, STORES, "NY-Q1")
    assert refused(made, OTHER, "NY-Q1")
    assert not refused(made, LEAD, "NY-Q1")


def test_what_was_noted_as_lost_and_comes_in_all_the_same_is_set_aside(made: Yard) -> None:
    with acting(STORES) as act:
        reserve(act, made.job)
        out = issue_piece(act, made.job, made.item("NY-B1"))
        lose(act, made.item("NY-B1"), "the crew cannot find it")
        send(act, made.item("NY-B5"), made.mill, made.today)
        lose(act, made.item("NY-B5"), "not on the van")
    with acting(LEAD) as act:
        take_back(act, out, "unused")
        arrive(act, made.item("NY-B5"))
    for tag in ("NY-B1", "NY-B5"):
        assert made.item(tag).state == State.QUARANTINED
        assert refused(made, LEAD, tag)
        assert not refused(made, OTHER, tag)
