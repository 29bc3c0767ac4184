"""Ductile iron mains: outside diameter, wall by class, cement lining.

Sources: values.json (EN 545 / EN 969, from memory); EN 545:2002 rule of K classes, from memory; EN 545:2010 least walls
of pressure classes, typed from a pipe maker's public leaflet on that edition, and its tolerance of (1.3 + 0.001 DN) mm.
"""

import json
import math
from decimal import Decimal
from pathlib import Path

import pytest

from kit.planning import nominal_bore_mm
from kit.planning.pipe_tables_iron import DI_OD_MM, DI_PRESSURE_WALL_MM, cement_lining_mm, k_wall_mm

VALUES = {value["id"]: value for value in json.loads((Path(__file__).parent / "values.json").read_text())}
KNOWN_OD = VALUES["di-od"]["expected"]
LEAST_C40_MM = {80: 3.0, 100: 3.0, 125: 3.0, 150: 3.0, 200: 3.1, 250: 3.9, 300: 4.6}
LEAST_C30_MM = {400: 4.8, 500: 5.6, 600: 6.7}
LEAFLET_OD = {700: 738, 800: 842, 900: 945, 1000: 1048}


@pytest.mark.parametrize("dn", KNOWN_OD)
def test_bore_from_its_diameter_and_a_given_wall(dn: str) -> None:
    """Source: values.json. The wall is made up: it depends on the class."""
    bore = nominal_bore_mm("ductile iron", f"DN{dn}", wall_mm=Decimal("6.3"))
    assert bore.bore_mm == KNOWN_OD[dn] - Decimal("12.6")
    assert bore.outside_mm == KNOWN_OD[dn]
    assert "from memory" in bore.source
    assert nominal_bore_mm("DI", dn, wall_mm=Decimal("6.3")).bore_mm == bore.bore_mm


def test_diameters_above_dn600() -> None:
    """Source: a pipe maker's public leaflet on EN 545:2010."""
    assert {dn: od for dn, od in DI_OD_MM.items() if dn > 600} == LEAFLET_OD


@pytest.mark.parametrize(
    ("dn", "k", "wall"),
    [
        *(
            (80, 9, "6.0"),
            (150, 9, "6.0"),
            (200, 9, "6.3"),
            (250, 9, "6.8"),
            (300, 9, "7.2"),
            (350, 9, "7.7"),
        ),
        *((400, 9, "8.1"), (450, 9, "8.6"), (500, 9, "9.0"), (600, 9, "9.9"), (1000, 9, "13.5")),
        (200, 10, "7.0"),
    ],
)
def test_wall_of_a_k_class(dn: int, k: int, wall: str) -> None:
    """Source: EN 545:2002 K9 table, from memory; its rule K (0.5 + 0.001 DN), 6 mm at least."""
    assert k_wall_mm(dn, k) == Decimal(wall)
    assert float(k_wall_mm(dn, k)) == pytest.approx(max(6, k * (0.5 + 0.001 * dn)), abs=0.0501)
    bore = nominal_bore_mm("ductile iron", f"DN {dn}", f"K{k}")
    assert bore.bore_mm == DI_OD_MM[dn] - 2 * Decimal(wall)
    assert f"class K{k}" in bore.why


@pytest.mark.parametrize(
    ("name", "least"), [("C40", LEAST_C40_MM), ("C30", LEAST_C30_MM)], ids=["C40", "C30"]
)
def test_nominal_wall_of_a_pressure_class_is_the_least_and_the_tolerance(name: str, least: dict) -> None:
    """Source: EN 545:2010 least walls and tolerance; least walls are printed to 0.1 mm, so 0.1 mm is let pass."""
    for dn, least_mm in least.items():
        nominal_mm = float(DI_PRESSURE_WALL_MM[name][dn])
        assert -0.001 < nominal_mm - (least_mm + 1.3 + 0.001 * dn) < 0.101, dn
        assert nominal_bore_mm("DI", f"DN{dn}", name).bore_mm == DI_OD_MM[dn] - 2 * Decimal(str(nominal_mm))


@pytest.mark.parametrize("name", DI_PRESSURE_WALL_MM)
def test_least_wall_of_a_pressure_class_stands_its_pressure(name: str) -> None:
    """Source: EN 545:2010: PFA = 20 e Rm / (D SF) bar, e the least wall, D the mean diameter, Rm = 420 MPa, SF = 3.

    The class is the PFA in bar of flexible joints. From memory.
    """
    for dn, nominal_mm in DI_PRESSURE_WALL_MM[name].items():
        least_mm = float(nominal_mm) - (1.3 + 0.001 * dn)
        pfa_bar = 20 * least_mm * 420 / ((float(DI_OD_MM[dn]) - least_mm) * 3)
        assert math.floor(pfa_bar + 0.5) >= int(name[1:]), dn


@pytest.mark.parametrize(("dn", "mm"), [(80, 4), (300, 4), (350, 5), (600, 5), (700, 6), (1000, 6)])
def test_cement_lining_is_told_and_not_taken_off(dn: int, mm: int) -> None:
    """Source: EN 545 nominal thickness, a pipe maker's public page: 4 mm to DN300, 5 mm to DN600, 6 mm to DN1200."""
    assert cement_lining_mm(dn) == mm
    bore = nominal_bore_mm("ductile iron", f"DN{dn}", "K9")
    assert f"a cement lining, {mm} mm in water pipe, is not taken off" in bore.why
    assert bore.bore_mm == DI_OD_MM[dn] - 2 * k_wall_mm(dn, 9)
