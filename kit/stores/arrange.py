"""Arrangements with versions: what their lines ask for, which lines make one assembly, which kinds may stand in."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from math import gcd
from typing import Any

from kit.models import Arrangement, ArrangementLine, Deed, Kind, LineSubstitute, Side
from kit.stores.act import Act, NotAllowed

MOST_INSTEAD = 9
"""How many other kinds may stand in on one line: more is no preference any more (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Instead:
    """Another kind that may fill a line where the line's own does not."""

    kind: Kind
    note: str = ""


@dataclass(frozen=True, slots=True)
class LineSpec:
    """One line of an arrangement to be: `match` is any, bore, mark or bore+mark, `side` every, near or far.

    Lines of one `assembly` are made up into units of which all pieces share a mark. `instead`: the kinds that may
    stand in, the one that is taken first named first.
    """

    name: str
    kind: Kind
    quantity: int
    match: str = "any"
    note: str = ""
    side: str = Side.EVERY
    assembly: str = ""
    instead: tuple[Instead, ...] = ()

    @property
    def asked(self) -> AskedLine:
        others = tuple(AskedKind(other.kind.name, other.kind.counted) for other in self.instead)
        kind = AskedKind(self.kind.name, self.kind.counted)
        return AskedLine(self.name, kind, self.quantity, self.assembly, others)


@dataclass(frozen=True, slots=True)
class AskedKind:
    """A kind by its name, which may not be in the register yet; `counted` None: that cannot be told."""

    name: str
    counted: bool | None


@dataclass(frozen=True, slots=True)
class AskedLine:
    """What must be known of a line to say whether its assembly and the kinds that stand in can be."""

    name: str
    kind: AskedKind
    quantity: int
    assembly: str = ""
    instead: tuple[AskedKind, ...] = ()


@dataclass(frozen=True, slots=True)
class LineFault:
    """Why a line cannot be as asked: its place (from 0), what of it ("assembly" or "instead"), and a sentence."""

    place: int
    of: str
    why: str


def faults_of(lines: Sequence[AskedLine]) -> list[LineFault]:
    """What the assemblies and substitutes of these lines cannot be, in the order of the lines. Reads nothing."""
    found = [
        LineFault(place, "instead", why)
        for place, line in enumerate(lines)
        if (why := _against_instead(line)) is not None
    ]
    members: dict[str, list[int]] = defaultdict(list)
    for place, line in enumerate(lines):
        if line.assembly:
            members[line.assembly.casefold()].append(place)
    for places in members.values():
        found.extend(_against_assembly(lines, places))
    return sorted(found, key=lambda fault: (fault.place, fault.of))


def _against_instead(line: AskedLine) -> str | None:
    seen: set[str] = set()
    for other in line.instead:
        if other.name == line.kind.name:
            return (
                f"{line.name} asks for a {other.name} already: name other kinds that may stand in, or none."
            )
        if other.name in seen:
            return f"{other.name} stands twice among what may stand in on {line.name}: name each kind once."
        if None not in (other.counted, line.kind.counted) and other.counted != line.kind.counted:
            how = "counted in lots" if other.counted else "single pieces"
            own = "counted in lots" if line.kind.counted else "single pieces"
            return (
                f"{other.name} is {how} and {line.kind.name} is {own}: "
                f"on {line.name} only a kind that is counted alike may stand in."
            )
        seen.add(other.name)
    if len(line.instead) > MOST_INSTEAD:
        return (
            f"{line.name} names {len(line.instead)} kinds that may stand in, and {MOST_INSTEAD} is the most."
        )
    return None


def _against_assembly(lines: Sequence[AskedLine], places: Sequence[int]) -> list[LineFault]:
    found = [
        LineFault(
            place,
            "assembly",
            f"{lines[place].kind.name} is counted in lots and carries no mark: leave {lines[place].name} out of the "
            f"assembly {lines[place].assembly}.",
        )
        for place in places
        if lines[place].kind.counted
    ]
    if found:
        return found
    name = lines[places[0]].assembly
    if len(places) == 1:
        why = f"{lines[places[0]].name} is the only line of the assembly {name}, so there is nothing to share a mark "
        return [
            LineFault(places[0], "assembly", f"{why}with: give another line the same name, or none here.")
        ]
    amounts = [lines[place].quantity for place in places]
    if gcd(*amounts) == 1 and min(amounts) > 1:
        listed = ", ".join(f"{lines[place].quantity} × {lines[place].name}" for place in places)
        why = (
            f"The lines of the assembly {name} make up no number of like units ({listed}): make the quantities "
            "multiples of how many units there are."
        )
        return [LineFault(places[-1], "assembly", why)]
    return []


def set_arrangement(
    act: Act, name: str, lines: Sequence[LineSpec], source: str = "", note: str = ""
) -> tuple[Arrangement, bool]:
    """The current version of the arrangement if it has these lines in this order, else a new version with them.

    Gives (arrangement, whether a version was made). Jobs keep the version they were planned with.
    """
    wanted = _spelt_alike(lines)
    if faults := faults_of([line.asked for line in wanted]):
        raise NotAllowed(" ".join(fault.why for fault in faults))
    for line in wanted:
        if line.side not in Side.values:
            raise NotAllowed(f"The side of {line.name} is {line.side!r}: write every, near or far.")
    current = Arrangement.objects.filter(name=name, current=True).first()
    if current is not None:
        if wanted == specs_of(current):
            return current, False
        act.change(current, current=False)
    made = act.create(
        Arrangement(
            name=name,
            version=current.version + 1 if current else 1,
            source=source or (current.source if current else ""),
            note=note or (current.note if current else ""),
        )
    )
    rows = act.create_many([_row(made, position, line) for position, line in enumerate(wanted, 1)])
    act.create_many(
        [
            LineSubstitute(line=row, kind=other.kind, rank=rank, note=other.note)
            for row, line in zip(rows, wanted, strict=True)
            for rank, other in enumerate(line.instead, 1)
        ]
    )
    act.tell(Deed.ARRANGED, [f"arrangement:{name}"], note=f"version {made.version}", facts=_facts(wanted))
    return made, True


def specs_of(arrangement: Arrangement) -> list[LineSpec]:
    """The lines of an arrangement as they were asked for, in order."""
    rows = arrangement.lines.select_related("kind").prefetch_related("substitutes__kind")
    return [
        LineSpec(
            row.name,
            row.kind,
            row.quantity,
            row.match,
            row.note,
            row.side,
            row.assembly,
            tuple(Instead(other.kind, other.note) for other in row.substitutes.all()),
        )
        for row in rows.order_by("position")
    ]


def _row(arrangement: Arrangement, position: int, line: LineSpec) -> ArrangementLine:
    return ArrangementLine(
        arrangement=arrangement,
        position=position,
        name=line.name,
        kind=line.kind,
        quantity=line.quantity,
        match=line.match,
        side=line.side,
        assembly=line.assembly,
        note=line.note,
    )


def _spelt_alike(lines: Iterable[LineSpec]) -> list[LineSpec]:
    """An assembly is called as its first line calls it: planning tells assemblies apart letter by letter."""
    spelt: dict[str, str] = {}
    made = []
    for line in lines:
        name = " ".join(line.assembly.split())
        made.append(replace(line, assembly=spelt.setdefault(name.casefold(), name)))
    return made


def _facts(lines: Sequence[LineSpec]) -> dict[str, Any]:
    """What goes beyond kinds and quantities, for the ledger; empty where no line has any of it."""
    assemblies: dict[str, list[str]] = defaultdict(list)
    for line in lines:
        if line.assembly:
            assemblies[line.assembly].append(line.name)
    facts = {
        "sides": {line.name: line.side for line in lines if line.side != Side.EVERY},
        "assemblies": {name: " + ".join(members) for name, members in assemblies.items()},
        "instead": {
            line.name: ", then ".join(other.kind.name for other in line.instead)
            for line in lines
            if line.instead
        },
    }
    return {name: fact for name, fact in facts.items() if fact}
