"""What rearranging looks at: the jobs that may be rearranged, the pieces, and what works a plan may count on."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Literal

from kit.planning.values import Candidate, Held, Need


@dataclass(frozen=True, slots=True)
class MovableJob:
    """A job of which nothing is issued. `promised` is what it is promised now, all of which may be given up."""

    need: Need
    priority: int = 1
    promised: tuple[Held, ...] = ()


@dataclass(frozen=True, slots=True)
class WorkToDo:
    """A work that a plan counts on: a check of a piece done at its depot, or a piece sent to another depot.

    `on` is the day of the check, or the day of sending; a piece sent arrives on `arrives_on`.
    """

    what: Literal["check", "transfer"]
    tag: str
    on: date
    depot: str
    check: str = ""
    to_depot: str = ""
    arrives_on: date | None = None


Renewals = Mapping[tuple[str, str], Mapping[date, date]]
"""(tag, check) -> day done -> the day on which the check would then be due next."""


@dataclass(frozen=True, slots=True)
class Season:
    """Jobs in the order of loading day and reference, and every piece that might serve them.

    A candidate's `promises` are those of other jobs only, which nothing moves; a lot's `quantity` is what those
    leave of it. All members of a set are among the candidates, whatever their kind.

    `bench_a_day`: by depot, how many inspections a day a plan may count on; `link_days`: (from, to) -> days a
    transfer takes; `renewals`: what checks may be done in time, and until when they would hold. Empty: no works.
    """

    jobs: tuple[MovableJob, ...]
    candidates: tuple[Candidate, ...]
    as_of: date
    bench_a_day: Mapping[str, int] = field(default_factory=dict)
    link_days: Mapping[tuple[str, str], int] = field(default_factory=dict)
    renewals: Renewals = field(default_factory=dict)

    def __post_init__(self) -> None:
        order = [(job.need.load_on, job.need.job) for job in self.jobs]
        if order != sorted(order) or len(set(order)) != len(order):
            raise ValueError("jobs are not in the order of loading day and reference, each once")
