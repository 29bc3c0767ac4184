"""One kind of kit within a job: its lines, the pieces to choose from, what speaks against each on each line.

Every piece has one kind and so has every line, so a job falls apart into its kinds: the best choice for the
job is the best choice for each of them, side by side.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from kit.planning.matching import Offer, cost_of, fill_amounts, match_lines
from kit.planning.reasons import reasons_for
from kit.planning.values import Candidate, Need, Reason

Waived = Callable[[Candidate], frozenset[str]]
"""The codes of the reasons that are taken to be mended for a piece."""

NOTHING_WAIVED: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class OneKind:
    """`lines` are indices into the job's lines, `wanted` what each still needs, `pieces` what is free for it.

    A lot's quantity in `pieces` is what the job may still take. `reasons` knows every piece on every line.
    """

    need: Need
    as_of: date
    lines: tuple[int, ...]
    wanted: tuple[int, ...]
    pieces: tuple[Candidate, ...]
    reasons: Mapping[tuple[str, int], tuple[Reason, ...]]

    def choose(self) -> list[dict[str, int]]:
        """The best choice: for each of `lines`, tag -> quantity."""
        offers = [
            replace(self._offer(piece, fits), cost=cost_of(piece, self.need.return_on))
            for piece in self.pieces
            if (fits := self._fits(piece, NOTHING_WAIVED))
        ]
        return match_lines(self.wanted, offers)

    def amounts(
        self, pieces: Iterable[Candidate], waived: Waived = lambda piece: NOTHING_WAIVED
    ) -> dict[int, int]:
        """How many of these pieces each line would get, had the reasons of the `waived` codes been mended."""
        offers = [self._offer(piece, self._fits(piece, waived(piece))) for piece in pieces]
        return dict(zip(self.lines, fill_amounts(self.wanted, offers), strict=True))

    def reasons_on(self, piece: Candidate, line: int) -> tuple[Reason, ...]:
        """What speaks against a piece on a line, also a piece that is not among those to choose from."""
        known = self.reasons.get((piece.tag, line))
        return reasons_for(piece, self.need.lines[line], self.need, self.as_of) if known is None else known

    def _fits(self, piece: Candidate, waived: frozenset[str]) -> frozenset[int]:
        """The places in `lines` where nothing speaks against the piece but what is waived."""
        return frozenset(
            place
            for place, line in enumerate(self.lines)
            if all(reason.code in waived for reason in self.reasons_on(piece, line))
        )

    def _offer(self, piece: Candidate, fits: frozenset[int]) -> Offer:
        counted = self.need.lines[self.lines[0]].counted
        return Offer(piece.tag, fits, quantity=piece.quantity if counted else 1)
