"""Pieces of the register as stock that can load between two days: what readiness counts with."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from kit.planning.mains import Main
from kit.planning.readiness import Stock
from kit.planning.readiness_pattern import Pattern
from kit.planning.readiness_sets import Member, SetStock, set_stock
from kit.planning.values import Candidate, Line

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Slack:
    """What a kind needs beyond a job's days: days in date after the return, days of turn-round."""

    margin_days: int = 0
    turn_round_days: int = 0


def slack_of(lines: Iterable[Line]) -> dict[str, Slack]:
    """By kind, substitutes included, its margin and turn-round."""
    found: dict[str, Slack] = {}
    for line in lines:
        found[line.kind] = Slack(line.margin_days, line.turn_round_days)
        for other in line.substitutes:
            found[other.kind] = Slack(other.margin_days, other.turn_round_days)
    return found


def same_mark(mark: str) -> str:
    """A mark as it is compared: without regard to case or blanks about it."""
    return mark.strip().casefold()


def stock_of(
    pieces: Iterable[Candidate], lines: Sequence[Line], main: Main, as_of: date, first: date
) -> list[Stock]:
    """The stock that these pieces are from the day `first` on, with what is known on `as_of`; sets: `sets_of`."""
    pattern, slack = Pattern(lines), slack_of(lines)
    found: list[Stock] = []
    for piece in pieces:
        if piece.kind in slack and not piece.set_name:
            found.extend(_stock_of(piece, slack[piece.kind], pattern, main, as_of, first))
    return found


def sets_of(
    pieces: Iterable[Candidate], lines: Sequence[Line], main: Main, as_of: date, first: date
) -> list[SetStock]:
    """The sets that are whole among these pieces, which are all members of their sets there are, as stock."""
    pattern, slack = Pattern(lines), slack_of(lines)
    members: dict[tuple[str, str], list[Member | None]] = defaultdict(list)
    for piece in pieces:
        if piece.set_name:
            of_kind = slack.get(piece.kind)
            member = _member(piece, of_kind, pattern, main, as_of, first) if of_kind else None
            members[piece.depot, piece.set_name].append(member)
    found: list[SetStock] = []
    for listed in members.values():
        whole = [member for member in listed if member is not None]
        if len(whole) == len(listed):
            found.extend(set_stock(whole))
    return found


def _member(
    piece: Candidate, slack: Slack, pattern: Pattern, main: Main, as_of: date, first: date
) -> Member | None:
    stock = list(_stock_of(piece, slack, pattern, main, as_of, first))
    if not stock or piece.kind in pattern.counted_kinds:
        return None
    there, *taken = stock
    held = tuple((each.first, each.last) for each in taken)
    return Member(there.depot, there.alike, there.first, there.last, held)


def _stock_of(
    piece: Candidate, slack: Slack, pattern: Pattern, main: Main, as_of: date, first: date
) -> Iterator[Stock]:
    counted = piece.kind in pattern.counted_kinds
    number = piece.quantity if counted else 1
    fit_until, here = piece.fit_until, _here_from(piece, counted, as_of, first)
    if piece.state != "available" or fit_until is None or here is None or number <= 0:
        return
    sized = piece.kind in pattern.bore_kinds and main.suits(
        piece.bore_min_mm, piece.bore_max_mm, piece.bore_margin_mm, piece.sized_by
    )
    mark = same_mark(piece.mark) if piece.kind in pattern.mark_kinds else ""
    depot, from_day = here
    last = fit_until - timedelta(days=slack.margin_days)
    yield Stock(depot, piece.kind, sized, mark, from_day, last, number)
    if counted:
        # What is free of a lot is net already of what was promised, which is used up, whenever that is.
        return
    for starts, ends in held_days(((p.starts, p.ends) for p in piece.promises), slack.turn_round_days):
        starts, ends = max(starts, from_day), min(ends, last)
        if starts <= ends:
            yield Stock(depot, piece.kind, sized, mark, starts, ends, -1)


def _here_from(piece: Candidate, counted: bool, as_of: date, first: date) -> tuple[str, date] | None:
    """At which depot the piece can load and from which day on; None where nobody can say."""
    issued = [promise for promise in piece.promises if promise.issued]
    if not counted and any(promise.ends < as_of for promise in issued):
        return None
    if piece.custody == "in-transit":
        if not piece.transit_to or piece.arrives_on is None or piece.arrives_on < as_of:
            return None
        return piece.transit_to, max(first, piece.arrives_on + DAY)
    if not counted and piece.custody == "on-site" and not issued:
        return None
    return piece.depot, first


def held_days(promises: Iterable[tuple[date, date]], turn_round_days: int) -> Iterator[tuple[date, date]]:
    """The loading days that promises rule out, none of them twice.

    A stop on a day takes a piece until the end of its turn-round: that must be over before a promise starts.
    """
    free_from = date.min
    for starts, ends in sorted(promises):
        begins = max(starts - timedelta(days=turn_round_days), free_from)
        if begins <= ends:
            yield begins, ends
        free_from = max(free_from, ends + DAY) if ends < date.max else date.max
