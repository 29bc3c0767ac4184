"""The arrangements that are shipped: what a flow stop of each pattern takes along.

Common practice, no source. They are a start for a depot to copy and change: the network operator's procedure
decides what is really needed, and what the equipment at hand asks for comes on top.
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


_TUBE = "One a bag in the main; one more if the spare goes out mounted."
_HEAD = "One a hole; head and base share a mark."
_NOSE = "One a bagging head, for the main's size."
_VENTS = "Vents as the equipment is built."
_BYPASS = "Usually through two further holes outboard of the stop."
_GAUGE = "One a side; a recorder counts as a gauge."
_DETECTOR = "High range, in per cent gas: an ordinary LEL sensor is overwhelmed by purge gas."
_CHAIN = "One a bagging head."


def _besides(bases: int) -> tuple[ShippedLine, ...]:
    """What every pattern takes along: seals one more than bases, a cap a base, a pack each of the rest."""
    return (
        ShippedLine("gas detector", "gas detector", 1, note=_DETECTOR),
        ShippedLine("pump", "pump", 1),
        ShippedLine("hand tools", "hand tool", 1),
        ShippedLine("seals", "seal", bases + 1),
        ShippedLine("caps", "cap", bases),
        ShippedLine("leak-detection fluid", "leak-detection fluid", 1),
        ShippedLine("lubricant", "lubricant", 1),
    )


_TWO_BAGS_A_HOLE = ShippedArrangement(
    name="two-way, two bags a hole",
    version=1,
    note="Both sides stopped, two bags through one hole a side; the spare must fit every position.",
    lines=(
        ShippedLine("bags", "bag", 5, "bore", "Two a side and one spare."),
        ShippedLine("bag tubes", "bag tube", 4, note=_TUBE),
        ShippedLine("control heads", "control head", 4, note=_TUBE),
        ShippedLine("bagging heads", "bagging head", 2, "mark", _HEAD),
        ShippedLine("noses", "nose", 2, "bore", _NOSE),
        ShippedLine("bases", "base", 2, "mark", "One a bagging head."),
        ShippedLine("vent base", "base", 1, "mark", "For the vent between the stops."),
        ShippedLine("vent head", "vent head", 1),
        ShippedLine("vent stack", "vent stack", 1),
        ShippedLine("bypass set", "bypass set", 1, note=_BYPASS),
        ShippedLine("gauges", "gauge", 2, note=_GAUGE),
        ShippedLine("chain sets", "chain set", 2, note=_CHAIN),
        *_besides(bases=3),
    ),
)

_ONE_BAG_A_HOLE = ShippedArrangement(
    name="two-way, one bag a hole",
    version=1,
    note="Both sides stopped, one bag through each of two holes a side; the spare must fit every position.",
    lines=(
        ShippedLine("bags", "bag", 5, "bore", "One a hole and one spare."),
        ShippedLine("bag tubes", "bag tube", 4, note=_TUBE),
        ShippedLine("control heads", "control head", 4, note=_TUBE),
        ShippedLine("bagging heads", "bagging head", 4, "mark", _HEAD),
        ShippedLine("noses", "nose", 4, "bore", _NOSE),
        ShippedLine("bases", "base", 4, "mark", f"One a bagging head. {_VENTS}"),
        ShippedLine("vent head", "vent head", 1, note=_VENTS),
        ShippedLine("vent stack", "vent stack", 1),
        ShippedLine("bypass set", "bypass set", 1, note=_BYPASS),
        ShippedLine("gauges", "gauge", 2, note=_GAUGE),
        ShippedLine("chain sets", "chain set", 4, note=_CHAIN),
        *_besides(bases=4),
    ),
)

_SINGLE_SIDED = ShippedArrangement(
    name="single-sided",
    version=1,
    note=(
        "One side stopped, two bags through one hole, for a main fed from that side only; "
        "add a bypass set where what lies beyond has to stay on."
    ),
    lines=(
        ShippedLine("bags", "bag", 3, "bore", "Two in the main and one spare."),
        ShippedLine("bag tubes", "bag tube", 2, note=_TUBE),
        ShippedLine("control heads", "control head", 2, note=_TUBE),
        ShippedLine("bagging heads", "bagging head", 1, "mark", _HEAD),
        ShippedLine("noses", "nose", 1, "bore", _NOSE),
        ShippedLine("bases", "base", 1, "mark", "One a bagging head."),
        ShippedLine("vent base", "base", 1, "mark", "For the vent behind the stop."),
        ShippedLine("vent head", "vent head", 1),
        ShippedLine("vent stack", "vent stack", 1),
        ShippedLine("gauges", "gauge", 1, note=_GAUGE),
        ShippedLine("chain sets", "chain set", 1, note=_CHAIN),
        *_besides(bases=2),
    ),
)

SHIPPED_ARRANGEMENTS = (_TWO_BAGS_A_HOLE, _ONE_BAG_A_HOLE, _SINGLE_SIDED)
"""Every arrangement that is shipped. Seals, caps, fluid and lubricant are counted kinds."""
