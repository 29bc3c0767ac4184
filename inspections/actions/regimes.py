"""Set the checks of a kind: every change is a new version, in force from a day, and old verdicts keep theirs."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from inspections.actions.check_specs import CheckSpec
from inspections.actions.rules import refuse_rule
from inspections.models import EVER, RULE_COLUMNS, Check, CheckVersion
from inspections.models.check import RuleColumns
from kit.models import Deed, Item, Kind
from kit.stores import Act, NotAllowed, chunked, refit
from kit.stores.act import canonical_for, canonical_of


@dataclass(frozen=True, slots=True)
class Change:
    """What a check is to ask for from a day on; `check` is not saved yet where the kind has none of the name."""

    check: Check
    columns: dict[str, Any]

    def version(self, number: int, start: date, today: date, **more: Any) -> CheckVersion:
        """The version that says so, not saved."""
        return CheckVersion(
            of=self.check, number=number, in_force_from=start, known_on=today, **self.columns, **more
        )


def set_checks(
    act: Act,
    kind: Kind,
    specs: Sequence[CheckSpec],
    derive: bool = True,
    *,
    from_day: date | None = None,
    why: str = "",
    shipped: bool = False,
    dropped: Collection[str] | None = None,
) -> bool:
    """Make these the checks of the kind from a day on (today). True if any differs.

    `dropped` names the checks that are asked for no more from then on; None: all that `specs` does not name. What a
    later day has in store already still comes on that day.

    A check that only came with the program gives way as if it had never been, and so does the first rule that a
    depot states for a kind: those hold for every day. With `derive` the items' due dates follow at once; the
    register loader does that itself, once, at the end. Raises NotAllowed for a check without a name, named twice or
    like the use-by date, for a rule that is none, and for a day in the past.
    """
    start = starts_on(kind, act.today, from_day, shipped)
    changes = changes_of(kind, specs, act.today, from_day, shipped, dropped)
    for change in changes:
        _write(act, change, start, why, shipped)
    if changes:
        when = "" if start <= act.today else f" from {start}"
        names = ", ".join(
            f"{change.check.name}, asked for no more" if change.columns["retired"] else change.check.name
            for change in changes
        )
        act.tell(
            Deed.RULED,
            [f"kind:{kind.name}"],
            note=f"checks of {kind}{when}: {names}" + (f" ({why})" if why else ""),
        )
        if derive:
            derive_kind(act, kind)
    return bool(changes)


def starts_on(kind: Kind, today: date, from_day: date | None, shipped: bool = False) -> date:
    """The day from which checks set today are in force (see `set_checks`)."""
    if shipped or (from_day is None and states_first_rule(kind)):
        return EVER
    return from_day or today


def states_first_rule(kind: Kind) -> bool:
    """Whether nothing but what came with the program was ever asked of the kind."""
    own = CheckVersion.objects.filter(of__kind=kind, shipped=False).exists()
    return not own and not Check.objects.filter(kind=kind, versions__isnull=True).exists()


def changes_of(
    kind: Kind,
    specs: Sequence[CheckSpec],
    today: date,
    from_day: date | None = None,
    shipped: bool = False,
    dropped: Collection[str] | None = None,
) -> list[Change]:
    """What `set_checks` would write; nothing is written here. Raises NotAllowed as it does."""
    _refuse_day(kind, today, from_day)
    start = starts_on(kind, today, from_day, shipped)
    existing = {check.name.casefold(): check for check in Check.objects.filter(kind=kind)}
    _refuse_twice(kind, [spec.name for spec in specs])
    changes = []
    for spec in specs:
        check = existing.pop(spec.name.casefold(), None)
        rule = rule_on(check, start) if check else None
        columns = spec.columns(kind, rule)
        refuse_rule(kind, spec.name, columns)
        if check is None or rule is None:
            changes.append(Change(Check(kind=kind, name=spec.name, version=0, in_force_from=EVER), columns))
        elif any(canonical_for(check, name, columns[name]) != canonical_of(rule, name) for name in columns):
            changes.append(Change(check, columns))
    gone = None if dropped is None else {name.casefold() for name in dropped}
    for name, check in existing.items():
        rule = rule_on(check, start)
        if not rule.retired and (gone is None or name in gone):
            changes.append(Change(check, columns_of(rule) | {"retired": True}))
    return changes


def rule_on(check: Check, day: date) -> RuleColumns:
    """The version of the check that is, or will be, in force on that day; the check itself before its first one."""
    begun = check.versions.filter(in_force_from__lte=day).order_by("-in_force_from", "-number")
    return begun.first() or check


def columns_of(rule: RuleColumns) -> dict[str, Any]:
    return {name: getattr(rule, name) for name in RULE_COLUMNS}


def bring_into_force(act: Act) -> None:
    """Let every check follow the version whose day has come. Called at the start of every act."""
    awaiting = CheckVersion.objects.awaiting(act.today).select_related("of__kind")
    followed: dict[int, Check] = {}
    for version in awaiting:  # in order of their days: the last one stays
        check = followed.setdefault(version.of_id, version.of)
        _follow(act, check, version)
        act.tell(
            Deed.RULED,
            [f"kind:{check.kind.name}"],
            note=f"{check.name} of {check.kind}: version {version.number}, set by {version.made_by}, is in force "
            f"from {version.in_force_from}",
        )
    for kind in {check.kind_id: check.kind for check in followed.values()}.values():
        derive_kind(act, kind)


def derive_kind(act: Act, kind: Kind) -> None:
    """Bring the due dates of all items of a kind up to date."""
    ids = list(kind.items.order_by("pk").values_list("pk", flat=True))
    for chunk in chunked(ids, 2000):
        refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))


def first_version(check: Check, **more: Any) -> CheckVersion:
    """What a check that is older than versions are asked for until now, as its first version; not saved."""
    return CheckVersion(of=check, number=1, **columns_of(check), **more)


def _write(act: Act, change: Change, start: date, why: str, shipped: bool) -> None:
    check = change.check
    if check._state.adding:
        _write_new(act, change, start, why, shipped)
        return
    last = CheckVersion.objects.filter(of=check).order_by("-number").first()
    if last is None and check.version:
        last = act.create(first_version(check, known_on=act.today, made_by=act.who.actor))
    version = act.create(
        change.version(
            last.number + 1 if last else 1,
            start,
            act.today,
            made_by=act.who.actor,
            why=why[:400],
            shipped=shipped,
        )
    )
    if check.in_force_from <= start <= act.today:
        _follow(act, check, version)


def _write_new(act: Act, change: Change, start: date, why: str, shipped: bool) -> None:
    """A check with its first version; one that is to come is not asked for yet and waits for its day."""
    begun = start <= act.today
    asked = change.columns | ({"version": 1, "in_force_from": start} if begun else {"retired": True})
    for name, value in asked.items():
        setattr(change.check, name, value)
    act.create(change.check)
    act.create(change.version(1, start, act.today, made_by=act.who.actor, why=why[:400], shipped=shipped))


def _follow(act: Act, check: Check, version: CheckVersion) -> None:
    act.change(check, version=version.number, in_force_from=version.in_force_from, **columns_of(version))


def _refuse_day(kind: Kind, today: date, from_day: date | None) -> None:
    if from_day is not None and from_day < today:
        raise NotAllowed(
            f"The checks of {kind} cannot be changed from {from_day}, which is past: the rules in force on a day "
            "judge that day. Give today or a later day."
        )


def _refuse_twice(kind: Kind, names: Sequence[str]) -> None:
    folded = [name.casefold() for name in names]
    for name in names:
        if folded.count(name.casefold()) > 1:
            raise NotAllowed(f"{name} is named twice among the checks of {kind}: once is enough.")
