"""Faults that real registers have, one a row: where each is, and what the report must say of it.

Every item that has a fault also gets a sound inspection, because a row that leans on a faulty one is not to be
reported on top of it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from openpyxl import Workbook

from tests.kit.workbooks.depot_book import HEADINGS, Book, Broken, in_days

LONG_NOTE = "n" * 501


@dataclass(frozen=True, slots=True)
class Expected:
    """One fault as the report must give it; `why` is a part of its sentence."""

    sheet: str
    row: int
    column: str
    value: str | None
    why: str


Spoil = Callable[[Book], Expected]
FAULTS: dict[str, Spoil] = {}


def fault(name: str) -> Callable[[Spoil], Spoil]:
    def keep(spoil: Spoil) -> Spoil:
        assert name not in FAULTS
        FAULTS[name] = spoil
        return spoil

    return keep


def clean_book() -> Book:
    """A sheet of each sort with a sound row in it, to be loaded over `depot_book`."""
    book = Book()
    book.add("Kinds", kind="hose", turn_round_days=1)
    book.add("Checks", kind="pump", check="inspection", interval="P12M")
    book.add("Items", tag="NY-B1", kind="bag", maker="Anvil & Sons", serial="S1", depot="NY")
    book.add("Inspections", tag="NY-B1", check="hold test", done_on=in_days(-2), verdict="pass")
    book.add("Arrangements", arrangement="long stop", line="bags", kind="bag", quantity=1)
    book.add(
        "Jobs", reference="J-9", depot="NY", load_on=in_days(9), return_on=in_days(9), arrangement="long stop"
    )
    return book


def item(
    name: str, column: str, why: str, shown: str | None = None, check: str = "hold test", **cells: Any
) -> None:
    """An Items row that is sound but for `cells`, and an inspection of it."""

    def spoil(book: Book) -> Expected:
        tag = f"F-{len(book.rows['Items'])}"
        row = {"tag": tag, "kind": "bag", "depot": "NY", **cells}
        number = book.add("Items", **row)
        if row["tag"] and len(row["tag"]) <= 60 and row["kind"] != "seal":
            book.add("Inspections", tag=row["tag"], check=check, done_on=in_days(-3), verdict="pass")
        return Expected("Items", number, column, shown, why)

    fault(name)(spoil)


def row(sheet: str, name: str, column: str, why: str, shown: str | None = None, **cells: Any) -> None:
    """A row of another sheet, sound but for `cells`."""

    def spoil(book: Book) -> Expected:
        number = len(book.rows[sheet]) + 2
        usual: dict[str, dict[str, Any]] = {
            "Kinds": {"kind": f"kind {number}"},
            "Checks": {"kind": "hand tool", "check": f"check {number}", "interval": "P1Y"},
            "Inspections": {
                "tag": "NY-B1",
                "check": "hold test",
                "done_on": in_days(-number),
                "verdict": "pass",
            },
            "Arrangements": {
                "arrangement": "long stop",
                "line": f"line {number}",
                "kind": "bag",
                "quantity": 1,
            },
            "Jobs": {
                "reference": f"J-F{number}",
                "depot": "NY",
                "load_on": in_days(9),
                "return_on": in_days(10),
                "arrangement": "long stop",
            },
        }
        book.add(sheet, **{**usual[sheet], **cells})
        return Expected(sheet, number, column, shown, why)

    fault(name)(spoil)


# Kinds ---------------------------------------------------------------------------------------------------------


@fault("a kind set twice")
def _(book: Book) -> Expected:
    return Expected("Kinds", book.add("Kinds", kind="Hose"), "kind", "Hose", "Row 2 sets this kind already")


@fault("neither yes nor no")
def _(book: Book) -> Expected:
    number = book.add("Kinds", kind="cap ring", counted="perhaps")
    # Whether its quantity is right cannot be told.
    book.add("Items", tag="RING-1", kind="cap ring", depot="NY", quantity=20)
    book.add("Items", tag="RING-2", kind="cap ring", depot="NY")
    return Expected("Kinds", number, "counted", "perhaps", "Write yes or no")


@fault("pieces of the register made counted")
def _(book: Book) -> Expected:
    number = book.add("Kinds", kind="base", counted="yes")
    book.add("Items", tag="NY-S2", kind="base", serial=2, depot="NY")
    book.add("Items", tag="NY-S77", kind="base", depot="NY", quantity=4)
    return Expected("Kinds", number, "counted", "yes", "base has items in the register")


@fault("what a short date means, misspelt")
def _(book: Book) -> Expected:
    number = book.add("Kinds", kind="hose clip", short_date="quater")
    book.add("Items", tag="CLIP-1", kind="hose clip", depot="NY", use_by="3/27")
    return Expected("Kinds", number, "short_date", "quater", "Perhaps quarter is meant")


row("Kinds", "days in words", "turn_round_days", "Write a whole number", "two", turn_round_days="two")
row("Kinds", "a negative margin", "margin_days", "must not be less than 0", "-1", margin_days=-1)
row("Kinds", "a maker without a rule", "maker", "write month or quarter", "Plumb Ltd", maker="Plumb Ltd")

# Checks --------------------------------------------------------------------------------------------------------


@fault("a check of an unknown kind")
def _(book: Book) -> Expected:
    number = book.add("Checks", kind="gas detecter", check="bump test", interval="P1D")
    # Its name stands in the faulty row alone, so this one leans on it.
    book.add("Items", tag="GD-1", kind="gas detector", depot="NY")
    book.add("Inspections", tag="GD-1", check="bump test", done_on=in_days(-1), verdict="pass")
    return Expected("Checks", number, "kind", "gas detecter", "Did you mean gas detector?")


@fault("a check twice")
def _(book: Book) -> Expected:
    book.add("Checks", kind="vent stack", check="visual", interval="P12M")
    number = book.add("Checks", kind="vent stack", check="Visual", interval="P6M")
    return Expected(
        "Checks", number, "check", "Visual", f"Row {number - 1} gives vent stack the check visual"
    )


@fault("no check beside a check")
def _(book: Book) -> Expected:
    book.add("Checks", kind="nose", check="inspection", interval="P12M")
    return Expected("Checks", book.add("Checks", kind="nose"), "check", None, "nose has checks in other rows")


row("Checks", "an interval in words", "interval", "is not an interval", "6 months", interval="6 months")
row("Checks", "no interval", "interval", "How often is it due?", None, interval=None)
row("Checks", "an unknown basis", "basis", "Write one of done, anchor", "grid", basis="grid")
row("Checks", "half a day early", "early_days", "write 2 or 3", "2.5", early_days=2.5)
row("Checks", "gates sometimes", "gates", "Write yes or no", "sometimes", gates="sometimes")
row("Checks", "a check called use-by", "check", "is the name of the use-by date", "Use-By", check="Use-By")


@fault("a check with too long a name")
def _(book: Book) -> Expected:
    name = "c" * 81
    number = book.add("Checks", kind="chain set", check=name, interval="P6M")
    book.add("Items", tag="CH-1", kind="chain set", depot="NY")
    book.add("Inspections", tag="CH-1", check="thorough examination", done_on=in_days(-1), verdict="pass")
    return Expected("Checks", number, "check", "c" * 77 + "...", "80 is the most")


# Items ---------------------------------------------------------------------------------------------------------


item("an unknown kind", "kind", "There is no kind bga. Did you mean bag?", "bga", kind="bga")
item("no tag", "tag", "Every row of Items needs tag", None, tag=None)
item("no depot", "depot", "Every row of Items needs depot", None, depot=None)
item("a tag that is too long", "tag", "60 is the most", "T" * 61, tag="T" * 61)
item(
    "a kind changed",
    "kind",
    "NY-S1 is a base in the register",
    "gauge",
    tag="NY-S1",
    kind="gauge",
    check="calibration",
)
item("a day that never was", "use_by", "no day 31 in February", "31/02/2027", use_by="31/02/2027")
item("the month first", "use_by", "has the month first", "03/31/2031", use_by="03/31/2031")
item("month or quarter", "use_by", "is ambiguous: month 3 or quarter 3", "3/27", use_by="3/27")
item("a bare number for a date", "use_by", "is a bare number", "46112", use_by=46112)
item(
    "a moment for a date",
    "use_by",
    "carries a time of day",
    "2031-05-06 07:30",
    use_by=datetime(2031, 5, 6, 7, 30),
)
item("a year alone", "made_on", "is a year alone", "2024", made_on=2024)
item("made in the future", "made_on", "is in the future", in_days(3).isoformat(), made_on=in_days(3))
item(
    "used up before it was made",
    "use_by",
    "lies before the day it was made",
    "2024-05-01",
    made_on=date(2024, 6, 1),
    use_by=date(2024, 5, 1),
)
item("a formula that ends in an error", "maker", "a cell that is gone", "#REF!", maker=Broken("#REF!"))
item("a formula that was never worked out", "batch", "has no result yet", None, batch="=A2&B2")
item(
    "words for a number",
    "bore_min_mm",
    "Write a number of mm",
    "about 100",
    bore_min_mm="about 100",
    bore_max_mm=120,
)
item(
    "a thousand or a fraction",
    "bore_max_mm",
    "Is this 1.234 or 1234?",
    "1,234",
    bore_min_mm=90,
    bore_max_mm="1,234",
)
item(
    "a range the wrong way round",
    "bore_max_mm",
    "from 180 to 150 mm",
    "150",
    bore_min_mm=180,
    bore_max_mm=150,
)
item("half a range", "bore_max_mm", "bore_max_mm is missing", None, bore_min_mm=150)
item("a bore of nothing", "bore_min_mm", "0 mm cannot be", "0", bore_min_mm=0, bore_max_mm=90)
item(
    "a bore wider than any main",
    "bore_max_mm",
    "must not be more than 5,000",
    "5001",
    bore_min_mm=90,
    bore_max_mm=5001,
)
item("an unknown state", "state", "Perhaps available is meant", "availble", state="availble")
item("three of a single piece", "quantity", "is a single piece", "3", quantity=3)
item("two and a half seals", "quantity", "write 2 or 3", "2.5", kind="seal", quantity=2.5)
item("fewer than no seals", "quantity", "must not be less than 0", "-4", kind="seal", quantity=-4)
item("seals not counted", "quantity", "seal is counted", None, kind="seal")
item("a note that is too long", "note", "It has 501 characters", LONG_NOTE[:77] + "...", note=LONG_NOTE)
item("a control character", "batch", "U+0090", "L\ufffd7", batch="L\x907")
item(
    "a batch that turned into a date",
    "batch",
    "format the cell as text",
    "1994-03-01",
    batch=date(1994, 3, 1),
)
item(
    "more digits than a spreadsheet keeps",
    "serial",
    "15 digits",
    "1.23456789012346e+15",
    serial=1234567890123456,
)


@fault("a tag twice in the file")
def _(book: Book) -> Expected:
    number = book.add("Items", tag="NY-B1", kind="bag", depot="MB", serial="other")
    return Expected("Items", number, "tag", "NY-B1", "Row 2 has this tag already")


@fault("a serial twice in the file")
def _(book: Book) -> Expected:
    first = book.add("Items", tag="TW-1", kind="pump", maker="Plumb Ltd", serial="P-1", depot="NY")
    book.add("Items", tag="TW-2", kind="pump", maker="Anvil & Sons", serial="P-1", depot="NY")
    number = book.add("Items", tag="TW-3", kind="pump", maker="Plumb Ltd", serial="P-1", depot="NY")
    book.add("Inspections", tag="TW-3", check="inspection", done_on=in_days(-1), verdict="pass")
    return Expected("Items", number, "serial", "P-1", f"Row {first} has this serial of Plumb Ltd for a pump")


@fault("a maker that cannot be read")
def _(book: Book) -> Expected:
    book.add("Items", tag="TW-5", kind="pump", serial="P-2", depot="NY")
    # Without its maker nobody can tell whether it is the same serial.
    number = book.add("Items", tag="TW-6", kind="pump", maker=Broken("#N/A"), serial="P-2", depot="NY")
    return Expected("Items", number, "maker", "#N/A", "a value that was not found")


@fault("a serial that the register has")
def _(book: Book) -> Expected:
    number = book.add("Items", tag="TW-4", kind="bag", maker="Anvil & Sons", serial="S3", depot="NY")
    book.add("Inspections", tag="TW-4", check="hold test", done_on=in_days(-1), verdict="pass")
    return Expected("Items", number, "serial", "S3", "NY-B3 in the register is a bag with this maker")


# Inspections ---------------------------------------------------------------------------------------------------

row("Inspections", "an unknown tag", "tag", "Did you mean NY-B1?", "ny-b1", tag="ny-b1")
row("Inspections", "no tag to inspect", "tag", "Every row of Inspections needs tag", None, tag=None)
row("Inspections", "an unknown check", "check", "Did you mean hold test?", "hold tset", check="hold tset")
row("Inspections", "done tomorrow", "done_on", "is in the future", in_days(1).isoformat(), done_on=in_days(1))
row("Inspections", "either number the day", "done_on", "is ambiguous", "03-04-2024", done_on="03-04-2024")
row("Inspections", "a month for a day", "done_on", "a day is needed here", "2024-03", done_on="2024-03")
row("Inspections", "no day", "done_on", "Every row of Inspections needs done_on", None, done_on=None)
row("Inspections", "a year of two digits", "done_on", "year of two digits", "3/4/24", done_on="3/4/24")
row("Inspections", "an unknown verdict", "verdict", "Write one of pass, fail, doubt", "ok", verdict="ok")
row("Inspections", "no verdict", "verdict", "Every row of Inspections needs verdict", None, verdict=None)

# Arrangements --------------------------------------------------------------------------------------------------

row("Arrangements", "a line of an unknown kind", "kind", "There is no kind bagg", "bagg", kind="bagg")
row("Arrangements", "a line of none", "quantity", "must not be less than 1", "0", quantity=0)
row(
    "Arrangements",
    "an unknown match",
    "match",
    "Write one of any, bore, mark, bore+mark",
    "size",
    match="size",
)


@fault("a line twice")
def _(book: Book) -> Expected:
    number = book.add("Arrangements", arrangement="Long Stop", line="Bags", kind="bag", quantity=2)
    return Expected("Arrangements", number, "line", "Bags", "Row 2 is the line Bags of long stop already")


# Jobs ----------------------------------------------------------------------------------------------------------

row(
    "Jobs",
    "an unknown arrangement",
    "arrangement",
    "Did you mean long stop?",
    "lomg stop",
    arrangement="lomg stop",
)
row(
    "Jobs",
    "back before it is loaded",
    "return_on",
    "would be back before",
    in_days(8).isoformat(),
    return_on=in_days(8),
)
row("Jobs", "a job twice", "reference", "Row 2 is job J-9 already", "J-9", reference="J-9")
row("Jobs", "a job of no depot", "depot", "Every row of Jobs needs depot", None, depot=None)
row("Jobs", "a day in words", "load_on", "cannot be read as a date", "next week", load_on="next week")
row("Jobs", "a bore of nothing measured", "bore_mm", "0 mm cannot be", "0", bore_mm=0)


# Headings ------------------------------------------------------------------------------------------------------


@fault("merged headings")
def _(book: Book) -> Expected:
    def merge(workbook: Workbook) -> None:
        place = HEADINGS["Arrangements"].index("note")
        workbook["Arrangements"].cell(1, place + 2, "remark")
        workbook["Arrangements"].merge_cells(
            start_row=1, end_row=1, start_column=place + 1, end_column=place + 2
        )

    book.changes.append(merge)
    return Expected("Arrangements", 1, "note", "note", "are merged into one heading")


@fault("a heading twice")
def _(book: Book) -> Expected:
    book.changes.append(lambda workbook: workbook["Jobs"].cell(1, len(HEADINGS["Jobs"]) + 1, "Site"))
    return Expected("Jobs", 1, "site", "Site", "This column stands twice")
