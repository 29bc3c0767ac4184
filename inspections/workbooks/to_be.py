"""The register as it will be once a workbook is loaded, as far as bench rows are judged by it before it is.

So that every fault of a file is found at once: the rules of its sheet Checks, and the calibrations that it brings.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import NamedTuple, Self, cast

from inspections.actions.check_specs import CheckSpec
from inspections.actions.regimes import Change, changes_of, starts_on
from inspections.gauges import CheckOfGauge, GaugeBook, RuledCheck, known_of, ruled_checks
from inspections.judge import evidence_of, last_record
from inspections.judging import Record
from inspections.models import EVER, Check
from inspections.workbooks.typed_rows import TypedRow, typed_records
from kit.models import Item, Kind
from kit.stores import NotAllowed, chunked
from kit.workbooks.cells import RowReader
from kit.workbooks.load_context import Context


class Brought(NamedTuple):
    """A calibration that the file brings; `leaves` is the verdict from then on."""

    tag: str
    check: str
    done_on: date
    leaves: str


@dataclass
class ToBe:
    """What the sheets read so far say; one for each file.

    `faulty_rules`: (kind, check in small letters) whose row in the sheet Checks has a fault; `faulty_units`: those
    whose limits for further units have one. `unclear`: tags of which a record has a fault;
    with `all_unclear` any may have.
    """

    context: Context
    specs: dict[str, list[CheckSpec]] = field(default_factory=dict)
    faulty_rules: set[tuple[str, str]] = field(default_factory=set)
    faulty_units: set[tuple[str, str]] = field(default_factory=set)
    typed: Sequence[TypedRow] = ()
    calibrations: list[Brought] = field(default_factory=list)
    unclear: set[str] = field(default_factory=set)
    all_unclear: bool = False
    _ruled: dict[str, dict[str, RuledCheck]] = field(default_factory=dict)

    @classmethod
    def of(cls, context: Context) -> Self:
        return cast(Self, context.left.setdefault("inspections to be", cls(context)))

    def is_unclear_gauge(self, tag: str) -> bool:
        """Whether a record of this gauge, or a rule of its kind, cannot be told."""
        kind = self.context.kind_of_tag.get(tag)
        return self.all_unclear or tag in self.unclear or kind is None or self.has_unclear_rules(kind)

    def has_unclear_rules(self, kind: str) -> bool:
        """Whether the rule of any check of that kind cannot be told."""
        return any(self.is_unclear(kind, check) for check in self.ruled(kind))

    def leave_unclear(self, reader: RowReader, column: str) -> None:
        """Note that a faulty row would have said something of this item."""
        if tag := reader.text(column, most=60):
            self.unclear.add(tag)

    def ruled(self, kind: str) -> dict[str, RuledCheck]:
        """The checks of a kind by name, each with the versions that it will have."""
        if kind not in self._ruled:
            self._ruled[kind] = {each.check.name: each for each in self._ruled_anew(kind)}
        return self._ruled[kind]

    def is_unclear(self, kind: str, check: str) -> bool:
        """Whether the rule of that check cannot be told, because its row in the sheet Checks has a fault."""
        return (
            kind in self.context.kinds_of_unclear_checks
            or "Checks" in self.context.unclear
            or check.casefold() in self.context.checks_of_unclear_kinds
            or (kind, check.casefold()) in self.faulty_rules
        )

    def _ruled_anew(self, name: str) -> list[RuledCheck]:
        today = self.context.today
        kind = Kind.objects.filter(name=name).first()
        specs = self.specs.get(name)
        if kind is None:
            new = Kind(name=name)
            asked = [Change(Check(kind=new, name=each.name), each.columns(new, None)) for each in specs or ()]
            return [RuledCheck(change.check, [change.version(1, EVER, today)]) for change in asked]
        now = ruled_checks([kind.pk]).get(kind.pk, [])
        if specs is None:
            return now
        try:
            changes = changes_of(kind, specs, today)
        except NotAllowed:
            return now  # its rows have faults of their own
        start = starts_on(kind, today, None)
        found = {each.check.name: each for each in now}
        for change in changes:
            had = found[change.check.name].versions if change.check.name in found else ()
            number = max((version.number for version in had), default=0) + 1
            found[change.check.name] = RuledCheck(change.check, [*had, change.version(number, start, today)])
        return list(found.values())

    def gauge_book(self, tags: Iterable[str]) -> GaugeBook:
        """How these items will have stood as gauges; those whose kind cannot be told are left out."""
        wanted = sorted(tag for tag in set(tags) if self.context.kind_of_tag.get(tag))
        items: dict[str, Item] = {}
        for chunk in chunked(wanted):
            items.update(
                (item.tag, item) for item in Item.objects.filter(tag__in=chunk).select_related("kind")
            )
        evidence = evidence_of([item.pk for item in items.values()])
        listed: dict[str, dict[str, CheckOfGauge]] = {}
        for tag in wanted:
            kind = cast(str, self.context.kind_of_tag[tag])
            item = items.setdefault(tag, Item(tag=tag, kind=Kind(name=kind)))
            if tag in self.context.item_rows:
                for column, value in self.context.item_rows[tag].details.items():
                    setattr(item, column, value)
            checks = known_of(item, self.ruled(kind).values(), evidence)
            listed[tag] = {each.ruled.check.name: each for each in checks}
        self._add_brought(listed)
        book = GaugeBook()
        for tag, known in listed.items():
            book.add(items[tag], known.values())
        return book

    def _add_brought(self, listed: dict[str, dict[str, CheckOfGauge]]) -> None:
        """Add the records of the file that the register does not have yet, in the order they will be recorded."""
        had = typed_records(sorted(listed))
        brought: list[Brought] = []
        for row in self.typed:
            if row.tag in listed:
                if had[row.key] > 0:
                    had[row.key] -= 1
                else:
                    brought.append(Brought(row.tag, row.check, row.done_on, row.verdict))
        brought += [each for each in self.calibrations if each.tag in listed]
        order = 2 * (last_record() + 1)
        for place, each in enumerate(brought):
            if each.check in listed[each.tag]:
                record = Record(each.done_on, each.leaves, order + 2 * place)  # type: ignore[arg-type]
                listed[each.tag][each.check].records.append(record)
