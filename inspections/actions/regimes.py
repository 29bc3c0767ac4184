"""Set the checks of a kind: every change is a new version, in force from a day, and old verdicts keep theirs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal
from typing import Any

from inspections.actions.rules import refuse_rule
from inspections.models import EVER, RULE_COLUMNS, Check, CheckVersion
from kit.models import Deed, Item, Kind
from kit.stores import Act, NotAllowed, chunked, refit
from kit.stores.act import canonical_for, canonical_of


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

    def columns(self, kind: Kind, before: Check | None) -> dict[str, Any]:
        """Values of the rule's columns: as said here, else as before, else by default."""
        asked = self.after_use if self.after_use is not None else self.gates and kind.check_after_use
        said = {each.name: getattr(self, each.name) for each in fields(self) if each.name in RULE_COLUMNS}
        said |= {"after_use": asked, "retired": False}
        template = before or Check(kind=kind, name=self.name)
        blank = Check()
        return {
            name: getattr(blank, name)
            if name in self.emptied
            else getattr(template, name)
            if said[name] is None
            else said[name]
            for name in RULE_COLUMNS
        }

    def scope(self, before: Check | None) -> dict[str, str]:
        """Which items of the kind it is asked of."""
        template = before or Check()
        return {
            name: getattr(template, name) if getattr(self, name) is None else getattr(self, name)
            for name in ("mark", "maker", "batch")
        }


def set_checks(
    act: Act,
    kind: Kind,
    specs: Sequence[CheckSpec],
    derive: bool = True,
    *,
    from_day: date | None = None,
    why: str = "",
    shipped: bool = False,
) -> bool:
    """Make these the checks of the kind from a day on (today); others are retired then. True if any differs.

    A check that only came with the program gives way as if it had never been, and so does the first rule that a
    depot states for a kind: those hold for every day. With `derive` the items' due dates follow at once; the
    register loader does that itself, once, at the end. Raises NotAllowed for a check without a name, named twice or
    like the use-by date, for a rule that is none, and for a day in the past.
    """
    _refuse(act, kind, specs, from_day)
    existing = {check.name: check for check in Check.objects.filter(kind=kind)}
    own = CheckVersion.objects.filter(of__kind=kind, shipped=False)
    ever = shipped or (from_day is None and not own.exists() and not _unversioned(kind))
    start = EVER if ever else from_day or act.today
    changed = False
    for spec in specs:
        check = existing.pop(spec.name, None)
        changed = _set(act, kind, spec, check, start, why, shipped) or changed
    for check in existing.values():
        if not _next_rule(check, start)["retired"]:
            columns = {name: getattr(check, name) for name in RULE_COLUMNS} | {"retired": True}
            _add_version(act, check, columns, start, why, shipped)
            changed = True
    if changed:
        when = "" if start <= act.today else f" from {start}"
        act.tell(
            Deed.RULED,
            [f"kind:{kind.name}"],
            note=f"checks of {kind}{when}: {', '.join(spec.name for spec in specs) or 'none'}"
            + (f" ({why})" if why else ""),
        )
        if derive:
            derive_kind(act, kind)
    return changed


def bring_into_force(act: Act) -> None:
    """Let every check follow the version whose day has come. Called at the start of every act."""
    awaiting = list(CheckVersion.objects.awaiting(act.today).select_related("of__kind"))
    kinds: dict[int, Check] = {}
    for version in awaiting:  # in order of their days: the last one stays
        check = kinds.get(version.of_id, version.of)
        _follow(act, check, version)
        kinds[version.of_id] = check
        act.tell(
            Deed.RULED,
            [f"kind:{check.kind.name}"],
            note=f"{check.name} of {check.kind}: version {version.number}, set by {version.made_by}, is in force "
            f"from {version.in_force_from}",
        )
    for kind in {check.kind for check in kinds.values()}:
        derive_kind(act, kind)


def derive_kind(act: Act, kind: Kind) -> None:
    """Bring the due dates of all items of a kind up to date."""
    ids = list(kind.items.order_by("pk").values_list("pk", flat=True))
    for chunk in chunked(ids, 2000):
        refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))


def _set(
    act: Act, kind: Kind, spec: CheckSpec, check: Check | None, start: date, why: str, shipped: bool
) -> bool:
    columns = spec.columns(kind, check)
    scope = spec.scope(check)
    if check is None:
        # One that is to come is not asked for yet: its first version waits for its day.
        now = start <= act.today
        waiting = columns if now else columns | {"retired": True}
        check = act.create(
            Check(kind=kind, name=spec.name, version=0, in_force_from=EVER, **waiting, **scope)
        )
        _add_version(act, check, columns, start, why, shipped)
        return True
    moved = act.change(check, **scope)
    rule = _next_rule(check, start)
    if all(canonical_for(check, name, columns[name]) == rule[name] for name in RULE_COLUMNS):
        return moved
    _add_version(act, check, columns, start, why, shipped)
    return True


def _next_rule(check: Check, start: date) -> dict[str, Any]:
    """The rule that would be in force on `start`, in canonical values, before anything is changed."""
    before = (
        CheckVersion.objects.filter(of=check, in_force_from__lte=start)
        .order_by("-in_force_from", "-number")
        .first()
    )
    source: Check | CheckVersion = before or check
    return {name: canonical_of(source, name) for name in RULE_COLUMNS}


def _add_version(
    act: Act, check: Check, columns: dict[str, Any], start: date, why: str, shipped: bool
) -> None:
    last = CheckVersion.objects.filter(of=check).order_by("-number").first()
    if last is None and check.version:
        # It is older than versions are: what it asked for until now becomes its first.
        asked = {name: getattr(check, name) for name in RULE_COLUMNS}
        last = act.create(
            CheckVersion(of=check, number=1, known_on=act.today, made_by=act.who.actor, **asked)
        )
    version = act.create(
        CheckVersion(
            of=check,
            number=last.number + 1 if last else 1,
            in_force_from=start,
            known_on=act.today,
            made_by=act.who.actor,
            why=why[:400],
            shipped=shipped,
            **columns,
        )
    )
    if check.in_force_from <= start <= act.today:
        _follow(act, check, version)


def _follow(act: Act, check: Check, version: CheckVersion) -> None:
    columns = {name: getattr(version, name) for name in RULE_COLUMNS}
    act.change(check, version=version.number, in_force_from=version.in_force_from, **columns)


def _unversioned(kind: Kind) -> bool:
    return Check.objects.filter(kind=kind, versions__isnull=True).exists()


def _refuse(act: Act, kind: Kind, specs: Sequence[CheckSpec], from_day: date | None) -> None:
    if from_day is not None and from_day < act.today:
        raise NotAllowed(
            f"The checks of {kind} cannot be changed from {from_day}, which is past: the rules in force on a day "
            "judge that day. Give today or a later day."
        )
    names = [spec.name for spec in specs]
    for spec in specs:
        if names.count(spec.name) > 1:
            raise NotAllowed(f"{spec.name} is named twice among the checks of {kind}: once is enough.")
        refuse_rule(kind, spec.name, spec.columns(kind, None), spec.emptied)
