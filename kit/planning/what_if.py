"""What if: changes that are reckoned with and never made, as data, and a season as it would be with them.

A change is one of the dataclasses below; `to_data` and `from_data` turn it into what JSON knows and back. Nothing here
touches a register: `with_changes` takes a season and gives another.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

__all__ = [
    "BENCH_MOST",
    "PIECES_MOST",
    "AddJob",
    "Buy",
    "CancelJob",
    "Change",
    "CloseBench",
    "MoveJob",
    "SetBench",
    "TransferPiece",
    "WithdrawPiece",
    "from_data",
    "to_data",
]

PIECES_MOST = 1_000
BENCH_MOST = 1_000


@dataclass(frozen=True, slots=True)
class AddJob:
    """A job more."""

    reference: str
    depot: str
    load_on: date
    return_on: date
    arrangement: str
    bore_mm: Decimal | None = None
    base_mark: str = ""
    priority: int = 1

    def __post_init__(self) -> None:
        _refuse_if(not self.reference.strip(), "The job has no reference; give it one.")
        _refuse_if(self.return_on < self.load_on, "The job comes back before it loads; mend one of the days.")
        _refuse_if(self.bore_mm is not None and self.bore_mm <= 0, "A bore is more than 0 mm.")
        _refuse_if(not 1 <= self.priority <= 9, "A priority is from 1 to 9.")


@dataclass(frozen=True, slots=True)
class MoveJob:
    """A planned job on other days."""

    job: str
    load_on: date
    return_on: date

    def __post_init__(self) -> None:
        _refuse_if(self.return_on < self.load_on, "The job comes back before it loads; mend one of the days.")


@dataclass(frozen=True, slots=True)
class CancelJob:
    """A planned job that is not done after all."""

    job: str


@dataclass(frozen=True, slots=True)
class Buy:
    """So many pieces more of a kind (of a counted kind, a lot), at a depot from the day they come."""

    kind: str
    pieces: int
    depot: str
    comes_on: date
    bore_min_mm: Decimal | None = None
    bore_max_mm: Decimal | None = None
    mark: str = ""
    use_by: date | None = None

    def __post_init__(self) -> None:
        _refuse_if(not 1 <= self.pieces <= PIECES_MOST, f"Buy from 1 to {PIECES_MOST} pieces.")
        one_end = (self.bore_min_mm is None) != (self.bore_max_mm is None)
        _refuse_if(one_end, "A range has two ends; give both or neither.")
        if self.bore_min_mm is not None and self.bore_max_mm is not None:
            wrong = not 0 < self.bore_min_mm <= self.bore_max_mm
            _refuse_if(wrong, "The range ends before it begins; mend one of its ends.")


@dataclass(frozen=True, slots=True)
class WithdrawPiece:
    """A piece that is not there any more: lost, failed for good, or withdrawn."""

    tag: str


@dataclass(frozen=True, slots=True)
class TransferPiece:
    """A piece sent to another depot, where it is from the day after it arrives."""

    tag: str
    to_depot: str
    arrives_on: date


@dataclass(frozen=True, slots=True)
class CloseBench:
    """No inspection is done at a depot from `first` to `last`, both included."""

    depot: str
    first: date
    last: date

    def __post_init__(self) -> None:
        _refuse_if(self.last < self.first, "The bench opens before it closes; mend one of the days.")


@dataclass(frozen=True, slots=True)
class SetBench:
    """Another number of inspections a day that a plan may count on at a depot."""

    depot: str
    a_day: int

    def __post_init__(self) -> None:
        _refuse_if(
            not 0 <= self.a_day <= BENCH_MOST, f"A bench does from 0 to {BENCH_MOST} inspections a day."
        )


Change = AddJob | MoveJob | CancelJob | Buy | WithdrawPiece | TransferPiece | CloseBench | SetBench

CHANGES: Mapping[str, type[Any]] = {
    "add job": AddJob,
    "move job": MoveJob,
    "cancel job": CancelJob,
    "buy": Buy,
    "withdraw piece": WithdrawPiece,
    "transfer piece": TransferPiece,
    "close bench": CloseBench,
    "set bench": SetBench,
}
"""The name of each sort of change, as it stands in the data."""


def name_of(change: Change) -> str:
    """Under which name a change is kept."""
    return next(name for name, sort in CHANGES.items() if isinstance(change, sort))


def to_data(change: Change) -> dict[str, Any]:
    """The change as JSON keeps it: dates as ISO text, lengths as text, what is not given left out."""
    data: dict[str, Any] = {"do": name_of(change)}
    for each in fields(change):
        value = getattr(change, each.name)
        if value is not None and value != "":
            data[each.name] = value if isinstance(value, int | str) else str(value)
    return data


def from_data(data: object) -> Change:
    """The change that `to_data` wrote. Raises ValueError with a sentence for anything else."""
    if not isinstance(data, Mapping) or data.get("do") not in CHANGES:
        raise ValueError(f"This is no change that a trial plan knows: {data!r}.")
    sort = CHANGES[data["do"]]
    given = {name: value for name, value in data.items() if name != "do"}
    known = {each.name: each.type for each in fields(sort)}
    if unknown := set(given) - set(known):
        raise ValueError(f"A change {data['do']!r} has no {', '.join(sorted(map(str, unknown)))}.")
    try:
        change: Change = sort(**{name: _read(str(known[name]), value) for name, value in given.items()})
    except (TypeError, InvalidOperation) as error:
        raise ValueError(
            f"A change {data['do']!r} lacks something or holds what it cannot: {error}."
        ) from error
    return change


def _read(sort: str, value: object) -> object:
    if sort.startswith("date"):
        return date.fromisoformat(str(value))
    if sort.startswith("Decimal"):
        return Decimal(str(value))
    if sort == "int":
        if isinstance(value, bool) or not isinstance(value, int):
            raise TypeError(f"{value!r} is no whole number")
        return value
    return str(value)


def _refuse_if(wrong: bool, why: str) -> None:
    if wrong:
        raise ValueError(why)
