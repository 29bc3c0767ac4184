"""What to ask for where the register has nothing: kind, how many, range, mark, and the day it must be fit through."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import timedelta
from decimal import Decimal

from kit.planning.bore_fit import size_to_enter
from kit.planning.mains import Main, SizedBy
from kit.planning.refusal.changes import Purchase, Sizing
from kit.planning.values import Candidate, Line, Need
from kit.planning.written_sizes import plain


class Buying:
    """Knows how the kinds of a register are sized, from their pieces; a kind without any is sized by the inside."""

    def __init__(self, need: Need, pieces: Iterable[Candidate]) -> None:
        self.need = need
        self.sized: Mapping[str, tuple[SizedBy, Decimal]] = {
            piece.kind: (piece.sized_by, piece.bore_margin_mm) for piece in pieces
        }

    def to_enter(self, line: Line) -> str:
        """What must be entered before any piece can be matched to the line; "" if nothing."""
        if "bore" in line.match:
            by, _ = self.sized.get(line.kind, ("inside", Decimal(0)))
            if to_enter := size_to_enter(by, line, self.need):
                return to_enter
        if "mark" in line.match and not self.need.base_mark.strip():
            return "Enter the mark of the job's bases: without it no piece can be matched to this line."
        return ""

    def purchase(self, line: Line, quantity: int) -> Purchase:
        """So many for the line."""
        marked = "mark" in line.match
        return Purchase(
            line=line.name,
            kind=line.kind,
            quantity=quantity,
            through=self.need.return_on + timedelta(days=line.margin_days),
            sizes=self._sizes(line) if "bore" in line.match else (),
            mark=self.need.base_mark.strip() if marked else "",
            mark_of=line.assembly if line.assembly and not marked else "",
            or_kinds=tuple(other.kind for other in sorted(line.substitutes, key=lambda o: (o.rank, o.kind))),
        )

    def _sizes(self, line: Line) -> tuple[Sizing, ...]:
        """The range to be covered for each main of the line's side, of two that are alike one."""
        by, margin = self.sized.get(line.kind, ("inside", Decimal(0)))
        near = self.need.near or Main(self.need.bore_mm)
        sides: list[tuple[str, Main]] = []
        if self.need.far is None:
            sides = [("", near)]
        else:
            sides += [("near", near)] if line.side in ("every", "near") else []
            sides += [("far", self.need.far)] if line.side in ("every", "far") else []
        found = []
        for where, main in sides:
            if (span := main.span(by)) is not None:
                least, most = Decimal(plain(span[0] - margin)), Decimal(plain(span[1] + margin))
                found.append(Sizing(least, most, by, where))
        return tuple(found)
