"""Pictures of figures: what is drawn is where the figures say, and no letter is cut off at the edge."""

from __future__ import annotations

import itertools
from xml.etree.ElementTree import fromstring

import pytest

from kit.pictures import WIDTH
from kit.pictures_of_numbers import Bar, Interval, picture_of_bars, picture_of_intervals


def test_an_interval_runs_from_its_low_to_its_high_end_with_the_dot_at_the_share():
    rows = [Interval("all", "0 of 4", 0.0, 0.0, 1.0), Interval("one <b>", "1 of 4", 0.25, 0.05, 0.7)]
    drawing = fromstring(picture_of_intervals(rows, "title", "words", 0.5))
    whole, one = [
        mark
        for mark in drawing.iter("line")
        if mark.get("stroke-width") == "1.5" and mark.get("y1") == mark.get("y2")
    ]
    zero, span = float(whole.get("x1")), float(whole.get("x2")) - float(whole.get("x1"))
    assert [(float(one.get(end)) - zero) / span for end in ("x1", "x2")] == pytest.approx(
        [0.05, 0.7], abs=0.001
    )
    dots = [(float(dot.get("cx")) - zero) / span for dot in drawing.iter("circle")]
    assert dots == pytest.approx([0.0, 0.25], abs=0.001)
    dashed = {float(mark.get("x1")) for mark in drawing.iter("line") if mark.get("stroke-dasharray") == "5 3"}
    assert [(x - zero) / span for x in dashed] == pytest.approx([0.5], abs=0.001)
    assert "one <b>" in [element.text for element in drawing.iter("text")]


def test_what_is_not_known_has_no_dot():
    drawing = fromstring(picture_of_intervals([Interval("a", "0 of 0", None, 0.0, 1.0)], "title", "words"))
    assert not list(drawing.iter("circle"))


@pytest.mark.parametrize("number", [1, 3, 14, 40])
def test_labels_stay_in_the_picture_and_do_not_run_together(number):
    bars = [Bar(f"{place:02} Nov", 1200 + place) for place in range(number)]
    drawing = fromstring(picture_of_bars(bars, "title", "words", "unit"))
    labels = [
        (float(element.get("x")), element.text)
        for element in drawing.iter("text")
        if " Nov" in (element.text or "")
    ]
    edges = [(x - len(words) * 3.5, x + len(words) * 3.5) for x, words in labels]
    assert edges[0][0] >= 0
    assert edges[-1][1] <= WIDTH
    assert all(left[1] <= right[0] for left, right in itertools.pairwise(edges))


def test_nothing_is_drawn_of_nothing():
    assert picture_of_bars([], "title", "words", "unit") == ""
    assert picture_of_intervals([], "title", "words") == ""
