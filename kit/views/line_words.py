"""What goes beyond kind and quantity on a line of an arrangement, in words: side, assembly, what may stand in."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import gcd

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.models import Side
from kit.sentences import said
from kit.stores import Instead, LineSpec


def further_words(lines: Sequence[LineSpec]) -> list[list[str]]:
    """For each line the sentences that tell its side, its assembly and what may stand in; mostly none."""
    units: dict[str, int] = {}
    for line in lines:
        if line.assembly:
            units[line.assembly] = gcd(units.get(line.assembly, 0), line.quantity)
    return [
        [
            *_side_words(line.side),
            *coupled_words(
                line.assembly,
                line.quantity,
                units.get(line.assembly, 1),
                [_named(each) for each in line.instead],
            ),
        ]
        for line in lines
    ]


def _side_words(side: str) -> Iterator[str]:
    if side == Side.NEAR:
        yield _("For the main on the near side.")
    elif side == Side.FAR:
        yield _("For the main on the far side.")


def coupled_words(assembly: str, quantity: int, units: int, kinds: Sequence[str]) -> Iterator[str]:
    """What couples a line of so many pieces to others: its assembly of so many units, the kinds that may stand in."""
    if assembly:
        said = ngettext(
            "Assembly %(name)s: %(each)s to the one unit, whose pieces share a mark.",
            "Assembly %(name)s: %(each)s to each of %(n)s units, whose pieces share a mark.",
            units,
        )
        yield said % {"name": assembly, "each": quantity // units, "n": units}
    if kinds:
        yield _("May stand in: %(kinds)s.") % {"kinds": _(", then ").join(kinds)}


def _named(other: Instead) -> str:
    if not other.note:
        return str(said(other.kind.name))
    return _("%(kind)s (%(note)s)") % {"kind": said(other.kind.name), "note": other.note}
