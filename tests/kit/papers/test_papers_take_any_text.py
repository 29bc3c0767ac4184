"""No text acts as markup, breaks the typesetting, overruns its column, hides or makes two tags look alike."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.papers import (
    CountedLot,
    Piece,
    Short,
    ShortIssue,
    TagSheet,
    defect_tag_pdf,
    issue_note_pdf,
    load_list_pdf,
    return_note_pdf,
)
from kit.papers.bench_record import BenchRecord, FileRow, PointRow, bench_record_pdf
from kit.papers.bench_sheet import BenchSheet, Box, ToTest, bench_sheet_pdf
from kit.papers.dossier import Column, Dossier, Part, dossier_pdf
from kit.papers.printable import CUT, LONGEST_TEXT, printable
from kit.papers.transfer_note import LastInspection, SentLot, SentPiece, TransferNote, transfer_note_pdf
from tests.counts import cases
from tests.kit.papers.examples import (
    JOB,
    LOTS,
    bench_record,
    bench_sheet,
    defect_tag,
    dossier,
    issue_note,
    load_list,
    pages,
    pieces,
    qr_codes,
    reader,
    return_note,
    returned,
    run_together,
    transfer_note,
)

HOSTILE = [
    "#panic()",
    '#import "common.typ": *',
    '#read("/etc/passwd")',
    "*bold* _slanted_ `raw` $x$ @label <label>",
    "= Heading",
    "- a list / term: b + c",
    "// comment /* comment */",
    "\\ \\u{41} \\n \\\\",
    "\"quoted\" 'single' ~ -- --- ...",
    "{{ braces }} {% block %} [square] (round)",
    "</text><script>alert(1)</script> &amp; &lt;",
    '{"json": [1, null]}',
    '=HYPERLINK("x")',
    "Prüfstück Größe Öl äöüß ÄÖÜẞ",
    "Żółć Čeština Ærø Łódź Ğ ñ ¿",
    "Кран Ωμέγα",
    "1l I O0 |",
    "½ µ ° ± ≥ → – — … €",
]


def every_text_replaced(text: str) -> dict[str, Callable[[], bytes]]:
    """Each paper with `text` wherever a text can stand, tags among them."""
    piece = replace(
        pieces(1)[0],
        tag=text,
        kind=text,
        line=text,
        place=text,
        maker=text,
        serial=text,
        mark=text,
        fit_reason=text,
        concession=text,
        goes_with=text,
    )
    lot = replace(LOTS[0], line=text, kind=text, lot=text, place=text)
    job = replace(JOB, reference=text, site=text, depot=text, arrangement=text, mark=text, main=text)
    short = Short(text, text, 2, 1, None, text)
    back = replace(returned(1)[0], tag=text, kind=text, line=text, next_detail=text, serial=text, note=text)
    tag = defect_tag(
        tag=text,
        kind=text,
        why=text,
        found=text,
        set_aside_by=text,
        depot=text,
        maker=text,
        serial=text,
        job=text,
        case=text,
        place=text,
    )
    listed = replace(
        load_list(pieces=[piece], lots=[lot], shorts=[short]), job=job, cautions=[text], crew=text
    )
    issued = replace(
        issue_note(pieces=[piece], lots=[lot], shorts=[ShortIssue(text, text, 2, 1, text, text)], note=text),
        job=job,
        number=text,
        issued_by=text,
        received_by=text,
    )
    taken = replace(return_note(pieces=[back], note=text), job=job, number=text, taken_back_by=text)
    return {
        "load list": lambda: load_list_pdf(listed),
        "issue note": lambda: issue_note_pdf(issued),
        "return note": lambda: return_note_pdf(taken),
        "defect tag": lambda: defect_tag_pdf(tag),
        "defect tag on A4": lambda: defect_tag_pdf(tag, TagSheet.A5_ON_A4),
        "test record": lambda: bench_record_pdf(_record_of(text)),
        "transfer note": lambda: transfer_note_pdf(_transfer_of(text, piece, lot)),
        "passport": lambda: dossier_pdf(_dossier_of(text)),
        "bench sheet": lambda: bench_sheet_pdf(_bench_sheet_of(text)),
    }


def _dossier_of(text: str) -> Dossier:
    columns = [Column("Said"), Column(text), Column("Hash", mono=True), Column("Tag", strong=True)]
    return dossier(
        about=text,
        lead=[text],
        banner=text,
        banner_more=text,
        code=text,
        parts=[
            Part(f"Case: {text}", said=[text], facts=[(text, text)], columns=columns, rows=[[text] * 4]),
            Part(text, empty=text, deep=True),
        ],
    )


def _bench_sheet_of(text: str) -> BenchSheet:
    boxes = [Box(text, text[:20], text), Box(text, wide=True)]
    return bench_sheet(about=text, rows=[ToTest(text, text, text, text, [text], [text], boxes, 2)])


def _transfer_of(text: str, piece: Piece, lot: CountedLot) -> TransferNote:
    known = LastInspection(text, None, text, None, text, text)
    return transfer_note(
        number=text,
        code=text,
        leaves=text,
        to=text,
        sent_by=text,
        carrier=text,
        pieces=[SentPiece(piece, [known], text)],
        lots=[SentLot(lot, text, text)],
        note=text,
    )


def _record_of(text: str) -> BenchRecord:
    """A test record with `text` wherever one can stand."""
    texts = (
        "tag",
        "kind",
        "check",
        "why",
        "recorded_by",
        "by",
        "maker",
        "serial",
        "depot",
        "rule",
        "procedure",
    )
    more = ("source", "certificate", "note", "standing")
    pairs = [(text, text)]
    return bench_record(
        **dict.fromkeys([*texts, *more], text),
        gauge=pairs,
        readings=pairs,
        figures=pairs,
        points=[PointRow(*[text] * 6)],
        files=[FileRow(text, text)],
    )


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_is_printed_letter_for_letter_and_its_code_reads_it(text: str) -> None:
    for name, paper in every_text_replaced(text).items():
        pdf = paper()
        assert run_together(text) in run_together(" ".join(pages(pdf)))
        if name in {"load list", "defect tag"}:
            assert text in [tag for page in qr_codes(pdf, 300) for tag in page]


def test_every_place_for_a_text_on_the_load_list_takes_it_as_it_is() -> None:
    text = "#panic() *_`$@<"
    printed = run_together(" ".join(pages(every_text_replaced(text)["load list"]())))
    # Title, site, depot, arrangement, main, mark, line, kind and remedy of the short, the ten of the piece,
    # the four of the lot, the caution and the crew.
    assert printed.count(run_together(text)) >= 21


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("bag \U0001f600", "bag [U+1F600]"),
        ("中", "[U+4E2D]"),
        ("a\u202eb", "a[U+202E]b"),
        ("AB\u200b12", "AB[U+200B]12"),
        ("AB\u00ad12", "AB[U+00AD]12"),
        ("\x00\x07", "[U+0000][U+0007]"),
        ("\ud800", "[U+D800]"),
        ("\ue000", "[U+E000]"),
        ("\ufdd0", "[U+FDD0]"),
        ("e\u0301", "é"),
        ("one\n two\t three\u2003four", "one two three four"),
    ],
)
def test_what_cannot_be_shown_is_shown_as_its_code(text: str, shown: str) -> None:
    assert printable(text) == shown
    pdf = load_list_pdf(load_list(pieces=[replace(pieces(1)[0], serial=text)]))
    assert run_together(f"serial {shown}") in run_together(" ".join(pages(pdf)))


def test_a_number_is_not_parted_from_its_unit_nor_a_date_in_two() -> None:
    assert (
        printable("150–182.5\u00a0mm by 19\u00a0Nov\u00a02026")
        == "150–182.5\u00a0mm by 19\u00a0Nov\u00a02026"
    )


def test_two_tags_that_differ_in_a_hidden_character_do_not_look_alike() -> None:
    assert printable("BAG-1") != printable("BAG\u200d-1")


def test_an_overlong_text_is_cut_and_says_so() -> None:
    assert printable("x" * LONGEST_TEXT) == "x" * LONGEST_TEXT
    cut = printable("x" * (LONGEST_TEXT + 1))
    assert len(cut) == LONGEST_TEXT
    assert cut.endswith(CUT)


LONG = ["W" * 90, "Rückflussverhinderersicherheitsabsperrblasenprüfprotokoll", "NY-BAG-" + "0123456789" * 5]


@pytest.mark.parametrize("text", LONG)
def test_long_words_stay_whole_and_within_the_paper(text: str) -> None:
    for paper in every_text_replaced(text).values():
        pdf = paper()
        document = reader(pdf)
        assert text[:20] in run_together(" ".join(pages(pdf)))
        assert ends_of_text(pdf) <= float(document.pages[0].mediabox.width) - 20


def ends_of_text(pdf: bytes) -> float:
    """The rightmost edge of any character on any page, in points."""
    return max(right for page in pypdfium2.PdfDocument(pdf) for _, right, _ in characters(page))


def characters(page: pypdfium2.PdfPage) -> list[tuple[float, float, float]]:
    """Left edge, right edge and foot of every character, in points from the left and from the bottom."""
    text = page.get_textpage()
    boxes = [text.get_charbox(index) for index in range(text.count_chars())]
    return [(left, right, foot) for left, foot, right, _ in boxes]


def foot_of(page: pypdfium2.PdfPage, words: str) -> float:
    text = page.get_textpage()
    found = text.search(words).get_next()
    assert found is not None, words
    return float(text.get_charbox(found[0])[1])


@pytest.mark.parametrize("text", LONG)
def test_no_letter_of_a_long_word_stands_across_a_rule_of_the_table(text: str) -> None:
    piece = replace(pieces(1)[0], **dict.fromkeys(("tag", "kind", "line", "maker", "serial", "mark"), text))
    piece = replace(piece, place="Bay A", fit_reason=text, concession=text)
    listed = load_list(pieces=[piece], lots=(), shorts=(), cautions=())
    page = pypdfium2.PdfDocument(load_list_pdf(listed))[0]
    above, below = foot_of(page, "Bay A: 1 piece"), foot_of(page, "Counted on the van")
    row = [(left, right) for left, right, foot in characters(page) if below + 5 < foot < above - 5]
    assert len(row) > 4 * len(text)
    # The rules stand at the left margin of 15 mm and after columns of 17, 18, 43, 34, 28, 32 and 13 mm.
    for rule_mm in (15, 32, 50, 93, 127, 155, 187, 200):
        rule = rule_mm * 72 / 25.4
        assert not [(left, right) for left, right in row if left < rule - 0.3 and right > rule + 0.3]


@settings(max_examples=cases(30))
@given(st.text(min_size=1, max_size=60).filter(str.strip))
def test_no_text_at_all_stops_a_paper(text: str) -> None:
    for paper in every_text_replaced(text).values():
        assert paper().startswith(b"%PDF-1.7")
