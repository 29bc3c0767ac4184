"""Changes in sentences, as a stores person acts on them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from kit.planning.refusal.changes import Change, Purchase, Refusal, Sizing, WayOut

if TYPE_CHECKING:
    from kit.planning.kit_list import KitList

MOST_TOLD = 8
"""How many changes a sentence names; the rest is counted."""


def change_text(change: Change) -> str:
    """A change as part of a sentence, from its verb on."""
    by = f" by {change.by}" if change.by else ""
    match change.what:
        case "inspect":
            checks = f" ({', '.join(change.checks)})" if change.checks else ""
            return f"inspect {change.tag}{checks}{by}"
        case "bring" if change.lead_days is None:
            return (
                f"bring {change.tag} from {change.depot} in time, leaving{by} at the latest (no way from there is "
                "recorded: ask how long it takes)"
            )
        case "bring":
            return f"bring {change.tag} from {change.depot}, leaving{by}"
        case "hurry":
            where = f" from {change.depot}" if change.depot else ""
            due = f", expected on {change.due_here}" if change.due_here else ""
            return f"have {change.tag}, on its way{where}{due}, here{by}"
        case "release":
            return (
                f"have {change.tag} released from quarantine{by}, which is for another person than set it aside "
                "to decide"
            )
        case "move":
            n = abs(change.days)
            way = "earlier" if change.days < 0 else "later"
            frees = f", which frees {_listed(change.frees)}" if change.frees else ""
            return f"load {change.tag} {n} day{'s' if n > 1 else ''} {way}, on {change.load_on}{frees}"


def purchase_text(each: Purchase) -> str:
    """What to ask for, as part of a sentence: "2 x bag covering 160 to 170 mm, fit through 2026-12-08"."""
    kinds = " or ".join((each.kind, *each.or_kinds))
    parts = [f"{each.quantity} x {kinds}"]
    if each.sizes:
        parts.append("covering " + " and ".join(_size_text(size) for size in each.sizes))
    if each.mark:
        parts.append(f"of mark {each.mark}")
    if each.mark_of:
        parts.append(f"of the mark of its unit ({each.mark_of})")
    return f"{' '.join(parts)}, fit through {each.through}"


def _size_text(size: Sizing) -> str:
    sort = " outside" if size.by == "outside" else " bore"
    where = f" on the {size.where} side" if size.where else ""
    span = f"{size.least_mm}" if size.least_mm == size.most_mm else f"{size.least_mm} to {size.most_mm}"
    return f"{span} mm{sort}{where}"


def way_text(way: WayOut, later: date | None) -> str:
    """The whole way as sentences; `later`: a loading day on which nothing of it would be needed."""
    if way.enter:
        return " ".join(way.enter)
    parts = [change_text(change) for change in way.changes[:MOST_TOLD]]
    if left := len(way.changes) - len(parts):
        parts.append(f"make {left} more change{'s' if left > 1 else ''}")
    if way.buy:
        rest = " the rest:" if way.changes else ""
        parts.append(f"buy or borrow{rest} " + " and ".join(purchase_text(each) for each in way.buy))
    said = _joined(parts)
    if later is not None:
        said = f"{said}; or load on {later} or later" if said else f"load on {later} or later"
    return f"{said[:1].upper()}{said[1:]}." if said else ""


def with_remedies(kit: KitList, refusal: Refusal) -> KitList:
    """The kit list with the fewest changes as the remedy of each short line."""
    return replace(
        kit,
        lines=tuple(
            replace(line, remedy=way_text(refusal.lines[line.line.name], line.soonest))
            if line.line.name in refusal.lines
            else line
            for line in kit.lines
        ),
    )


def _joined(parts: Sequence[str]) -> str:
    return "; ".join((*parts[:-2], " and ".join(parts[-2:]))) if parts else ""


def _listed(tags: Iterable[str]) -> str:
    listed = list(tags)
    return " and ".join(part for part in (", ".join(listed[:-1]), listed[-1]) if part)
