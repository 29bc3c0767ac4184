"""Until when an item is fit, and why: the earliest of its use-by date and its gating due dates decides."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from kit.planning.values import Gate

NO_LIMIT = date(9999, 12, 31)
"""`fit_until` of an item that no date limits. None means something else: not fit at all."""


@dataclass(frozen=True, slots=True)
class Fitness:
    """The last day an item is in date (inclusive), and a few words on what decides it.

    `fit_until` is NO_LIMIT where nothing limits the item and None where it is not fit at all.
    """

    fit_until: date | None
    reason: str


def judge_fitness(use_by: date | None, gates: Iterable[Gate]) -> Fitness:
    """The fitness of an item with this use-by date and these gating checks.

    A gating check that failed, or was never done, means not fit whatever the dates say; a failed check is
    named before one never done, because it is the more telling. Of equal dates the use-by date is named first
    (it cannot be renewed), then the check first in the alphabet, so that the stored reason never flickers.
    """
    listed = sorted(gates, key=lambda gate: gate.check)
    for gate in listed:
        if gate.status == "failed":
            day = f" on {gate.last_done.isoformat()}" if gate.last_done else ""
            return Fitness(None, f"{gate.check} failed{day}")
    for gate in listed:
        if gate.status == "never" or gate.due_on is None:
            return Fitness(None, f"{gate.check} never done")
    for gate in listed:
        if gate.waits:
            return Fitness(None, f"{gate.check}: {gate.note}")
    fit_until, reason = NO_LIMIT, "no date limits it"
    if use_by is not None:
        fit_until, reason = use_by, f"use-by {use_by.isoformat()}"
    for gate in listed:
        if gate.due_on is not None and gate.due_on < fit_until:
            fit_until, reason = gate.due_on, f"{gate.check} due {gate.due_on.isoformat()}"
            if gate.conceded_from is not None:
                reason += f", conceded from {gate.conceded_from.isoformat()}"
    return Fitness(fit_until, reason)
