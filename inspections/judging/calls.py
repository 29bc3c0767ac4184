"""What calls for a check at once: a use, a repair, being set aside, or a person who orders a re-test."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Literal, NamedTuple

from inspections.judging.rules import Rule

Cause = Literal["use", "repair", "quarantine", "ordered"]

_AWAITING: dict[Cause, str] = {
    "use": "used, awaiting its check since {}",
    "repair": "repaired, awaiting its check since {}",
    "quarantine": "set aside, awaiting its re-test since {}",
    "ordered": "re-test ordered, awaiting it since {}",
}


class Call(NamedTuple):
    """What happened to an item on `day` and may call for a check; `order` as in Record.

    Every use is recorded, whether or not a check asks for it: uses are counted, and end a time in store. An
    "ordered" re-test is called for under every rule it is passed to.
    """

    day: date
    order: int
    cause: Cause = "use"


class Waiting(NamedTuple):
    """Since when a check is called for, and why, in words that name the day."""

    since: date
    note: str


def calls_known_by(calls: Iterable[Call], as_of: date) -> tuple[Call, ...]:
    """The calls up to and with `as_of`."""
    return tuple(call for call in calls if call.day <= as_of)


def waiting_since(rule: Rule, calls: Iterable[Call], last: tuple[date, int]) -> Waiting | None:
    """The first call under `rule` that the latest record, at `last` (day, order), does not answer.

    A record answers a call if done on a later day, or on the same day and recorded after it. The uses
    that `after_uses` counts call on the day of the one that fills the number.
    """
    unanswered = sorted(call for call in calls if (call.day, call.order) >= last)
    uses = [call for call in unanswered if call.cause == "use"]
    first = next((call for call in unanswered if _calls_alone(rule, call.cause)), None)
    if rule.after_uses and len(uses) >= rule.after_uses:
        filled = uses[rule.after_uses - 1]
        if first is None or filled < first:
            return Waiting(filled.day, _used_so_often(uses))
    if first is None:
        return None
    return Waiting(first.day, _AWAITING[first.cause].format(first.day.isoformat()))


def _calls_alone(rule: Rule, cause: Cause) -> bool:
    """Whether one call of this cause is enough."""
    return {
        "use": rule.after_use,
        "repair": rule.after_repair,
        "quarantine": rule.after_quarantine,
        "ordered": True,
    }[cause]


def _used_so_often(uses: list[Call]) -> str:
    last = uses[-1].day.isoformat()
    if len(uses) == 1:
        return f"used once since its last check, on {last}"
    return f"used {len(uses)} times since its last check, the last on {last}"
