"""Pieces put in on purpose: one or more for every reason to refuse, and the dates on which a choice turns."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Final

from demo_fixtures.dates import in_days, month_end
from demo_fixtures.depots import DAY_MAKER, MONTH_MAKER, OSTERMERE, QUARTER_MAKER, QUILLBY
from demo_fixtures.history import DOUBTFUL, FAILED, NEVER, Past, due_in
from demo_fixtures.store_list import BAGS, NOSES, Piece

_BY_DAY: Final = {"maker": DAY_MAKER}
_NEW: Final = 2_400  # days a new bag has before it


def turning_month_end(day: date) -> date:
    """The first end of a month that is ten days off or more: a label of that month decides between two jobs."""
    soon = month_end(day)
    return soon if (soon - day).days >= 10 else month_end(in_days(soon, 1))


def pieces_at_fault(day: date) -> Iterator[Piece]:
    yield from _bags(day)
    yield from _besides()
    yield from _counted()


def _bags(day: date) -> Iterator[Piece]:
    r1, r3 = BAGS["R1"], BAGS["R3"]
    decides = (turning_month_end(day) - day).days
    yield Piece(QUILLBY, "bag", r1, fit_in=decides, besides={"maker": MONTH_MAKER})
    yield Piece(QUILLBY, "bag", r3, fit_in=-12, besides=_BY_DAY)
    yield Piece(QUILLBY, "bag", r3, fit_in=9, besides=_BY_DAY)
    yield Piece(QUILLBY, "bag", r3, fit_in=700, past=due_in(-20))
    yield Piece(QUILLBY, "bag", r3, fit_in=600, past=due_in(11))
    yield Piece(QUILLBY, "bag", r3, fit_in=_NEW, past=NEVER, besides={"note": "came with the last delivery"})
    yield Piece(
        QUILLBY, "bag", r3, fit_in=500, past=FAILED, besides={"note": "waits for the compliance lead"}
    )
    yield Piece(QUILLBY, "bag", r3, fit_in=800, past=DOUBTFUL)
    yield Piece(QUILLBY, "bag", r3, fit_in=900, trait="quarantined")
    yield Piece(QUILLBY, "bag", r3, fit_in=300, trait="withdrawn")
    yield Piece(QUILLBY, "bag", r3, fit_in=400, trait="lost")
    # All that can be wrong at once: label run out, test overdue, set aside.
    yield Piece(QUILLBY, "bag", r3, fit_in=-40, past=due_in(-75), trait="quarantined", besides=_BY_DAY)
    yield Piece(QUILLBY, "bag", BAGS["R4"], fit_in=-100, besides={"maker": QUARTER_MAKER})
    yield Piece(QUILLBY, "bag", BAGS["R2"], fit_in=650, past=due_in(-3))
    yield Piece(OSTERMERE, "bag", r1, fit_in=-5, besides=_BY_DAY)
    yield Piece(OSTERMERE, "bag", r3, fit_in=18, besides=_BY_DAY)
    yield Piece(OSTERMERE, "bag", r3, fit_in=820, past=FAILED)
    yield Piece(OSTERMERE, "bag", BAGS["R2"], fit_in=760, past=due_in(-33))
    yield Piece(OSTERMERE, "bag", BAGS["R4"], fit_in=_NEW, past=NEVER)
    yield Piece(OSTERMERE, "bag", BAGS["R5"], fit_in=440, trait="quarantined")
    yield Piece(OSTERMERE, "bag", BAGS["R6"], fit_in=210, past=due_in(25))


def _besides() -> Iterator[Piece]:
    for depot, kind, past in (
        (QUILLBY, "gauge", due_in(-16)),
        (QUILLBY, "gauge", due_in(7)),
        (QUILLBY, "gas detector", due_in(4)),
        (QUILLBY, "bag tube", due_in(-50)),
        (QUILLBY, "control head", FAILED),
        (QUILLBY, "bypass set", due_in(20)),
        (QUILLBY, "pump", NEVER),
        (QUILLBY, "chain set", due_in(-2)),
        (QUILLBY, "hand tool", due_in(-90)),
        (OSTERMERE, "gauge", due_in(-41)),
        (OSTERMERE, "gauge", FAILED),
        (OSTERMERE, "gauge", NEVER),
        (OSTERMERE, "gas detector", due_in(-9)),
        (OSTERMERE, "bag tube", NEVER),
        (OSTERMERE, "bag tube", due_in(13)),
        (OSTERMERE, "control head", due_in(-7)),
        (OSTERMERE, "bypass set", FAILED),
        (OSTERMERE, "vent head", due_in(-28)),
        (OSTERMERE, "chain set", due_in(15)),
        (OSTERMERE, "hand tool", NEVER),
    ):
        yield Piece(depot, kind, past=past)
    yield Piece(QUILLBY, "gauge", trait="quarantined")
    yield Piece(QUILLBY, "gas detector", trait="lost", past=due_in(-120))
    yield Piece(QUILLBY, "pump", trait="withdrawn", past=due_in(-200))
    yield Piece(QUILLBY, "vent stack", trait="quarantined", besides={"note": "bent at the joint"})
    yield Piece(QUILLBY, "nose", NOSES["N4"], past=due_in(-11))
    yield Piece(QUILLBY, "bagging head", mark="V6", past=FAILED)
    yield Piece(QUILLBY, "base", mark="V6", trait="lost")
    yield Piece(
        QUILLBY, "bagging head", past=due_in(200), besides={"note": "mark worn off, to be identified"}
    )
    yield Piece(OSTERMERE, "bagging head", mark="V4", past=due_in(-60))
    yield Piece(OSTERMERE, "base", mark="V8", trait="quarantined")
    yield Piece(OSTERMERE, "nose", NOSES["N2"], past=DOUBTFUL)
    yield Piece(OSTERMERE, "nose", NOSES["N5"], trait="withdrawn")
    yield Piece(OSTERMERE, "vent stack", trait="lost")
    yield Piece(OSTERMERE, "chain set", trait="quarantined", past=Past(ended="fail"))


def _counted() -> Iterator[Piece]:
    """Lots. Ostermere's seals last for the usual jobs, not for one that takes a dozen."""
    for depot, kind, quantity, fit_in in (
        (QUILLBY, "seal", 90, 400),
        (QUILLBY, "seal", 36, 40),
        (QUILLBY, "cap", 140, None),
        (QUILLBY, "leak-detection fluid", 40, 300),
        (QUILLBY, "leak-detection fluid", 6, -45),
        (QUILLBY, "lubricant", 30, 500),
        (OSTERMERE, "seal", 14, 25),
        (OSTERMERE, "seal", 20, 460),
        (OSTERMERE, "seal", 30, -130),
        (OSTERMERE, "cap", 60, None),
        (OSTERMERE, "cap", 25, None),
        (OSTERMERE, "leak-detection fluid", 28, 240),
        (OSTERMERE, "lubricant", 24, 380),
        (OSTERMERE, "lubricant", 4, 12),
    ):
        by_day = _BY_DAY if kind == "seal" and fit_in in (25, 40) else {}
        yield Piece(depot, kind, fit_in=fit_in, quantity=quantity, besides=by_day)
