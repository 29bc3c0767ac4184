"""Whether an item's range suits the main that a line works on, and what decided where it does not."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from kit.planning.mains import NOMINAL, Main, SizedBy
from kit.planning.values import Candidate, Line, Need
from kit.planning.written_sizes import plain


def bore_mismatch(candidate: Candidate, line: Line, need: Need) -> str:
    """Why the item's range does not suit the main of the line's side, as a sentence; "" if it does.

    The range must cover the least and the greatest diameter, and the kind's margin beyond them at either end. Of two
    sides that do not suit, the near one is told.
    """
    low, high, by = candidate.bore_min_mm, candidate.bore_max_mm, candidate.sized_by
    for where, main in _sides(line, need):
        if not main.suits(low, high, candidate.bore_margin_mm, by):
            return _sentence(candidate, main, where)
    return ""


def size_to_enter(by: SizedBy, line: Line, need: Need) -> str:
    """What must be entered of the job's main before any piece so sized can be matched to the line; "" if nothing."""
    for where, main in _sides(line, need):
        if main.size_mm(by) is None:
            what = f"bore of the job's main{where}"
            if by == "outside":
                what = f"material and size of the job's main, which give its outside diameter{where}"
            return f"Enter the {what}: without it no piece can be matched to this line."
    return ""


def _sides(line: Line, need: Need) -> Iterator[tuple[str, Main]]:
    """The mains that the line has to suit, each with the words that tell it from the other."""
    near = need.near or Main(need.bore_mm)
    if need.far is None:
        yield "", near
        return
    if line.side in ("every", "near"):
        yield " on the near side", near
    if line.side in ("every", "far"):
        yield " on the far side", need.far


def _sentence(candidate: Candidate, main: Main, where: str) -> str:
    outside, margin = candidate.sized_by == "outside", candidate.bore_margin_mm
    size = main.size_mm(candidate.sized_by)
    if size is None and outside:
        return (
            f"It is sized by the outside of the pipe, and the main's outside diameter{where} is not known; enter "
            "the material and size of the main, or put the size into the table of mains."
        )
    if size is None:
        return f"The bore of the job's main{where} is not known; measure it and enter it."
    nominal = main.origin == NOMINAL and not outside
    named = "outside diameter" if outside else "nominal bore" if nominal else "bore"
    is_so = f"the main's {named}{where} is {size} mm"
    low, high = candidate.bore_min_mm, candidate.bore_max_mm
    if low is None or high is None:
        return f"It has no bore range recorded and {is_so}; record its range."
    fits = f"It {'fits pipes of' if outside else 'suits'} {low} to {high} mm"
    fits += " outside" if outside else ""
    decides = _what_decides(main, candidate)
    mend = "take another size, or measure the bore" if nominal else "take another size"
    if decides == "lining":
        return (
            f"{fits} and {is_so}, less twice the lining of {main.lining_mm} mm. The lining decides; "
            "measure the bore, or take another size."
        )
    if decides == "size":
        return f"{fits} and {is_so}; {mend}."
    half = main.ovality_mm / 2
    least, most = plain(size - half), plain(size + half)
    oval = f", out of round by {main.ovality_mm} mm: {least} to {most} mm" if main.ovality_mm else ""
    if decides == "ovality":
        return (
            f"{fits} and {is_so}{oval}. The ovality decides; take a piece of wider range, or measure again."
        )
    wanted = f"{plain(size - half - margin)} to {plain(size + half + margin)}"
    return (
        f"{fits} and {is_so}{oval}. With the margin of {plain(margin)} mm at either end that its kind has, it must "
        f"cover {wanted} mm. The margin decides; take a piece of wider range."
    )


def _what_decides(main: Main, candidate: Candidate) -> str:
    """Which of size, lining, ovality and margin keeps the range from suiting: the first that must go for it to suit,
    taken off in the order margin, ovality, lining.
    """
    by, low, high = candidate.sized_by, candidate.bore_min_mm, candidate.bore_max_mm
    size = main.size_mm(by)
    if size is None or low is None or high is None:
        return "size"
    if main.suits(low, high, Decimal(0), by):
        return "margin"
    if low <= size <= high:
        return "ovality"
    unlined = size + 2 * main.lining_mm if by == "inside" else size
    return "lining" if low <= unlined <= high else "size"
