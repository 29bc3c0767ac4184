"""The sheet Calibrations: one row a point; rows of one gauge, check, day and person are one calibration."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from typing import Literal, NamedTuple, cast

from inspections.actions import BadPoints, Finding, record_many
from inspections.actions.calibrations import CalibrationRead, calibration_findings
from inspections.actions.reviews import open_review
from inspections.actions.rules import UNITS
from inspections.judging import (
    Calibration,
    CalibrationLimits,
    JudgingFault,
    Point,
    Unit,
    calibration_faults,
    judge_calibration,
)
from inspections.limits import calibration_limits, version_that_judges
from inspections.models import Check, Inspection, Method, Verdict
from inspections.workbooks.readings import MOST_READ, read_number
from inspections.workbooks.row_names import RowNames
from inspections.workbooks.to_be import Brought, ToBe
from kit.models import Item
from kit.stores import Act, chunked
from kit.workbooks.cells import RowReader
from kit.workbooks.faults import Fault
from kit.workbooks.load_context import Context
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Calibrations"
# What a check that is no calibration lacks: it has a fault of its own.
_OF_THE_CHECK = ("accuracy_class", "span")


class Key(NamedTuple):
    """All that the rows of one calibration say, in whatever order: it is known again by it."""

    gauge: str
    check: str
    done_on: date
    by: str
    unit: str
    points: frozenset[Point]


@dataclass(slots=True)
class _Group:
    """The rows of one calibration. `faulty`: some of them cannot be read, so that it cannot be judged."""

    gauge: str
    check: str
    done_on: date
    by: str
    unit: Unit | None = None
    rows: list[RowReader] = field(default_factory=list)
    points: list[tuple[RowReader, Point]] = field(default_factory=list)
    faulty: bool = False
    is_known: bool = False

    @property
    def calibration(self) -> Calibration:
        return Calibration(self.unit or "bar", tuple(point for _, point in self.points))

    @property
    def key(self) -> Key:
        points = frozenset(point for _, point in self.points)
        return Key(self.gauge, self.check, self.done_on, self.by, self.unit or "", points)


class CalibrationsLoader:
    """A calibration that the register has already, point for point, is not judged again."""

    def __init__(self) -> None:
        self.groups: list[_Group] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        names = RowNames(context)
        to_be = ToBe.of(context)
        to_be.all_unclear |= "gauge" in sheet.unreadable
        groups: dict[tuple[str, str, date, str], _Group] = {}
        for reader in context.readers(sheet):
            _read_row(reader, names, groups)
            if reader.faulty:
                to_be.leave_unclear(reader, "gauge")
        self.groups = list(groups.values())
        had = _recorded({group.gauge for group in self.groups if not group.faulty})
        for group in self.groups:
            if not group.faulty and had[group.key] > 0:
                had[group.key] -= 1
                group.is_known = True
                continue
            _judge(group, context, to_be)
            if group.faulty:
                to_be.unclear.add(group.gauge)

    def apply(self, act: Act, context: Context) -> None:
        items: dict[str, Item] = {}
        for chunk in chunked(sorted({group.gauge for group in self.groups})):
            items.update(
                (item.tag, item) for item in Item.objects.filter(tag__in=chunk).select_related("kind")
            )
        checks = {
            (check.kind_id, check.name): check for check in Check.objects.in_force().select_related("kind")
        }
        new = [group for group in self.groups if not group.is_known]
        read = [
            CalibrationRead(
                items[group.gauge],
                checks[items[group.gauge].kind_id, group.check],
                group.calibration,
                group.done_on,
                group.by,
            )
            for group in new
        ]
        findings: list[Finding] = []
        for group, found in zip(new, calibration_findings(read, act.today), strict=True):
            if isinstance(found, BadPoints):
                for fault in found.faults:
                    row = group.rows[0] if fault.position is None else group.points[fault.position][0]
                    context.report.faults.add(Fault(SHEET, row.row.number, fault.field, None, fault.text))
            else:
                findings.append(found)
        if context.report.faults:
            return
        for group in self.groups:
            for reader in group.rows:
                outcome: Literal["new", "unchanged"] = "unchanged" if group.is_known else "new"
                context.note(SHEET, reader.row.number, group.gauge, outcome)
        context.touched.update(finding.item.pk for finding in findings)
        # In the order of their days: a look-back begins at the last good one before.
        findings.sort(key=lambda finding: finding.done_on)
        made = record_many(act, findings, derive=False)
        failed = [each for each in made if each.verdict == Verdict.FAIL]
        if failed:
            # What was tested with them may be in a sheet that is still to be written. A register's past records set
            # nothing aside: what they put in doubt is shown to a person.
            context.at_end.append(lambda act: [open_review(act, each, order=False) for each in failed])


def _read_row(reader: RowReader, names: RowNames, groups: dict[tuple[str, str, date, str], _Group]) -> None:
    gauge = reader.text("gauge", required=True, most=60)
    check = reader.text("check", required=True, most=80)
    done_on = names.day_done(reader)
    direction = reader.choice("direction", ("up", "down"), required=True)
    reference = read_number(reader, "reference", required=True)
    as_found = read_number(reader, "as_found", least=-MOST_READ)
    as_left = read_number(reader, "as_left", least=-MOST_READ)
    unit = cast("Unit | None", reader.choice("unit", UNITS, required=True))
    by = reader.text("by", most=150)
    name = names.check(reader, gauge, check) if names.is_known(reader, gauge, "gauge") else None
    if name is None or done_on is None or reader.faulty & {"done_on", "by"}:
        return
    group = groups.setdefault((gauge, name, done_on, by), _Group(gauge, name, done_on, by))
    group.rows.append(reader)
    if unit is not None and group.unit not in (None, unit):
        first = group.points[0][0].row.number if group.points else group.rows[0].row.number
        reader.fault(
            "unit",
            f"This calibration is in {group.unit} in row {first}, and one calibration is read in one unit: "
            "write all its points in that unit.",
        )
    elif unit is not None:
        group.unit = unit
    if reader.faulty or direction is None or reference is None:
        group.faulty = True
    else:
        point = Point(cast('Literal["up", "down"]', direction), reference, as_found, as_left)
        group.points.append((reader, point))


def _judge(group: _Group, context: Context, to_be: ToBe) -> None:
    """Add a fault for each cell that keeps the calibration from being judged; else note what it leaves."""
    kind = cast(str, context.kind_of_tag[group.gauge])
    if to_be.is_unclear(kind, group.check):
        group.faulty = True
        return
    version = version_that_judges(
        to_be.ruled(kind)[group.check].versions,
        group.done_on,
        context.today,
        method=Method.CALIBRATION,
        retired=False,
    )
    limits = CalibrationLimits(group.unit or "bar")
    if version is None:
        why = (
            f"{group.check} of {kind} was no calibration on {group.done_on}: set its method, accuracy_class and span "
            "in the sheet Checks, or write its verdict in the sheet Inspections."
        )
        for reader in group.rows:
            reader.fault("check", why)
    else:
        try:
            limits = calibration_limits(version)
        except JudgingFault as fault:
            group.rows[0].fault("check", f"What {group.check} of {kind} asks for cannot be used. {fault}")
            version = None
    was_faulty = group.faulty
    for position, column, text in calibration_faults(group.calibration, limits):
        if column in _OF_THE_CHECK or (position is None and was_faulty):
            continue
        reader = group.rows[0] if position is None else group.points[position][0]
        group.faulty = True
        if column not in reader.faulty:
            reader.fault(column, text)
    if version is None:
        group.faulty = True
    elif not group.faulty:
        leaves = judge_calibration(group.calibration, limits).usable_after
        to_be.calibrations.append(Brought(group.gauge, group.check, group.done_on, leaves))


def _recorded(tags: Iterable[str]) -> Counter[Key]:
    """How many calibrations of these gauges the register has, by all that rows say of them."""
    had: Counter[Key] = Counter()
    for chunk in chunked(sorted(tags)):
        rows = Inspection.objects.filter(item__tag__in=chunk, readings__method=Method.CALIBRATION.value)
        for tag, check, done_on, by, readings in rows.values_list(
            "item__tag", "check_done__name", "done_on", "by", "readings"
        ).iterator(2000):
            read = Calibration.from_json(readings["calibration"])
            had[Key(tag, check, done_on, by, read.unit, frozenset(read.points))] += 1
    return had
