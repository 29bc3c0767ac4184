"""How dates, moments, sizes and counts read on paper: short, in the reader's language, never mistaken for another."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit import sentences
from kit.days import date_format
from kit.numbers import with_separator
from kit.papers.values import Millimetres

_NO_BREAK = "\u00a0"


def day(when: date) -> str:
    """`12 Nov 2026`: the month in letters, because 03/04 is read both ways."""
    return date_format(when, "j M Y").replace(" ", _NO_BREAK)


def weekday(when: date) -> str:
    """`Thu 12 Nov 2026`."""
    name, rest = date_format(when, "D j M Y").split(" ", 1)
    return f"{name} {rest.replace(' ', _NO_BREAK)}"


def moment(when: datetime) -> str:
    """`Thu 12 Nov 2026 06:10 GMT`; the zone is there because one hour comes twice when the clocks go back."""
    return f"{weekday(when)} {when:%H:%M}{_NO_BREAK}{when.tzname()}"


def typed_millimetres(length: Millimetres) -> str:
    """`165.2`, `180`: no trailing zeros, no exponent, as a field for numbers takes it in any language."""
    text = f"{Decimal(str(length)):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def millimetres(length: Millimetres) -> str:
    """`165.2`, in German `165,2`."""
    return with_separator(typed_millimetres(length))


def wall_class(material: str, text: str) -> str:
    """The class of a main's wall as people say it: a bare number is an SDR, or of steel a schedule."""
    text = text.strip()
    if text[:1].isdigit():
        return f"{'sch' if 'steel' in material.casefold() else 'SDR'} {text}"
    return f"SDR {text[3:].strip()}" if text.upper().startswith("SDR") else text


def size_range(least: Millimetres | None, most: Millimetres | None) -> str:
    """`150–180 mm`, `180 mm` when both ends agree, `from`/`to` when one is unknown, empty when both are."""
    if least is None and most is None:
        return ""
    if least is None or most is None:
        known = least if most is None else most
        assert known is not None
        words = _("from %(size)s mm") if most is None else _("to %(size)s mm")
        return (words % {"size": millimetres(known)}).replace(" mm", f"{_NO_BREAK}mm")
    low, high = millimetres(least), millimetres(most)
    return f"{low if low == high else f'{low}–{high}'}{_NO_BREAK}mm"


def pieces(number: int) -> str:
    """`1 piece`, `2 pieces`."""
    return ngettext("%(n)s piece", "%(n)s pieces", number) % {"n": number}


def pieces_and_lots(tagged: int, lots: int) -> str:
    """`28 pieces and 2 lots of counted stock`, without the lots if there are none."""
    if not lots:
        return pieces(tagged)
    counted = ngettext("%(n)s lot of counted stock", "%(n)s lots of counted stock", lots) % {"n": lots}
    return _("%(pieces)s and %(lots)s") % {"pieces": pieces(tagged), "lots": counted}


def goes_with(set_name: str, kind: str, mark: str, line_kind: str, assembly: str) -> str:
    """What else a piece on a line goes with, or whose place it takes, in a few words; mostly nothing."""
    said = []
    if kind != line_kind:
        said.append(_("stands in for a %(kind)s") % {"kind": sentences.said(line_kind)})
    if set_name:
        said.append(_("of the set %(set)s") % {"set": set_name})
    if assembly and mark:
        said.append(_("of the assembly %(assembly)s, mark %(mark)s") % {"assembly": assembly, "mark": mark})
    elif assembly:
        said.append(_("of the assembly %(assembly)s") % {"assembly": assembly})
    return "; ".join(said)
