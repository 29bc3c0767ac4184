"""The picture of a gauge's errors: its points lie where the errors say, and shapes carry what it tells."""

from __future__ import annotations

import re
from decimal import Decimal
from fractions import Fraction
from xml.etree.ElementTree import Element, fromstring

import pytest

from inspections.judging import Calibration, Point
from inspections.pictures import BOTTOM, LEFT, RIGHT, TOP, picture_of_errors

LIMIT = Fraction("0.01")


def calibration(*rows: tuple[str, str, str, str | None]) -> Calibration:
    """Points from (direction, reference, as found, as left), in bar."""
    return Calibration(
        "bar",
        tuple(
            Point(way, Decimal(at), Decimal(found), Decimal(left) if left else None)  # type: ignore[arg-type]
            for way, at, found, left in rows
        ),
    )


STUCK = calibration(
    ("up", "0", "0", None),
    ("up", "0.5", "0.53", None),
    ("up", "1", "0.99", None),
    ("down", "1", "0.99", None),
    ("down", "0.5", "0.505", None),
    ("down", "0", "0.01", None),
)


def drawn(picture: str, kind: str) -> list[Element]:
    """The shapes of a kind in the drawing, those of the legend below it left out."""
    return [shape for shape in fromstring(picture).iter(kind) if _height(shape) <= BOTTOM]


def _height(shape: Element) -> float:
    said = shape.get("cy") or shape.get("y") or shape.get("y1")
    if said is not None:
        return float(said)
    return sum(y for _x, y in _corners(shape)) / len(_corners(shape))


def _corners(shape: Element) -> list[tuple[float, float]]:
    return [tuple(map(float, pair.split(","))) for pair in (shape.get("points") or "").split()]  # type: ignore[misc]


def test_points_lie_where_the_errors_say():
    """Two limit lines, drawn 0.02 bar apart, give the measure by which every point is read back."""
    picture = picture_of_errors(STUCK, LIMIT)
    thick = [line for line in drawn(picture, "line") if line.get("stroke-width") == "2"]
    upper, lower = (float(line.get("y1") or 0) for line in thick)
    assert upper < lower
    by_line = {line.get("stroke-dasharray"): _corners(line) for line in drawn(picture, "polyline")}
    for dashes, direction in ((None, "up"), ("6 3", "down")):
        read = [
            ((x - LEFT) / (RIGHT - LEFT), ((upper + lower) / 2 - y) / ((lower - upper) / 0.02))
            for x, y in by_line[dashes]
        ]
        expected = sorted(
            (float(point.reference), float(point.as_found - point.reference))
            for point in STUCK.points
            if point.direction == direction and point.as_found is not None
        )
        assert [x for x, _y in read] == pytest.approx([x for x, _y in expected], abs=0.002)
        assert [y for _x, y in read] == pytest.approx([y for _x, y in expected], abs=0.0002)


def test_only_what_lies_beyond_the_limit_is_ringed():
    assert len(drawn(picture_of_errors(STUCK, LIMIT), "circle")) == 1
    assert not drawn(picture_of_errors(STUCK, Fraction("0.03")), "circle")
    assert not drawn(picture_of_errors(STUCK, LIMIT, Fraction("0.02")), "circle")


def test_up_and_down_found_and_left_differ_in_shape_not_in_colour():
    both = calibration(("up", "0.5", "0.51", "0.5"), ("down", "0.5", "0.52", "0.501"))
    picture = picture_of_errors(both, LIMIT)
    up, down = drawn(picture, "polygon")
    assert (up.get("fill"), down.get("fill")) == ("currentColor", "#fff")
    assert _corners(up)[0][1] < _corners(up)[1][1], "going up points up"
    assert _corners(down)[0][1] > _corners(down)[1][1]
    assert [square.get("fill") for square in drawn(picture, "rect")] == ["currentColor", "#fff"]
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', picture))
    assert colours <= {"none", "currentColor", "#fff"}
    legend = [text.text for text in fromstring(picture).iter("text")]
    assert {"as found, going up", "as found, coming down", "as left, going up", "as left, coming down"} <= {
        *legend
    }


def test_it_is_told_in_words_and_holds_no_style_and_no_script():
    picture = picture_of_errors(STUCK, LIMIT, name="one")
    root = fromstring(picture)
    assert root.get("role") == "img"
    assert [part.get("id") for part in root[:2]] == ["one-title", "one-words"]
    assert root[1].text == "Greatest error as found 0.03 bar, at 0.5 bar. Permissible error 0.01 bar."
    assert "style" not in picture
    assert "script" not in picture


@pytest.mark.parametrize("reference", ["0", "0.3"])
def test_a_gauge_read_true_at_one_point_is_drawn_within_the_frame(reference: str):
    picture = picture_of_errors(calibration(("up", reference, reference, None)), Fraction(0))
    [line] = drawn(picture, "polyline")
    [(x, y)] = _corners(line)
    assert LEFT <= x <= RIGHT
    assert TOP <= y <= BOTTOM


def test_nothing_read_is_no_picture():
    assert picture_of_errors(Calibration("bar", ()), LIMIT) == ""
