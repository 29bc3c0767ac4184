"""Issue note, return note and defect tag: what is on them, and in which order."""

from __future__ import annotations

import pytest

from kit.papers import (
    ReturnedLot,
    ShortIssue,
    StillOut,
    TagSheet,
    defect_tag_pdf,
    issue_note_pdf,
    return_note_pdf,
)
from tests.kit.papers.examples import (
    defect_tag,
    issue_note,
    pages,
    qr_codes,
    reader,
    return_note,
    returned,
    run_together,
)


def test_issue_note_says_what_went_out_to_whom_and_by_whom() -> None:
    note = issue_note(30)
    pdf = issue_note_pdf(note)
    text = " ".join(pages(pdf))
    for part in (
        "Issue note IN-0231",
        "Job J-1042",
        "Issued by R. Adeyemi",
        "Received by K. Lund",
        "Issued Thu 12 Nov 2026 05:52 GMT",
        "ISSUED IN FULL",
        "30 pieces and 1 lot of counted stock went out.",
        "12 nose seal seals L2231 31 Mar 2027",
        "Who Name Signature Date Time",
    ):
        assert part in text
    assert [tag for page in qr_codes(pdf) for tag in page] == [piece.tag for piece in note.pieces]
    for number, piece in enumerate(note.pieces, start=1):
        assert f"{number} {piece.tag} serial {piece.serial}" in text


def test_issue_note_says_what_went_out_short_why_and_who_agreed() -> None:
    short = ShortIssue("bags", "bag", 5, 4, "Spare follows on Friday", "T. Brandt, duty manager")
    printed = pages(issue_note_pdf(issue_note(30, shorts=[short], note="Van NY22.")))
    assert "ISSUED SHORT: 1 line not filled" in printed[0]
    assert "ISSUED IN FULL" not in printed[0]
    assert "bags 5 4 Spare follows on Friday T. Brandt, duty manager" in printed[0]
    assert all("ISSUED SHORT" in page for page in printed)
    assert "Note Van NY22." in " ".join(printed)


def test_return_note_lists_each_piece_under_where_it_goes() -> None:
    pdf = return_note_pdf(return_note(20))
    text = " ".join(pages(pdf))
    groups = [
        "Set aside, to quarantine: 5 pieces",
        "Missing, to be found: 5 pieces",
        "Awaiting a check, not to go out before it: 5 pieces",
        "Back to store: 5 pieces",
    ]
    starts = [text.index(group) for group in groups]
    assert starts == sorted(starts)
    for piece in returned(20):
        row = text[text.index(piece.tag) :].split(" NY-")[0]
        assert f"{piece.outcome.value.upper()} {piece.next_step.value} {piece.next_detail}" in row
        assert piece.note in row
    assert "5 used, 5 unused, 5 damaged, 5 missing" in text
    assert "RETURNED SHORT: 5 pieces missing" in text
    assert sorted(tag for page in qr_codes(pdf) for tag in page) == [piece.tag for piece in returned(20)]


def test_return_note_counts_what_was_used_up() -> None:
    assert "seals (nose seal) L2231 12 5 7" in " ".join(pages(return_note_pdf(return_note(4))))


def test_return_note_of_a_part_return_says_what_is_still_on_site() -> None:
    text = " ".join(
        pages(return_note_pdf(return_note(2, still_out=[StillOut("NY-VEN-0006", "vent head", "vent")])))
    )
    assert "PART RETURN: 1 piece still on site" in text
    assert "Still on site Tag Line NY-VEN-0006 vent (vent head)" in text


def test_return_note_with_everything_back_is_not_called_short() -> None:
    text = " ".join(
        pages(
            return_note_pdf(return_note(pieces=returned(2), lots=[ReturnedLot("fluid", "fluid", "F", 2, 2)]))
        )
    )
    assert "RETURNED: 2 pieces" in text
    assert "SHORT" not in text
    assert "fluid F 2 2 0" in text


@pytest.mark.parametrize(
    ("sheet", "width_mm", "height_mm"), [(TagSheet.A6, 148, 105), (TagSheet.A5_ON_A4, 297, 210)]
)
def test_defect_tag_is_one_page_of_its_size_with_everything_on_it(
    sheet: TagSheet, width_mm: int, height_mm: int
) -> None:
    pdf = defect_tag_pdf(defect_tag(), sheet)
    document = reader(pdf)
    assert len(document.pages) == 1
    box = document.pages[0].mediabox
    assert float(box.width) * 25.4 / 72 == pytest.approx(width_mm, abs=0.1)
    assert float(box.height) * 25.4 / 72 == pytest.approx(height_mm, abs=0.1)
    assert qr_codes(pdf) == [["NY-BAG-0041"]]
    text = pages(pdf)[0]
    for part in (
        "SET ASIDE — DO NOT USE",
        "NY-BAG-0041",
        "serial AS88251/B",
        "Why: Lost pressure on test before use",
        "Found: 0.20 bar at 06:31, 0.14 bar at 06:36; hiss near the valve.",
        "By K. Lund",
        "When Thu 12 Nov 2026 05:52 GMT",
        "Job J-1042",
        "Case Q-0044",
        "Place Cage 9",
        "Comes off only with a recorded release by another person.",
    ):
        assert part in text


@pytest.mark.parametrize("sheet", TagSheet)
def test_a_story_too_long_for_the_tag_is_cut_and_says_so(sheet: TagSheet) -> None:
    pdf = defect_tag_pdf(defect_tag(found="hiss near the valve " * 60, why="w" * 300), sheet)
    assert len(reader(pdf).pages) == 1
    text = run_together(pages(pdf)[0])
    assert "(moreintheregister)" in text
    assert "Casetext" not in text
    assert "ByK.Lund" in text


def test_a_tag_without_a_finding_says_that_none_is_recorded() -> None:
    assert "Found: nothing recorded" in pages(defect_tag_pdf(defect_tag(found="")))[0]
