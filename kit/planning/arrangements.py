"""The arrangements that are shipped: what a flow stop of each pattern takes along.

Common practice, no source. They are a start for a depot to copy and change: the network operator's
procedure decides what is really needed, and what the equipment at hand asks for comes on top.
"""

from __future__ import annotations

from dataclasses import dataclass

from kit.planning.values import Match


@dataclass(frozen=True, slots=True)
class ShippedLine:
    """A line of a shipped arrangement: so many pieces of a kind, how they are matched, and a word on why."""

    name: str
    kind: str
    quantity: int
    match: Match = "any"
    note: str = ""


@dataclass(frozen=True, slots=True)
class ShippedArrangement:
    """A pattern of a flow stop as it is shipped, with its version. Lines are in loading order."""

    name: str
    version: int
    note: str
    lines: tuple[ShippedLine, ...]


_MOUNTED_SPARE = "One more if the spare bag goes out mounted on its tube."
_BYPASS = "Usually through two further holes outboard of the stop."
_DETECTOR = "High range, in per cent gas: an ordinary LEL sensor is overwhelmed by purge gas."

_BESIDES = (
    ShippedLine("gas detector", "gas detector", 1, note=_DETECTOR),
    ShippedLine("pump", "pump", 1),
)


def _consumables(bases: int) -> tuple[ShippedLine, ...]:
    """A seal and a cap a base and one seal more, and a pack each of what runs out on every job."""
    return (
        ShippedLine("seals", "seal", bases + 1),
        ShippedLine("caps", "cap", bases),
        ShippedLine("leak-detection fluid", "leak-detection fluid", 1),
        ShippedLine("lubricant", "lubricant", 1),
    )


SHIPPED_ARRANGEMENTS = ( ShippedArrangement( name="two-way, two bags a hole", version=1, note="Both sides
stopped, two bags through one hole a side, one spare bag that must fit every position.", lines=(
ShippedLine("bags", "bag", 5, "bore", "Two a side and one spare."), ShippedLine("bag tubes", "bag tube", 4,
note=_MOUNTED_SPARE), ShippedLine("control heads", "control head", 4, note=_MOUNTED_SPARE), ShippedLine(
"bagging heads", "bagging head", 2, "mark", "One a hole; head and base share a mark." ),
ShippedLine("noses", "nose", 2, "bore", "One a head, for the main's size."), ShippedLine("bases", "base", 2,
"mark", "One a head."), ShippedLine("vent base", "base", 1, "mark", "For the vent between the stops."),
ShippedLine("vent head", "vent head", 1), ShippedLine("vent stack", "vent stack", 1), ShippedLine("bypass
set", "bypass set", 1, note=_BYPASS), ShippedLine("gauges", "gauge", 2, note="One a side; a recorder counts
as a gauge."), *_BESIDES, ShippedLine("chain sets", "chain set", 2, note="One a head."), ShippedLine("hand
tools", "hand tool", 1), *_consumables(bases=3), ), ), ShippedArrangement( name="two-way, one bag a hole",
version=1, note="Both sides stopped, two holes a side with one bag each, one spare bag that must fit every
position.", lines=( ShippedLine("bags", "bag", 5, "bore", "One a hole and one spare."), ShippedLine("bag
tubes", "bag tube", 4, note=_MOUNTED_SPARE), ShippedLine("control heads", "control head", 4,
note=_MOUNTED_SPARE), ShippedLine( "bagging heads", "bagging head", 4, "mark", "One a hole; head and base
share a mark." ), ShippedLine("noses", "nose", 4, "bore", "One a head, for the main's size."),
ShippedLine("bases", "base", 4, "mark", "One a head; vents as the equipment is built."), ShippedLine("vent
head", "vent head", 1, note="Vents as the equipment is built."), ShippedLine("vent stack", "vent stack", 1),
ShippedLine("bypass set", "bypass set", 1, note=_BYPASS), ShippedLine("gauges", "gauge", 2, note="One a
side; a recorder counts as a gauge."), *_BESIDES, ShippedLine("chain sets", "chain set", 4, note="One a
head."), ShippedLine("hand tools", "hand tool", 1), *_consumables(bases=4), ), ), ShippedArrangement(
name="single-sided", version=1, note="One side stopped, two bags through one hole, for a main fed from that
side only; " "add a bypass set where what lies beyond has to stay on.", lines=( ShippedLine("bags", "bag",
3, "bore", "Two in the main and one spare."), ShippedLine("bag tubes", "bag tube", 2, note=_MOUNTED_SPARE),
ShippedLine("control heads", "control head", 2, note=_MOUNTED_SPARE), ShippedLine("bagging heads", "bagging
head", 1, "mark", "Head and base share a mark."), ShippedLine("noses", "nose", 1, "bore", "For the main's
size."), ShippedLine("bases", "base", 1, "mark"), ShippedLine("vent base", "base", 1, "mark", "For the vent
behind the stop."), ShippedLine("vent head", "vent head", 1), ShippedLine("vent stack", "vent stack", 1),
ShippedLine("gauges", "gauge", 1, note="A recorder counts as a gauge."), *_BESIDES, ShippedLine("chain
sets", "chain set", 1, note="One a head."), ShippedLine("hand tools", "hand tool", 1),
*_consumables(bases=2), ), ), )
"""Every arrangement that is shipped. Seals, caps, fluid and lubricant are counted kinds."""
