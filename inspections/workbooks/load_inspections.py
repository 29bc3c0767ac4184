"""The sheet Inspections: past records of items in the register or in the same workbook."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from datetime import date

from inspections.actions import Finding, record_many
from inspections.models import Check, Inspection, Verdict
from kit.models import Item
from kit.stores import Act, chunked
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault
from kit.workbooks.load_context import Context
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Inspections"
_VERDICTS = Verdict.values
Key = tuple[str, str, date, str, str, str, str]


@dataclass(slots=True)
class _Row:
    row: int
    tag: str
    check: str
    done_on: date
    verdict: str
    by: str
    certificate: str
    note: str

    @property
    def key(self) -> Key:
        return self.tag, self.check, self.done_on, self.verdict, self.by, self.certificate, self.note


class InspectionsLoader:
    """A record is known again by all that its row says; rows that say the same stand for as many records."""

    def __init__(self) -> None:
        self.rows: list[_Row] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        checks = self._check_names(context)
        by_folded: dict[str, str] = {}
        first: dict[Key, int] = {}
        for reader in context.readers(sheet):
            row = self._read_row(reader, context, checks, by_folded)
            if row is None:
                continue
            self.rows.append(row)
            if (seen := first.setdefault(row.key, row.row)) != row.row:
                context.report.warnings.add(
                    Fault(
                        SHEET,
                        row.row,
                        "tag",
                        row.tag,
                        f"This row says the same as row {seen}; both are kept as records.",
                    )
                )

    @staticmethod
    def _check_names(context: Context) -> dict[str, dict[str, str]]:
        """Names of checks by kind as they will be in force: those of the sheet Checks for the kinds it names."""
        names: dict[str, dict[str, str]] = {}
        for kind, check in Check.objects.in_force().values_list("kind__name", "name"):
            names.setdefault(kind, {})[check.casefold()] = check
        names.update(context.checks_of_kinds)
        return names

    def _read_row(
        self,
        reader: RowReader,
        context: Context,
        checks: dict[str, dict[str, str]],
        by_folded: dict[str, str],
    ) -> _Row | None:
        tag = reader.text("tag", required=True, most=60)
        check = reader.text("check", required=True, most=80)
        done = reader.printed_date("done_on", today=context.today, want="day", required=True)
        verdict = reader.choice("verdict", _VERDICTS, required=True)
        by = reader.text("by", most=150)
        certificate = reader.text("certificate", most=120)
        note = reader.text("note", most=500)
        if done and done.day > context.today:
            reader.fault(
                "done_on",
                f"This day is in the future (today is {context.today}): write the day on which it was done.",
            )
        if tag and tag not in context.kind_of_tag:
            if "Items" in context.unclear:
                return None
            reader.fault(
                "tag",
                f"There is no item {tag} in the register or in the sheet Items.{self._meant(tag, context, by_folded)}",
            )
            return None
        kind = context.kind_of_tag.get(tag)
        if not tag or not check or kind is None or kind in context.kinds_of_unclear_checks:
            return None
        known = checks.get(kind, {})
        name = known.get(check.casefold())
        if name is None:
            if "Checks" in context.unclear or check.casefold() in context.checks_of_unclear_kinds:
                return None
            hint = context.meant("check", check, known.values())
            has = (
                f" Its checks: {', '.join(sorted(known.values()))}."
                if known
                else " It has no checks: name them in the sheet Checks."
            )
            reader.fault("check", f"{tag} is a {kind}, which has no check {check}.{hint or has}")
            return None
        if done is None or verdict is None:
            return None
        return _Row(reader.row.number, tag, name, done.day, verdict, by, certificate, note)

    @staticmethod
    def _meant(tag: str, context: Context, by_folded: dict[str, str]) -> str:
        if not by_folded:
            by_folded.update((known.casefold(), known) for known in context.kind_of_tag)
        same = by_folded.get(tag.casefold())
        return f" Did you mean {same}?" if same else context.meant("tag", tag, context.kind_of_tag)

    def apply(self, act: Act, context: Context) -> None:
        tags = sorted({row.tag for row in self.rows})
        items: dict[str, Item] = {}
        had: Counter[Key] = Counter()
        for chunk in chunked(tags):
            items.update(
                (item.tag, item) for item in Item.objects.filter(tag__in=chunk).select_related("kind")
            )
            recorded = Inspection.objects.filter(item__tag__in=chunk).values_list(
                "item__tag", "check_done__name", "done_on", "verdict", "by", "certificate", "note"
            )
            had.update(recorded.iterator(5000))
        checks = {(check.kind_id, check.name): check for check in Check.objects.in_force()}
        findings: list[Finding] = []
        for row in self.rows:
            if had[row.key] > 0:
                had[row.key] -= 1
                context.note(SHEET, row.row, row.tag, "unchanged")
                continue
            item = items[row.tag]
            check = checks[item.kind_id, row.check]
            findings.append(Finding(item, check, row.done_on, row.verdict, row.by, row.certificate, row.note))
            context.touched.add(item.pk)
            context.note(SHEET, row.row, row.tag, "new")
        for chunk in chunked(findings, 1000):
            context.say("writing inspections")
            record_many(act, chunk, derive=False)
