"""Which bore counts, and how it was reached: measured before nominal, lining, ovality, far side, the own table.

Common practice, no source, but for the nominal bores, which tests/published hold against theirs.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal as D

import pytest

from kit.planning import Main, OwnSize, Written, mains_of
from kit.planning.mains import same_row

PE = Written("PE", "180 mm", "SDR 11")
IRON = Written("cast iron", "6 in")
BOOK = "survey of 1987"


def told(main: Main) -> str:
    return " ".join(main.steps)


def test_without_anything_more_it_is_the_nominal_bore_and_says_that_nobody_measured() -> None:
    found = mains_of(PE, (), 3)
    assert (found.near.bore_mm, found.near.least_mm, found.near.most_mm) == (D("147.2"),) * 3
    assert (found.near.outside_mm, found.near.origin, found.far) == (180, "nominal", None)
    assert "No bore was measured" in told(found.near)
    assert "the least the standard allows" in told(found.near)
    assert found.warning is None


def test_the_measured_bore_wins() -> None:
    found = mains_of(replace(PE, bore_mm=D("146.1")), (), 3)
    assert (found.near.bore_mm, found.near.origin, found.source) == (D("146.1"), "measured", "measured")
    assert found.nominal.bore_mm == D("147.2")
    assert found.warning is None
    far_off = mains_of(replace(PE, bore_mm=D("158.6")), (), 3)
    assert "more than 3 mm apart" in (far_off.warning or "")


def test_a_lining_is_taken_off_a_nominal_bore_and_not_off_a_measured_one() -> None:
    lined = replace(PE, lining_mm=D("1.5"))
    nominal = mains_of(lined, (), 3)
    assert (nominal.near.bore_mm, nominal.near.lining_mm) == (D("144.2"), D("1.5"))
    assert "taken off twice: a bore of 144.2 mm" in told(nominal.near)
    assert "less twice the lining" in nominal.source
    measured = mains_of(replace(lined, bore_mm=D("144.0")), (), 3)
    assert (measured.near.bore_mm, measured.near.lining_mm) == (D("144.0"), 0)
    assert "takes nothing off" in told(measured.near)
    # What is measured is compared with what is left of the nominal bore.
    assert measured.warning is None
    assert mains_of(replace(lined, bore_mm=D("147.3")), (), 3).warning is not None


def test_ovality_moves_every_diameter_by_half_of_it_either_way() -> None:
    found = mains_of(replace(PE, bore_mm=D(147), ovality_mm=D(3)), (), 3).near
    assert (found.bore_mm, found.least_mm, found.most_mm) == (147, D("145.5"), D("148.5"))
    assert found.span("outside") == (D("178.5"), D("181.5"))
    assert "from 145.5 to 148.5 mm" in told(found)


def test_the_far_side_has_the_bore_that_was_measured_there() -> None:
    found = mains_of(replace(PE, far_bore_mm=D(150), ovality_mm=D(1), lining_mm=D(2)), (), 3)
    assert found.near.bore_mm == D("143.2")
    assert found.far is not None
    assert (found.far.bore_mm, found.far.least_mm, found.far.origin) == (150, D("149.5"), "measured")
    assert found.far.outside_mm == 180
    assert mains_of(PE, (), 3).far is None


@pytest.mark.parametrize(
    ("written", "why"),
    [
        (Written(), "The size of the main is not given"),
        (IRON, "No table for cast iron of 6 in"),
        (replace(PE, lining_mm=D(80)), "leaves nothing of a nominal bore"),
        (replace(PE, ovality_mm=D("147.2")), "leaves no bore of 147.2 mm"),
        (replace(PE, bore_mm=D(3), ovality_mm=D(4)), "leaves no bore of 3 mm"),
    ],
)
def test_what_gives_no_bore_says_why(written: Written, why: str) -> None:
    found = mains_of(written, (), 1000)
    assert (found.near.bore_mm, found.near.span("inside"), found.near.origin) == (None, None, "not known")
    assert why in told(found.near)
    assert why in (found.warning or "")
    assert found.source == ""


def test_an_outside_diameter_that_does_not_go_with_the_bore_is_not_believed() -> None:
    found = mains_of(replace(PE, bore_mm=D(180), far_bore_mm=D(147)), (), 3)
    assert found.near.outside_mm is None
    assert "does not go with it" in told(found.near)
    assert found.far is not None
    assert found.far.outside_mm == 180


def test_a_far_bore_below_zero_cannot_be() -> None:
    with pytest.raises(ValueError, match="cannot be"):
        mains_of(replace(PE, far_bore_mm=D(0)), (), 3)


def test_the_own_table_wins_over_the_shipped_one() -> None:
    own = (
        OwnSize("cast iron", "6 in", D("153.4"), None, None, BOOK),
        OwnSize("pe", "180", D(150), None, None, BOOK),
    )
    iron = mains_of(replace(IRON, size='6"'), own, 3)
    assert (iron.near.bore_mm, iron.near.outside_mm) == (D("153.4"), None)
    assert iron.source == f"the depot's own table: {BOOK}"
    assert mains_of(PE, own, 3).near.bore_mm == 150
    assert mains_of(replace(PE, size="200"), own, 3).near.bore_mm == D("163.6")
    assert mains_of(replace(IRON, material="Cast-Iron"), own, 3).near.bore_mm == D("153.4")
    assert mains_of(replace(IRON, material="spun iron"), own, 3).near.bore_mm is None


def test_a_row_with_outside_diameter_and_wall() -> None:
    own = (OwnSize("spun iron", "DN150", None, D("177.3"), D("9.5"), BOOK),)
    spun = Written("spun iron", "150")
    found = mains_of(spun, own, 3)
    assert (found.near.bore_mm, found.near.outside_mm) == (D("158.3"), D("177.3"))
    thinner = mains_of(replace(spun, wall_mm=D(8)), own, 3)
    assert thinner.near.bore_mm == D("161.3")
    assert "the given wall" in thinner.source
    lined = mains_of(replace(spun, lining_mm=D(6)), own, 3)
    assert lined.near.bore_mm == D("146.3")


def test_a_row_of_the_class_of_wall_is_nearer_than_one_without() -> None:
    own = (
        OwnSize("PE", "180 SDR 21", D(163), None, None, BOOK),
        OwnSize("PE", "180", D(150), None, None, BOOK),
    )
    assert mains_of(replace(PE, wall_class="21"), own, 3).near.bore_mm == 163
    assert mains_of(replace(PE, wall_class=""), own, 3).near.bore_mm == 150
    assert mains_of(PE, own, 3).near.bore_mm == 150
    assert mains_of(PE, own[:1], 3).near.bore_mm == D("147.2")


def test_rows_that_mean_the_same() -> None:
    assert same_row(("Cast iron", "6 in"), ("cast-iron", "NPS 6"))
    assert same_row(("PE", "180 SDR 11"), ("pe", "DN180, sdr11"))
    assert not same_row(("PE", "180 SDR 11"), ("PE", "180"))
    assert not same_row(("PE", "180 SDR 11"), ("PE", "180 SDR 17"))
    assert not same_row(("cast iron", "6 in"), ("spun iron", "6 in"))
    assert not same_row(("cast iron", "6 in"), ("cast iron", "DN150"))
