"""A check as it is to be, in words that a screen, a workbook or the shipped checks bring."""

from __future__ import annotations

from dataclasses import dataclass, fields
from decimal import Decimal
from typing import Any

from inspections.models import RULE_COLUMNS, Check
from inspections.models.check import RuleColumns
from kit.models import Kind


@dataclass(frozen=True, slots=True)
class CheckSpec:
    """A check as it is to be; `interval` is an ISO 8601 duration, `after_use` None follows the kind's setting.

    What is None from `after_repair` on is left as it was, or as a new check has it by default.
    """

    name: str
    interval: str
    basis: str = "done"
    early_days: int = 0
    gates: bool = True
    source: str = ""
    after_use: bool | None = None
    after_repair: bool | None = None
    after_quarantine: bool | None = None
    after_uses: int | None = None
    after_storage: str | None = None
    grace_days: int | None = None
    procedure: str | None = None
    done_by: str | None = None
    concession_days: int | None = None
    method: str | None = None
    unit: str | None = None
    max_pressure: Decimal | None = None
    max_drop: Decimal | None = None
    hold_minutes: Decimal | None = None
    guard: Decimal | None = None
    decision: str | None = None
    accuracy_class: Decimal | None = None
    span: Decimal | None = None
    other_limits: dict[str, Any] | None = None
    form: dict[str, Any] | None = None
    mark: str | None = None
    maker: str | None = None
    batch: str | None = None
    # Names of columns to be emptied: None above means "as it was".
    emptied: frozenset[str] = frozenset()

    def columns(self, kind: Kind, before: RuleColumns | None) -> dict[str, Any]:
        """Values of the rule's columns: as said here, else as before, else by default."""
        asked = self.after_use if self.after_use is not None else self.gates and kind.check_after_use
        said = {each.name: getattr(self, each.name) for each in fields(self) if each.name in RULE_COLUMNS}
        said |= {"after_use": asked, "retired": False}
        blank = Check()
        template = before or blank
        return {
            name: getattr(blank, name)
            if name in self.emptied
            else getattr(template, name)
            if said[name] is None
            else said[name]
            for name in RULE_COLUMNS
        }


def spec_of(name: str, rule: RuleColumns) -> CheckSpec:
    """What a rule asks for, every column said."""
    said = {each.name: getattr(rule, each.name) for each in fields(CheckSpec) if each.name in RULE_COLUMNS}
    return CheckSpec(
        name, **said, emptied=frozenset(column for column, value in said.items() if value is None)
    )
