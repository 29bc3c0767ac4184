"""What is left of the dates that limit a piece, drawn: a bar each, filled as far as its run is over."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from xml.etree.ElementTree import Element, SubElement

from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.pictures import INK, WIDTH, line, text
from kit.pictures_of_numbers import finish_picture, start_picture
from kit.planning.life_left import Life
from kit.sentences import said
from kit.tables.marks import short_day

ROW, TOP, HEIGHT = 62, 4, 14
BEGIN, END = 4, WIDTH - 4
LONGEST = 30


def picture_of_lives(lives: Sequence[Life], name: str = "life") -> SafeString:
    """A bar for each date, over its own run, what decides first on top. Empty for a piece that no date limits."""
    if not lives:
        return SafeString("")
    title = _("What is left of each date that limits it")
    picture = start_picture(name, title, " ".join(f"{name_of(life)}: {in_words(life)}." for life in lives))
    for order, life in enumerate(lives):
        _row(picture, TOP + order * ROW, life)
    return finish_picture(picture, TOP + len(lives) * ROW)


def in_words(life: Life) -> str:
    """How it stands: "ends in 12 days, on 4 Mar 2027"."""
    if life.left_days is None or life.last is None:
        return _standing(life)
    day = short_day(life.last)
    if life.over:
        days = -life.left_days
        return ngettext("over by %(n)s day, since %(day)s", "over by %(n)s days, since %(day)s", days) % {
            "n": days,
            "day": day,
        }
    if life.left_days == 0:
        return _("today is its last day")
    return ngettext("%(n)s day left, until %(day)s", "%(n)s days left, until %(day)s", life.left_days) % {
        "n": life.left_days,
        "day": day,
    }


def _standing(life: Life) -> str:
    return {
        "failed": _("failed or in doubt"),
        "waits": _("called for, not done yet"),
    }.get(life.ends, _("never done"))


def name_of(life: Life) -> str:
    """The check, or that it is the use-by date."""
    return str(said(life.name)) or _("use-by date")


def days_in_words(life: Life) -> str:
    """How much is left without the day: "12 days left"."""
    if life.left_days is None:
        return _standing(life)
    if life.over:
        days = -life.left_days
        return ngettext("over by %(n)s day", "over by %(n)s days", days) % {"n": days}
    return ngettext("%(n)s day left", "%(n)s days left", life.left_days) % {"n": life.left_days}


def _row(picture: Element, top: float, life: Life) -> None:
    said = name_of(life)
    text(picture, BEGIN, top + 14, said if len(said) <= LONGEST else said[: LONGEST - 1] + "…")
    text(picture, END, top + 14, days_in_words(life), "end")
    bar = top + 20
    _outline(picture, bar, "" if life.left is not None else "4 3")
    if life.left is not None:
        _used(picture, bar, 1 - life.left)
    if life.ends != "dated":
        # Crossed: it bars the piece now, whatever its dates.
        line(picture, BEGIN, bar, END, bar + HEIGHT)
        line(picture, BEGIN, bar + HEIGHT, END, bar)
    text(picture, BEGIN, bar + HEIGHT + 13, _from(life.began))
    if life.last is not None:
        until = short_day(life.last)
        text(
            picture,
            END,
            bar + HEIGHT + 13,
            _("%(day)s, conceded") % {"day": until} if life.conceded else until,
            "end",
        )


def _from(began: date | None) -> str:
    return short_day(began) if began else _("beginning not recorded")


def _outline(picture: Element, top: float, dashes: str) -> None:
    more = {"stroke-dasharray": dashes} if dashes else {}
    box = {"x": f"{BEGIN:g}", "y": f"{top:g}", "width": f"{END - BEGIN:g}", "height": f"{HEIGHT:g}"}
    SubElement(picture, "rect", {**box, **more})


def _used(picture: Element, top: float, share: float) -> None:
    width = round(share * (END - BEGIN), 1)
    if width:
        box = {"x": f"{BEGIN:g}", "y": f"{top:g}", "width": f"{width:g}", "height": f"{HEIGHT:g}"}
        SubElement(picture, "rect", {**box, "fill": INK, "class": "picture__used"})
