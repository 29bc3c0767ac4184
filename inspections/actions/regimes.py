"""Set the checks of a kind."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from inspections.judging import Interval, Rule
from inspections.models import Check
from kit.models import Deed, Item, Kind
from kit.stores import Act, NotAllowed, chunked, refit


@dataclass(frozen=True, slots=True)
class CheckSpec:
    """A check as it is to be; `interval` is an ISO 8601 duration, `after_use` None follows the kind's setting."""

    name: str
    interval: str
    basis: str = "done"
    early_days: int = 0
    gates: bool = True
    source: str = ""
    after_use: bool | None = None


def set_checks(act: Act, kind: Kind, specs: Sequence[CheckSpec], derive: bool = True) -> bool:
    """Make these the checks in force of the kind; others are retired, their records stay. True if any differs.

    With `derive` the items' due dates follow at once; the register loader does that itself, once, at the end.
    Raises NotAllowed for a check without a name, named twice or like the use-by date, and for a rule that is none.
    """
    _refuse(kind, specs)
    existing = {check.name: check for check in Check.objects.filter(kind=kind)}
    changed = False
    for spec in specs:
        after_use = spec.after_use if spec.after_use is not None else spec.gates and kind.check_after_use
        values = {
            "interval": spec.interval,
            "basis": spec.basis,
            "early_days": spec.early_days,
            "gates": spec.gates,
            "source": spec.source,
            "after_use": after_use,
            "retired": False,
        }
        check = existing.pop(spec.name, None)
        if check is None:
            act.create(Check(kind=kind, name=spec.name, **values))
            changed = True
        else:
            changed = act.change(check, **values) or changed
    for check in existing.values():
        changed = act.change(check, retired=True) or changed
    if changed:
        act.tell(
            Deed.RULED,
            [f"kind:{kind.name}"],
            note=f"checks of {kind}: {', '.join(spec.name for spec in specs) or 'none'}",
        )
        if derive:
            ids = list(kind.items.values_list("pk", flat=True))
            for chunk in chunked(ids, 2000):
                refit(act, list(Item.objects.filter(pk__in=chunk).select_related("kind")))
    return changed


def _refuse(kind: Kind, specs: Sequence[CheckSpec]) -> None:
    names = [spec.name for spec in specs]
    for spec in specs:
        if not spec.name.strip():
            raise NotAllowed(f"A check of {kind} needs a name.")
        if names.count(spec.name) > 1:
            raise NotAllowed(f"{spec.name} is named twice among the checks of {kind}: once is enough.")
        if spec.name == "use-by":
            raise NotAllowed(
                "The use-by date is kept of every item beside its checks: call the check otherwise."
            )
        if not spec.interval:
            raise NotAllowed(f"{spec.name} of {kind} needs an interval: write for example P6M (six months).")
        try:
            Rule(spec.name, Interval.parse(spec.interval), spec.basis, spec.early_days)  # type: ignore[arg-type]
        except ValueError as fault:
            raise NotAllowed(f"{spec.name} of {kind}: {fault}") from fault
