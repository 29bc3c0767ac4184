"""Steel mains: outside diameters and walls by schedule.

Source: ASME B36.10M by way of the library fluids; DN of EN 10220 from memory. The table in the code was written from
memory and not from the library, so that each checks the other.
"""

import json
from decimal import Decimal
from pathlib import Path

import pytest
from fluids.piping import schedule_lookup

from kit.planning import nominal_bore_mm
from kit.planning.pipe_tables_steel import EN_OD_MM, NPS_OF_DN, STEEL_OD_MM, STEEL_WALL_MM
from kit.planning.written_sizes import plain

VALUES = {value["id"]: value for value in json.loads((Path(__file__).parent / "values.json").read_text())}
SCH_40 = VALUES["steel-sch40"]["expected"]
LISTED = [(nps, schedule) for nps, walls in STEEL_WALL_MM.items() for schedule in walls]
SCHEDULES = ("10", "20", "30", "STD", "40", "60", "XS", "80")


def in_library(schedule: str) -> dict[float, tuple[float, float]]:
    """NPS -> (outside diameter, wall) in mm of a schedule."""
    sizes, _inside, outside, walls = schedule_lookup[schedule][:4]
    return {size: (od, wall) for size, od, wall in zip(sizes, outside, walls, strict=True)}


@pytest.mark.parametrize(("nps", "schedule"), LISTED, ids=lambda value: str(value))
def test_diameter_and_wall_are_those_of_the_library(nps: Decimal, schedule: str) -> None:
    """Source: ASME B36.10M by fluids; to 0.01 mm of wall, 0.1 mm of diameter (273.0 and 273.1 are both printed)."""
    od, wall = in_library(schedule)[float(nps)]
    assert float(STEEL_OD_MM[nps]) == pytest.approx(od, abs=0.1)
    assert float(STEEL_WALL_MM[nps][schedule]) == pytest.approx(wall, abs=0.01)


@pytest.mark.parametrize("schedule", SCHEDULES)
def test_no_wall_of_a_size_up_to_24_in_is_left_out(schedule: str) -> None:
    """Source: ASME B36.10M by fluids."""
    known = {size for size in in_library(schedule) if 0.5 <= size <= 24}
    assert {float(nps) for nps, walls in STEEL_WALL_MM.items() if schedule in walls} == known


@pytest.mark.parametrize("nps", SCH_40)
def test_bore_of_schedule_40_is_taken_where_nothing_is_said(nps: str) -> None:
    """Source: values.json, to its tolerance of 0.2 mm."""
    bore = nominal_bore_mm("steel", f"{nps} in")
    assert bore.bore_mm is not None
    assert float(bore.bore_mm) == pytest.approx(SCH_40[nps]["id_mm"], abs=VALUES["steel-sch40"]["tolerance"])
    assert "taken for granted" in bore.why
    assert nominal_bore_mm("steel", f"{nps} in", "sch 40").bore_mm == bore.bore_mm
    given = nominal_bore_mm(
        "Steel", f"{SCH_40[nps]['od_mm']} mm", wall_mm=Decimal(str(SCH_40[nps]["wall_mm"]))
    )
    assert (given.bore_mm, given.outside_mm) == (bore.bore_mm, Decimal(str(SCH_40[nps]["od_mm"])))


@pytest.mark.parametrize("dn", NPS_OF_DN)
def test_a_dn_that_is_another_pipe_in_each_standard_is_asked_back(dn: int) -> None:
    """Source: EN 10220 series 1 (DN65: 76.1 mm, DN125: 139.7 mm) from memory; ASME B36.10M."""
    bore = nominal_bore_mm("steel", f"DN{dn}", wall_mm=Decimal("2.5"))
    if dn in (65, 125):
        assert bore.bore_mm is None
        assert f"{EN_OD_MM[dn]} mm outside by EN 10220" in bore.why
        by_schedule = nominal_bore_mm("steel", f"DN{dn}", "sch 40")
        assert by_schedule.outside_mm == STEEL_OD_MM[NPS_OF_DN[dn]]
    else:
        assert bore.outside_mm == STEEL_OD_MM[NPS_OF_DN[dn]]
        assert abs(bore.outside_mm - EN_OD_MM.get(dn, bore.outside_mm)) < Decimal("0.5")
        assert plain(NPS_OF_DN[dn]) in bore.why
