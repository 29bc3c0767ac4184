"""A consignment from the screens: scanned together, sent with one press, signed for by scanner at the other end."""

from __future__ import annotations

import html
from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from kit.models import Custody, Deed, DepotLink, Item, LedgerEntry, Role, State, Transfer
from kit.stores import depot_named, prove_ledger, send, set_link
from tests.kit.views.holm import Yard


@pytest.fixture
def packed(yard: Yard) -> Yard:
    """Four gauges and a lot at Holm; Weir is two days away; Wyn is the stores person there."""
    for n in (1, 2, 3, 4):
        yard.receive(f"G-{n}", serial=str(n))
    yard.receive("SEAL-7", kind="seal", quantity=12)
    yard.do(set_link, yard.holm, yard.weir, 2)
    return yard


def item(tag: str) -> Item:
    return Item.objects.get(tag=tag)


def scan(client: Client, code: str, to: str = "Weir", **more: str) -> str:
    answer = client.post(reverse("transfer_scan", args=[to]), {"code": code, **more})
    return html.unescape(answer.content.decode())


def sent(yard: Yard, *tags: str, **form: str) -> Transfer:
    client = yard.htmx("sal")
    for tag in tags:
        scan(client, tag)
    values = {"arrives_on": (yard.today + timedelta(days=2)).isoformat(), "carrier": "Thursday van", **form}
    answer = client.post(reverse("transfer_send", args=["Weir"]), values)
    made = Transfer.objects.latest("number")
    assert answer.status_code == 302
    assert answer["Location"] == reverse("transfer", args=[made.number])
    return made


def sign(client: Client, transfer: Transfer, code: str) -> str:
    answer = client.post(reverse("transfer_sign", args=[transfer.number]), {"code": code})
    return html.unescape(answer.content.decode())


def test_the_only_other_depot_is_chosen_by_itself_and_the_way_gives_the_day(packed: Yard) -> None:
    client = packed.client("sal")
    assert client.get(reverse("new_transfer"))["Location"] == reverse("send_transfer", args=["Weir"])
    page = client.get(reverse("send_transfer", args=["Weir"])).content.decode()
    assert f'value="{(packed.today + timedelta(days=2)).isoformat()}"' in page
    assert client.get(reverse("send_transfer", args=["Holm"])).status_code == 404
    packed.appoint("sal", packed.weir, Role.STORES)
    item_page = packed.client("sal").get(reverse("item_act", args=["send", "G-1"])).content.decode()
    assert f'value="{(packed.today + timedelta(days=2)).isoformat()}"' in item_page


def test_each_scan_is_answered_and_kept_until_it_is_sent(packed: Yard) -> None:
    client = packed.htmx("sal")
    job = packed.plan("J-1", packed.arrangement(), load_in=1)
    packed.reserve(job)
    assert "G-4, a gauge, goes with it: 1 in the list." in scan(client, "g-4")
    assert "scanned twice, taken once" in scan(client, "G-4")
    said = scan(client, "G-1")
    assert "though it is promised: J-1" in said
    assert 'id="send-list" hx-swap-oob="true"' in said
    assert "No item has the tag G-9" in scan(client, "G-9")
    packed.do(send, item("G-3"), packed.weir, packed.today)
    assert "G-3 is in transit" in scan(client, "G-3")
    assert "all 12 of it" in scan(client, "SEAL-7")
    assert "from 1 to 12" in scan(client, "", item=str(item("SEAL-7").pk), quantity="13")
    assert "5 of SEAL-7 go with it" in scan(client, "", item=str(item("SEAL-7").pk), quantity="5")
    assert "G-4 is taken out" in scan(client, "", item=str(item("G-4").pk), out="1")
    again = packed.client("sal")  # another browser has a list of its own
    assert "Nothing is scanned yet" in again.get(reverse("send_transfer", args=["Weir"])).content.decode()
    page = client.get(reverse("send_transfer", args=["Weir"])).content.decode()
    assert "2 in the list" in page
    assert item("G-1").custody == Custody.STORE
    client.post(reverse("transfer_empty", args=["Weir"]))
    assert "Nothing is scanned yet" in client.get(reverse("send_transfer", args=["Weir"])).content.decode()


def test_it_is_sent_and_what_broke_is_said(packed: Yard) -> None:
    packed.reserve(packed.plan("J-1", packed.arrangement(), load_in=1))
    client = packed.client("sal")
    for tag in ("G-1", "SEAL-7"):
        client.post(reverse("transfer_scan", args=["Weir"]), {"code": tag})
    form = {"arrives_on": packed.today.isoformat(), "carrier": "Thursday van", "note": "two crates"}
    page = client.post(reverse("transfer_send", args=["Weir"]), form, follow=True).content.decode()
    assert "T1 is on its way to Weir with 2 pieces and lots" in page
    assert "G-1 no longer holds for J-1" in page
    made = Transfer.objects.get()
    assert (made.carrier, made.note, made.sent_by) == ("Thursday van", "two crates", "sal")
    assert "Nothing is scanned yet" in client.get(reverse("send_transfer", args=["Weir"])).content.decode()
    assert prove_ledger().fault is None


def test_a_piece_that_bars_is_named_and_nothing_is_sent(packed: Yard) -> None:
    client = packed.client("sal")
    for tag in ("G-1", "G-2"):
        client.post(reverse("transfer_scan", args=["Weir"]), {"code": tag})
    packed.do(send, item("G-2"), packed.weir, packed.today)
    page = client.post(
        reverse("transfer_send", args=["Weir"]),
        {"arrives_on": packed.today.isoformat(), "carrier": "own van"},
    ).content.decode()
    assert "Nothing is sent: see what stands at the pieces." in page
    assert "G-2 is in transit" in page
    assert "batch__piece--bars" in page
    assert 'value="own van"' in page
    assert item("G-1").custody == Custody.STORE
    empty = packed.client("sal").post(
        reverse("transfer_send", args=["Weir"]), {"arrives_on": packed.today.isoformat()}
    )
    assert "scan what goes with it" in empty.content.decode()


def test_the_other_end_signs_by_scanner_over_days(packed: Yard) -> None:
    made = sent(packed, "G-1", "G-2", "G-3")
    wyn = packed.htmx("wyn")
    assert "G-1 is here: 2 still to come" in sign(wyn, made, "G-1")
    assert "arrived, signed for by wyn" in sign(wyn, made, "G-1")
    assert "No item has the tag X" in sign(wyn, made, "X")
    assert "G-3 is here: 1 still to come" in sign(wyn, made, "G-3")
    assert "All of T1 is signed for" in sign(wyn, made, "G-2")
    assert {item(f"G-{n}").depot for n in (1, 2, 3)} == {packed.weir}
    page = wyn.get(reverse("transfer", args=[made.number])).content.decode()
    assert page.count("arrived") >= 3
    # Sal at Holm still sees what became of it, without a way to pieces that are no longer in sight.
    page = packed.client("sal").get(reverse("transfer", args=[made.number])).content.decode()
    assert reverse("item", args=["G-1"]) not in page
    assert prove_ledger().fault is None


def test_all_at_once_and_never_by_the_sender(packed: Yard) -> None:
    made = sent(packed, "G-1", "G-2")
    packed.appoint("sal", packed.weir, Role.STORES)
    sal = packed.client("sal")
    assert (
        "somebody else must sign for its arrival"
        in sal.get(reverse("transfer_arrive", args=[made.number])).content.decode()
    )
    page = sal.post(reverse("transfer_sign_all", args=[made.number]), follow=True).content.decode()
    assert "You sent T1: somebody else must sign that it arrived" in page
    assert "You sent G-1" in sign(packed.htmx("sal"), made, "G-1")
    page = (
        packed.client("wyn")
        .post(reverse("transfer_sign_all", args=[made.number]), follow=True)
        .content.decode()
    )
    assert "2 pieces and lots of T1 are signed for" in page
    assert Transfer.objects.get().closed


def test_wrong_pieces_are_refused_with_why_and_lead_on(packed: Yard) -> None:
    one, other = sent(packed, "G-1"), sent(packed, "G-2")
    wyn = packed.htmx("wyn")
    said = sign(wyn, one, "G-2")
    assert "not on T1 but on T2" in said
    assert reverse("transfer_arrive", args=[other.number]) in said
    assert "belongs to Holm, where you have no role" in sign(wyn, one, "G-3")
    assert item("G-2").custody == Custody.IN_TRANSIT


def test_a_lot_is_counted_before_it_is_signed_for(packed: Yard) -> None:
    made = sent(packed, "SEAL-7")
    wyn = packed.htmx("wyn")
    said = sign(wyn, made, "SEAL-7")
    assert "12 of SEAL-7 were sent. Count them, then sign." in said
    line = made.lines.get()
    address = reverse("transfer_line", args=[made.number, line.pk])
    assert address in said
    values = {"quantity": "11", "on": packed.today.isoformat(), "outcome": "arrived"}
    page = packed.client("wyn").post(address, values).content.decode()
    assert "1 of SEAL-7 are missing: say what is known of them" in page
    packed.client("wyn").post(address, {**values, "note": "bag torn"})
    assert (item("SEAL-7").quantity, item("SEAL-7").depot) == (11, packed.weir)
    assert prove_ledger().fault is None


def test_missing_and_back_are_for_those_at_that_end(packed: Yard) -> None:
    made = sent(packed, "G-1", "G-2")
    packed.appoint("una", packed.holm, Role.STORES)
    at = {
        tag: reverse("transfer_line", args=[made.number, made.lines.get(item__tag=tag).pk])
        for tag in ("G-1", "G-2")
    }
    values = {"on": packed.today.isoformat(), "note": "not in the crate; driver asked"}
    wyn, una = packed.client("wyn"), packed.client("una")
    assert una.post(at["G-1"], {**values, "outcome": "arrived"}).status_code == 403
    assert una.post(at["G-1"], {**values, "outcome": "missing"}).status_code == 403
    assert wyn.post(at["G-1"], {**values, "outcome": "back"}).status_code == 403
    assert "press one of the buttons" in wyn.post(at["G-1"], values).content.decode()
    page = wyn.post(at["G-1"], {**values, "outcome": "missing"}, follow=True).content.decode()
    assert "G-1 is noted as missing from T1, and as lost until it is found" in page
    assert item("G-1").state == State.LOST
    una.post(at["G-1"], {**values, "outcome": "back"})
    una.post(at["G-2"], {**values, "outcome": "back"})
    assert (item("G-1").state, item("G-1").depot) == (State.QUARANTINED, packed.holm)
    assert (item("G-2").state, item("G-2").custody) == (State.AVAILABLE, Custody.STORE)
    assert Transfer.objects.get().closed


def test_the_list_shows_what_comes_goes_is_overdue_and_closed(packed: Yard) -> None:
    late = packed.today - timedelta(days=3)
    first, second = sent(packed, "G-1"), sent(packed, "G-2")
    packed.htmx("wyn").post(reverse("transfer_sign", args=[second.number]), {"code": "G-2"})
    page = packed.client("sal").get(reverse("transfers")).content.decode()
    out, closed = page.index("out-heading"), page.index("closed-heading")
    assert out < page.index(">T1<") < closed < page.index(">T2<")
    assert "should have arrived" not in page
    Transfer.objects.filter(pk=first.pk).update(sent_on=late, arrives_on=late)
    page = packed.client("wyn").get(reverse("transfers")).content.decode()
    assert page.index("in-heading") < page.index(">T1<") < page.index("out-heading")
    assert "1 consignment should have arrived and is not signed for" in page
    assert "by 3 days" in page
    for who, shown in (("sal", "to Weir"), ("wyn", "from Holm")):
        today = packed.client(who).get(reverse("today")).content.decode()
        assert "Between the depots" in today
        assert shown in today
        assert "by 3 days" in today


def test_a_scanned_note_or_piece_leads_to_its_consignment(packed: Yard) -> None:
    made = sent(packed, "G-1")
    wyn, sal = packed.client("wyn"), packed.client("sal")
    arrive = reverse("transfer_arrive", args=[made.number])
    for code in ("TRANSFER 1", "transfer1", "T1", "t-1", "G-1", "g-1"):
        assert wyn.get(reverse("transfers"), {"code": code})["Location"] == arrive, code
    assert sal.get(reverse("transfers"), {"code": "T1"})["Location"] == reverse(
        "transfer", args=[made.number]
    )
    for code, why in (
        ("T7", "No consignment T7 leaves or reaches your depots"),
        ("", "Nothing was read"),
        ("G-9", "No item has the tag G-9"),
    ):
        assert why in wyn.get(reverse("transfers"), {"code": code}, follow=True).content.decode()
    assert (
        "G-2 is not in transit"
        in sal.get(reverse("transfers"), {"code": "G-2"}, follow=True).content.decode()
    )
    # A tag that reads like a number: the label was scanned, so the piece wins; the note's own code stays clear.
    packed.receive("T1", serial="t1")
    assert (
        "T1 is not in transit"
        not in wyn.get(reverse("transfers"), {"code": "T1"}, follow=True).content.decode()
    )
    other = sent(packed, "T1")
    assert wyn.get(reverse("transfers"), {"code": "T1"})["Location"] == reverse(
        "transfer_arrive", args=[other.number]
    )
    assert wyn.get(reverse("transfers"), {"code": "TRANSFER 1"})["Location"] == arrive


def test_a_late_van_is_expected_on_another_day(packed: Yard) -> None:
    made = sent(packed, "G-1")
    address = reverse("transfer_expect", args=[made.number])
    later = (packed.today + timedelta(days=5)).isoformat()
    assert packed.client("eve").post(address, {"arrives_on": later, "why": "rang"}).status_code == 403
    assert (
        "is past"
        in packed.client("wyn")
        .post(address, {"arrives_on": (packed.today - timedelta(days=1)).isoformat(), "why": "rang"})
        .content.decode()
    )
    packed.client("pat").post(address, {"arrives_on": later, "why": "the driver rang"})
    assert item("G-1").arrives_on.isoformat() == later
    page = packed.client("pat").get(reverse("transfer", args=[made.number])).content.decode()
    assert "The driver rang" in page


def test_who_may_not_and_what_is_not_in_sight(packed: Yard) -> None:
    made = sent(packed, "G-1")
    assert packed.client("eve").get(reverse("send_transfer", args=["Weir"])).status_code == 403
    assert packed.client("sal").get(reverse("transfer_arrive", args=[made.number])).status_code == 403
    assert packed.client("wyn").get(reverse("transfer", args=[99])).status_code == 404
    packed.appoint("fay", packed.do(depot_named, "Far"), Role.STORES)
    assert packed.client("fay").get(reverse("transfer", args=[made.number])).status_code == 404
    assert packed.client("fay").get(reverse("transfer_note", args=[made.number])).status_code == 404


def test_ways_and_bench_are_set_by_planner_and_compliance(packed: Yard) -> None:
    address = reverse("ways")
    way = {"from": "Holm", "to": "Weir", "lead_days": "3"}
    assert packed.client("sal").post(address, way).status_code == 403
    assert 'name="lead_days"' not in packed.client("sal").get(address).content.decode()
    assert "takes 3 days: recorded" in packed.client("pat").post(address, way, follow=True).content.decode()
    assert DepotLink.objects.get().lead_days == 3
    assert (
        "whole number from 0 to 60"
        in packed.client("lee").post(address, {**way, "lead_days": "99"}).content.decode()
    )
    assert "Say why" in packed.client("lee").post(address, {**way, "lead_days": ""}).content.decode()
    packed.client("lee").post(address, {**way, "lead_days": "", "why": "bridge closed"})
    assert not DepotLink.objects.exists()
    assert packed.client("lee").post(address, {**way, "to": "Holm"}).status_code == 404
    packed.client("pat").post(address, {"what": "bench", "bench_a_day": "6"})
    packed.holm.refresh_from_db()
    assert packed.holm.bench_a_day == 6
    deeds = set(LedgerEntry.objects.filter(mentions__about="depot:Holm").values_list("deed", flat=True))
    assert Deed.LINKED in deeds
    assert prove_ledger().fault is None
