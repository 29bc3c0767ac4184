"""Two pictures of plain figures, in the manner of kit.pictures: bars side by side, and shares with their intervals."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from xml.etree.ElementTree import Element, SubElement, tostring

from django.utils.formats import number_format
from django.utils.safestring import SafeString, mark_safe

from kit.pictures import BOTTOM, INK, LEFT, RIGHT, TOP, WIDTH, levels, line, text

LABEL_WIDTH, FIGURE_WIDTH, FIGURE_HEIGHT = 46, 7, 14
LEGEND_TOP = 210
ROW, ROWS_TOP = 40, 34
PERCENTS = (0, 25, 50, 75, 100)


@dataclass(frozen=True, slots=True)
class Bar:
    """How many, how many of these are of the named part (drawn filled), and what stands below the bar."""

    label: str
    number: int
    part: int = 0


@dataclass(frozen=True, slots=True)
class Interval:
    """A share with how far it can be trusted, all from 0 to 1; `share` None: nothing is known."""

    label: str
    figures: str
    share: float | None
    low: float
    high: float


def start_picture(name: str, title: str, words: str) -> Element:
    """An empty drawing with its title and what it shows in words. `name` starts its ids: one a page."""
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
    SubElement(picture, "title", id=f"{name}-title").text = title
    SubElement(picture, "desc", id=f"{name}-words").text = words
    return picture


def finish_picture(picture: Element, height: float) -> SafeString:
    picture.set("viewBox", f"0 0 {WIDTH} {height:g}")
    # ElementTree has escaped every text and figure in it.
    return mark_safe(tostring(picture, encoding="unicode"))


def picture_of_bars(
    bars: Sequence[Bar],
    title: str,
    words: str,
    unit: str,
    parts: tuple[str, str] = ("", ""),
    name: str = "bars",
) -> SafeString:
    """Bars side by side from 0 up. `unit` heads the axis; `parts` name the filled part and the rest. Empty for none."""
    if not bars:
        return SafeString("")
    picture = start_picture(name, title, words)
    step = (RIGHT - LEFT) / len(bars)
    most = max(1, *(bar.number for bar in bars))

    def y(number: float) -> float:
        return round(BOTTOM - number / most * (BOTTOM - TOP - FIGURE_HEIGHT), 1)

    levels(picture, most, y, unit)
    every = -(-LABEL_WIDTH // step)
    for place, bar in enumerate(bars):
        x, width = round(LEFT + place * step + step * 0.14, 1), round(step * 0.72, 1)
        if bar.number:
            _box(picture, x, y(bar.number), width, BOTTOM - y(bar.number))
        if bar.part:
            _box(picture, x, y(bar.part), width, BOTTOM - y(bar.part), INK)
        middle = x + width / 2
        figure = number_format(bar.number)
        if len(figure) * FIGURE_WIDTH <= step:
            text(picture, middle, y(bar.number) - 4, figure, "middle")
        if place % every == 0:
            line(picture, middle, BOTTOM, middle, BOTTOM + 4)
            _below(picture, middle, bar.label)
    if not parts[0]:
        return finish_picture(picture, BOTTOM + 28)
    for place, (said, fill) in enumerate(zip(parts, (INK, "none"), strict=True)):
        at = LEFT + place * (RIGHT - LEFT) / 2
        _box(picture, at, LEGEND_TOP - 10, 14, 12, fill)
        text(picture, at + 20, LEGEND_TOP, said)
    return finish_picture(picture, LEGEND_TOP + 12)


def _below(picture: Element, middle: float, label: str) -> None:
    """A label under its bar; at the edge it is moved in, so that no letter is cut off."""
    half = len(label) * FIGURE_WIDTH / 2
    text(picture, min(max(middle, half), WIDTH - half), BOTTOM + 19, label, "middle")


def _box(picture: Element, x: float, y: float, width: float, height: float, fill: str = "none") -> None:
    numbers = {"x": x, "y": y, "width": width, "height": height}
    SubElement(picture, "rect", {**{name: f"{value:g}" for name, value in numbers.items()}, "fill": fill})


def picture_of_intervals(
    rows: Sequence[Interval], title: str, words: str, level: float | None = None, name: str = "shares"
) -> SafeString:
    """Each share as a dot on the line of its interval, on one scale from 0 to 100 %; `level` is a dashed line
    through all of them. Empty for no rows."""
    if not rows:
        return SafeString("")
    picture = start_picture(name, title, words)
    end = ROWS_TOP + len(rows) * ROW

    def x(share: float) -> float:
        return round(12 + share * (RIGHT - 24), 1)

    for percent in PERCENTS:
        anchor = {0: "start", 100: "end"}.get(percent, "middle")
        text(
            picture, x(percent / 100) + {0: -8, 100: 8}.get(percent, 0), ROWS_TOP - 14, f"{percent} %", anchor
        )
    for order, row in enumerate(rows):
        top = ROWS_TOP + order * ROW
        text(picture, 4, top + 12, row.label)
        text(picture, RIGHT + 6, top + 12, row.figures, "end")
        # Broken off at the words, which they would cross out.
        for percent in PERCENTS:
            line(picture, x(percent / 100), top + 17, x(percent / 100), top + 32, width=0.35)
        if level is not None:
            line(picture, x(level), top + 16, x(level), top + 33, width=1.25, dashes="5 3")
        _whisker(picture, x(row.low), x(row.high), top + 24, row.share is None)
        if row.share is not None:
            numbers = {"cx": f"{x(row.share):g}", "cy": f"{top + 24:g}", "r": "4.5"}
            SubElement(picture, "circle", {**numbers, "fill": INK})
    return finish_picture(picture, end + 4)


def _whisker(picture: Element, low: float, high: float, y: float, unknown: bool) -> None:
    line(picture, low, y, high, y, width=1.5, dashes="1 4" if unknown else "")
    for edge in (low, high):
        line(picture, edge, y - 5, edge, y + 5, width=1.5)
