"""An invented depot's papers, and how a paper is read back: pages, words, QR codes, strokes and inks."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy
import pypdf
import pypdfium2
import zxingcpp
from pypdf.generic import ContentStream

from kit import papers
from kit.papers.bench_record import BenchRecord, FileRow, PointRow, bench_record_pdf
from kit.papers.bench_sheet import BenchSheet, Box, ToTest, bench_sheet_pdf
from kit.papers.disposal_note import DisposalNote, disposal_note_pdf
from kit.papers.dossier import Column, Dossier, Part, dossier_pdf
from kit.papers.transfer_note import LastInspection, SentLot, SentPiece, TransferNote, transfer_note_pdf

PRINTED_AT = datetime(2026, 11, 12, 5, 52, tzinfo=ZoneInfo("Europe/London"))
STAMP = papers.Stamp(PRINTED_AT, 3, papers.LedgerMark(1234, "ab12cd34ef56" + "0" * 52))
JOB = papers.JobHead(
    "J-1042",
    "Weir Lane, junction with Mill Road",
    "North yard",
    date(2026, 11, 12),
    date(2026, 11, 19),
    "two-way, two bags a hole",
    165.2,
    "M3",
    "PE 180 SDR 17.6",
)
PLACES = ("Bay A, rack 3", "Bay B, rack 1", "Cage 2", "Gauge cupboard")


def pieces(number: int) -> list[papers.Piece]:
    """`number` pieces in loading order, spread evenly over the four places."""
    return [
        papers.Piece(
            tag=f"NY-BAG-{index:04d}",
            kind="bag",
            line="bags" if index % 5 else "spare bag",
            place=PLACES[index * len(PLACES) // number],
            maker="Anvil & Sons",
            serial=f"AS{88210 + index}/B",
            bore_min_mm=150,
            bore_max_mm=182.5,
            mark="M3",
            fit_until=date(2026, 11, 19) + timedelta(days=index),
            fit_reason="6-month test due",
        )
        for index in range(number)
    ]


LOTS = (papers.CountedLot("seals", "nose seal", "L2231", 12, "Drawer 5", date(2027, 3, 31)),)
SHORTS = (
    papers.Short("bags", "bag", 5, 1, date(2026, 11, 16), "NY-BAG-0900 falls due on 15 Nov: test it"),
    papers.Short("main gauge", "gauge", 2, 1, None, ""),
)


def load_list(number: int = 60, **other: object) -> papers.LoadList:
    values: dict[str, object] = {"pieces": pieces(number), "lots": LOTS, "shorts": SHORTS, **other}
    return papers.LoadList(JOB, STAMP, date(2026, 11, 12), **values)  # type: ignore[arg-type]


def issue_note(number: int = 20, **other: object) -> papers.IssueNote:
    values: dict[str, object] = {"pieces": pieces(number), "lots": LOTS, **other}
    return papers.IssueNote("IN-0231", JOB, STAMP, PRINTED_AT, "R. Adeyemi", "K. Lund", **values)  # type: ignore[arg-type]


ENDINGS = (
    (papers.Outcome.USED, papers.NextStep.AWAITING_CHECK, "after-use test"),
    (papers.Outcome.UNUSED, papers.NextStep.TO_STORE, "Cage 2"),
    (papers.Outcome.DAMAGED, papers.NextStep.QUARANTINE, "case Q-0044"),
    (papers.Outcome.MISSING, papers.NextStep.LOOK_FOR, "verge at hole two"),
)


def returned(number: int) -> list[papers.ReturnedPiece]:
    """`number` pieces whose endings go round: used, unused, damaged, missing."""
    return [
        papers.ReturnedPiece(
            piece.tag, piece.kind, piece.line, *ENDINGS[index % 4], piece.maker, piece.serial, f"note {index}"
        )
        for index, piece in enumerate(pieces(number))
    ]


def return_note(number: int = 20, **other: object) -> papers.ReturnNote:
    values: dict[str, object] = {
        "pieces": returned(number),
        "lots": (papers.ReturnedLot("seals", "nose seal", "L2231", 12, 5),),
        **other,
    }
    return papers.ReturnNote("RN-0188", JOB, STAMP, PRINTED_AT, "R. Adeyemi", "K. Lund", **values)  # type: ignore[arg-type]


def defect_tag(**other: object) -> papers.DefectTag:
    values: dict[str, object] = {
        "tag": "NY-BAG-0041",
        "kind": "bag",
        "stamp": STAMP,
        "why": "Lost pressure on test before use",
        "found": "0.20 bar at 06:31, 0.14 bar at 06:36; hiss near the valve.",
        "set_aside_by": "K. Lund",
        "set_aside_at": PRINTED_AT,
        "depot": "North yard",
        "maker": "Anvil & Sons",
        "serial": "AS88251/B",
        "job": "J-1042",
        "case": "Q-0044",
        "place": "Cage 9",
        **other,
    }
    return papers.DefectTag(**values)  # type: ignore[arg-type]


def disposal_note(**other: object) -> DisposalNote:
    values: dict[str, object] = {
        "tag": "NY-BAG-0041",
        "kind": "bag",
        "stamp": STAMP,
        "cause": "skirt torn through, the maker does not mend it",
        "withdrawn_by": "C. Field",
        "withdrawn_at": PRINTED_AT,
        "depot": "North yard",
        "maker": "Anvil & Sons",
        "serial": "AS88251/B",
        "batch": "L-204",
        "case": "44",
        "set_aside": "damaged on J-1042: skirt torn (K. Lund)",
        "job": "J-1042",
        "found": ["Finding: torn over 40 mm (E. Marsh)", "Action: the maker was asked (C. Field)"],
        **other,
    }
    return DisposalNote(**values)  # type: ignore[arg-type]


def bench_record(**values: object) -> BenchRecord:
    usual: dict[str, object] = {
        "number": 17,
        "tag": "NY-BAG-0041",
        "kind": "bag",
        "check": "hold test",
        "stamp": STAMP,
        "done_on": date(2026, 11, 12),
        "done_at": PRINTED_AT,
        "verdict": "pass",
        "why": "Dropped 0.005 bar in 5 minutes, against 0.01 bar as printed: passes.",
        "recorded_at": PRINTED_AT,
        "recorded_by": "e.marsh",
        "by": "e.marsh",
        "maker": "Anvil & Sons",
        "serial": "AS88251/B",
        "gauge": [("Tag", "NY-GAU-0002"), ("Stood", "in calibration")],
        "readings": [("Start pressure", "0.2 bar"), ("End pressure", "0.195 bar")],
        "figures": [("Drop", "0.005 bar"), ("Most allowed", "0.01 bar")],
        "points": [PointRow("up", "0.15 bar", "0.152", "+0.002", "", "")],
        "files": [FileRow("cover.jpg", "5f" * 32)],
        "entry": 1230,
        "entry_hash": "cd" * 32,
    }
    return BenchRecord(**{**usual, **values})  # type: ignore[arg-type]


def transfer_note(how_many: int = 20, **other: object) -> TransferNote:
    """`how_many` pieces, each inspected once and once never, and the lots."""
    known = [
        LastInspection("hold test", date(2026, 6, 8), "pass", date(2026, 12, 8), "C-881", "e.marsh"),
        LastInspection("detailed inspection", None, "", None),
    ]
    values: dict[str, object] = {
        "number": "T12",
        "code": "TRANSFER 12",
        "stamp": STAMP,
        "leaves": "North yard",
        "to": "Mill bank",
        "sent_on": date(2026, 11, 12),
        "arrives_on": date(2026, 11, 14),
        "sent_by": "w.hollis",
        "carrier": "Thursday van",
        "pieces": [SentPiece(piece, known) for piece in pieces(how_many)],
        "lots": [SentLot(lot, "LOT-7") for lot in LOTS],
        "note": "Two crates.",
        **other,
    }
    return TransferNote(**values)  # type: ignore[arg-type]


EVERY_PAPER: dict[str, Callable[[], bytes]] = {
    "load list": lambda: papers.load_list_pdf(load_list()),
    "issue note": lambda: papers.issue_note_pdf(issue_note()),
    "return note": lambda: papers.return_note_pdf(return_note()),
    "defect tag": lambda: papers.defect_tag_pdf(defect_tag()),
    "disposal note": lambda: disposal_note_pdf(disposal_note()),
    "test record": lambda: bench_record_pdf(bench_record()),
    "defect tag on A4": lambda: papers.defect_tag_pdf(defect_tag(), papers.TagSheet.A5_ON_A4),
    "item passport": lambda: dossier_pdf(dossier()),
    "bench sheet": lambda: bench_sheet_pdf(bench_sheet()),
    "transfer note": lambda: transfer_note_pdf(transfer_note()),
}


def dossier(**other: object) -> Dossier:
    """A passport with one part of each sort."""
    values: dict[str, object] = {
        "name": "Item passport",
        "about": "NY-BAG-0041",
        "stamp": STAMP,
        "lead": ["bag", "Anvil & Sons AS88251/B"],
        "banner": "Meets its recorded requirements on 12 Nov 2026",
        "banner_more": "6-month test due",
        "parts": [
            Part("What it is", said=["A sentence."], facts=[("Mark", "M3"), ("Batch", "")]),
            Part(
                "Its story",
                columns=[
                    Column("Entry", 0.5),
                    Column("Said", 3, strong=True),
                    Column("Hash", 1.2, mono=True),
                ],
                rows=[[str(number), f"said {number}", "ab12cd34ef56"] for number in range(60)],
                deep=True,
            ),
            Part("Files", columns=[Column("File")], empty="No file is attached."),
        ],
        "code": "NY-BAG-0041",
        "caution": "Shows what is recorded.",
        **other,
    }
    return Dossier(**values)  # type: ignore[arg-type]


def bench_sheet(**other: object) -> BenchSheet:
    """A hold test, a calibration and a plain inspection."""
    boxes = [Box("Start pressure", "bar"), Box("Seals", "", "sound / worn"), Box("What was found", wide=True)]
    values: dict[str, object] = {
        "title": "Bench sheet",
        "about": "North yard, 12 Nov 2026",
        "stamp": STAMP,
        "rows": [
            ToTest(
                "NY-BAG-0041",
                "bag",
                "hold test",
                "due on 14 Nov 2026",
                ["lies in Rack 2"],
                ["0.2 bar"],
                boxes,
            ),
            ToTest("NY-GAU-0002", "gauge", "calibration", "never done", points=10),
            ToTest("NY-BAG-0042", "bag", "inspection", "overdue", boxes=boxes[2:]),
        ],
        "caution": "Shows what is recorded.",
        **other,
    }
    return BenchSheet(**values)  # type: ignore[arg-type]


def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def words(text: str) -> str:
    """`text` with one space between words, and without the marks where a long word may break."""
    return " ".join(text.replace("\u200b", "").split())


def pages(pdf: bytes) -> list[str]:
    """The words of each page."""
    return [words(page.extract_text()) for page in reader(pdf).pages]


def run_together(text: str) -> str:
    """`text` without any space, for texts that may be broken anywhere."""
    return "".join(text.replace("\u200b", "").split())


def qr_codes(pdf: bytes, dots_per_inch: int = 200) -> list[list[str]]:
    """What the QR codes of each page read, top to bottom, from a rendering in black and white alone."""
    read = []
    for page in pypdfium2.PdfDocument(pdf):
        grey = page.render(scale=dots_per_inch / 72, grayscale=True).to_numpy().squeeze()
        printed = numpy.where(grey < 128, 0, 255).astype(numpy.uint8)
        codes = zxingcpp.read_barcodes(printed, formats=zxingcpp.BarcodeFormat.QRCode)
        read.append([code.text for code in sorted(codes, key=lambda code: code.position.top_left.y)])
    return read


def operations(pdf: bytes) -> Iterator[tuple[bytes, list[object]]]:
    """Every drawing operation of every page and of every picture in it: operator and operands."""
    document = reader(pdf)
    for page in document.pages:
        contents = page.get_contents()
        assert contents is not None
        streams = [contents, *_pictures(page["/Resources"].get_object())]
        for stream in streams:
            for operands, operator in ContentStream(stream, document).operations:
                yield operator, operands


def _pictures(resources: object) -> Iterator[object]:
    for reference in resources.get("/XObject", {}).values():  # type: ignore[attr-defined]
        picture = reference.get_object()
        if picture["/Subtype"] == "/Form":
            yield picture
            yield from _pictures(picture.get("/Resources", {}).get_object())


def squares(pdf: bytes, side_pt: float) -> int:
    """How many squares of that side, in points, are outlined on all pages."""
    count = 0
    path: list[tuple[float, float]] = []
    for operator, operands in operations(pdf):
        if operator == b"re":
            x, y, wide, high = (float(operand) for operand in operands)  # type: ignore[arg-type]
            path += [(x, y), (x + wide, y + high)]
        elif operator in {b"m", b"l"}:
            path.append((float(operands[0]), float(operands[1])))  # type: ignore[arg-type]
        elif operator in {b"S", b"s"}:
            wide, high = (max(axis) - min(axis) for axis in zip(*path, strict=True)) if path else (0, 0)
            count += abs(wide - side_pt) < 0.1 and abs(high - side_pt) < 0.1
            path = []
        elif operator in {b"f", b"f*", b"B", b"B*", b"n"}:
            path = []
    return count
