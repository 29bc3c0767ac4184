"""Loading a register: read every sheet and find every fault, then write all of it or nothing.

Each sheet has a loader in two steps: `read` looks at cells and fills the context with what later sheets refer to,
`apply` writes through the actions of the stores. Nothing is written while any sheet has a fault.
"""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any, Literal, Protocol

from django.db import IntegrityError

from kit.models import Arrangement, Deed, Item, Kind, MakerLabel
from kit.ports import ports
from kit.stores import Act, NotAllowed, Who, acting, chunked, found_register, refit
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault, Faults
from kit.workbooks.reading import RegisterFile, open_register
from kit.workbooks.register_sheet import RegisterSheet
from kit.workbooks.sheets import nearest_name

RowOutcome = Literal["new", "changed", "unchanged"]
Progress = Callable[[int, int, str], None]

_HINTS = 40  # nearest names are searched for this many unknown names of a sheet; each search is slow


@dataclass(frozen=True, slots=True)
class LoadedRow:
    """What became of one row: `key` is its tag, reference or name, `what` the details that changed."""

    sheet: str
    row: int
    key: str
    outcome: RowOutcome
    what: str = ""


@dataclass(slots=True)
class LoadReport:
    """What loading did, or would do. `loaded` is True only when it was written."""

    loaded: bool = False
    faults: Faults = field(default_factory=Faults)
    warnings: Faults = field(default_factory=Faults)
    rows: list[LoadedRow] = field(default_factory=list)

    def count(self, outcome: RowOutcome) -> int:
        return sum(row.outcome == outcome for row in self.rows)

    def as_dict(self) -> dict[str, Any]:
        return {
            "loaded": self.loaded,
            "new": self.count("new"),
            "changed": self.count("changed"),
            "unchanged": self.count("unchanged"),
            "faults": self.faults.as_dicts(),
            "warnings": self.warnings.as_dicts(),
        }


@dataclass(slots=True)
class KindNames:
    """What later sheets must know of a kind that may only be in the file yet."""

    name: str
    counted: bool = False
    short_date: str = ""
    maker_labels: dict[str, str] = field(default_factory=dict)


class Context:
    """What is known while a file is read: names of the register and of the sheets read so far."""

    def __init__(
        self, report: LoadReport, file_name: str, today: date, progress: Progress, total: int
    ) -> None:
        self.report = report
        self.file_name = file_name
        self.today = today
        self.touched: set[int] = set()
        self.kinds: dict[str, KindNames] = {}
        for kind in Kind.objects.all():
            self.kinds[kind.name.casefold()] = KindNames(kind.name, kind.counted, kind.short_date)
        for rule in MakerLabel.objects.select_related("kind"):
            self.kinds[rule.kind.name.casefold()].maker_labels[rule.maker.casefold()] = rule.short_date
        # Kind of every tag, None where the file's row has a kind that cannot be told.
        self.kind_of_tag: dict[str, str | None] = dict(Item.objects.values_list("tag", "kind__name"))
        self.arrangements: dict[str, str] = {
            name.casefold(): name
            for name in Arrangement.objects.filter(current=True).values_list("name", flat=True)
        }
        # Kinds and arrangements whose own rows are faulty: what refers to them is not reported on top.
        self.unclear_checks: set[str] = set()
        self.shared: dict[str, Any] = {}
        self._progress = progress
        self._total = total
        self._done = 0
        self._hints: dict[str, int] = defaultdict(int)

    def readers(self, sheet: RegisterSheet) -> Iterator[RowReader]:
        """The rows of a sheet, each with its reader; shows progress."""
        for row in sheet.rows():
            self._done += 1
            if self._done % 200 == 0:
                self._progress(self._done, self._total, f"reading {sheet.name}")
            yield RowReader(sheet.spec, row, self.report.faults)

    def say(self, text: str) -> None:
        self._progress(self._done, self._total, text)

    def warn(self, reader: RowReader, sheet: str, column: str, value: str, why: str) -> None:
        self.report.warnings.add(Fault(sheet, reader.row.number, column, value, why))

    def note(self, sheet: str, row: int, key: str, outcome: RowOutcome, what: str = "") -> None:
        self.report.rows.append(LoadedRow(sheet, row, key, outcome, what))

    def meant(self, topic: str, name: str, known: Iterable[str]) -> str:
        """' Did you mean X?' or nothing; stops searching after a number of unknown names."""
        self._hints[topic] += 1
        near = nearest_name(name, known) if self._hints[topic] <= _HINTS else None
        return f" Did you mean {near}?" if near else ""

    def kind(self, reader: RowReader, column: str = "kind") -> KindNames | None:
        """The kind that a cell names, or None with a fault."""
        name = reader.text(column, required=True)
        if not name:
            return None
        found = self.kinds.get(name.casefold())
        if found is None:
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


def _loaders() -> dict[str, Callable[[], SheetLoader]]:
    """In the order in which sheets build on each other."""
    from kit.workbooks.load_items import ItemsLoader
    from kit.workbooks.load_jobs import ArrangementsLoader, JobsLoader
    from kit.workbooks.load_kinds import KindsLoader

    plugged = ports.sheet_loaders
    order: dict[str, Callable[[], SheetLoader] | None] = {
        "Kinds": KindsLoader,
        "Checks": plugged.get("Checks"),
        "Items": ItemsLoader,
        "Inspections": plugged.get("Inspections"),
        "Arrangements": ArrangementsLoader,
        "Jobs": JobsLoader,
    }
    return {name: loader for name, loader in order.items() if loader is not None}


class _NotWritten(Exception):
    """Ends the transaction of a dry run or of a file with faults."""


def load_register(
    path: str | Path,
    who: Who,
    dry_run: bool = False,
    progress: Progress = lambda done, total, text: None,
    name: str | None = None,
) -> LoadReport:
    """Load a register workbook or .csv: all or nothing. `name` is the file's name towards people.

    Raises RegisterFileError for a file that cannot be read at all. With faults, or `dry_run`, every table is as it
    was; the report's counts then say what would have been done (nothing is counted while there are faults).
    """
    register = open_register(path, name)
    report = LoadReport(faults=register.faults, warnings=register.warnings)
    try:
        with acting(who) as act:
            found_register(act)
            _load(act, register, report, Path(path), progress)
            if dry_run or report.faults:
                raise _NotWritten
        report.loaded = True
    except _NotWritten:
        pass
    except NotAllowed as refusal:
        report.faults.add(Fault(register.name, None, None, None, str(refusal)))
    except IntegrityError as error:
        why = f"The database refuses it ({str(error).splitlines()[0]}). Nothing was loaded."
        report.faults.add(Fault(register.name, None, None, None, why))
    if report.faults:
        report.rows.clear()
    return report


def _load(act: Act, register: RegisterFile, report: LoadReport, path: Path, progress: Progress) -> None:
    total = sum(sheet.row_count for sheet in register.sheets.values())
    context = Context(report, register.name, act.today, progress, total)
    loaders: list[SheetLoader] = []
    by_name = _loaders()
    for sheet_name, make in by_name.items():
        if (sheet := register.sheets.get(sheet_name)) is not None:
            loader = make()
            loader.read(sheet, context)
            loaders.append(loader)
    for sheet_name in register.sheets:
        if sheet_name not in by_name:
            why = "This sheet is known, but this version does not load it yet; its rows are left out."
            report.warnings.add(Fault(sheet_name, None, None, None, why))
    if report.faults:
        return
    fitted = False
    for loader in loaders:
        if not fitted and type(loader).__name__ in ("ArrangementsLoader", "JobsLoader"):
            fit_touched(act, context)
            fitted = True
        context.say("writing")
        loader.apply(act, context)
    if not fitted:
        fit_touched(act, context)
    new, changed = report.count("new"), report.count("changed")
    if new or changed:
        digest = hashlib.sha256(path.read_bytes()).hexdigest()
        act.tell(
            Deed.LOADED,
            [f"file:{register.name}"],
            note=f"{register.name}: {new} new, {changed} changed, {report.count('unchanged')} unchanged",
            facts={"sha256": digest},
        )


def fit_touched(act: Act, context: Context) -> None:
    """Derive due dates of all items that rows touched, once."""
    for chunk in chunked(sorted(context.touched), 1000):
        context.say("working out due dates")
        refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
