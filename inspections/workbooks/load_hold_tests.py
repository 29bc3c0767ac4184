"""The sheet Hold tests: the readings of past hold tests, judged as they are at the bench."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import NamedTuple, cast

from inspections.actions import Finding, NotEvidence, record_many
from inspections.actions.hold_tests import HoldTestDone, hold_test_findings
from inspections.actions.rules import UNITS
from inspections.gauges import GaugeBook
from inspections.judging import GaugeStanding, HoldLimits, HoldTest, JudgingFault, Unit, refusals
from inspections.limits import hold_limits, version_that_judges
from inspections.models import Check, Inspection, Method
from inspections.workbooks.readings import MOST_READ, read_number
from inspections.workbooks.row_names import RowNames
from inspections.workbooks.to_be import ToBe
from kit.models import Item
from kit.stores import Act, chunked
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault
from kit.workbooks.load_context import Context
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Hold tests"
_NO_LIMITS = HoldLimits("bar")


class Key(NamedTuple):
    """All that a row says: a test is known again by it."""

    tag: str
    check: str
    done_on: date
    test: HoldTest
    gauge: str
    by: str


@dataclass(slots=True)
class _Row:
    """A row as read; what could not be read is faulty in its `reader`, and has a stand-in in `test`."""

    reader: RowReader
    tag: str
    check: str | None
    done_on: date | None
    test: HoldTest
    gauge: str
    by: str
    is_known: bool = False

    @property
    def key(self) -> Key:
        assert self.check is not None
        assert self.done_on is not None
        return Key(self.tag, self.check, self.done_on, self.test, self.gauge, self.by)


class HoldTestsLoader:
    """Rows that the register has already are not judged again; rows that say the same stand for as many tests."""

    def __init__(self) -> None:
        self.rows: list[_Row] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        names = RowNames(context)
        self.rows = [_read_row(reader, names) for reader in context.readers(sheet)]
        sound = [row for row in self.rows if row.check and row.done_on and not row.reader.faulty]
        had = _recorded({row.tag for row in sound})
        first: dict[Key, int] = {}
        for row in sound:
            if had[row.key] > 0:
                had[row.key] -= 1
                row.is_known = True
            number = row.reader.row.number
            if (seen := first.setdefault(row.key, number)) != number:
                why = f"This row says the same as row {seen}; both are kept as tests."
                context.warn(SHEET, number, "tag", row.tag, why)
        to_be = ToBe.of(context)
        new = [row for row in self.rows if not row.is_known]
        book = to_be.gauge_book(row.gauge for row in new)
        for row in new:
            _judge(row, context, to_be, names, book)

    def apply(self, act: Act, context: Context) -> None:
        items: dict[str, Item] = {}
        for chunk in chunked(sorted({tag for row in self.rows for tag in (row.tag, row.gauge)})):
            items.update(
                (item.tag, item) for item in Item.objects.filter(tag__in=chunk).select_related("kind")
            )
        checks = {
            (check.kind_id, check.name): check for check in Check.objects.in_force().select_related("kind")
        }
        new = [row for row in self.rows if not row.is_known]
        tests = [
            HoldTestDone(
                items[row.tag],
                checks[items[row.tag].kind_id, row.key.check],
                items[row.gauge],
                row.test,
                row.key.done_on,
                by=row.by,
            )
            for row in new
        ]
        findings: list[Finding] = []
        for row, found in zip(new, hold_test_findings(tests, act.today), strict=True):
            if isinstance(found, NotEvidence):
                for refusal in found.refusals:
                    context.report.faults.add(
                        Fault(SHEET, row.reader.row.number, refusal.field, None, refusal.text)
                    )
            else:
                findings.append(found)
        if context.report.faults:
            return
        for row in self.rows:
            context.note(SHEET, row.reader.row.number, row.tag, "unchanged" if row.is_known else "new")
        context.touched.update(finding.item.pk for finding in findings)
        for chunk_of_findings in chunked(findings, 1000):
            context.say("writing hold tests")
            record_many(act, chunk_of_findings, derive=False)


def _read_row(reader: RowReader, names: RowNames) -> _Row:
    tag = reader.text("tag", required=True, most=60)
    check = reader.text("check", required=True, most=80)
    done_on = names.day_done(reader)
    unit = reader.choice("unit", UNITS, required=True)
    # Below zero is refused with its unit beside it, if that can be told.
    least = -MOST_READ if unit else Decimal(0)
    start = read_number(reader, "start_pressure", least=least, required=True)
    end = read_number(reader, "end_pressure", least=least, required=True)
    minutes = read_number(reader, "minutes", least=-MOST_READ, required=True)
    start_c = read_number(reader, "start_c", least=-MOST_READ)
    end_c = read_number(reader, "end_c", least=-MOST_READ)
    gauge = reader.text("gauge", required=True, most=60)
    by = reader.text("by", most=150)
    name = names.check(reader, tag, check) if names.is_known(reader, tag) else None
    zero = Decimal(0)
    test = HoldTest(
        zero if start is None else start,
        zero if end is None else end,
        cast(Unit, unit or "bar"),
        zero if minutes is None else minutes,
        start_c,
        end_c,
    )
    return _Row(reader, tag, name, done_on, test, gauge, by)


def _judge(row: _Row, context: Context, to_be: ToBe, names: RowNames, book: GaugeBook) -> None:
    """Add a fault for each cell for which the row is no evidence, as far as it can be told."""
    reader = row.reader
    limits = _limits(row, context, to_be)
    if "unit" in reader.faulty:
        limits = HoldLimits("bar", hold_minutes=limits.hold_minutes)
    for refusal in refusals(row.test, limits, _standing(row, context, to_be, book)):
        # One temperature that cannot be read is no reason to ask for it.
        leans = refusal.field in ("start_c", "end_c") and reader.faulty & {"start_c", "end_c"}
        if refusal.field not in reader.faulty and not leans:
            unknown = refusal.field == "gauge" and row.gauge not in context.kind_of_tag
            reader.fault(refusal.field, refusal.text + (names.meant(row.gauge) if unknown else ""))


def _limits(row: _Row, context: Context, to_be: ToBe) -> HoldLimits:
    """The limits of the check on that day; none, with a fault where it is no hold test or they are no limits."""
    kind = context.kind_of_tag.get(row.tag)
    if row.check is None or kind is None or to_be.is_unclear(kind, row.check):
        return _NO_LIMITS
    ruled = to_be.ruled(kind)
    day = context.today if row.done_on is None or "done_on" in row.reader.faulty else row.done_on
    version = version_that_judges(
        ruled[row.check].versions, day, context.today, method=Method.HOLD_TEST, retired=False
    )
    if version is None:
        others = sorted(
            name
            for name, each in ruled.items()
            if any(one.method == Method.HOLD_TEST and not one.retired for one in each.versions)
        )
        mend = (
            f"name one: {', '.join(others)}."
            if others
            else "set its method and limits in the sheet Checks, or write its verdict in the sheet Inspections."
        )
        row.reader.fault("check", f"{row.check} of {kind} was no hold test on {day}: {mend}")
        return _NO_LIMITS
    try:
        limits = hold_limits(version)
        if row.test.unit != limits.unit and (kind, row.check.casefold()) in to_be.faulty_units:
            return HoldLimits("bar", hold_minutes=limits.hold_minutes)
        return limits
    except JudgingFault as fault:
        row.reader.fault("check", f"The limits of {row.check} of {kind} cannot be used. {fault}")
        return _NO_LIMITS


def _standing(row: _Row, context: Context, to_be: ToBe, book: GaugeBook) -> GaugeStanding:
    """How the gauge stood; as in calibration where that leans on what has a fault of its own."""
    sound = GaugeStanding(row.gauge, "in calibration")
    if "gauge" in row.reader.faulty:
        return sound
    if row.gauge not in context.kind_of_tag and row.gauge != row.tag and "Items" in context.unclear:
        return sound
    kind = context.kind_of_tag.get(row.gauge)
    if row.gauge in context.kind_of_tag and kind is None and row.gauge != row.tag:
        return sound
    standing = book.standing(row.gauge, row.done_on or context.today, row.tag)
    if standing.state in ("unknown", "the item itself"):
        return standing
    if standing.state == "out of calibration":
        no_day = row.done_on is None or "done_on" in row.reader.faulty
        return sound if no_day or to_be.is_unclear_gauge(row.gauge) else standing
    return sound if to_be.has_unclear_rules(cast(str, kind)) else standing


def _recorded(tags: Iterable[str]) -> Counter[Key]:
    """How many tests of these items the register has, by all that a row says of them."""
    had: Counter[Key] = Counter()
    for chunk in chunked(sorted(tags)):
        rows = Inspection.objects.filter(item__tag__in=chunk, readings__method=Method.HOLD_TEST.value)
        for tag, check, done_on, readings, gauge, by in rows.values_list(
            "item__tag", "check_done__name", "done_on", "readings", "gauge__tag", "by"
        ).iterator(2000):
            had[Key(tag, check, done_on, HoldTest.from_json(readings["test"]), gauge or "", by)] += 1
    return had
