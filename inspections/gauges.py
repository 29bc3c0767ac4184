"""Whether a gauge was in calibration on a day: for one test at the bench, or for thousands in a workbook."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import NamedTuple, Self

from django.utils import timezone

from inspections.judge import Evidence, Regime, evidence_of
from inspections.judging import Call, Due, Extension, GaugeStanding, Record, due_under
from inspections.limits import in_force
from inspections.models import EVER, Check, CheckVersion, Method
from kit.models import Item, State

# How a kind is known for one that measures where no check of it has the method calibration yet.
_WORDS_OF_MEASURING = ("gauge", "manometer", "calibrat", "kalibr")


class RuledCheck(NamedTuple):
    """A check with every version of its rule, saved or to be."""

    check: Check
    versions: Sequence[CheckVersion]


@dataclass(slots=True)
class CheckOfGauge:
    """One check of a gauge's kind, and what is known of it there."""

    item: Item
    ruled: RuledCheck
    records: list[Record] = field(default_factory=list)
    calls: list[Call] = field(default_factory=list)
    extensions: list[Extension] = field(default_factory=list)

    @property
    def calibrates(self) -> bool:
        return any(
            each.method == Method.CALIBRATION and not each.retired and each.suits(self.item)
            for each in self.ruled.versions
        )

    def gates_on(self, day: date) -> bool:
        version = in_force(self.ruled.versions, day)
        return version is not None and version.gates and not version.retired and version.suits(self.item)

    def due_on(self, day: date) -> Due | None:
        """When it is due as seen on `day`; None if it was not asked of the gauge then."""
        versions = Regime(*self.ruled).versions_for(self.item)
        if self.calibrates and min(each.in_force_from for each in versions) > day:
            # What was done before the first rule is judged by the first.
            first = min(versions, key=lambda each: each.in_force_from)
            versions = [replace(first, in_force_from=EVER), *versions]
        return due_under(versions, self.records, self.calls, self.extensions, day)


class GaugeBook:
    """Gauges by tag with the checks asked of them; says how each stood on a day. Reads nothing itself."""

    def __init__(self) -> None:
        self._kinds: dict[str, tuple[str, bool]] = {}
        self._checks: dict[str, list[CheckOfGauge]] = {}
        self._found: dict[tuple[str, date], GaugeStanding] = {}

    @classmethod
    def of(cls, gauges: Iterable[Item]) -> Self:
        """The book of these items, from what is recorded: a fixed number of queries per 5,000 items."""
        book = cls()
        items = {item.pk: item for item in gauges}
        ruled = ruled_checks(item.kind_id for item in items.values())
        evidence = evidence_of(list(items))
        for item in items.values():
            book.add(item, known_of(item, ruled.get(item.kind_id, ()), evidence))
        return book

    def add(self, item: Item, checks: Iterable[CheckOfGauge]) -> None:
        """Enter an item with the checks of its kind."""
        listed = list(checks)
        self._kinds[item.tag] = (item.kind.name, measures(item.kind.name, [each.ruled for each in listed]))
        self._checks[item.tag] = listed

    def standing(self, tag: str, day: date, of: str) -> GaugeStanding:
        """How the gauge `tag` stood on `day`, up to and with it, for a test of the item `of` (both tags)."""
        if not tag:
            return GaugeStanding("", "missing")
        if tag == of:
            return GaugeStanding(tag, "the item itself")
        if tag not in self._kinds:
            return GaugeStanding(tag, "unknown")
        kind, is_gauge = self._kinds[tag]
        if not is_gauge:
            return GaugeStanding(
                tag,
                "not to be used",
                why=f"{tag} is a {kind}, and no check of a {kind} is a calibration; write the tag of the gauge.",
            )
        key = (tag, day)
        if key not in self._found:
            self._found[key] = _in_calibration(tag, self._checks[tag], day)
        return self._found[key]


def gauge_standing(gauge: Item | None, day: date, item: Item) -> GaugeStanding:
    """How one gauge stood on `day` for a test of `item`; for a test of today, whether it may be used at all, too."""
    if gauge is None:
        return GaugeStanding("", "missing")
    standing = GaugeBook.of([gauge]).standing(gauge.tag, day, item.tag)
    return usable_now(gauge, standing) if day == timezone.localdate() else standing


def usable_now(gauge: Item | None, standing: GaugeStanding) -> GaugeStanding:
    """`standing`, unless the gauge is set aside, withdrawn or lost as it is now: nobody tests with such a one."""
    if gauge is None or standing.state != "in calibration" or gauge.state == State.AVAILABLE:
        return standing
    why = f"Gauge {gauge.tag} is {gauge.get_state_display().lower()}; test again with one that is available."
    return GaugeStanding(gauge.tag, "not to be used", why=why)


def measures(kind: str, checks: Sequence[RuledCheck]) -> bool:
    """Whether items of a kind with these checks may serve as the gauge of a test."""
    if any(version.method == Method.CALIBRATION for each in checks for version in each.versions):
        return True
    names = [kind.casefold(), *(each.check.name.casefold() for each in checks)]
    return any(word in name for word in _WORDS_OF_MEASURING for name in names)


def ruled_checks(kind_ids: Iterable[int]) -> dict[int, list[RuledCheck]]:
    """All checks of these kinds, with their versions."""
    ids = set(kind_ids)
    versions: dict[int, list[CheckVersion]] = {}
    for version in CheckVersion.objects.filter(of__kind_id__in=ids):
        versions.setdefault(version.of_id, []).append(version)
    found: dict[int, list[RuledCheck]] = {}
    for check in Check.objects.filter(kind_id__in=ids).order_by("name"):
        found.setdefault(check.kind_id, []).append(RuledCheck(check, versions.get(check.pk, ())))
    return found


def known_of(item: Item, ruled: Iterable[RuledCheck], evidence: Evidence) -> list[CheckOfGauge]:
    """The checks of an item's kind, each with what is recorded of it there."""
    return [
        CheckOfGauge(
            item,
            each,
            list(evidence.records.get((item.pk, each.check.pk), ())),
            evidence.calls_for(item.pk, each.check.pk),
            list(evidence.extensions.get((item.pk, each.check.pk), ())),
        )
        for each in ruled
    ]


def _in_calibration(tag: str, checks: Sequence[CheckOfGauge], day: date) -> GaugeStanding:
    """By its calibrations; by all checks that gate on that day where its kind has none that is one by method."""
    counted = [each for each in checks if each.calibrates] or [each for each in checks if each.gates_on(day)]
    dues = [due for each in counted if (due := each.due_on(day)) is not None]
    if not dues:
        # Calibrations that are no longer asked for leave the checks that gate.
        dues = [due for each in checks if each.gates_on(day) and (due := each.due_on(day)) is not None]
    out = [due for due in dues if not due.in_date_on(day)]
    if dues and not out:
        return GaugeStanding(tag, "in calibration")
    if not dues or any(due.status == "never" for due in out):
        return GaugeStanding(tag, "out of calibration")
    return GaugeStanding(tag, "out of calibration", min(_first_day_out(due) for due in out))


def _first_day_out(due: Due) -> date:
    assert due.due_on is not None
    return due.due_on if due.status == "failed" or due.note else due.due_on + timedelta(days=1)
