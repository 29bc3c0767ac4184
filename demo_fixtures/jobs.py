"""The jobs of the coming weeks, and the arrangement that the depots made themselves."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from demo_fixtures.depots import OSTERMERE, QUILLBY
from demo_fixtures.faults import turning_month_end
from demo_fixtures.rows import JobFactory, JobRow


@dataclass(frozen=True, slots=True)
class Main:
    """A main as the planner writes it down; its nominal bore in mm is said beside it below."""

    material: str
    size: str
    sdr: str | None
    mark: str
    wall_mm: float | None = None


PE90: Final = Main("PE", "90", "17.6", "V4")  # 79.6
PE125: Final = Main("PE", "125 mm", "17", "V4")  # 110.2
DI125: Final = Main("ductile iron", "DN125", None, "V6", 6.0)  # 132.0
PE180: Final = Main("PE", "180", "17", "V6")  # 158.6
PE180_THICK: Final = Main("PE", "180", "11", "V6")  # 147.2
STEEL6: Final = Main("steel", "6 in", None, "V6")  # 154.08
PE250: Final = Main("PE", "250", "17", "V8")  # 220.4
PE250_THICK: Final = Main("PE", "250", "11", "V8")  # 204.6
PE315: Final = Main("PE", "315", "17", "V8")  # 277.6
PE355: Final = Main("PE", "355", "17", "V8")  # 312.8

TWO_A_HOLE: Final = "two-way, two bags a hole"
ONE_A_HOLE: Final = "two-way, one bag a hole"
SINGLE: Final = "single-sided"
RECORDED: Final = "recorded two-way stop"
HEAD_UNITS: Final = "single-sided, heads made up into units"

ARRANGEMENT_COLUMNS: Final = (
    "arrangement", "line", "kind", "quantity", "match", "note", "side", "assembly", "instead",
)  # fmt: skip
_UNIT: Final = "head unit"
_PLAIN_ROWS: Final = (
    (RECORDED, "bags", "bag", 5, "bore", "Two a side and one spare."),
    (RECORDED, "bag tubes", "bag tube", 5, "any", "The spare goes out mounted."),
    (RECORDED, "control heads", "control head", 5, "any", "The spare goes out mounted."),
    (RECORDED, "bagging heads", "bagging head", 2, "mark", "One a hole; head and base share a mark."),
    (RECORDED, "noses", "nose", 2, "bore", "One a bagging head."),
    (RECORDED, "bases", "base", 3, "mark", "One a head, one for the vent between."),
    (RECORDED, "vent head", "vent head", 1, None, None),
    (RECORDED, "vent stacks", "vent stack", 2, None, "A second one where the street is narrow."),
    (RECORDED, "bypass set", "bypass set", 1, None, None),
    (RECORDED, "gauges", "gauge", 2, None, "One a side."),
    (RECORDED, "recorder", "pressure recorder", 1, None, "Runs from the first bag to the last."),
    (RECORDED, "gas detectors", "gas detector", 2, None, "High range."),
    (RECORDED, "pump", "pump", 1, None, None),
    (RECORDED, "chain sets", "chain set", 2, None, None),
    (RECORDED, "hand tools", "hand tool", 1, None, None),
    (RECORDED, "seals", "seal", 12, None, "Old mains: every joint that is opened gets a new one."),
    (RECORDED, "caps", "cap", 3, None, None),
    (RECORDED, "leak-detection fluid", "leak-detection fluid", 2, None, None),
    (RECORDED, "lubricant", "lubricant", 1, None, None),
)
_COUPLED_ROWS: Final = (
    (HEAD_UNITS, "bags", "bag", 3, "bore", "Two and one spare.", None, None, None),
    (
        HEAD_UNITS,
        "bag tubes",
        "bag tube",
        3,
        "any",
        "A pair that is mounted goes as it is.",
        None,
        None,
        None,
    ),
    (HEAD_UNITS, "control heads", "control head", 3, "any", None, None, None, None),
    (
        HEAD_UNITS,
        "bagging heads",
        "bagging head",
        2,
        "any",
        "With nose and base of its mark.",
        None,
        _UNIT,
        None,
    ),
    (HEAD_UNITS, "noses", "nose", 2, "bore", "One a bagging head.", None, _UNIT, None),
    (HEAD_UNITS, "bases", "base", 2, "any", "One a bagging head.", None, _UNIT, None),
    (
        HEAD_UNITS,
        "gauges",
        "gauge",
        2,
        None,
        "A recorder counts as a gauge.",
        None,
        None,
        "pressure recorder",
    ),
    (HEAD_UNITS, "gas detector", "gas detector", 1, None, "High range.", None, None, None),
    (HEAD_UNITS, "pump", "pump", 1, None, None, None, None, None),
    (HEAD_UNITS, "chain sets", "chain set", 2, None, None, None, None, None),
    (HEAD_UNITS, "hand tools", "hand tool", 1, None, None, None, None, None),
    (HEAD_UNITS, "seals", "seal", 3, None, None, None, None, None),
    (HEAD_UNITS, "caps", "cap", 2, None, None, None, None, None),
)
ARRANGEMENT_ROWS: Final = (*((*row, None, None, None) for row in _PLAIN_ROWS), *_COUPLED_ROWS)

CREWS: Final = {QUILLBY: ("Pike", "Tolliver"), OSTERMERE: ("Marsh", "Penhale")}
"""Two crews a depot, named after whoever leads them; they take the jobs in turn."""
PRIORITIES: Final = {"QB-106": 3, "OM-202": 2, "OM-206": 5}
"""What is more than the usual: a hospital's main, a school's, a street without a second feed."""

# Reference, site, days to loading, days out, main, bore measured, arrangement.
_PLAN: Final[tuple[tuple[str, str, int, int, Main, float | None, str], ...]] = (
    ("QB-100", "Coopers' Wharf", -5, 5, PE315, 277.1, TWO_A_HOLE),
    ("QB-101", "Weir Lane, opposite the pump house", 0, 2, PE180, 158.9, TWO_A_HOLE),
    ("QB-102", "Tanners' Rise, by number 40", 2, 2, STEEL6, 154.3, TWO_A_HOLE),
    ("QB-103", "Lantern Yard", 5, 1, PE125, None, SINGLE),
    ("QB-104", "Old Ropewalk, north end", 8, 2, PE180, 158.2, TWO_A_HOLE),
    ("QB-105", "Old Ropewalk, south end", 9, 3, STEEL6, 153.8, TWO_A_HOLE),
    ("QB-106", "Marl Pit Road", 10, 3, PE180, 159.0, TWO_A_HOLE),
    ("QB-107", "Saltway roundabout", 14, 2, PE250_THICK, 204.9, RECORDED),
    ("QB-108", "Fiddlers' Green", 18, 3, PE250, 220.0, TWO_A_HOLE),
    ("QB-109", "Candle Street 3 to 9", 22, 2, PE180_THICK, None, TWO_A_HOLE),
    ("QB-110", "Goosefield Lane", 26, 3, PE250_THICK, 204.4, TWO_A_HOLE),
    # Measured well off what the size gives: an old main, or the wrong size in the records.
    ("QB-111", "Abbot's Drove", 31, 2, PE180, 163.1, ONE_A_HOLE),
    ("QB-112", "Coopers' Wharf, second stop", 36, 3, PE315, 277.4, TWO_A_HOLE),
    ("QB-115", "Limekiln Bank", 41, 2, PE355, 313.1, HEAD_UNITS),
    ("OM-201", "Harbour Stairs", 0, 2, DI125, 132.1, ONE_A_HOLE),
    ("OM-202", "Dyke Road, at the sluice", 1, 2, PE250, 220.8, SINGLE),
    ("OM-203", "Netmakers' Row", 4, 2, PE125, 110.5, TWO_A_HOLE),
    ("OM-204", "Plover Close", 7, 2, PE250_THICK, 205.0, TWO_A_HOLE),
    ("OM-205", "Eelmarket", 8, 3, PE125, 110.1, TWO_A_HOLE),
    ("OM-206", "Beacon Hill, upper main", 9, 2, PE180, 158.4, TWO_A_HOLE),
    ("OM-207", "Customs Quay", 13, 2, PE180, 158.8, RECORDED),
    ("OM-208", "Sandpiper Walk", 16, 2, PE90, 79.9, TWO_A_HOLE),
    ("OM-209", "Mill Leat", 20, 2, STEEL6, None, SINGLE),
    ("OM-210", "Long Causeway", 24, 2, PE315, 277.9, TWO_A_HOLE),
    ("OM-211", "Beacon Hill, lower main", 29, 2, STEEL6, 154.0, TWO_A_HOLE),
)
PAST_JOB: Final = "QB-100"


def jobs(day: date) -> Iterator[JobRow]:
    """One job that began days ago, and 26 that load on `day` or later, in order of loading."""
    ends = (turning_month_end(day) - day).days
    # A bag whose label names that month is in date for the first of these to its last day, not for the second.
    turning = (
        ("QB-113", "Thatchers' Court", ends - 3, 3, PE90, 79.2, TWO_A_HOLE),
        ("QB-114", "Thatchers' Court, other side", ends + 2, 2, PE90, 79.4, TWO_A_HOLE),
    )
    for reference, site, starts, lasts, main, bore_mm, arrangement in sorted(
        (*_PLAN, *turning), key=lambda planned: (planned[2], planned[0])
    ):
        depot = QUILLBY if reference.startswith("QB") else OSTERMERE
        crews = CREWS[depot]
        details: dict[str, Any] = {"day": day, "starts": starts, "lasts": lasts, "main": main}
        yield JobFactory(
            **details,
            reference=reference,
            depot=depot,
            site=site,
            bore_mm=bore_mm,
            arrangement=arrangement,
            crew=crews[int(reference[-1]) % len(crews)],
            priority=PRIORITIES.get(reference),
        )
