"""How far the pieces of a job reach, drawn: a bar each from loading on, and a line at the return."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from xml.etree.ElementTree import Element, SubElement

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from kit.pictures import INK, WIDTH, line, text
from kit.pictures_of_numbers import finish_picture, start_picture
from kit.planning.reach import Reach
from kit.sentences import said
from kit.tables.marks import short_day

ROW, TOP, HEIGHT = 42, 34, 14
BEGIN, END = 4, WIDTH - 4


def picture_of_reach(
    reaches: Sequence[Reach], load_on: date, return_on: date, words: str, name: str = "reach-drawn"
) -> SafeString:
    """Filled is what lies within the job; a bar that stops short of the line does not hold for the return. Those that
    nothing ends are not drawn; a piece that holds for no return has a crossed box. Empty for none."""
    if not reaches:
        return SafeString("")
    picture = start_picture(name, _("Until which return its pieces hold"), words)
    last = max([return_on, *(reach.until for reach in reaches if reach.until)])
    days = max((last - load_on).days + 1, 1)

    def x(day: date) -> float:
        """Where the day ends: both ends of a window belong to it."""
        share = min(max(((day - load_on).days + 1) / days, 0.0), 1.0)
        return round(BEGIN + share * (END - BEGIN), 1)

    bottom = TOP + len(reaches) * ROW
    back = x(return_on)
    line(picture, back, TOP - 14, back, TOP - 4, width=1.5)
    anchor = "end" if back > WIDTH / 2 else "start"
    text(picture, back, TOP - 18, _("return on %(day)s") % {"day": short_day(return_on)}, anchor)
    for order, reach in enumerate(reaches):
        _row(picture, TOP + order * ROW, reach, back, x(reach.until) if reach.until else None)
    return finish_picture(picture, bottom)


def _row(picture: Element, top: float, reach: Reach, back: float, until: float | None) -> None:
    text(picture, BEGIN, top + 9, f"{reach.tag}, {said(reach.line)}")
    text(picture, END, top + 9, short_day(reach.until) if reach.until else _("none"), "end")
    bar = top + 15
    # Broken off at the words, which it would cross out.
    line(picture, back, bar - 3, back, bar + HEIGHT + 3, width=1.5, dashes="5 3")
    if until is None:
        _box(picture, bar, END, {"stroke-dasharray": "4 3"})
        line(picture, BEGIN, bar, END, bar + HEIGHT)
        line(picture, BEGIN, bar + HEIGHT, END, bar)
        return
    _box(picture, bar, until, {})
    _box(picture, bar, min(until, back), {"fill": INK, "class": "picture__used"})


def _box(picture: Element, top: float, end: float, more: dict[str, str]) -> None:
    width = f"{max(end - BEGIN, 1):g}"
    box = {"x": f"{BEGIN:g}", "y": f"{top:g}", "width": width, "height": f"{HEIGHT:g}"}
    SubElement(picture, "rect", {**box, **more})
