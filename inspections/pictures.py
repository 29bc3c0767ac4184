"""Pictures for screens and paper, drawn here as SVG: no script, no style in them, and all in one ink.

What is what is told by shape and dashes, so that a mono printer and every eye can read it. Sizes are in units of the
picture's own box, 360 wide, so that its letters are legible at the width of a phone.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple
from xml.etree.ElementTree import Element, SubElement, tostring

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from inspections.judging import Calibration
from inspections.record_values import figure
from kit.pictures import INK, line, text

WIDTH = 360
LEFT, RIGHT, TOP, BOTTOM = 62, 348, 14, 200
LEGEND_TOP, LEGEND_LINE, LEGEND_COLUMN = 240, 20, 172
MARK = 5
MOST_TICKS = 6


class Drawn(NamedTuple):
    """A series of points: which side of the calibration, which way, its words, and how its line is dashed."""

    side: str
    direction: str
    words: str
    dashes: str


class _Scale(NamedTuple):
    """From a pressure and an error to a place in the picture."""

    least: float
    greatest: float
    reach: float

    def x(self, reference: float) -> float:
        share = (reference - self.least) / (self.greatest - self.least)
        return round(LEFT + share * (RIGHT - LEFT), 1)

    def y(self, error: float) -> float:
        middle = (TOP + BOTTOM) / 2
        return round(middle - error / self.reach * (BOTTOM - TOP) / 2, 1)


def picture_of_errors(
    calibration: Calibration, permissible: Fraction, guard: Fraction = Fraction(0), name: str = "errors"
) -> SafeString:
    """The errors of a gauge over its dial against the permissible one, going up and coming down, as SVG.

    `permissible` and `guard` are in the calibration's unit. A point that lies beyond the limit by more than the guard
    is ringed. `name` starts the ids in it: one a page. Empty for a calibration without points.
    """
    if not calibration.points:
        return SafeString("")
    scale = _scale(calibration, permissible + guard)
    picture = Element(
        "svg",
        {
            "class": "picture__drawing",
            "role": "img",
            "aria-labelledby": f"{name}-title {name}-words",
            "fill": "none",
            "stroke": INK,
        },
    )
    SubElement(picture, "title", id=f"{name}-title").text = _("Errors of the gauge against its limits")
    SubElement(picture, "desc", id=f"{name}-words").text = _in_words(calibration, permissible)
    _frame(picture, calibration, scale)
    _limits(picture, scale, permissible, guard)
    shown = [series for series in _all_series() if _points(calibration, series)]
    for series in shown:
        _draw(picture, scale, series, calibration, permissible + guard)
    height = _legend(picture, shown, bool(guard), calibration, permissible + guard)
    picture.set("viewBox", f"0 0 {WIDTH} {height}")
    # ElementTree has escaped every text and figure in it.
    return mark_safe(tostring(picture, encoding="unicode"))


def _all_series() -> list[Drawn]:
    return [
        Drawn("as_found", "up", _("as found, going up"), ""),
        Drawn("as_found", "down", _("as found, coming down"), "6 3"),
        Drawn("as_left", "up", _("as left, going up"), "1 3"),
        Drawn("as_left", "down", _("as left, coming down"), "8 3 1 3"),
    ]


def _points(calibration: Calibration, series: Drawn) -> list[tuple[Fraction, Fraction]]:
    """(reference, error) of a series, in rising order of reference."""
    return sorted(
        (Fraction(point.reference), Fraction(read) - Fraction(point.reference))
        for point in calibration.points
        if point.direction == series.direction and (read := getattr(point, series.side)) is not None
    )


def _scale(calibration: Calibration, outermost: Fraction) -> _Scale:
    references = [float(point.reference) for point in calibration.points]
    errors = [abs(float(error)) for series in _all_series() for _at, error in _points(calibration, series)]
    least, greatest = min(0.0, *references), max(references)
    if greatest <= least:
        greatest = least + 1.0
    return _Scale(least, greatest, (max([float(outermost), *errors]) or 1.0) * 1.12)


def _frame(picture: Element, calibration: Calibration, scale: _Scale) -> None:
    line(picture, LEFT, TOP, LEFT, BOTTOM)
    line(picture, LEFT, BOTTOM, RIGHT, BOTTOM)
    line(picture, LEFT, scale.y(0), RIGHT, scale.y(0), width=0.5)
    text(picture, LEFT - 6, scale.y(0) + 4, "0", "end")
    for reference in _ticks(sorted({point.reference for point in calibration.points})):
        at = scale.x(float(reference))
        line(picture, at, BOTTOM, at, BOTTOM + 4)
        text(picture, at, BOTTOM + 16, figure(reference), "end" if at > RIGHT - 12 else "middle")
    words = _("across: reference pressure; upward: error; in %(unit)s") % {"unit": calibration.unit}
    text(picture, RIGHT, BOTTOM + 31, words, "end")


def _ticks(references: Sequence[Fraction]) -> list[Fraction]:
    """All of them, or so many evenly chosen ones, the ends among them, that their figures do not run together."""
    if len(references) <= MOST_TICKS:
        return list(references)
    step = (len(references) - 1) / (MOST_TICKS - 1)
    return [references[round(number * step)] for number in range(MOST_TICKS)]


def _limits(picture: Element, scale: _Scale, permissible: Fraction, guard: Fraction) -> None:
    for sign, word in ((1, "+"), (-1, "\N{MINUS SIGN}")):
        at = scale.y(sign * float(permissible))
        line(picture, LEFT, at, RIGHT, at, width=2)
        text(picture, LEFT - 6, at + 4, f"{word}{figure(permissible)}", "end")
        for edge in (permissible - guard, permissible + guard) if guard else ():
            at = scale.y(sign * float(edge))
            line(picture, LEFT, at, RIGHT, at, width=0.75, dashes="2 2")


def _draw(
    picture: Element, scale: _Scale, series: Drawn, calibration: Calibration, outermost: Fraction
) -> None:
    points = _points(calibration, series)
    places = [(scale.x(float(reference)), scale.y(float(error))) for reference, error in points]
    _path(picture, places, series)
    for (x, y), (_reference, error) in zip(places, points, strict=True):
        _mark(picture, x, y, series)
        if series.side == "as_found" and abs(error) > outermost:
            _ring(picture, x, y)


def _path(picture: Element, places: Sequence[tuple[float, float]], series: Drawn) -> None:
    more = {"stroke-dasharray": series.dashes} if series.dashes else {}
    points = " ".join(f"{x:g},{y:g}" for x, y in places)
    SubElement(picture, "polyline", {"points": points, "stroke-width": "1.25", **more})


def _mark(picture: Element, x: float, y: float, series: Drawn) -> None:
    """As found a triangle that points the way the pressure went, as left a square; filled going up, empty down."""
    up = series.direction == "up"
    look = {"fill": INK} if up else {"fill": "#fff", "class": "picture__empty"}
    if series.side == "as_left":
        size = f"{2 * MARK - 2:g}"
        SubElement(
            picture,
            "rect",
            {"x": f"{x - MARK + 1:g}", "y": f"{y - MARK + 1:g}", "width": size, "height": size, **look},
        )
        return
    tip = -MARK if up else MARK
    corners = ((x, y + tip), (x - MARK, y - tip), (x + MARK, y - tip))
    SubElement(picture, "polygon", {"points": " ".join(f"{a:g},{b:g}" for a, b in corners), **look})


def _ring(picture: Element, x: float, y: float) -> None:
    SubElement(
        picture, "circle", {"cx": f"{x:g}", "cy": f"{y:g}", "r": f"{MARK + 4:g}", "stroke-width": "1.5"}
    )


def _legend(
    picture: Element, shown: Sequence[Drawn], banded: bool, calibration: Calibration, outermost: Fraction
) -> int:
    """What each shape means, two to a line; gives where the picture ends."""
    ringed = any(
        abs(error) > outermost
        for series in shown
        if series.side == "as_found"
        for _at, error in _points(calibration, series)
    )
    entries: list[Drawn | str] = [*shown, *(["ring"] if ringed else []), *(["band"] if banded else [])]
    for number, entry in enumerate(entries):
        x, y = 8 + number % 2 * LEGEND_COLUMN, LEGEND_TOP + (number // 2 + 0.5) * LEGEND_LINE
        if isinstance(entry, Drawn):
            words = entry.words
            _path(picture, [(x, y), (x + 24, y)], entry)
            _mark(picture, x + 12, y, entry)
        elif entry == "ring":
            words = _("beyond the limit")
            _ring(picture, x + 12, y)
        else:
            words = _("guard band")
            line(picture, x, y, x + 24, y, width=0.75, dashes="2 2")
        text(picture, x + 30, y + 4, words)
    return LEGEND_TOP + (len(entries) + 1) // 2 * LEGEND_LINE + 4


def _in_words(calibration: Calibration, permissible: Fraction) -> str:
    found = [
        (abs(error), reference)
        for series in _all_series()
        if series.side == "as_found"
        for reference, error in _points(calibration, series)
    ]
    limit = _("Permissible error %(limit)s %(unit)s.") % {
        "limit": figure(permissible),
        "unit": calibration.unit,
    }
    if not found:
        return limit
    error, at = max(found)
    greatest = _("Greatest error as found %(error)s %(unit)s, at %(at)s %(unit)s.") % {
        "error": figure(error),
        "at": figure(at),
        "unit": calibration.unit,
    }
    return f"{greatest} {limit}"
