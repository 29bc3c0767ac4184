"""The rule of a check: how often it is due, and what calls for it besides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from inspections.judging.intervals import Interval

Basis = Literal["done", "anchor"]


@dataclass(frozen=True, slots=True)
class Rule:
    """A check that a kind of item needs.

    `basis` "done" counts from the day last done, "anchor" keeps to a grid from the first day ever
    recorded. `early_days` (anchor only): done so many days before a grid point, or fewer, a check counts
    for that point. `gates`: while it is not in date, the item may not go out.

    What calls for it again at once: `after_use`, each use; `after_uses`, so many uses since it was last
    done (0: uses are not counted); `after_repair`; `after_quarantine`. `after_storage`: besides the
    interval it falls due so long after the item was last checked or used, whichever came later.
    `grace_days`: so many days after the due date it is late, but not yet reported as missed; a check that
    gates has none.
    """

    check: str
    interval: Interval
    basis: Basis = "done"
    early_days: int = 0
    gates: bool = True
    after_use: bool = False
    after_repair: bool = False
    after_quarantine: bool = False
    after_uses: int = 0
    after_storage: Interval | None = None
    grace_days: int = 0

    def __post_init__(self) -> None:
        if self.basis not in ("done", "anchor"):
            raise ValueError(f"The basis of {self.check!r} is {self.basis!r}; write done or anchor.")
        for name in ("early_days", "after_uses", "grace_days"):
            if getattr(self, name) < 0:
                words = {"early_days": "early days", "after_uses": "uses", "grace_days": "days of grace"}
                raise ValueError(
                    f"The {words[name]} of {self.check!r} are {getattr(self, name)}; write 0 or more."
                )
        if self.gates and self.grace_days:
            raise ValueError(
                f"{self.check!r} decides whether an item may go out, so it can have no days of grace; "
                "write 0, or let it not gate. To put off one due date, ask for a concession."
            )
