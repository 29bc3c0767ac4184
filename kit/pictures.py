"""Pictures for the store's screens and paper, drawn here as SVG: no script, no style in them, and all in one ink.

What is what is told by shape and dashes, so that a mono printer and every eye can read it. Sizes are in units of the
picture's own box, 360 wide, so that its letters are legible at the width of a phone.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from itertools import groupby
from xml.etree.ElementTree import Element, SubElement, tostring

from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.days import date_format
from kit.planning.readiness import Day
from kit.sentences import said as said_of

WIDTH = 360
LEFT, RIGHT, TOP, BOTTOM = 34, 350, 24, 166
STRIP_LINE, STRIP_TOP = 30, 210
MOST_LEVELS, MOST_STRIPS = 5, 6
INK = "currentColor"


def picture_of_stops(
    days: Sequence[Day], beside: Sequence[Day] = (), words: tuple[str, str] = ("", ""), name: str = "stops"
) -> SafeString:
    """Stops a day as stairs, with a strip for each kind that tells on which days it limits them.

    `beside`: the same days as they are otherwise, drawn with dashes; `words` then name the two. `name` starts the ids:
    one a page. Empty for no days.
    """
    if not days:
        return SafeString("")
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
    SubElement(picture, "title", id=f"{name}-title").text = _("Stops that could be mounted, day by day")
    SubElement(picture, "desc", id=f"{name}-words").text = " ".join(in_words(days))
    step = (RIGHT - LEFT) / len(days)
    most = max(1, *(day.stops for day in (*days, *beside)))

    def x(number: float) -> float:
        return round(LEFT + number * step, 1)

    def y(stops: int) -> float:
        return round(BOTTOM - stops / most * (BOTTOM - TOP), 1)

    levels(picture, most, y, _("stops"))
    _weeks(picture, days[0].day, len(days), x)
    _none(picture, days, x, step)
    if beside:
        _stairs(picture, beside, x, y, width=1.25, dashes="5 3")
    _stairs(picture, days, x, y, width=2.5)
    below = _named(picture, words) if beside else STRIP_TOP
    height = _strips(picture, days, x, below)
    picture.set("viewBox", f"0 0 {WIDTH} {height}")
    # ElementTree has escaped every text and figure in it.
    return mark_safe(tostring(picture, encoding="unicode"))


def in_words(days: Sequence[Day]) -> Iterator[str]:
    """The picture in sentences: fewest and most stops, and on which days there are none."""
    fewest, most = (choose(days, key=lambda day: day.stops) for choose in (min, max))
    yield _("From %(first)s to %(last)s.") % {"first": _short(days[0].day), "last": _short(days[-1].day)}
    if fewest.stops == most.stops:
        yield _("On every day %(n)s.") % {"n": _stops(most.stops)}
        return
    yield _("At most %(n)s, first on %(day)s; at least %(m)s, first on %(other)s.") % {
        "n": _stops(most.stops),
        "day": _short(most.day),
        "m": _stops(fewest.stops),
        "other": _short(fewest.day),
    }
    none = sum(1 for day in days if not day.stops)
    if none:
        yield ngettext("No stop at all on %(n)s day.", "No stop at all on %(n)s days.", none) % {"n": none}


def _stops(number: int) -> str:
    return ngettext("%(n)s stop", "%(n)s stops", number) % {"n": number}


def _short(day: date) -> str:
    return date_format(day, "j M")


def line(picture: Element, *ends: float, width: float = 1, dashes: str = "") -> None:
    x1, y1, x2, y2 = (f"{end:g}" for end in ends)
    more = {"stroke-dasharray": dashes} if dashes else {}
    SubElement(
        picture, "line", {"x1": x1, "y1": y1, "x2": x2, "y2": y2, "stroke-width": f"{width:g}", **more}
    )


def text(picture: Element, x: float, y: float, words: str, anchor: str = "start") -> None:
    more = {"fill": INK, "stroke": "none", "font-size": "12", "text-anchor": anchor}
    SubElement(picture, "text", {"x": f"{x:g}", "y": f"{y:g}", **more}).text = words


def levels(picture: Element, most: int, y: Callable[[int], float], unit: str) -> None:
    """The upward axis: whole numbers of `unit`, so many that their figures do not run together."""
    size = 1
    while most / size > MOST_LEVELS:
        size = size * 5 // 2 if str(size)[0] == "2" else size * 2
    for level in range(0, most + 1, size):
        line(picture, LEFT, y(level), RIGHT, y(level), width=1 if level == 0 else 0.35)
        text(picture, LEFT - 6, y(level) + 4, str(level), "end")
    text(picture, LEFT + 2, TOP - 10, unit)


def _weeks(picture: Element, first: date, days: int, x: Callable[[float], float]) -> None:
    """A tick at each Monday, and the dates of so many of them as there is room for; each day where they are few."""
    marks = [n for n in range(days) if days < 14 or (first + timedelta(days=n)).weekday() == 0]
    apart = -(-len(marks) // 6)
    for order, number in enumerate(marks):
        long = order % apart == 0
        line(picture, x(number), BOTTOM, x(number), BOTTOM + (6 if long else 3))
        if long and x(number) < RIGHT - 16:
            text(picture, x(number), BOTTOM + 19, _short(first + timedelta(days=number)), "middle")


def _none(picture: Element, days: Sequence[Day], x: Callable[[float], float], step: float) -> None:
    """Days without any stop are crossed on the base line: an empty stair would look like no answer."""
    size = min(step / 2, 4.0)
    for number, day in enumerate(days):
        if not day.stops:
            middle = x(number) + step / 2
            line(picture, middle - size, BOTTOM - size, middle + size, BOTTOM + size)
            line(picture, middle - size, BOTTOM + size, middle + size, BOTTOM - size)


def _stairs(
    picture: Element,
    days: Sequence[Day],
    x: Callable[[float], float],
    y: Callable[[int], float],
    width: float,
    dashes: str = "",
) -> None:
    corners = [(x(n + end), y(day.stops)) for n, day in enumerate(days) for end in (0, 1)]
    more = {"stroke-dasharray": dashes} if dashes else {}
    points = " ".join(f"{a:g},{b:g}" for a, b in corners)
    SubElement(picture, "polyline", {"points": points, "stroke-width": f"{width:g}", **more})


def _named(picture: Element, words: tuple[str, str]) -> int:
    """Which stairs are which; gives where the next thing below begins."""
    for place, (said, width, dashes) in enumerate(((words[0], 2.5, ""), (words[1], 1.25, "5 3"))):
        at = LEFT + place * (RIGHT - LEFT) / 2
        line(picture, at, STRIP_TOP, at + 26, STRIP_TOP, width=width, dashes=dashes)
        text(picture, at + 32, STRIP_TOP + 4, said)
    return STRIP_TOP + 26


def _strips(picture: Element, days: Sequence[Day], x: Callable[[float], float], top: int) -> int:
    """For each kind that limits, the one that does so longest first, a bar over its days; gives where it ends."""
    kinds = {kind: sum(kind in day.limited_by for day in days) for day in days for kind in day.limited_by}
    shown = sorted(kinds, key=lambda kind: -kinds[kind])[:MOST_STRIPS]
    for order, kind in enumerate(shown):
        at = top + order * STRIP_LINE
        text(picture, LEFT, at, _("limited by: %(kind)s") % {"kind": said_of(kind)})
        line(picture, LEFT, at + 8, RIGHT, at + 8, width=0.35)
        for limits, run in groupby(enumerate(days), key=lambda each: kind in each[1].limited_by):
            numbers = [number for number, _day in run]
            if limits:
                line(picture, x(numbers[0]), at + 8, x(numbers[-1] + 1), at + 8, width=6)
    return top + len(shown) * STRIP_LINE
