"""The sheet Inspections: past records of items in the register or in the same workbook."""

from __future__ import annotations

from inspections.actions import Finding, record_many
from inspections.models import Check, Verdict
from inspections.workbooks.row_names import RowNames
from inspections.workbooks.to_be import ToBe
from inspections.workbooks.typed_rows import Key, TypedRow, typed_records
from kit.models import Item
from kit.stores import Act, chunked
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault
from kit.workbooks.load_context import Context
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Inspections"


class InspectionsLoader:
    """A record is known again by all that its row says; rows that say the same stand for as many records."""

    def __init__(self) -> None:
        self.rows: list[TypedRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        names = RowNames(context)
        to_be = ToBe.of(context)
        to_be.all_unclear |= "tag" in sheet.unreadable
        to_be.typed = self.rows
        first: dict[Key, int] = {}
        for reader in context.readers(sheet):
            row = self._read_row(reader, context, names)
            if reader.faulty:
                to_be.leave_unclear(reader, "tag")
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
    def _read_row(reader: RowReader, context: Context, names: RowNames) -> TypedRow | None:
        tag = reader.text("tag", required=True, most=60)
        check = reader.text("check", required=True, most=80)
        done = names.day_done(reader)
        verdict = reader.choice("verdict", Verdict.values, required=True)
        by = reader.text("by", most=150)
        certificate = reader.text("certificate", most=120)
        note = reader.text("note", most=500)
        if not names.is_known(reader, tag):
            return None
        name = names.check(reader, tag, check)
        if name is None or done is None or verdict is None:
            return None
        return TypedRow(reader.row.number, tag, name, done, verdict, by, certificate, note)

    def apply(self, act: Act, context: Context) -> None:
        tags = sorted({row.tag for row in self.rows})
        items: dict[str, Item] = {}
        for chunk in chunked(tags):
            items.update(
                (item.tag, item) for item in Item.objects.filter(tag__in=chunk).select_related("kind")
            )
        had = typed_records(tags)
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
        for some in chunked(findings, 1000):
            context.say("writing inspections")
            record_many(act, some, derive=False)
