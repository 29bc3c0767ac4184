"""What lies in the two stores: enough that most jobs find their kit, and pieces that must be refused."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date
from typing import Any, Final

import factory.random

from demo_fixtures.dates import in_days
from demo_fixtures.depots import OSTERMERE, QUILLBY
from demo_fixtures.history import GOOD, MENDED, Past, records
from demo_fixtures.rows import BagFactory, InspectionRow, ItemFactory, ItemRow

# Bore ranges in mm, invented: each bag size meets the next, noses are made for one size of main.
BAGS: Final = {
    "R1": (75, 98),
    "R2": (100, 150),
    "R3": (140, 190),
    "R4": (180, 235),
    "R5": (225, 295),
    "R6": (285, 345),
}
NOSES: Final = {
    "N1": (75, 95),
    "N2": (98, 115),
    "N3": (122, 136),
    "N4": (142, 162),
    "N5": (160, 182),
    "N6": (196, 215),
    "N7": (215, 232),
    "N8": (270, 290),
    "N9": (300, 325),
}  # fmt: skip
MARKS: Final = ("V4", "V6", "V8")
MOUNTED: Final = "mounted pair 1"
"""The set that Quillby keeps: a bag with its tube, mounted together and tried as one."""


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece to be: where, of what kind, `fit_in` days until its label runs out, its records and its state."""

    depot: str
    kind: str
    bore: tuple[int, int] | None = None
    mark: str | None = None
    fit_in: int | None = None
    past: Past = GOOD
    trait: str = ""
    quantity: int | None = None
    besides: dict[str, Any] = field(default_factory=dict)

    def rows(self, day: date) -> tuple[ItemRow, list[InspectionRow]]:
        details: dict[str, Any] = dict(
            self.besides, day=day, kind=self.kind, depot=self.depot, mark=self.mark
        )
        if self.bore:
            details["bore_min_mm"], details["bore_max_mm"] = self.bore
        if self.fit_in is not None:
            details["fit_to"] = in_days(day, self.fit_in)
        if self.quantity is not None:
            details |= {"counted": True, "quantity": self.quantity}
        if self.trait:
            details[self.trait] = True
        item = (BagFactory if self.kind == "bag" else ItemFactory)(**details)
        return item, list(records(item, self.past, day))


_MANY: Final = {
    "bag tube": (26, 20),
    "control head": (26, 20),
    "vent head": (6, 5),
    "vent stack": (8, 6),
    "bypass set": (6, 5),
    "gas detector": (8, 6),
    "gauge": (12, 5),
    "pressure recorder": (1, 1),
    "pump": (6, 5),
    "chain set": (12, 10),
    "hand tool": (6, 6),
}
_BAGS_KEPT: Final = {"R1": (4, 7), "R2": (7, 9), "R3": (10, 11), "R4": (9, 8), "R5": (9, 7), "R6": (5, 5)}
_NOSES_KEPT: Final = {
    "N1": (4, 4), "N2": (5, 5), "N3": (3, 3), "N4": (9, 7), "N5": (5, 2), "N6": (5, 4), "N7": (4, 4), "N8": (4, 4),
}  # fmt: skip
_HEADS_KEPT: Final = {"V4": (5, 5), "V6": (9, 8), "V8": (6, 6)}
_BASES_KEPT: Final = {"V4": (8, 8), "V6": (12, 11), "V8": (9, 9)}


def sound_pieces() -> Iterator[Piece]:
    """What meets its recorded requirements for weeks to come. One in nine has failed once and been mended."""
    dice = factory.random.randgen
    for at, depot in enumerate((QUILLBY, OSTERMERE)):
        for name, kept in _BAGS_KEPT.items():
            for _ in range(kept[at]):
                yield Piece(depot, "bag", BAGS[name], fit_in=dice.randint(200, 1400), past=_past())
        for name, kept in _NOSES_KEPT.items():
            for _ in range(kept[at]):
                yield Piece(depot, "nose", NOSES[name], past=_past())
        for mark in MARKS:
            for _ in range(_HEADS_KEPT[mark][at]):
                yield Piece(depot, "bagging head", mark=mark, past=_past())
            for _ in range(_BASES_KEPT[mark][at]):
                yield Piece(depot, "base", mark=mark, past=_past())
        for kind, many in _MANY.items():
            for _ in range(many[at]):
                yield Piece(depot, kind, past=_past())


def coupled_pieces() -> Iterator[Piece]:
    """A bag and its tube that go out together, and the noses that share a mark with their heads and bases."""
    yield Piece(QUILLBY, "bag", BAGS["R6"], fit_in=620, besides={"set": MOUNTED})
    yield Piece(QUILLBY, "bag tube", besides={"set": MOUNTED})
    for _ in range(2):
        yield Piece(QUILLBY, "nose", NOSES["N9"], mark="V8")


def _past() -> Past:
    return MENDED if factory.random.randgen.random() < 1 / 9 else GOOD
