"""The load list as a crew works from it: by place, in order, each piece with its code, shorts said first."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date, timedelta

import pytest

from kit.papers import CountedLot, Short, load_list_pdf, usual_cautions
from tests.kit.papers.examples import (
    JOB,
    LOTS,
    PLACES,
    load_list,
    pages,
    pieces,
    qr_codes,
    run_together,
    squares,
    words,
)

SIXTY = load_list(60)


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return load_list_pdf(SIXTY)


@pytest.fixture(scope="module")
def printed(pdf: bytes) -> list[str]:
    return pages(pdf)


def test_the_job_is_named_in_full_on_the_first_page(printed: list[str]) -> None:
    for fact in (
        "Load list revision 3",
        "Job J-1042",
        "Site Weir Lane, junction with Mill Road",
        "Depot North yard",
        "Load on Thu 12 Nov 2026",
        "Return on Thu 19 Nov 2026",
        "Arrangement two-way, two bags a hole",
        "Main PE 180 SDR 17.6",
        "Bore 165.2 mm",
        "Mark M3",
    ):
        assert fact in printed[0]


def test_every_qr_code_on_the_paper_reads_its_tag_in_loading_order(pdf: bytes) -> None:
    read = [tag for page in qr_codes(pdf) for tag in page]
    assert read == [piece.tag for piece in SIXTY.pieces]


def test_each_row_has_its_number_tag_serial_size_mark_date_and_reason_on_one_page(printed: list[str]) -> None:
    for number, piece in enumerate(SIXTY.pieces, start=1):
        page = next(page for page in printed if piece.tag in page)
        row = page[page.index(piece.tag) :].split(" NY-")[0]
        assert f" {number} {piece.tag} " in page
        assert piece.fit_until is not None
        when = piece.fit_until
        for part in (
            f"serial {piece.serial}",
            "Anvil & Sons",
            f"bag {piece.line}",
            "150–182.5 mm",
            "mark M3",
            f"{when.day} {when:%b %Y}",
            "6-month test due",
        ):
            assert part in row


def test_pieces_stand_under_their_place_and_places_in_loading_order(printed: list[str]) -> None:
    text = " ".join(printed)
    starts = [text.index(f"{place}: 15 pieces") for place in PLACES]
    assert starts == sorted(starts)
    for piece in SIXTY.pieces:
        under = text[: text.index(piece.tag)]
        assert max(PLACES, key=lambda place: under.rfind(f"{place}: 15 pieces")) == piece.place


def test_a_place_visited_twice_is_listed_once() -> None:
    first, second, third = pieces(3)
    there_and_back = [replace(first, place="A"), replace(second, place="B"), replace(third, place="A")]
    text = " ".join(pages(load_list_pdf(load_list(pieces=there_and_back))))
    assert text.count("A: 2 pieces") == 1
    assert text.index(third.tag) < text.index(second.tag)


def test_a_piece_without_a_place_says_so() -> None:
    text = pages(load_list_pdf(load_list(pieces=[replace(pieces(1)[0], place=" ")])))[0]
    assert "No place recorded: ask the stores: 1 piece" in text


def test_column_names_and_place_come_again_on_every_page_of_the_table(printed: list[str]) -> None:
    with_rows = [page for page in printed if "serial AS" in page]
    assert len(with_rows) > 3
    for page in with_rows:
        names = page.index("Loaded QR Tag and maker's serial Piece Size, mark Fit until Back")
        first_row = page.index("NY-BAG-", names)
        assert any(f"{place}: 15 pieces" in page[names:first_row] for place in PLACES)


def test_shorts_stand_before_the_pieces_and_on_every_loose_sheet(printed: list[str]) -> None:
    assert printed[0].index("INCOMPLETE: 2 pieces short") < printed[0].index("NY-BAG-0000")
    assert "bags 5 1 16 Nov 2026 NY-BAG-0900 falls due on 15 Nov: test it" in printed[0]
    assert "main gauge 2 1 none known nothing in the register would" in printed[0]
    for page in printed[1:]:
        assert page.startswith("Load list, job J-1042 INCOMPLETE: 2 pieces short")


@pytest.mark.parametrize(
    ("shorts", "banner"),
    [
        ([Short("bags", "bag", 5, 1)], "INCOMPLETE: 1 piece short"),
        ([Short("seals", "nose seal", 24, 12, counted=True)], "INCOMPLETE: 12 of counted stock short"),
        (
            [Short("bags", "bag", 5, 2), Short("seals", "nose seal", 24, 12, counted=True)],
            "INCOMPLETE: 2 pieces and 12 of counted stock short",
        ),
        ([], "COMPLETE: every line is filled"),
    ],
)
def test_the_banner_counts_what_is_short(shorts: list[Short], banner: str) -> None:
    text = pages(load_list_pdf(load_list(3, shorts=shorts)))[0]
    assert banner in text
    assert text.count("COMPLETE") == 1


def test_a_list_with_nothing_on_it_is_not_called_complete() -> None:
    text = pages(load_list_pdf(load_list(pieces=[], lots=(), shorts=())))[0]
    assert "EMPTY: nothing is on this list" in text
    assert "No tagged piece is on this list." in text
    assert "COMPLETE" not in text


def test_a_piece_that_runs_out_the_day_before_the_return_is_called_out() -> None:
    held, lost = pieces(2)
    held = replace(held, fit_until=JOB.return_on)
    lost = replace(lost, fit_until=JOB.return_on - timedelta(days=1))
    text = pages(load_list_pdf(load_list(pieces=[held, lost], shorts=())))[0]
    assert "IN DOUBT: 1 piece out of date before the return" in text
    assert f"ask for another: {lost.tag}." in text
    assert text.count("RUNS OUT BEFORE THE RETURN") == 1
    assert text.index("RUNS OUT BEFORE") > text.index(f"serial {lost.serial}")


def test_a_concession_is_printed_in_the_place_of_that_warning() -> None:
    granted = replace(pieces(1)[0], fit_until=date(2026, 11, 15), concession="Concession C-12 to 21 Nov 2026")
    text = pages(load_list_pdf(load_list(pieces=[granted], shorts=())))[0]
    assert "Concession C-12 to 21 Nov 2026" in text
    assert "BEFORE THE RETURN" not in text
    assert "COMPLETE: every line is filled" in text


def test_a_piece_that_no_date_limits_says_so() -> None:
    text = pages(load_list_pdf(load_list(pieces=[replace(pieces(1)[0], fit_until=None, fit_reason="")])))[0]
    assert "no date limits it" in text


def test_counted_stock_has_quantity_lot_place_and_use_by(printed: list[str]) -> None:
    assert "12 nose seal seals L2231 Drawer 5 31 Mar 2027" in printed[-1] + printed[-2]


def test_cautions_and_signatures_close_the_list(printed: list[str]) -> None:
    text = " ".join(printed)
    for caution in SIXTY.cautions:
        assert words(caution) in text
    assert "Counted on the van: ______ of 60 pieces" in text
    for who in ("Loaded by", "Checked by", "Received by crew"):
        assert text.index(who) > text.index("Cautions")


def test_cautions_carry_the_recorded_pressure_and_time_and_leave_the_decision_to_the_procedure() -> None:
    cautions = usual_cautions(0.2, 5)
    text = " ".join(pages(load_list_pdf(load_list(1, cautions=cautions))))
    assert "recorded 0.2 bar at most and held for the recorded 5 minutes before use" in text
    assert "The network operator's procedure, local codes and licensed practice decide." in text
    assert "A piece in doubt does not go out" in text
    assert "safe" not in text.lower()


def test_every_row_has_two_tick_boxes_drawn(pdf: bytes) -> None:
    # 60 pieces and 1 lot of counted stock, a box for the van and one for the way back; 8 mm is 22.68 pt.
    assert squares(pdf, side_pt=22.68) == 2 * (60 + len(LOTS))


def test_counted_stock_alone_makes_a_list() -> None:
    text = " ".join(
        pages(load_list_pdf(load_list(pieces=[], lots=[CountedLot("fluid", "fluid", "F-7", 2)], shorts=())))
    )
    assert "COMPLETE: every line is filled" in text
    assert "2 fluid F-7" in text


def test_three_hundred_pieces_print_and_every_code_reads(capsys: pytest.CaptureFixture[str]) -> None:
    many = load_list(300)
    start = time.perf_counter()
    pdf = load_list_pdf(many)
    seconds = time.perf_counter() - start
    with capsys.disabled():
        print(f"\nload list of 300 pieces: {seconds:.2f} s, {len(pdf)} bytes, {len(pages(pdf))} pages")
    assert [tag for page in qr_codes(pdf) for tag in page] == [piece.tag for piece in many.pieces]


def test_a_list_whose_first_page_is_full_of_shorts_still_has_every_one() -> None:
    shorts = [
        Short(f"line {number}", "bag", 9, 3, date(2026, 12, 1), "ask the south yard " * 5)
        for number in range(40)
    ]
    text = run_together(" ".join(pages(load_list_pdf(load_list(1, shorts=shorts)))))
    for short in shorts:
        assert run_together(short.line + " (bag) 9 3") in text
