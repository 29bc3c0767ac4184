"""What goes to another depot goes as a consignment: all or nothing, and what became of each piece is signed for."""

from __future__ import annotations

from collections import Counter
from datetime import timedelta
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction

from kit.models import Arrival, Custody, Deed, Item, Job, LedgerEntry, Standing, State, Transfer, TransferLine
from kit.stores import (
    ConsignmentRefused,
    Load,
    NotAllowed,
    Who,
    acting,
    arrive,
    bring_back,
    count_stock,
    differences,
    expect_on,
    issue_piece,
    line_for,
    lose,
    note_missing,
    plan_job,
    prove_ledger,
    quarantine,
    reserve,
    send,
    send_all,
    sign_for,
    sign_for_all,
)
from tests.kit.views.yard import Yard, in_days, job_of, kind, yard

pytestmark = pytest.mark.django_db

SENDER, TAKER, PLANNER = (Who(name, "test") for name in ("w.hollis", "m.orr", "p.lane"))


@pytest.fixture
def made() -> Yard:
    return yard()


def do(who: Who, action: Any, *args: Any, **more: Any) -> Any:
    with acting(who) as act:
        return action(act, *args, **more)


def refusal(who: Who, action: Any, *args: Any, **more: Any) -> str:
    with pytest.raises(NotAllowed) as said:
        do(who, action, *args, **more)
    proved()
    return str(said.value)


def proved() -> None:
    assert prove_ledger().fault is None
    assert differences() == []


def consign(made: Yard, *tags: str, arrives: int = 2, **lots: int) -> Transfer:
    loads = [Load(made.item(tag)) for tag in tags]
    loads += [Load(made.item(tag.replace("_", "-")), quantity) for tag, quantity in lots.items()]
    return do(SENDER, send_all, loads, made.mill, in_days(arrives), carrier="own van")


def outcomes(transfer: Transfer) -> dict[str, str]:
    return dict(transfer.lines.values_list("item__tag", "outcome"))


def line(transfer: Transfer, tag: str) -> TransferLine:
    return transfer.lines.get(item__tag=tag)


def test_all_goes_with_one_signature_and_arrives_over_days_with_anothers(made: Yard) -> None:
    sent = consign(made, "NY-B1", "NY-B2", "NY-S1")
    assert (str(sent), sent.sent_by, sent.from_depot, sent.to_depot) == (
        "T1",
        "w.hollis",
        made.north,
        made.mill,
    )
    assert {made.item(tag).custody for tag in outcomes(sent)} == {Custody.IN_TRANSIT}
    proved()
    do(TAKER, sign_for, line(sent, "NY-B2"))
    assert outcomes(sent) == {"NY-B1": "", "NY-B2": "arrived", "NY-S1": ""}
    came = made.item("NY-B2")
    assert (came.depot, came.custody, came.place, came.sent_by) == (made.mill, Custody.STORE, None, "")
    assert not Transfer.objects.get(pk=sent.pk).closed
    proved()
    do(TAKER, sign_for_all, sent)
    assert set(outcomes(sent).values()) == {Arrival.ARRIVED}
    assert Transfer.objects.get(pk=sent.pk).closed
    assert set(sent.lines.values_list("arrived_by", flat=True)) == {"m.orr"}
    assert "all of it is signed for" in refusal(TAKER, sign_for_all, sent)
    assert "arrived, signed for by m.orr" in refusal(TAKER, sign_for, line(sent, "NY-B1"))


def test_all_or_nothing_and_every_bar_is_named(made: Yard) -> None:
    do(SENDER, quarantine, made.item("NY-B2"), "smells of oil")
    do(SENDER, send, made.item("NY-B3"), made.mill, in_days(1))
    entries = LedgerEntry.objects.count()
    loads = [Load(made.item(tag)) for tag in ("NY-B1", "NY-B2", "NY-B3", "NY-B1")]
    with pytest.raises(ConsignmentRefused) as refused:
        do(SENDER, send_all, [*loads, Load(made.item("LOT-7"), 21)], made.mill, in_days(2))
    assert {tag: why.split(":")[0] for tag, why in refused.value.bars.items()} == {
        "NY-B1": "NY-B1 is listed twice",
        "NY-B2": "NY-B2 is quarantined and stays where it is.",
        "NY-B3": "NY-B3 is in transit",
        "LOT-7": "LOT-7 holds 20 here",
    }
    assert LedgerEntry.objects.count() == entries
    assert made.item("NY-B1").custody == Custody.STORE
    proved()


@pytest.mark.parametrize(
    ("tags", "days", "why"),
    [([], 2, "Nothing is in the consignment"), (["NY-B1"], -1, "is past: give the day")],
)
def test_what_is_no_consignment(made: Yard, tags: list[str], days: int, why: str) -> None:
    loads = [Load(made.item(tag)) for tag in tags]
    assert why in refusal(SENDER, send_all, loads, made.mill, in_days(days))
    assert not Transfer.objects.exists()


def test_it_leaves_one_depot_for_another(made: Yard) -> None:
    do(SENDER, send, made.item("NY-B1"), made.mill, in_days(0))
    do(TAKER, arrive, made.item("NY-B1"))
    both = [Load(made.item("NY-B2")), Load(made.item("NY-B1"))]
    assert "NY-B1 is at Mill bank already" in refusal(SENDER, send_all, both, made.mill, in_days(1))
    assert "NY-B2 is at North yard already" in refusal(SENDER, send_all, both[::-1], made.north, in_days(1))


def test_a_set_goes_together_or_stays(made: Yard) -> None:
    Item.objects.filter(tag__in=["NY-S1", "NY-S2"]).update(set_name="Weir set")
    with pytest.raises(
        NotAllowed, match="of the set Weir set, which goes together or stays: scan NY-S2 as well"
    ):
        do(SENDER, send, made.item("NY-S1"), made.mill, in_days(1))
    do(SENDER, send_all, [Load(made.item(tag)) for tag in ("NY-S1", "NY-S2")], made.mill, in_days(1))


def test_promises_that_it_cannot_keep_break_in_the_same_act_and_those_it_can_hold(made: Yard) -> None:
    do(PLANNER, reserve, made.job)
    there = do(PLANNER, plan_job, job_of(made.mill, made.arrangement, "M-1", load=3, back=5))
    consign(made, "NY-B1", "NY-B2", "NY-B3", "NY-B4", arrives=2)
    lost = dict(made.job.reservations.values_list("item__tag", "standing"))
    assert [lost[f"NY-B{n}"] for n in (1, 2, 3, 4)] == [Standing.BROKEN] * 4
    proved()
    do(PLANNER, reserve, there)
    assert {"NY-B1", "NY-B2", "NY-B3", "NY-B4"} <= set(
        there.reservations.filter(standing=Standing.PROMISED).values_list("item__tag", flat=True)
    )
    proved()
    do(TAKER, sign_for_all, Transfer.objects.get())
    assert set(there.reservations.values_list("standing", flat=True)) == {Standing.PROMISED}
    proved()


def test_the_sender_signs_for_nothing_that_became_of_it(made: Yard) -> None:
    sent = consign(made, "NY-B1", "NY-B2")
    one = line(sent, "NY-B1")
    assert "You sent NY-B1: somebody else must sign that it arrived" in refusal(SENDER, sign_for, one)
    assert "You sent T1: somebody else" in refusal(SENDER, sign_for_all, sent)
    assert "somebody else must sign that it is missing" in refusal(SENDER, note_missing, one, "not there")
    assert "somebody else must sign that it is back" in refusal(SENDER, bring_back, one, "left behind")
    assert set(outcomes(sent).values()) == {""}


def test_the_database_refuses_it_too(made: Yard) -> None:
    sent = consign(made, "NY-B1", "NY-B2")

    def by_hand(sql: str, *values: Any) -> None:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(sql, values)

    signing = (
        "UPDATE kit_transferline SET outcome = 'arrived', arrived_on = %s, arrived_by = %s WHERE id = %s"
    )
    one = line(sent, "NY-B1")
    with pytest.raises(IntegrityError, match="whoever sent a consignment does not sign"):
        by_hand(signing, made.today, "w.hollis", one.pk)
    with pytest.raises(IntegrityError, match="arrival_is_signed_for"):
        by_hand(signing, made.today, "", one.pk)
    with pytest.raises(IntegrityError, match="whoever signed for sending stays named"):
        by_hand("UPDATE kit_transfer SET sent_by = 'm.orr' WHERE id = %s", sent.pk)
    with pytest.raises(IntegrityError, match="never deleted"):
        by_hand("DELETE FROM kit_transferline WHERE id = %s", one.pk)
    with pytest.raises(IntegrityError, match="never deleted"):
        by_hand("DELETE FROM kit_transfer WHERE id = %s", sent.pk)
    by_hand(signing, made.today, "m.orr", one.pk)  # the same statement by another person goes through
    with pytest.raises(IntegrityError, match="stays so"):
        by_hand("UPDATE kit_transferline SET outcome = '' WHERE id = %s", one.pk)
    into = (
        "INSERT INTO kit_transferline (transfer_id, item_id, quantity, outcome, arrived_on, arrived_by, note) "
        "VALUES (%s, %s, 1, %s, %s, %s, '')"
    )
    with pytest.raises(IntegrityError, match="whoever sent a consignment does not sign"):
        by_hand(into, sent.pk, made.item("NY-B3").pk, "arrived", made.today, "w.hollis")
    other = Transfer.objects.create(
        number=9,
        from_depot=made.north,
        to_depot=made.mill,
        sent_on=made.today,
        arrives_on=made.today,
        sent_by="x",
    )
    with pytest.raises(IntegrityError, match=r"item_on_one_way_at_a_time|UNIQUE|unique"):
        by_hand(into, other.pk, made.item("NY-B2").pk, "", None, "")


def test_what_is_missing_is_lost_at_once_and_closed_and_may_turn_up_at_either_end(made: Yard) -> None:
    there = do(PLANNER, plan_job, job_of(made.mill, made.arrangement, "M-1", load=6, back=8))
    sent = consign(made, "NY-B1", "NY-B2", "NY-B3")
    do(PLANNER, reserve, there)
    do(TAKER, sign_for, line(sent, "NY-B3"))
    assert "say where it was looked for" in refusal(TAKER, note_missing, line(sent, "NY-B1"), " ")
    for tag in ("NY-B1", "NY-B2"):
        do(TAKER, note_missing, line(sent, tag), "not in the crate; the driver was asked")
        gone = made.item(tag)
        assert (gone.state, gone.custody, gone.depot) == (State.LOST, Custody.IN_TRANSIT, made.north)
    proved()
    assert Transfer.objects.get(pk=sent.pk).closed
    assert "not on the way any more" in refusal(TAKER, note_missing, line(sent, "NY-B1"), "again")
    held = dict(there.reservations.values_list("item__tag", "standing"))
    assert (held["NY-B1"], held["NY-B3"]) == (Standing.BROKEN, Standing.PROMISED)
    do(TAKER, sign_for, line(sent, "NY-B1"))
    found = made.item("NY-B1")
    assert (found.state, found.custody, found.depot) == (State.QUARANTINED, Custody.STORE, made.mill)
    do(TAKER, bring_back, line(sent, "NY-B2"), "behind the dock door")
    left = made.item("NY-B2")
    assert (left.state, left.custody, left.depot) == (State.QUARANTINED, Custody.STORE, made.north)
    assert outcomes(sent) == {"NY-B1": "arrived", "NY-B2": "back", "NY-B3": "arrived"}
    assert Counter(LedgerEntry.objects.values_list("deed", flat=True))[Deed.NOT_ARRIVED] == 2
    proved()


def test_a_van_that_turns_round_brings_them_back_as_they_were(made: Yard) -> None:
    do(PLANNER, reserve, made.job)
    sent = consign(made, "NY-B1")
    assert made.job.reservations.get(item__tag="NY-B1").standing == Standing.BROKEN
    assert "Say why NY-B1 is back" in refusal(TAKER, bring_back, line(sent, "NY-B1"), "")
    do(TAKER, bring_back, line(sent, "NY-B1"), "road closed")
    home = made.item("NY-B1")
    assert (home.state, home.custody, home.depot) == (State.AVAILABLE, Custody.STORE, made.north)
    assert made.job.reservations.get(item__tag="NY-B1").standing == Standing.PROMISED
    assert Transfer.objects.get().closed
    proved()


def test_lost_on_the_way_from_the_desk_is_found_again_by_arriving(made: Yard) -> None:
    sent = consign(made, "NY-B1")
    do(TAKER, lose, made.item("NY-B1"), "van was broken into")
    do(TAKER, sign_for, line(sent, "NY-B1"))
    assert made.item("NY-B1").state == State.QUARANTINED
    proved()


def test_a_wrong_piece_is_refused_with_why_and_what_to_do(made: Yard) -> None:
    one, other = consign(made, "NY-B1"), consign(made, "NY-B2")
    for tag, why in (
        ("NY-B2", "is not on T1 but on T2, from North yard to Mill bank: sign for it there"),
        ("NY-B3", "the book has it at North yard. Put it aside; North yard enters it as sent"),
    ):
        with pytest.raises(NotAllowed, match=why):
            line_for(one, made.item(tag))
    do(TAKER, sign_for_all, other)
    with pytest.raises(NotAllowed, match="belongs to Mill bank already"):
        line_for(one, made.item("NY-B2"))
    assert line_for(one, made.item("NY-B1")).item.tag == "NY-B1"


def test_a_van_that_is_late_is_expected_later_and_promises_follow(made: Yard) -> None:
    there = do(PLANNER, plan_job, job_of(made.mill, made.arrangement, "M-1", load=3, back=5))
    sent = consign(made, "NY-B1", arrives=2)
    do(PLANNER, reserve, there)
    promise = there.reservations.get(item__tag="NY-B1")
    assert "Say why" in refusal(PLANNER, expect_on, sent, in_days(3), "")
    assert "is past" in refusal(PLANNER, expect_on, sent, in_days(-1), "rang")
    do(PLANNER, expect_on, sent, in_days(3), "the driver rang: van at the garage")
    promise.refresh_from_db()
    assert (promise.standing, made.item("NY-B1").arrives_on) == (Standing.BROKEN, in_days(3))
    assert "not before loading" in promise.why
    do(PLANNER, expect_on, sent, in_days(2), "lent another van")
    promise.refresh_from_db()
    assert promise.standing == Standing.PROMISED
    assert not do(PLANNER, expect_on, sent, in_days(2), "the same again")
    proved()
    do(TAKER, sign_for_all, sent)
    assert "is closed" in refusal(PLANNER, expect_on, sent, in_days(4), "late")


def test_it_is_not_on_two_ways_nor_issued_before_it_is_signed_for(made: Yard) -> None:
    consign(made, "NY-B1")
    assert "is in transit" in refusal(SENDER, send, made.item("NY-B1"), made.mill, in_days(1))
    there = do(PLANNER, plan_job, job_of(made.mill, made.arrangement, "M-1", load=3, back=5))
    do(PLANNER, reserve, there)
    said = refusal(TAKER, issue_piece, Job.objects.get(pk=there.pk), made.item("NY-B1"))
    assert "comes from the store" in said


def test_part_of_a_lot_travels_under_its_own_tag_and_the_sum_stays(made: Yard) -> None:
    do(PLANNER, reserve, made.job)  # six of the twenty are promised at North yard
    sent = consign(made, "NY-B5", LOT_7=15)
    part = made.item("LOT-7/MB")
    assert (part.quantity, part.batch, part.kind, part.use_by) == (15, "LOT-7", kind("seal"), in_days(400))
    assert made.item("LOT-7").quantity == 5
    assert made.job.reservations.get(item__tag="LOT-7").standing == Standing.BROKEN
    proved()
    assert "in transit: take it in" in refusal(TAKER, count_stock, part, 3, "counted")
    do(TAKER, sign_for, line(sent, "LOT-7/MB"))
    assert (made.item("LOT-7/MB").depot, made.item("LOT-7/MB").quantity) == (made.mill, 15)
    proved()
    do(SENDER, send_all, [Load(made.item("LOT-7"), 2)], made.mill, in_days(1))
    do(TAKER, send_all, [Load(made.item("LOT-7/MB"), 4)], made.north, in_days(1))
    held = dict(Item.objects.filter(kind=kind("seal")).values_list("tag", "quantity"))
    assert held == {"LOT-7": 3, "LOT-7/MB": 11, "LOT-7/MB-2": 2, "LOT-7/NY": 4}
    assert sum(held.values()) == 20
    proved()


def test_a_whole_lot_keeps_its_tag_unless_some_of_it_is_out(made: Yard) -> None:
    do(PLANNER, reserve, made.job)
    do(SENDER, issue_piece, made.job, made.item("LOT-7"))
    assert made.item("LOT-7").quantity == 14
    sent = do(SENDER, send_all, [Load(made.item("LOT-7"))], made.mill, in_days(1))
    assert (made.item("LOT-7").quantity, made.item("LOT-7").custody) == (0, Custody.STORE)
    assert "Nothing is left of LOT-7" in refusal(
        SENDER, send_all, [Load(made.item("LOT-7"))], made.mill, in_days(1)
    )
    do(TAKER, sign_for_all, sent)
    back = do(TAKER, send_all, [Load(made.item("LOT-7/MB"))], made.north, in_days(1))
    assert list(back.lines.values_list("item__tag", "quantity")) == [("LOT-7/MB", 14)]
    proved()


def test_fewer_of_a_lot_arrive_than_were_sent(made: Yard) -> None:
    there = do(PLANNER, plan_job, job_of(made.mill, made.arrangement, "M-1", load=3, back=5))
    sent = consign(made, LOT_7=6)
    do(PLANNER, reserve, there)
    promise = there.reservations.get(item__tag="LOT-7/MB")
    assert (promise.standing, promise.quantity) == (Standing.PROMISED, 6)
    one = line(sent, "LOT-7/MB")
    for count, note, why in (
        (7, "", "between 1 and 6"),
        (0, "", "between 1 and 6"),
        (5, "", "1 of LOT-7/MB are missing"),
    ):
        assert why in refusal(TAKER, sign_for, one, count, note=note)
    do(TAKER, sign_for, one, 5, note="one bag had burst")
    one.refresh_from_db()
    assert (made.item("LOT-7/MB").quantity, one.quantity, one.arrived_quantity) == (5, 6, 5)
    promise.refresh_from_db()
    assert promise.standing == Standing.BROKEN
    entry = LedgerEntry.objects.filter(deed=Deed.NOT_ARRIVED).get()
    assert '"facts":{"arrived":5,"missing":1,"sent":6}' in entry.body
    proved()


def test_it_is_entered_late_as_a_whole(made: Yard) -> None:
    ago = made.today - timedelta(days=2)
    long_ago = {"arrives_on": ago, "sent_on": made.today - timedelta(days=20)}
    said = refusal(SENDER, send_all, [Load(made.item("NY-B2"))], made.mill, **long_ago)
    assert "NY-B2 cannot have been sent on" in said  # its hold test was done here ten days ago
    sent = do(
        SENDER, send_all, [Load(made.item("NY-B2")), Load(made.item("NY-B3"))], made.mill, ago, sent_on=ago
    )
    assert (sent.sent_on, sent.arrives_on) == (ago, ago)
    do(TAKER, sign_for_all, sent, made.today - timedelta(days=1))
    assert set(sent.lines.values_list("arrived_on", flat=True)) == {made.today - timedelta(days=1)}
    proved()


def test_what_was_on_its_way_before_consignments_were_kept_is_taken_in(made: Yard) -> None:
    Item.objects.filter(tag="NY-B1").update(
        custody=Custody.IN_TRANSIT, transit_to=made.mill, arrives_on=made.today, sent_by="w.hollis"
    )
    with pytest.raises(NotAllowed, match="You sent NY-B1"):
        do(SENDER, arrive, made.item("NY-B1"))
    do(TAKER, arrive, made.item("NY-B1"))
    assert (made.item("NY-B1").depot, made.item("NY-B1").sent_by) == (made.mill, "")
