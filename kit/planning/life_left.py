"""How much is left of each date that limits a piece: its use-by date, and the checks that gate it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Literal

from kit.planning.values import Gate

Ends = Literal["dated", "never", "failed", "waits"]


@dataclass(frozen=True, slots=True)
class Life:
    """One date that limits a piece. `name` is the check, empty for the use-by date.

    `began` is the day from which it runs (made on; last done) and `last` the last day that counts. `left_days` counts
    from `today` to `last`: 0 on the last day itself, below 0 past it. `left` is the share of its run that lies ahead,
    0 to 1; None where the run has no beginning. `ends` other than dated: it bars the piece whatever the day.
    """

    name: str
    ends: Ends
    began: date | None = None
    last: date | None = None
    left_days: int | None = None
    left: float | None = None
    conceded: bool = False

    @property
    def over(self) -> bool:
        return self.left_days is not None and self.left_days < 0


def lives_of(made_on: date | None, use_by: date | None, gates: Iterable[Gate], today: date) -> list[Life]:
    """Every date that limits the piece, what decides first: what bars it now, then by the day on which it ends."""
    lives = [_of_gate(gate, today) for gate in gates]
    if use_by is not None:
        lives.append(_dated("", made_on, use_by, today))
    return sorted(lives, key=lambda life: (life.ends == "dated", life.last or date.min, life.name))


def _of_gate(gate: Gate, today: date) -> Life:
    if gate.status == "never" or gate.due_on is None:
        return Life(gate.check, "failed" if gate.status == "failed" else "never", gate.last_done)
    if gate.status == "failed":
        return Life(gate.check, "failed", gate.last_done)
    if gate.waits:
        return Life(gate.check, "waits", gate.last_done)
    return _dated(gate.check, gate.last_done, gate.due_on, today, gate.conceded_from is not None)


def _dated(name: str, began: date | None, last: date, today: date, conceded: bool = False) -> Life:
    left_days = (last - today).days
    left = None
    if began is not None and began <= last:
        # Both its first and its last day belong to the run.
        left = min(max((left_days + 1) / ((last - began).days + 1), 0.0), 1.0)
    return Life(name, "dated", began, last, left_days, left, conceded)
