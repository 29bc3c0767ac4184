"""A place is counted by scanner: seen, not seen, belonging elsewhere, unknown; each difference settled by an act."""

from __future__ import annotations

from io import BytesIO

import openpyxl
import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from kit.models import Deed, Item, LedgerEntry, Place, Role, Settled, State, StockTake, StockTakeLine
from kit.stores import (
    NotAllowed,
    begin_stock_take,
    close_stock_take,
    issue_piece,
    lines_now,
    lose,
    place_named,
    record_details,
    see,
    settle,
    take_back,
)
from tests.kit.papers.examples import pages, reader, run_together
from tests.kit.views.holm import Yard

pytestmark = pytest.mark.usefixtures("ledger_holds")


@pytest.fixture
def racks(yard: Yard) -> tuple[Place, Place]:
    """Rack 1 has G-1 to G-4 and the lot SEAL-7; Rack 2 has G-9."""
    one, two = yard.do(place_named, yard.holm, "Rack 1"), yard.do(place_named, yard.holm, "Rack 2")
    for tag in ("G-1", "G-2", "G-3", "G-4"):
        yard.receive(tag, place=one)
    yard.receive("SEAL-7", kind="seal", quantity=10, place=one)
    yard.receive("G-9", place=two)
    return one, two


@pytest.fixture
def take(yard: Yard, racks: tuple[Place, Place]) -> StockTake:
    return yard.do(begin_stock_take, yard.holm, racks[0], who="sal")


def scan(yard: Yard, code: str, who: str = "sal") -> str:
    answer = yard.htmx(who).post(reverse("stock_take_scan", args=[1]), {"code": code})
    assert answer.status_code == 200
    return answer.content.decode()


def sorts(take: StockTake) -> dict[str, str]:
    return {str(now.line): now.sort for now in lines_now(take)}


def line(name: str) -> StockTakeLine:
    return StockTakeLine.objects.filter(item__tag=name).first() or StockTakeLine.objects.get(text=name)


def decide(yard: Yard, name: str, how: str, why: str = "", who: str = "sal", **more: object) -> str:
    url = reverse("stock_take_line", args=[1, line(name).pk])
    return yard.client(who).post(url, {"how": how, "why": why, **more}, follow=True).content.decode()


def test_what_is_scanned_is_here_elsewhere_or_unknown_and_the_rest_is_missing(yard: Yard, take: StockTake):
    assert "notice--done" in scan(yard, "G-1")
    assert "It belongs to Rack 2 at Holm" in scan(yard, "G-9")
    assert "No item has the tag XX-5" in scan(yard, "XX-5")
    assert "The book holds 10: count it" in scan(yard, "SEAL-7")
    assert sorts(take) == {
        "G-1": "even",
        "G-2": "missing",
        "G-3": "missing",
        "G-4": "missing",
        "G-9": "elsewhere",
        "SEAL-7": "uncounted",
        "XX-5": "unknown",
    }


def test_two_count_at_once_and_nothing_is_counted_twice(yard: Yard, take: StockTake):
    yard.appoint("kit", yard.holm, Role.STORES)
    scan(yard, "G-1", who="sal")
    told = LedgerEntry.objects.count()
    again = scan(yard, "g-1", who="kit")
    assert "was seen already, by sal" in again
    assert "notice--note" in again
    assert LedgerEntry.objects.count() == told
    scan(yard, "XX-5")
    assert "seen already" in scan(yard, "XX-5", who="kit")
    assert "notice--done" in scan(yard, "G-2", who="kit")
    page = yard.client("sal").get(reverse("stock_take", args=[1])).content.decode()
    assert "2 of 5 seen" in page
    row = line("G-1")
    row.pk = None
    with pytest.raises(IntegrityError), transaction.atomic():
        row.save(force_insert=True)


def test_what_was_issued_moved_or_lost_meanwhile_is_explained_and_not_missing(
    yard: Yard, take: StockTake, racks: tuple[Place, Place]
):
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.do(issue_piece, job, Item.objects.get(tag="G-1"), who="kit")
    yard.do(record_details, Item.objects.get(tag="G-2"), {"place": racks[1]}, "tidied", who="kit")
    yard.do(lose, Item.objects.get(tag="G-3"), "fell into the river", who="kit")
    yard.do(record_details, Item.objects.get(tag="G-9"), {"place": racks[0]}, "tidied", who="kit")
    scan(yard, "G-9")
    by = {str(now.line): now for now in lines_now(take)}
    assert {name: by[name].sort for name in ("G-1", "G-2", "G-3", "G-9", "G-4")} == {
        "G-1": "explained",
        "G-2": "explained",
        "G-3": "explained",
        "G-9": "explained",
        "G-4": "missing",
    }
    assert "issued by kit (entry" in by["G-1"].why
    assert "lost by kit" in by["G-3"].why
    # Back at the counter, yet nobody has put it on its rack: missing, with what was done meanwhile.
    yard.do(take_back, job.reservations.get(), "unused", who="kit")
    [back] = lines_now(take, [line("G-1").pk])
    assert back.sort == "missing"
    assert "taken back by kit" in back.why


def test_each_difference_is_settled_by_the_act_that_puts_the_book_right(
    yard: Yard, take: StockTake, racks: tuple[Place, Place]
):
    for code in ("G-1", "G-9", "XX-5", "SEAL-7"):
        scan(yard, code)
    refused = yard.client("sal").post(reverse("stock_take_close", args=[1]), follow=True).content.decode()
    assert "6 still to settle in S1" in refused
    assert "Say why it is settled so" in decide(yard, "G-2", "lost")
    assert Item.objects.get(tag="G-2").state == State.AVAILABLE
    decide(yard, "G-2", "lost", "not on any rack")
    assert Item.objects.get(tag="G-2").state == State.LOST
    decide(yard, "G-3", "moved", "behind the pumps", to=racks[1].pk)
    assert Item.objects.get(tag="G-3").place == racks[1]
    decide(yard, "G-4", "found", "behind G-1")
    decide(yard, "G-9", "moved", "fits better here", who="lee")
    assert Item.objects.get(tag="G-9").place == racks[0]
    decide(yard, "XX-5", "noted", "a crew's own tape")
    assert "say why" in decide(yard, "SEAL-7", "counted", quantity=8)
    decide(yard, "SEAL-7", "counted", "two torn", quantity=8)
    assert Item.objects.get(tag="SEAL-7").quantity == 8
    with pytest.raises(NotAllowed, match="settled already, by sal"):
        yard.do(settle, line("G-2"), "found", "x")
    assert (
        "S1 is closed"
        in yard.client("sal").post(reverse("stock_take_close", args=[1]), follow=True).content.decode()
    )
    take.refresh_from_db()
    assert take.closed_by == "sal"
    assert "was closed by sal" in scan(yard, "G-1")
    told = LedgerEntry.objects.filter(deed=Deed.STOCK_TAKE, mentions__about="stocktake:S1")
    # Begun, four codes seen, six lines settled, closed.
    assert told.count() == 1 + 4 + 6 + 1
    assert LedgerEntry.objects.filter(deed=Deed.LOST).get().actor == "sal"


def test_what_is_put_back_leaves_the_book_as_it_is(yard: Yard, take: StockTake, racks: tuple[Place, Place]):
    scan(yard, "G-9")
    decide(yard, "G-9", "put back", "carried to Rack 2")
    assert Item.objects.get(tag="G-9").place == racks[1]
    assert line("G-9").settled == Settled.PUT_BACK


def test_a_lost_piece_that_turns_up_goes_to_quarantine(yard: Yard, racks: tuple[Place, Place]):
    yard.do(lose, Item.objects.get(tag="G-2"), "gone for a month")
    yard.do(begin_stock_take, yard.holm, racks[0], who="sal")
    assert "It was noted as lost" in scan(yard, "G-2")
    decide(yard, "G-2", "found", "under the bench")
    found = Item.objects.get(tag="G-2")
    assert (found.state, found.place) == (State.QUARANTINED, racks[0])


def test_a_piece_that_is_out_by_the_book_is_not_moved_by_a_count(yard: Yard, racks: tuple[Place, Place]):
    job = yard.plan("J-1", yard.arrangement("one", [("gauge", "gauge", 1)]))
    yard.do(issue_piece, job, Item.objects.get(tag="G-1"))
    yard.do(begin_stock_take, yard.holm, racks[0], who="sal")
    assert "The book has it out on J-1: take it back there" in scan(yard, "G-1")
    assert "stands otherwise" in decide(yard, "G-1", "moved", "it is here")
    yard.do(take_back, job.reservations.get(), "unused")
    assert sorts(StockTake.objects.get())["G-1"] == "explained"


def test_a_count_is_left_and_taken_up_and_a_place_is_counted_once_at_a_time(
    yard: Yard, take: StockTake, racks: tuple[Place, Place]
):
    scan(yard, "G-1")
    page = yard.client("lee").get(reverse("stock_takes")).content.decode()
    assert reverse("stock_take", args=[1]) in page
    again = yard.client("lee").post(reverse("stock_takes"), {"place": racks[0].pk}).content.decode()
    assert "go on with S1" in again
    yard.client("lee").post(reverse("stock_takes"), {"place": ""})
    whole = StockTake.objects.get(number=2)
    assert whole.lines.count() == 6
    assert "notice--done" in scan(yard, "G-2", who="lee")
    assert sorts(take)["G-1"] == "even"


def test_a_piece_received_after_the_start_is_no_surprise(
    yard: Yard, take: StockTake, racks: tuple[Place, Place]
):
    yard.receive("G-7", place=racks[0])
    scan(yard, "G-7")
    assert sorts(take)["G-7"] == "explained"


def test_the_result_is_written_out_as_a_spreadsheet(yard: Yard, take: StockTake):
    scan(yard, "G-1")
    scan(yard, "=1+1")
    decide(yard, "G-2", "lost", "nowhere")
    answer = yard.client("lee").get(reverse("stock_take_workbook", args=[1]))
    book = openpyxl.load_workbook(BytesIO(b"".join(answer.streaming_content)))
    rows = {row[0]: row for row in book.worksheets[1].iter_rows(values_only=True)}
    assert rows["G-1"][2:4] == ("here", "yes")
    assert rows["G-2"][8:11] == ("Noted as lost", "sal", "nowhere")
    assert rows["G-3"][2] == "not seen"
    assert rows["=1+1"][2] == "unknown code"


def test_stock_is_taken_by_stores_and_compliance_of_the_depot(yard: Yard, take: StockTake):
    screens = [reverse("stock_take", args=[1]), reverse("stock_take_line", args=[1, line("G-1").pk])]
    for name in ("cal", "pat", "eve"):
        assert all(yard.client(name).get(url).status_code == 403 for url in screens)
        posted = yard.client(name).post(reverse("stock_take_scan", args=[1]), {"code": "G-1"})
        assert posted.status_code == 403
    assert all(yard.client("wyn").get(url).status_code == 404 for url in screens)
    assert all(yard.client("lee").get(url).status_code == 200 for url in screens)
    assert line("G-1").seen_at is None


def test_an_empty_place_is_closed_at_once_and_a_reading_of_nothing_is_no_code(yard: Yard):
    place = yard.do(place_named, yard.holm, "Empty")
    yard.do(begin_stock_take, yard.holm, place, who="sal")
    assert "notice--refused" in scan(yard, "   ")
    take = StockTake.objects.get()
    assert not take.lines.exists()
    yard.do(close_stock_take, take, who="sal")
    with pytest.raises(NotAllowed, match="begin another"):
        yard.do(see, take, None, "X")


def test_the_result_is_printed_with_who_counted_and_how_each_difference_was_settled(
    yard: Yard, take: StockTake
):
    scan(yard, "G-1")
    scan(yard, "G-9", who="lee")
    scan(yard, "SEAL-7")
    open_ = yard.client("lee").get(reverse("stock_take_result", args=[1]))
    assert "NOT CLOSED YET" in " ".join(pages(open_.content))
    assert "5 are left to settle." in " ".join(pages(open_.content))
    decide(yard, "G-2", "lost", "nowhere to be found")
    for tag in ("G-3", "G-4"):
        decide(yard, tag, "found", f"{tag} hung behind the door")
    decide(yard, "G-9", "put back", "carried to Rack 2")
    decide(yard, "SEAL-7", "counted", "two are torn", quantity="8")
    yard.client("sal").post(reverse("stock_take_close", args=[1]))
    answer = yard.client("lee").get(reverse("stock_take_result", args=[1]))
    assert answer["Content-Type"] == "application/pdf"
    said = " ".join(pages(answer.content))
    for part in (
        "Rack 1, Holm",
        "nowhere to be found",
        "Noted as lost",
        "G-3 hung behind the door",
        "carried to Rack 2",
        "Put back where it belongs",
        "SEAL-7 seal 10 8",
        "by sal",
    ):
        assert part in said, part
    together = run_together(said)
    for entry in LedgerEntry.objects.filter(mentions__about="stocktake:S1", deed=Deed.STOCK_TAKE):
        assert entry.hash[:12] in together, entry
    assert LedgerEntry.objects.latest("number").deed == Deed.PRINTED
    german = yard.client("lee")
    german.cookies["django_language"] = "de"
    document = german.get(reverse("stock_take_result", args=[1])).content
    assert "Bestandsaufnahme" in " ".join(pages(document))
    assert str(reader(document).trailer["/Root"]["/Lang"]).startswith("de")


def test_the_result_is_not_for_other_depots(yard: Yard, take: StockTake):
    assert yard.client("wyn").get(reverse("stock_take_result", args=[1])).status_code == 404
