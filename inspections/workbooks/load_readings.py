"""The sheet Readings: what is read at a check, one row a reading; it replaces the form of each check that it names."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final, get_args

from inspections.actions import CheckSpec, set_checks
from inspections.actions.check_specs import spec_of
from inspections.actions.regimes import rule_on, starts_on
from inspections.judging.form_fields import Breach, FieldKind
from inspections.models import Check, Method
from inspections.reading_rows import COLUMNS, form_of_rows, is_name
from inspections.workbooks.row_names import RowNames
from inspections.workbooks.to_be import ToBe
from kit.models import Kind
from kit.stores import Act
from kit.workbooks.cells import RowReader
from kit.workbooks.load_context import Context
from kit.workbooks.load_report import RowOutcome
from kit.workbooks.register_sheet import RegisterSheet

SHEET = "Readings"
Key = tuple[str, str]
"""Kind and check, as the register spells them."""

_HEADINGS: Final[Mapping[str, str]] = {"name": "reading", "kind": "type"}
"""Headings that differ from the names in the form: a sheet's kind is a kind of item."""

_LONGEST: Final = {"label": 120, "unit": 20, "help": 500, "source": 300, "choices": 500}
_KINDS: Final = tuple(get_args(FieldKind))
_BREACHES: Final = tuple(get_args(Breach))
_LEFT: Final = "forms of checks"


@dataclass
class _OfCheck:
    """The rows of one check, in the order of the sheet; `form` once they make one, `had` is what the register has."""

    had: dict[str, Any]
    readers: list[RowReader] = field(default_factory=list)
    rows: list[dict[str, str]] = field(default_factory=list)
    faulty: bool = False
    form: dict[str, Any] = field(default_factory=dict)

    @property
    def outcome(self) -> RowOutcome:
        return "unchanged" if self.form == self.had else "changed" if self.had else "new"


def with_form(spec: CheckSpec, kind: str, context: Context) -> CheckSpec:
    """The spec of a row of the sheet Checks with the form that the sheet Readings gives it, if it does."""
    form = context.left.get(_LEFT, {}).get((kind, spec.name))
    return spec if form is None else replace(spec, form=form)


class ReadingsLoader:
    """Forms by check; what the sheet Checks sets in the same file takes them along."""

    def __init__(self) -> None:
        self.checks: dict[Key, _OfCheck] = {}

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        names = RowNames(context)
        had = {(check.kind.name, check.name): check.form for check in Check.objects.select_related("kind")}
        for reader in context.readers(sheet):
            row = _read_row(reader)
            key = _read_key(reader, context, names)
            if key is None:
                continue
            found = self.checks.setdefault(key, _OfCheck(had.get(key, {})))
            found.readers.append(reader)
            found.rows.append(row)
            found.faulty = found.faulty or bool(reader.faulty)
        for found in self.checks.values():
            if not found.faulty:
                _make_form(found)
        context.left[_LEFT] = {key: found.form for key, found in self.checks.items()}

    def apply(self, act: Act, context: Context) -> None:
        for (kind_name, name), found in self.checks.items():
            kind = Kind.objects.get(name=kind_name)
            check = Check.objects.get(kind=kind, name=name)
            rule = rule_on(check, starts_on(kind, act.today, None))
            # Nothing is written if the sheet Checks took the form along. No due date follows from what is read.
            set_checks(act, kind, [replace(spec_of(name, rule), form=found.form)], derive=False, dropped=())
            for reader, row in zip(found.readers, found.rows, strict=True):
                what = f"{kind_name}, {name}: {row['label']}"
                context.note(SHEET, reader.row.number, what, found.outcome)


def _read_row(reader: RowReader) -> dict[str, str]:
    """The row as `form_of_rows` takes it."""
    row = dict.fromkeys(COLUMNS, "")
    for name in COLUMNS:
        heading = _HEADINGS.get(name, name)
        if name in ("needed", "not_before_test", "not_after_test"):
            answer = reader.yes_no(heading)
            row[name] = "yes" if (answer if answer is not None else name == "needed") else ""
        elif name == "kind":
            row[name] = reader.choice(heading, _KINDS, required=True) or ""
        elif name == "breach":
            row[name] = reader.choice(heading, _BREACHES) or ""
        else:
            row[name] = reader.text(heading, required=name == "name", most=_LONGEST.get(name, 200))
    if not row["label"]:
        row["label"] = row["name"]
        if not is_name(row["name"]):
            row["name"] = ""  # named after what people read
    return row


def _read_key(reader: RowReader, context: Context, names: RowNames) -> Key | None:
    """The check that the row is for; None with a fault, or where it cannot be told."""
    kind = context.kind(reader)
    name = reader.text("check", required=True, most=80)
    if kind is None or not name or kind.name in context.kinds_of_unclear_checks:
        return None
    known = names.checks.get(kind.name, {})
    spelt = known.get(name.casefold())
    if spelt is None:
        if "Checks" not in context.unclear and name.casefold() not in context.checks_of_unclear_kinds:
            hint = context.meant("check", name, known.values())
            has = f" Its checks: {', '.join(sorted(known.values()))}." if known else " It has none."
            reader.fault("check", f"{kind.name} has no check {name}.{hint or has}")
        return None
    ruled = ToBe.of(context).ruled(kind.name).get(spelt)
    method = (
        max(ruled.versions, key=lambda version: version.number).method if ruled and ruled.versions else ""
    )
    if method not in ("", Method.PLAIN) and not ToBe.of(context).is_unclear(kind.name, spelt):
        reader.fault(
            "check",
            f"{spelt} of {kind.name} is a {method}, judged by its own readings: leave it out here, or make it plain "
            "in the sheet Checks.",
        )
        return None
    return kind.name, spelt


def _make_form(found: _OfCheck) -> None:
    """Put the form together, or each fault at its cell."""
    made = form_of_rows(found.rows)
    if isinstance(made, list):
        for fault in made:
            reader = found.readers[fault.row if fault.row is not None else -1]
            reader.fault(_HEADINGS.get(fault.column, fault.column), fault.sentence)
        return
    form = made.as_json()
    # A form that stays as it is goes on saying where it came from.
    found.form = found.had if {**found.had, "source": ""} == {**form, "source": ""} else form
