"""Rows that differ from the register change it through the ledger; what a file leaves out stays as it is."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from kit.models import Arrangement, Item, Job, LedgerEntry, Place, Reservation
from kit.stores import (
    LineSpec,
    acting,
    issue_piece,
    lose,
    quarantine,
    reserve,
    set_arrangement,
    withdraw,
)
from tests.kit.workbooks.depot_book import WHO, Book, counts, depot_book, dump, in_days, loaded
from tests.kit.workbooks.loading_again import again, changed, told_of

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("ledger_holds")]


# Items ---------------------------------------------------------------------------------------------------------


def test_changed_details_go_through_the_ledger(book: Book, tmp_path: Path) -> None:
    row = book.row("Items", tag="NY-B2")
    row.update(maker="Plumb Ltd", bore_max_mm=200, note="patched", place="Rack 9", use_by="03/2029")
    report = again(book, tmp_path)
    assert changed(report) == [
        (
            "Items",
            "NY-B2",
            "maker, note, bore_max_mm, use_by, use_by_precision, use_by_text, place",
        )
    ]
    entry = LedgerEntry.objects.filter(mentions__about="item:NY-B2", deed="changed").latest("number")
    body = json.loads(entry.body)
    assert body["note"] == "row 3 of again.xlsx"
    assert body["facts"]["maker"] == ["Anvil & Sons", "Plumb Ltd"]
    assert Item.objects.get(tag="NY-B2").use_by.isoformat() == "2029-03-31"


def test_an_earlier_use_by_moves_fit_until_and_breaks_the_promise_at_once(book: Book, tmp_path: Path) -> None:
    job = Job.objects.get(reference="J-1")
    with acting(WHO) as act:
        reserve(act, job)
    held = job.reservations.filter(line__name="bags").order_by("item__tag")[0]
    row = book.row("Items", tag=held.item.tag)
    row["use_by"] = in_days(6)
    again(book, tmp_path)
    held.refresh_from_db()
    assert Item.objects.get(pk=held.item_id).fit_until == in_days(6)
    assert (held.standing, held.proposed is not None) == ("broken", True)
    assert in_days(6).isoformat() in held.why


def test_stock_counted_anew(book: Book, tmp_path: Path) -> None:
    job = Job.objects.get(reference="J-1")
    with acting(WHO) as act:
        reserve(act, job)
    book.row("Items", tag="LOT-7")["quantity"] = 4
    assert changed(again(book, tmp_path)) == [("Items", "LOT-7", "quantity")]
    assert told_of("LOT-7")[0:2] == ["broke", "counted"]
    assert job.reservations.get(counted=True).standing == "broken"


def test_a_quantity_left_blank_is_kept(book: Book, tmp_path: Path) -> None:
    book.row("Items", tag="LOT-7")["quantity"] = None
    assert counts(again(book, tmp_path))[1] == 0
    assert Item.objects.get(tag="LOT-7").quantity == 20


def test_two_pieces_exchange_their_serials(book: Book, tmp_path: Path) -> None:
    """Noticed on the bench: two labels were on the wrong bags. The database never has one serial twice."""
    one, two, three = (book.row("Items", tag=f"NY-B{number}") for number in (1, 2, 3))
    one["serial"], two["serial"], three["serial"] = "S2", "S3", "S1"
    book.add("Items", tag="NY-B8", kind="bag", maker="Anvil & Sons", serial="S4", depot="NY")
    book.row("Items", tag="NY-B4")["serial"] = "S44"
    again(book, tmp_path)
    assert dict(Item.objects.filter(kind__name="bag").values_list("tag", "serial")) == {
        "NY-B1": "S2",
        "NY-B2": "S3",
        "NY-B3": "S1",
        "NY-B4": "S44",
        "NY-B5": "S5",
        "NY-B6": "S6",
        "NY-B8": "S4",
    }


def test_a_piece_moved_to_another_depot_leaves_its_place(book: Book, tmp_path: Path) -> None:
    del book.rows["Inspections"]
    book.without_columns("Items", "place")
    book.row("Items", tag="NY-B2")["depot"] = "MB"
    assert changed(again(book, tmp_path)) == [("Items", "NY-B2", "depot, place")]
    moved = Item.objects.get(tag="NY-B2")
    assert (moved.depot.code, moved.place) == ("MB", None)
    assert str(Item.objects.get(tag="NY-B1").place) == "Rack 2"


def test_columns_and_sheets_left_out_change_nothing(book: Book, tmp_path: Path) -> None:
    before = dump()
    bare = Book(headings={"Items": ("tag", "kind", "depot")})
    for row in book.rows["Items"]:
        bare.add("Items", tag=row["tag"], kind=row["kind"], depot=row["depot"])
    report = loaded(bare.xlsx(tmp_path / "bare.xlsx"))
    assert counts(report) == (0, 0, len(book.rows["Items"]))
    assert dump() == before
    for sheet in ("Checks", "Items", "Inspections", "Arrangements", "Jobs"):
        report = loaded(book.csv(tmp_path / f"{sheet}.csv", sheet))
        assert counts(report) == (0, 0, len(book.rows[sheet]))
    assert dump() == before


def test_rows_left_out_stay_in_the_register(book: Book, tmp_path: Path) -> None:
    few = depot_book()
    for sheet in ("Items", "Inspections", "Jobs"):
        few.rows[sheet] = few.rows[sheet][:1]
    before = dump()
    assert counts(loaded(few.xlsx(tmp_path / "few.xlsx")))[:2] == (0, 0)
    assert dump() == before


def test_look_alike_tags_are_warned_of_and_taken(book: Book, tmp_path: Path) -> None:
    more = Book()
    more.add("Items", tag="ny-b1", kind="bag", depot="NY")
    more.add("Items", tag="PU-10", kind="pump", depot="NY")
    more.add("Items", tag="PU-IO", kind="pump", depot="NY")
    more.add("Items", tag="PU\u00a0 11", kind="pump", depot="NY")
    report = again(more, tmp_path)
    assert [(w.sheet, w.row, w.column, w.value) for w in report.warnings] == [
        ("Items", 2, "tag", "ny-b1"),
        ("Items", 4, "tag", "PU-IO"),
    ]
    first, second = report.warnings
    assert "easily taken for NY-B1 in the register" in first.why
    assert "easily taken for PU-10 in row 3" in second.why
    assert Item.objects.filter(tag="PU 11").exists()


# States --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("state", ["quarantined", "withdrawn", "lost"])
def test_a_state_that_a_file_hands_over(book: Book, tmp_path: Path, state: str) -> None:
    job = Job.objects.get(reference="J-1")
    with acting(WHO) as act:
        reserve(act, job)
    tag = job.reservations.filter(line__name="bags")[0].item.tag
    book.row("Items", tag=tag).update(state=state, note="skirt torn")
    assert changed(again(book, tmp_path)) == [("Items", tag, "note, state")]
    item = Item.objects.get(tag=tag)
    assert (item.state, item.state_why, item.state_by) == (state, "skirt torn", "p.lane")
    assert state in told_of(tag)
    assert job.reservations.get(item=item).standing == "broken"


@pytest.mark.parametrize(
    ("act_of", "state"), [(quarantine, "quarantined"), (withdraw, "withdrawn"), (lose, "lost")]
)
def test_no_file_releases_what_a_person_set_aside(
    book: Book, tmp_path: Path, act_of: object, state: str
) -> None:
    with acting(WHO) as act:
        act_of(act, Item.objects.get(tag="NY-B1"), "torn skirt")  # type: ignore[operator]
    before = dump()
    report = loaded(book.xlsx(tmp_path / "again.xlsx"))
    [warning] = report.warnings
    assert (warning.sheet, warning.row, warning.column, warning.value) == ("Items", 2, "state", "available")
    assert f"NY-B1 is {state}" in warning.why
    assert "stays so" in warning.why
    assert counts(report)[:2] == (0, 0)
    assert dump() == before


def test_a_lost_piece_that_a_file_has_quarantined_was_found_again(book: Book, tmp_path: Path) -> None:
    with acting(WHO) as act:
        lose(act, Item.objects.get(tag="NY-B1"), "not in the van")
    book.row("Items", tag="NY-B1")["state"] = "quarantined"
    again(book, tmp_path)
    item = Item.objects.get(tag="NY-B1")
    assert item.state == "quarantined"
    assert item.state_why.startswith("found again")
    assert told_of("NY-B1")[:2] == ["investigated", "found again"]  # its case is opened with it


def test_a_withdrawn_piece_stays_withdrawn(book: Book, tmp_path: Path) -> None:
    with acting(WHO) as act:
        withdraw(act, Item.objects.get(tag="NY-B1"), "worn")
    book.row("Items", tag="NY-B1")["state"] = "quarantined"
    report = again(book, tmp_path)
    assert [(w.row, w.column) for w in report.warnings] == [(2, "state")]
    assert Item.objects.get(tag="NY-B1").state == "withdrawn"


def test_a_piece_on_site_is_not_withdrawn_by_a_file_but_is_set_aside(book: Book, tmp_path: Path) -> None:
    job = Job.objects.get(reference="J-1")
    with acting(WHO) as act:
        reserve(act, job)
        first, second = [r.item for r in job.reservations.filter(line__name="bags").order_by("item__tag")[:2]]
        for bag in (first, second):
            issue_piece(act, job, bag)
    book.row("Items", tag=first.tag)["state"] = "withdrawn"
    book.row("Items", tag=second.tag)["state"] = "quarantined"
    report = again(book, tmp_path)
    assert [(w.column, w.value) for w in report.warnings] == [("state", "withdrawn")]
    assert Item.objects.get(pk=first.pk).state == "available"
    assert Item.objects.get(pk=second.pk).state == "quarantined"


# Inspections ---------------------------------------------------------------------------------------------------


def test_a_new_kind_with_its_items_and_checks_in_one_file(book: Book, tmp_path: Path) -> None:
    more = Book()
    more.add("Kinds", kind="hose", turn_round_days=2, margin_days=1)
    more.add("Kinds", kind="gasket", counted="yes")
    more.add("Checks", kind="Hose", check="leak test", interval="P1Y")
    more.add("Items", tag="H-1", kind="HOSE", depot="NY")
    more.add("Items", tag="GK-1", kind="gasket", depot="NY", quantity="12")
    more.add("Inspections", tag="H-1", check="leak test", done_on=in_days(-1), verdict="pass")
    report = again(more, tmp_path)
    assert counts(report) == (6, 0, 0)
    hose = Item.objects.get(tag="H-1")
    assert (hose.kind.name, hose.kind.turn_round_days, hose.kind.margin_days) == ("hose", 2, 1)
    assert hose.fit_until > in_days(300)
    assert Item.objects.get(tag="GK-1").quantity == 12


def test_a_wider_margin_breaks_promises_that_no_longer_hold(book: Book, tmp_path: Path) -> None:
    with acting(WHO) as act:
        reserve(act, Job.objects.get(reference="J-2"))
    sheet = Book()
    sheet.add("Kinds", kind="bag", margin_days=400)
    assert changed(again(sheet, tmp_path)) == [("Kinds", "bag", "")]
    assert set(Reservation.objects.filter(line__name="bags").values_list("standing", flat=True)) == {"broken"}


def test_what_a_short_date_means_is_a_setting_of_kind_and_maker(book: Book, tmp_path: Path) -> None:
    more = Book()
    more.add("Kinds", kind="bag", short_date="month")
    more.add("Kinds", kind="bag", maker="Plumb Ltd", short_date="quarter")
    more.add("Items", tag="Q-1", kind="bag", maker="Plumb Ltd", depot="NY", use_by="3/31")
    more.add("Items", tag="Q-2", kind="bag", maker="Anvil & Sons", depot="NY", use_by="3/31")
    again(more, tmp_path)
    found = Item.objects.filter(tag__startswith="Q-").order_by("tag")
    assert [(i.use_by.isoformat(), i.use_by_precision, i.use_by_text) for i in found] == [
        ("2031-09-30", "quarter", "3/31"),
        ("2031-03-31", "month", "3/31"),
    ]


# Arrangements and jobs -----------------------------------------------------------------------------------------


def test_an_arrangement_changed_is_a_new_version_that_the_files_own_jobs_follow(
    book: Book, tmp_path: Path
) -> None:
    with acting(WHO) as act:
        reserve(act, Job.objects.get(reference="J-1"))
    book.row("Arrangements", line="bags")["quantity"] = 4
    report = again(book, tmp_path)
    assert changed(report) == [
        ("Arrangements", "short stop: bags", ""),
        ("Jobs", "J-1", "arrangement"),
        ("Jobs", "J-2", "arrangement"),
    ]
    versions = Arrangement.objects.filter(name="short stop").order_by("version")
    assert [(a.version, a.current, a.lines.get(name="bags").quantity) for a in versions] == [
        (1, False, 3),
        (2, True, 4),
    ]
    job = Job.objects.get(reference="J-1")
    assert job.arrangement.version == 2
    assert {r.line.arrangement.version for r in job.reservations.filter(standing="promised")} == {2}


@pytest.mark.parametrize("change", ["order", "left out"])
def test_lines_in_another_order_or_left_out_are_a_new_version(
    book: Book, tmp_path: Path, change: str
) -> None:
    lines = book.rows["Arrangements"]
    if change == "order":
        lines.reverse()
    else:
        lines.pop()
    report = again(book, tmp_path)
    assert changed(report)[0] == ("Arrangements", f"short stop: {lines[0]['line']}", "lines")
    assert len(report.rows) == sum(len(rows) for rows in book.rows.values())


def test_a_job_keeps_its_version_when_a_file_brings_no_other(book: Book, tmp_path: Path) -> None:
    """A rule changed since then does not reach into what was planned by the old one."""
    with acting(WHO) as act:
        set_arrangement(act, "short stop", [LineSpec("bags", Item.objects.get(tag="NY-B1").kind, 1, "bore")])
    del book.rows["Arrangements"]
    before = dump()
    assert counts(loaded(book.xlsx(tmp_path / "again.xlsx")))[:2] == (0, 0)
    assert dump() == before


def test_a_job_moved_by_a_file_has_its_promises_judged_again(book: Book, tmp_path: Path) -> None:
    job = Job.objects.get(reference="J-1")
    with acting(WHO) as act:
        reserve(act, job)
    assert job.reservations.count() == 6
    due = Item.objects.get(tag="NY-B1").fit_until
    book.row("Jobs", reference="J-1")["return_on"] = due.replace(year=due.year + 1)
    book.row("Jobs", reference="J-1")["base_mark"] = "M7"
    report = again(book, tmp_path)
    assert changed(report) == [("Jobs", "J-1", "base_mark, return_on")]
    standing = dict(job.reservations.values_list("line__name", "standing"))
    assert standing == {"bags": "broken", "bases": "broken", "seals": "broken"}
    assert "moved a job" in [
        entry.deed for entry in LedgerEntry.objects.filter(mentions__about="job:J-1").order_by("number")
    ]


def test_a_job_at_a_depot_that_has_nothing_is_warned_of(book: Book, tmp_path: Path) -> None:
    more = Book()
    more.add(
        "Jobs",
        reference="J-7",
        depot="NYY",
        load_on=in_days(1),
        return_on=in_days(1),
        arrangement="Short Stop",
    )
    report = again(more, tmp_path)
    [warning] = report.warnings
    assert (warning.sheet, warning.row, warning.column, warning.value) == ("Jobs", 2, "depot", "NYY")
    assert "Did you mean NY?" in warning.why


def test_a_place_belongs_to_one_depot(book: Book, tmp_path: Path) -> None:
    book.row("Items", tag="MB-G1")["place"] = "Rack 2"
    again(book, tmp_path)
    assert sorted(Place.objects.filter(name="Rack 2").values_list("depot__code", flat=True)) == ["MB", "NY"]
