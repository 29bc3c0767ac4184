"""What is known while a register file is read: names of the register, and of the sheets read so far.

A row that leans on a faulty one is not reported on top of it: what a faulty row leaves unclear is kept here.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final, Protocol

from kit.models import Arrangement, Item, Kind, MakerLabel
from kit.stores import Act, NotAllowed
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault
from kit.workbooks.item_rows import ItemRow
from kit.workbooks.load_report import LoadedRow, LoadReport, RowOutcome
from kit.workbooks.register_sheet import RegisterSheet
from kit.workbooks.sheets import nearest_name

Progress = Callable[[int, int, str], None]
"""Called with rows done, rows in all, and what is being done."""

_HINTS: Final = 40  # nearest names are searched for this many unknown names of a sheet; each search is slow
_NAMED_IN: Final = {
    "Kinds": {"kind"},
    "Checks": {"kind", "check"},
    "Items": {"tag"},
    "Arrangements": {"arrangement"},
}
"""The columns by which other sheets refer to a sheet's rows."""


@dataclass(slots=True)
class KindNames:
    """What later sheets must know of a kind that may only be in the file yet; `counted` None: it cannot be told."""

    name: str
    counted: bool | None = False
    short_date: str = ""
    maker_labels: dict[str, str] = field(default_factory=dict)


class Context:
    """Names by which rows refer to each other, what the rows have touched, and the report.

    `unclear` names the sheets whose names cannot be read at all, so that any name may be one of theirs.
    `kind_of_tag` has None where the file's own row leaves the kind unclear.
    """

    def __init__(
        self, report: LoadReport, file_name: str, today: date, progress: Progress, total: int
    ) -> None:
        self.report = report
        self.file_name = file_name
        self.today = today
        self.touched: set[int] = set()
        self.unclear: set[str] = set()
        self.kinds: dict[str, KindNames] = {}
        for kind in Kind.objects.all():
            self.kinds[kind.name.casefold()] = KindNames(kind.name, kind.counted, kind.short_date)
        for rule in MakerLabel.objects.select_related("kind"):
            self.kinds[rule.kind.name.casefold()].maker_labels[rule.maker.casefold()] = rule.short_date
        self.kind_of_tag: dict[str, str | None] = dict(Item.objects.values_list("tag", "kind__name"))
        self.arrangements: dict[str, str] = {
            name.casefold(): name
            for name in Arrangement.objects.filter(current=True).values_list("name", flat=True)
        }
        # Of the sheet Checks: names by kind; names whose kind is unclear; kinds of which a name is unclear.
        self.checks_of_kinds: dict[str, dict[str, str]] = {}
        self.checks_of_unclear_kinds: set[str] = set()
        self.kinds_of_unclear_checks: set[str] = set()
        # Of the sheet Items: sound rows by tag.
        self.item_rows: dict[str, ItemRow] = {}
        self.depots_with_items: set[str] = set()
        self.new_versions: set[str] = set()
        # What plugged-in loaders leave for each other, by a name of theirs; the store does not look at it.
        self.left: dict[str, Any] = {}
        # What is done once every sheet is written and every date is worked out.
        self.at_end: list[Callable[[Act], object]] = []
        self._progress = progress
        self._total = total
        self._done = 0
        self._hints: dict[str, int] = defaultdict(int)

    def open_sheet(self, sheet: RegisterSheet) -> None:
        """Note whether the sheet's names can be read at all."""
        named_in = _NAMED_IN.get(sheet.name, set())
        if not named_in <= sheet.columns.keys() - sheet.unreadable:
            self.unclear.add(sheet.name)

    def readers(self, sheet: RegisterSheet) -> Iterator[RowReader]:
        """The rows of a sheet, each with its reader; shows progress."""
        for row in sheet.rows():
            self._done += 1
            if self._done % 200 == 0:
                self._progress(self._done, self._total, f"reading {sheet.name}")
            yield RowReader(sheet.spec, row, self.report.faults)

    def say(self, text: str) -> None:
        self._progress(self._done, self._total, text)

    def warn(self, sheet: str, row: int | None, column: str | None, value: str | None, why: str) -> None:
        self.report.warnings.add(Fault(sheet, row, column, value, why))

    def warn_unread(self, sheet: RegisterSheet, *columns: str) -> None:
        """Say of columns that are known, and there, that nothing reads them yet."""
        for column in columns:
            if column in sheet.columns:
                why = "This column is known, but this version does not load it yet; it is left out."
                self.warn(sheet.name, sheet.heading_row, column, None, why)

    def note(self, sheet: str, row: int, key: str, outcome: RowOutcome, what: str = "") -> None:
        self.report.rows.append(LoadedRow(sheet, row, key, outcome, what))

    @contextmanager
    def writing(
        self, sheet: str, row: int, column: str | None = None, value: str | None = None
    ) -> Iterator[None]:
        """Write what a row says; what the store refuses becomes a fault of that row, and nothing is written then."""
        try:
            yield
        except NotAllowed as refusal:
            self.report.faults.add(Fault(sheet, row, column, value, str(refusal)))

    def meant(self, topic: str, name: str, known: Iterable[str]) -> str:
        """' Did you mean X?' or nothing; stops searching after a number of unknown names."""
        self._hints[topic] += 1
        near = nearest_name(name, known) if self._hints[topic] <= _HINTS else None
        return f" Did you mean {near}?" if near else ""

    def kind(self, reader: RowReader, column: str = "kind") -> KindNames | None:
        """The kind that a cell names, or None with a fault."""
        name = reader.text(column, required=True)
        return self.kind_called(name, reader, column) if name else None

    def kind_called(self, name: str, reader: RowReader, column: str) -> KindNames | None:
        """The kind of that name, as written in a cell of that column; None with a fault there."""
        found = self.kinds.get(name.casefold())
        if found is None and "Kinds" not in self.unclear:
            known = [kind.name for kind in self.kinds.values()]
            hint = self.meant("kind", name, known)
            if not hint:
                hint = f" Known kinds: {', '.join(sorted(known))}; a new kind goes into the sheet Kinds."
            reader.fault(column, f"There is no kind {name}.{hint}")
        return found


class SheetLoader(Protocol):
    """Reads one sheet into the context and later writes it."""

    def read(self, sheet: RegisterSheet, context: Context) -> None: ...

    def apply(self, act: Act, context: Context) -> None: ...
