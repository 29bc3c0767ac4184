"""Whether a range suits a main, and what decided: size, lining, ovality, margin, side, inside or outside."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal as D

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from kit.planning import Candidate, Line, Main, Need, draw_up, is_fit, reasons_for
from kit.planning.bore_fit import bore_mismatch, size_to_enter
from tests.counts import cases

AS_OF, LOAD, RETURN = date(2026, 11, 2), date(2026, 11, 10), date(2026, 11, 12)
BAGS = Line("bags", "bag", 2, "bore")
BAG = Candidate("BAG-1", "bag", "NORTH", bore_min_mm=D(140), bore_max_mm=D(150))
NOSE = replace(BAG, tag="NOSE-1", kind="nose", bore_min_mm=D(175), bore_max_mm=D(185), sized_by="outside")


def need(near: Main, far: Main | None = None) -> Need:
    return Need("J1", "NORTH", LOAD, RETURN, near.bore_mm, lines=(BAGS,), near=near, far=far)


MEASURED = Main(D(148), D(180), origin="measured")
NOMINAL = replace(MEASURED, origin="nominal")


def says(piece: Candidate, main: Main, far: Main | None = None, line: Line = BAGS) -> str:
    """The sentence of the reason, checked for being the only one; "" if the piece suits."""
    asked = need(main, far)
    reasons = reasons_for(piece, line, asked, AS_OF)
    assert [reason.code for reason in reasons] in ([], ["wrong-bore"])
    assert is_fit(piece, line, asked, AS_OF) is (not reasons)
    return reasons[0].text if reasons else ""


def test_with_nothing_new_recorded_the_sentences_are_those_there_were() -> None:
    old = Need("J1", "NORTH", LOAD, RETURN, D(160), lines=(BAGS,))
    assert bore_mismatch(BAG, BAGS, old) == (
        "It suits 140 to 150 mm and the main's bore is 160 mm; take another size."
    )
    assert bore_mismatch(replace(BAG, bore_min_mm=None, bore_max_mm=None), BAGS, old) == (
        "It has no bore range recorded and the main's bore is 160 mm; record its range."
    )
    assert bore_mismatch(BAG, BAGS, replace(old, bore_mm=None)) == (
        "The bore of the job's main is not known; measure it and enter it."
    )
    assert bore_mismatch(BAG, BAGS, replace(old, bore_mm=D(150))) == ""


def test_a_nominal_bore_says_so_and_what_would_help() -> None:
    text = says(BAG, replace(NOMINAL, bore_mm=D(151)))
    assert text == (
        "It suits 140 to 150 mm and the main's nominal bore is 151 mm; take another size, or measure the bore."
    )
    assert "nominal" not in says(BAG, replace(MEASURED, bore_mm=D(151)))


def test_the_margin_is_kept_at_either_end_to_the_tenth() -> None:
    for bore, margin in (("148", "2"), ("142", "2"), ("148.1", "1.9")):
        assert says(replace(BAG, bore_margin_mm=D(margin)), replace(MEASURED, bore_mm=D(bore))) == ""
    for bore in ("148.1", "141.9"):
        text = says(replace(BAG, bore_margin_mm=D(2)), replace(MEASURED, bore_mm=D(bore)))
        assert "margin of 2 mm at either end" in text
        assert "The margin decides" in text
    assert "it must cover 146.1 to 150.1 mm" in says(
        replace(BAG, bore_margin_mm=D("2.0")), replace(MEASURED, bore_mm=D("148.1"))
    )


def test_ovality_decides() -> None:
    oval = replace(MEASURED, ovality_mm=D(4))
    assert says(BAG, oval) == ""
    text = says(BAG, replace(oval, ovality_mm=D("4.2")))
    assert "out of round by 4.2 mm: 145.9 to 150.1 mm" in text
    assert "The ovality decides" in text
    both = says(replace(BAG, bore_margin_mm=D(1)), oval)
    assert "out of round by 4 mm" in both
    assert "it must cover 145 to 151 mm. The margin decides" in both


def test_a_lining_decides_where_the_bare_pipe_would_suit() -> None:
    lined = replace(NOMINAL, bore_mm=D(139), lining_mm=D(2))
    assert "less twice the lining of 2 mm. The lining decides; measure the bore" in says(BAG, lined)
    assert "lining" not in says(BAG, replace(lined, bore_mm=D(130)))


def test_the_size_decides_before_all_that_is_added_to_it() -> None:
    text = says(replace(BAG, bore_margin_mm=D(9)), replace(MEASURED, bore_mm=D(170), ovality_mm=D(3)))
    assert text == "It suits 140 to 150 mm and the main's bore is 170 mm; take another size."


@pytest.mark.parametrize(
    ("side", "near", "far", "wrong"),
    [
        ("every", 148, 149, ""),
        ("every", 148, 160, "far"),
        ("every", 160, 148, "near"),
        ("every", 160, 161, "near"),
        ("near", 148, 160, ""),
        ("near", 160, 148, "near"),
        ("far", 160, 148, ""),
        ("far", 148, 160, "far"),
    ],
)
def test_a_line_suits_the_main_of_its_side(side: str, near: int, far: int, wrong: str) -> None:
    line = replace(BAGS, side=side)  # type: ignore[arg-type]
    text = says(BAG, replace(MEASURED, bore_mm=D(near)), replace(MEASURED, bore_mm=D(far)), line)
    assert bool(text) is bool(wrong)
    if wrong:
        assert f"the main's bore on the {wrong} side is {near if wrong == 'near' else far} mm" in text


@pytest.mark.parametrize("side", ["every", "near", "far"])
def test_where_the_sides_do_not_differ_every_line_suits_the_one_main(side: str) -> None:
    line = replace(BAGS, side=side)  # type: ignore[arg-type]
    assert says(BAG, MEASURED, None, line) == ""
    assert "side" not in says(BAG, replace(MEASURED, bore_mm=D(160)), None, line)


def test_what_sits_on_the_pipe_is_compared_with_its_outside() -> None:
    assert says(NOSE, MEASURED) == ""
    assert says(replace(NOSE, bore_min_mm=D(181)), MEASURED) == (
        "It fits pipes of 181 to 185 mm outside and the main's outside diameter is 180 mm; take another size."
    )
    assert says(NOSE, replace(MEASURED, bore_mm=None)) == ""
    unknown = says(NOSE, replace(MEASURED, outside_mm=None))
    assert "outside diameter is not known; enter the material and size" in unknown
    # A lining is inside the pipe.
    assert says(NOSE, replace(NOMINAL, bore_mm=D(10), lining_mm=D(50))) == ""
    assert "The ovality decides" in says(NOSE, replace(MEASURED, ovality_mm=D(11)))
    assert "The margin decides" in says(replace(NOSE, bore_margin_mm=D(6)), MEASURED)


def test_what_must_be_entered_before_a_line_can_be_matched() -> None:
    unknown = Main(None, origin="not known")
    assert size_to_enter("inside", BAGS, need(MEASURED)) == ""
    assert size_to_enter("inside", BAGS, need(unknown)) == (
        "Enter the bore of the job's main: without it no piece can be matched to this line."
    )
    assert "outside diameter" in size_to_enter("outside", BAGS, need(unknown))
    assert size_to_enter("outside", BAGS, need(replace(MEASURED, bore_mm=None))) == ""
    assert "on the near side" in size_to_enter("inside", BAGS, need(unknown, MEASURED))
    assert size_to_enter("inside", replace(BAGS, side="far"), need(unknown, MEASURED)) == ""
    outside_only = draw_up(need(replace(MEASURED, bore_mm=None)), [replace(NOSE, kind="bag")], AS_OF)
    assert outside_only.lines[0].short == 1
    assert "Enter" not in outside_only.lines[0].remedy


TENTHS = st.integers(0, 400).map(lambda n: D(n) / 10)
SIZES = st.none() | st.integers(1, 400).map(lambda n: D(n) / 10)


@settings(max_examples=cases(400), deadline=None)
@given(
    st.tuples(SIZES, SIZES), st.none() | st.tuples(SIZES, SIZES), TENTHS, TENTHS,
    st.tuples(SIZES, SIZES), st.sampled_from(["inside", "outside"]), st.sampled_from(["every", "near", "far"]),
)  # fmt: skip
def test_a_piece_suits_when_no_diameter_with_its_margin_lies_beyond_its_range(
    near, far, ovality, margin, ends, by, side
) -> None:
    """Against the rule written out in whole numbers of twentieths of a millimetre, end by end."""
    piece = replace(BAG, bore_min_mm=ends[0], bore_max_mm=ends[1], bore_margin_mm=margin, sized_by=by)
    mains = [Main(*pair, ovality_mm=ovality) for pair in (near, far) if pair is not None]
    asked = need(mains[0], mains[1] if far is not None else None)

    def twentieths(mm: D) -> int:
        return int(mm * 20)

    def right(pair) -> bool:
        size = pair[0] if by == "inside" else pair[1]
        if size is None or None in ends:
            return False
        reach = twentieths(ovality) // 2 + twentieths(margin)
        low, high = twentieths(ends[0]), twentieths(ends[1])
        return not (twentieths(size) - reach < low or twentieths(size) + reach > high)

    sides = [near] if far is None else {"near": [near], "far": [far], "every": [near, far]}[side]
    line = replace(BAGS, side=side)
    assert (bore_mismatch(piece, line, asked) == "") is all(right(pair) for pair in sides)
