"""Bores of mains from wall tables.

Sources, as values.json gives them: PE walls from EN 1555-2 / ISO 4437-2 and ductile iron diameters from EN
545 / EN 969 (both from memory), steel from ASME B36.10M by way of the library fluids 1.3.1. The tables in
the code are set apart from those in values.json on purpose: a slip of the pen in one of them shows here.
"""

import json
from decimal import Decimal
from pathlib import Path

import pytest

from kit.planning import Bore, effective_bore, nominal_bore_mm
from kit.planning.pipe_tables import DI_OD_MM, PE_WALL_MM, STEEL_40_MM

VALUES = {value["id"]: value for value in json.loads((Path(__file__).parent / "values.json").read_text())}
PE_WALLS = {
    (int(od), sdr): Decimal(str(wall))
    for od, walls in VALUES["pe-walls"]["expected"].items()
    for sdr, wall in walls.items()
}
STEEL = VALUES["steel-sch40"]["expected"]
DI_OD = VALUES["di-od"]["expected"]


@pytest.mark.parametrize(("od", "sdr"), PE_WALLS)
def test_pe_bore_is_the_outside_diameter_less_two_walls(od: int, sdr: str) -> None:
    """Source: EN 1555-2 / ISO 4437-2, from memory."""
    bore = nominal_bore_mm("PE", f"{od} mm", sdr=sdr)
    assert bore.bore_mm == od - 2 * PE_WALLS[od, sdr]
    assert "from memory" in bore.source


@pytest.mark.parametrize(("od", "sdr"), PE_WALLS)
def test_pe_walls_follow_the_rule_they_were_made_by(od: int, sdr: str) -> None:
    """Source: ISO 4065, from memory: wall = OD / (2S + 1), S of the R10 series (SDR 11: 10^0.7, SDR 17: 10^0.9).

    Rounded up to 0.1 mm; three (125 and 250 mm SDR 17, 355 mm SDR 11) are rounded down from less than 0.01 above.
    """
    ratio = {"11": 2 * 10**0.7 + 1, "17": 2 * 10**0.9 + 1, "17.6": 17.6}[sdr]
    assert -0.01 < float(PE_WALLS[od, sdr]) - od / ratio < 0.1


@pytest.mark.parametrize("nps", STEEL)
def test_steel_bore_of_schedule_40(nps: str) -> None:
    """Source: ASME B36.10M; fluids 1.3.1, to its tolerance of 0.2 mm in values.json."""
    bore = nominal_bore_mm("steel", f"{nps} in")
    assert bore.bore_mm is not None
    assert float(bore.bore_mm) == pytest.approx(STEEL[nps]["id_mm"], abs=VALUES["steel-sch40"]["tolerance"])
    given = nominal_bore_mm("Steel", f"{STEEL[nps]['od_mm']} mm", wall_mm=Decimal(str(STEEL[nps]["wall_mm"])))
    assert given.bore_mm == bore.bore_mm


@pytest.mark.parametrize("dn", DI_OD)
def test_ductile_iron_bore_from_its_diameter_and_a_given_wall(dn: str) -> None:
    """Source: EN 545 / EN 969 table of DE, from memory. The wall is made up: it depends on the class."""
    bore = nominal_bore_mm("ductile iron", f"DN{dn}", wall_mm=Decimal("6.3"))
    assert bore.bore_mm == DI_OD[dn] - Decimal("12.6")
    assert "from memory" in bore.source
    assert nominal_bore_mm("DI", dn, wall_mm=Decimal("6.3")).bore_mm == bore.bore_mm


def test_the_tables_hold_nothing_that_is_not_checked_here() -> None:
    assert {(od, sdr) for od, walls in PE_WALL_MM.items() for sdr in walls} == set(PE_WALLS)
    assert {str(nps) for nps in STEEL_40_MM} == set(STEEL)
    assert {str(dn) for dn in DI_OD_MM} == set(DI_OD)


@pytest.mark.parametrize(
    ("material", "size", "sdr", "wall_mm", "bore_mm"),
    [
        ("PE100", "180", "SDR 11", None, "147.2"),
        ("pe 80", "90mm", "17.60", None, "79.6"),
        ("MDPE", "DN180", "11", "10.7", "158.6"),
        ("steel", "DN150", None, None, "154.08"),
        ("steel", "DN 150", None, "4.5", "159.3"),
        ("steel", "150 mm", None, "4.5", "159.3"),
        ("steel", "NPS 6", None, None, "154.08"),
        ("steel", '6"', None, None, "154.08"),
        ("steel", "168,3\N{NO-BREAK SPACE}mm", None, None, "154.08"),
        ("steel", "OD 159", None, "4.5", "150.0"),
        ("ductile iron", "DN150", None, "6.0", "158.0"),
        ("ductile iron", "OD 170", None, "6.0", "158.0"),
        ("cast iron", "177 mm", None, "9.5", "158.0"),
        ("", "177", None, "9.5", "158.0"),
    ],
)
def test_sizes_as_they_are_written_on_site(
    material: str, size: str, sdr: str | None, wall_mm: str | None, bore_mm: str
) -> None:
    """Source: the tables above; arithmetic."""
    bore = nominal_bore_mm(material, size, sdr, Decimal(wall_mm) if wall_mm else None)
    assert bore.bore_mm == Decimal(bore_mm)
    assert bore.source


@pytest.mark.parametrize(
    ("material", "size", "sdr", "wall_mm", "why"),
    [
        ("PE", "180", None, None, "SDR"),
        ("PE", "180", "26", None, "listed are SDR 11 and 17"),
        ("PE", "182", "11", None, "not listed"),
        ("PE", "180", "eleven", None, "not understood"),
        ("PE", "6 in", "11", None, "No table for PE"),
        ("PE", "180", "11", "-1", "cannot be"),
        ("PE", "180", None, "95", "leaves no bore"),
        ("steel", "DN125", None, None, "DN125"),
        ("steel", "5 in", None, "6", "5 in"),
        ("steel", "6", None, None, "write its NPS or DN"),
        ("ductile iron", "DN150", None, None, "depends on its class"),
        ("ductile iron", "DN175", None, "6", "DN175"),
        ("ductile iron", "6 in", None, "6", "write its DN"),
        ("cast iron", "DN150", None, "9", "No table for cast iron"),
        ("cast iron", "177 mm", None, None, "No wall known"),
        ("PE", "about 180", "11", None, "not understood"),
        ("PE", "DN 6 in", "11", None, "not understood"),
        ("PE", " ", "11", None, "not given"),
        ("PE", "0", "11", None, "not understood"),
    ],
)
def test_what_the_tables_do_not_know_gives_a_sentence_and_no_figure(
    material: str, size: str, sdr: str | None, wall_mm: str | None, why: str
) -> None:
    """Source: none; an estimated bore would put the wrong bag on the van."""
    bore = nominal_bore_mm(material, size, sdr, Decimal(wall_mm) if wall_mm else None)
    assert (bore.bore_mm, bore.source) == (None, "")
    assert why in bore.why
    assert bore.why.endswith(".")
    assert effective_bore(None, bore, 3) == (None, "", bore.why)


def test_the_measured_bore_wins_and_a_difference_is_said() -> None:
    """Source: common practice, no source (the bag's range must cover the measured bore)."""
    nominal = nominal_bore_mm("PE", "180", "11")
    assert effective_bore(None, nominal, 3) == (Decimal("147.2"), nominal.source, None)
    assert effective_bore(Decimal("150.2"), nominal, 3) == (Decimal("150.2"), "measured", None)
    bore_mm, source, warning = effective_bore(Decimal("150.3"), nominal, 3)
    assert (bore_mm, source) == (Decimal("150.3"), "measured")
    assert warning is not None
    assert "150.3 mm" in warning
    assert "147.2 mm" in warning
    assert effective_bore(Decimal(150), Bore(None, "", "Unknown."), 3) == (Decimal(150), "measured", None)
    with pytest.raises(ValueError, match="cannot be"):
        effective_bore(Decimal(0), nominal, 3)
