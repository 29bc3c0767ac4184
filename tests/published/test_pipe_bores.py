"""Sizes of mains as they are written on site, and sentences where nothing gives a bore.

The figures behind them are held against their sources in test_pipe_pe.py, test_pipe_steel.py and test_pipe_iron.py.
"""

from decimal import Decimal

import pytest

from kit.planning import Bore, effective_bore, nominal_bore_mm
from kit.planning.written_sizes import same_class, size_key, split_size


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
        ("steel", "6 in", "XS", None, "146.36"),
        ("steel", "DN150", "sch. 80", None, "146.36"),
        ("steel", "8 in", "20", None, "206.40"),
        ("steel", "DN200", "Schedule 30", None, "205.02"),
        ("steel", "1 1/2 in", "STD", None, "40.94"),
        ("steel", '1/2"', None, None, "15.76"),
        ("steel", "2.5 in", "40", None, "62.68"),
        ("steel", "DN125", "sch 40", None, "128.20"),
        ("steel", "OD 139.7", None, "4", "131.7"),
        ("steel", "6 in", "SDR 11", "4.5", "159.3"),
        ("ductile iron", "DN150", None, "6.0", "158.0"),
        ("ductile iron", "OD 170", None, "6.0", "158.0"),
        ("ductile iron", "DN150", "K9", None, "158.0"),
        ("ductile iron", "150", "k 9", None, "158.0"),
        ("ductile iron", "OD 170", "class C40", None, "161.0"),
        ("ductile iron", "DN500", "C30", None, "517.0"),
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
        ("PE", "180", "33", None, "listed are SDR 9, 11, 13.6, 17, 17.6, 21 and 26"),
        ("PE", "180", "K9", None, "write it like 11 or SDR 17.6"),
        ("PE", "400", "17.6", None, "No wall known"),
        ("PE", "182", "11", None, "not listed"),
        ("PE", "180", "eleven", None, "not understood"),
        ("PE", "6 in", "11", None, "No table for PE"),
        ("PE", "180", "11", "-1", "cannot be"),
        ("PE", "180", None, "95", "leaves no bore"),
        ("steel", "DN125", None, None, "139.7 mm outside by EN 10220 and 141.3 mm by ASME"),
        ("steel", "7 in", None, "6", "7 in"),
        ("steel", "6", None, None, "write its NPS or DN"),
        ("steel", "1 6", None, None, "not understood"),
        ("steel", "1/0 in", None, None, "not understood"),
        ("steel", "6 in", "20", None, "schedule 20 (listed are 10, STD, 40, XS and 80)"),
        ("steel", "6 in", "SDR 11", None, "write it like sch 40, STD or XS"),
        ("steel", "OD 323.9", None, None, "enter the wall"),
        ("steel", "22 in", None, None, "schedule 40"),
        ("ductile iron", "DN150", "C30", None, "No wall known for ductile iron DN150 of class C30"),
        ("ductile iron", "DN150", "11", None, "write it like K9 or C40"),
        ("ductile iron", "DN150", "K90", None, "No wall known"),
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


@pytest.mark.parametrize(
    ("material", "size", "outside_mm"),
    [
        ("PE", "180", 180),
        ("steel", "OD 159", 159),
        ("ductile iron", "DN150", 170),
        ("cast iron", "OD 177", 177),
        ("cast iron", "150", None),
        ("steel", "DN65", None),
        ("steel", "7 in", None),
    ],
)
def test_the_outside_may_be_known_where_the_bore_is_not(
    material: str, size: str, outside_mm: int | None
) -> None:
    """Source: the tables; a bare number of a pipe without a table is a name, not a diameter."""
    bore = nominal_bore_mm(material, size)
    assert bore.bore_mm is None
    assert bore.outside_mm == outside_mm


def test_one_size_written_in_several_ways() -> None:
    """Source: none."""
    assert len({size_key(text) for text in ("6 in", '6"', "NPS 6", "6 inches")}) == 1
    assert len({size_key(text) for text in ("150", "DN150", "dn 150", "150 mm", "150.0")}) == 1
    assert len({size_key(text) for text in ("150", "OD 150", "6 in", "Two-Bell ", "two-bell x")}) == 5
    assert split_size("180 SDR 21") == ("180", "SDR 21")
    assert split_size("6 in, STD") == ("6 in", "STD")
    assert split_size("6 in") == ("6 in", "")
    assert split_size("1 1/2 in") == ("1 1/2 in", "")
    assert split_size("180 21") == ("180 21", "")
    assert same_class("SDR11", "11")
    assert same_class("old pattern", "Old  Pattern")
    assert not same_class("SDR 11", "sch 11")
    assert not same_class("SDR 11", "SDR 17")
    assert size_key("1 1/2 in") == size_key("1  1/2 in") == size_key("1.5 in") == size_key("NPS 1,5")
