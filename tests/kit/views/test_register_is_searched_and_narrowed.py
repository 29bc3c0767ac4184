"""The register on screen: found by what is printed on a piece, narrowed, sorted, written out."""

from __future__ import annotations

import io
from datetime import date, timedelta

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from kit.models import Place
from kit.stores import lose, place_named, quarantine, send
from kit.tables.marks import mark_of
from tests.kit.views.holm import Yard


@pytest.fixture
def stocked(yard: Yard) -> Yard:
    """Gauges G-1 to G-3, pump P-1 and bag B-1 at Holm in different states, W-1 at Weir."""
    rack = yard.do(place_named, yard.holm, "Rack 1")
    yard.receive("G-1", maker="Pell", serial="88-1", place=rack)
    yard.receive("G-2", maker="Pell", serial="88-2", passed=False)
    yard.do(quarantine, yard.receive("G-3", maker="Orm", serial="77"), "bent")
    yard.receive("P-1", kind="pump", serial="x9", batch="LOT 7")
    yard.receive("B-1", kind="bag", bore_min_mm=150, bore_max_mm=200, use_by=yard.today + timedelta(days=5))
    yard.receive("W-1", kind="pump", depot=yard.weir)
    return yard


def listed(yard: Yard, who: str = "sal", **asked: object) -> list[str]:
    answer = yard.client(who).get(reverse("register"), asked)
    assert answer.status_code == 200
    return [row.record.tag for row in answer.context["table"].paginated_rows]


def test_it_opens_at_the_depot_where_one_sits(stocked: Yard):
    assert listed(stocked) == ["B-1", "G-1", "G-2", "G-3", "P-1"]
    assert listed(stocked, "wyn") == ["W-1"]


@pytest.mark.parametrize("depot", ["", "Weir", "Holm", "nowhere", "\x00"])
def test_no_address_shows_items_of_a_depot_that_is_not_ones_own(stocked: Yard, depot: str):
    assert "W-1" not in listed(stocked, depot=depot)
    assert "W-1" not in listed(stocked, depot=depot, q="W-1")


def test_all_of_ones_depots_are_shown_together_when_asked_for(stocked: Yard):
    stocked.appoint("sal", stocked.weir, "crew")
    assert "W-1" not in listed(stocked)
    assert {"W-1", "G-1"} <= set(listed(stocked, depot=""))
    assert listed(stocked, depot="Weir") == ["W-1"]


@pytest.mark.parametrize(
    ("words", "tags"),
    [
        ("g-1", ["G-1"]),
        ("88", ["G-1", "G-2"]),
        ("lot 7", ["P-1"]),
        ("pell 88-2", ["G-2"]),
        ("pell 77", []),
        ("%", []),
        ("_", []),
        ("nothing such", []),
    ],
)
def test_it_is_searched_by_tag_serial_batch_and_maker(stocked: Yard, words: str, tags: list[str]):
    assert listed(stocked, q=words) == tags


def test_it_is_narrowed_by_what_a_piece_is_and_how_it_stands(stocked: Yard):
    rack = Place.objects.get(name="Rack 1")
    assert listed(stocked, kind="gauge") == ["G-1", "G-2", "G-3"]
    assert listed(stocked, place=rack.pk) == ["G-1"]
    assert listed(stocked, state="quarantined") == ["G-3"]
    assert listed(stocked, fettle="no") == ["G-2"]
    assert listed(stocked, fettle="soon") == ["B-1"]
    assert listed(stocked, fettle="yes") == ["B-1", "G-1", "G-3", "P-1"]
    in_six_days = (stocked.today + timedelta(days=6)).isoformat()
    on_the_day = (stocked.today + timedelta(days=5)).isoformat()
    assert listed(stocked, fit_before=in_six_days) == ["B-1", "G-2"]
    assert listed(stocked, fit_before=on_the_day) == ["G-2"]
    stocked.do(send, stocked.receive("G-4", serial="4"), stocked.weir, stocked.today)
    stocked.do(lose, stocked.receive("G-5", serial="5"), "gone")
    assert listed(stocked, custody="in-transit") == ["G-4"]
    assert "G-5" not in listed(stocked, state="in-use")


def test_filters_in_force_can_be_taken_off_one_by_one(stocked: Yard):
    answer = stocked.client("sal").get(reverse("register"), {"kind": "gauge", "q": "88"})
    chosen = {one["text"]: one["url"] for one in answer.context["chosen"]}
    assert "Kind: gauge" in chosen
    assert "Depot: Holm" in chosen
    without = stocked.client("sal").get(reverse("register") + chosen["Kind: gauge"])
    assert [row.record.tag for row in without.context["table"].rows] == ["G-1", "G-2"]


@pytest.mark.parametrize(
    "asked",
    [
        {"fit_before": "31/02/2027"},
        {"kind": "spoon"},
        {"place": "x"},
        {"page": "x"},
        {"sort": "password"},
        {"q": "\x00"},
    ],
)
def test_nonsense_in_the_address_is_no_error(stocked: Yard, asked: dict):
    assert stocked.client("sal").get(reverse("register"), asked).status_code == 200


@pytest.mark.parametrize(
    "column", ["tag", "kind", "now", "serial", "batch", "bore", "mark", "use_by", "place", "depot"]
)
def test_it_is_sorted_by_any_column_both_ways(stocked: Yard, column: str):
    assert (
        sorted(listed(stocked, sort=column)) == sorted(listed(stocked, sort=f"-{column}")) == listed(stocked)
    )


def test_what_has_no_date_or_bore_comes_last_and_what_is_not_fit_first(stocked: Yard):
    assert listed(stocked, sort="bore")[0] == "B-1"
    assert listed(stocked, sort="use_by")[0] == "B-1"
    assert listed(stocked, sort="-use_by")[0] == "B-1"
    assert listed(stocked, sort="now")[:2] == ["G-2", "B-1"]


def test_pages_of_25(yard: Yard):
    for n in range(30):
        yard.receive(f"H-{n:02}", kind="hand tool", passed=False)
    assert listed(yard) == [f"H-{n:02}" for n in range(25)]
    assert listed(yard, page=2) == [f"H-{n:02}" for n in range(25, 30)]


def test_an_empty_register_says_so(yard: Yard):
    page = yard.client("sal").get(reverse("register")).content.decode()
    assert "No item of this register matches." in page


def test_each_piece_carries_the_mark_of_how_it_stands(stocked: Yard):
    from kit.models import Item

    marks = {i.tag: mark_of(i, stocked.today).state for i in Item.objects.all()}
    assert marks == {
        "G-1": "in-fettle",
        "G-2": "never",
        "G-3": "set-aside",
        "P-1": "in-fettle",
        "B-1": "due-soon",
        "W-1": "in-fettle",
    }
    bag = Item.objects.get(tag="B-1")
    assert mark_of(bag, stocked.today + timedelta(days=5)).state == "due-soon"  # the day itself is in date
    assert mark_of(bag, stocked.today + timedelta(days=6)).state == "overdue"
    stocked.inspect(Item.objects.get(tag="G-1"), "calibration", "doubt", days_ago=0)
    assert mark_of(Item.objects.get(tag="G-1"), stocked.today).state == "not-in-fettle"


def test_the_spreadsheet_holds_what_is_shown_as_real_dates_and_numbers(stocked: Yard):
    answer = stocked.client("sal").get(reverse("register_export"), {"kind": "bag"})
    assert answer.status_code == 200
    assert ".xlsx" in answer["Content-Disposition"]
    book = load_workbook(io.BytesIO(b"".join(answer.streaming_content)))
    sheet = book["Items"]
    headings = [cell.value for cell in sheet[1]]
    [row] = [
        dict(zip(headings, (cell.value for cell in line), strict=True)) for line in sheet.iter_rows(min_row=2)
    ]
    assert row["tag"] == "B-1"
    assert row["bore_min_mm"] == 150
    assert row["use_by"].date() == stocked.today + timedelta(days=5)
    assert row["depot"] == "Holm"
    summary = [[cell.value for cell in line] for line in book["Summary"].iter_rows()]
    assert any("Kind: bag" in str(cell) for line in summary for cell in line)


def test_the_spreadsheet_holds_only_ones_own_depots(stocked: Yard):
    answer = stocked.client("pat").get(reverse("register_export"), {"depot": ""})
    sheet = load_workbook(io.BytesIO(b"".join(answer.streaming_content)))["Items"]
    tags = {line[0].value for line in sheet.iter_rows(min_row=2)}
    assert tags == {"B-1", "G-1", "G-2", "G-3", "P-1"}


def test_a_label_that_prints_a_month_is_written_out_as_printed(yard: Yard):
    yard.receive(
        "B-1",
        kind="bag",
        use_by=date(2031, 3, 31),
        use_by_precision="month",
        use_by_text="03/2031",
        passed=False,
    )
    answer = yard.client("sal").get(reverse("register_export"))
    sheet = load_workbook(io.BytesIO(b"".join(answer.streaming_content)))["Items"]
    headings = [cell.value for cell in sheet[1]]
    assert sheet.cell(2, headings.index("use_by") + 1).value == "03/2031"


def test_it_is_narrowed_to_a_maker_and_to_a_batch(stocked: Yard):
    stocked.receive("P-2", kind="pump", serial="x10", batch="LOT 71", maker="Orm")
    assert listed(stocked, maker="Orm") == ["G-3", "P-2"]
    assert listed(stocked, batch="lot 7") == ["P-1"], "the whole number counts, not a part of it"
    assert listed(stocked, maker="Orm", batch="LOT 71") == ["P-2"]
    assert listed(stocked, maker="Pell", batch="LOT 71") == []
    page = stocked.client("sal").get(reverse("register"), {"maker": "Orm"})
    assert "Maker: Orm" in [one["text"] for one in page.context["chosen"]]
