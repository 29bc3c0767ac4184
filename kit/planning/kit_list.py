"""The kit list of a job: what goes on each line, what is refused and why, what else fits, what is short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any

from kit.planning.mending import remedy_for, soonest_full
from kit.planning.one_kind import OneKind
from kit.planning.reasons import reasons_for
from kit.planning.values import Candidate, Held, Line, Need, Reason


@dataclass(frozen=True, slots=True)
class KitLine:
    """A line with what was chosen for it: sorted `tags`, or `lots` as (lot, quantity) of a counted kind.

    `short` pieces are lacking; then `soonest` is the earliest later loading day that would find the line
    full, None if none is known, and `remedy` a sentence on what would mend it.
    """

    line: Line
    tags: tuple[str, ...]
    lots: tuple[tuple[str, int], ...]
    short: int
    soonest: date | None
    remedy: str


@dataclass(frozen=True, slots=True)
class Refused:
    """A piece that cannot fill a line of its kind, with all the reasons."""

    tag: str
    line: str
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True)
class AlsoFit:
    """A piece that would do on a line but was not needed there or anywhere else in the job."""

    tag: str
    line: str


@dataclass(frozen=True, slots=True)
class KitList:
    """The kit list of one job. Lines are in the arrangement's order; the others by line, then tag."""

    need: Need
    as_of: date
    lines: tuple[KitLine, ...]
    refused: tuple[Refused, ...]
    also_fit: tuple[AlsoFit, ...]

    @property
    def complete(self) -> bool:
        """Whether no line is short."""
        return not any(line.short for line in self.lines)


def draw_up(
    need: Need,
    candidates: Iterable[Candidate],
    as_of: date,
    *,
    all_depots: bool = False,
    held: Iterable[Held] = (),
    elsewhere: Iterable[Candidate] = (),
) -> KitList:
    """Draw up the kit list of a job from the pieces of the register.

    What the job holds already (`held`) stays on its line as it is, whatever speaks against it by now, and
    the best choice is made for what that leaves open. Pieces of other depots are left out, unless they are
    on their way to the job's depot or `all_depots` asks for them to be listed with the reasons that refuse
    them; together with `elsewhere` they serve to say what a transfer would bring. `as_of` is the day whose
    knowledge is used.

    A lot of which nothing is left is left out, unless another job's promise of it is what leaves nothing.
    Raises ValueError where the job holds something for a line that it does not have.
    """
    register = {piece.tag: piece for piece in (*elsewhere, *candidates)}
    held_on = _held_on(need, held)
    held_tags = {tag for on_line in held_on for tag in on_line}
    here = [
        piece for piece in register.values() if all_depots or need.depot in (piece.depot, piece.transit_to)
    ]
    listed = {piece.tag for piece in here} | held_tags
    away = [piece for piece in register.values() if piece.tag not in listed]
    reasons = {
        (piece.tag, index): reasons_for(piece, line, need, as_of)
        for index, line in enumerate(need.lines)
        for piece in here
        if piece.kind == line.kind
    }
    placed: dict[int, Counter[str]] = {}
    kinds = {
        name: _one_kind(name, need, as_of, here, reasons, held_on)
        for name in {line.kind for line in need.lines}
    }
    for kind in kinds.values():
        for index, chosen in zip(kind.lines, kind.choose(), strict=True):
            placed[index] = held_on[index] + Counter(chosen)
    short = {index: max(line.quantity - placed[index].total(), 0) for index, line in enumerate(need.lines)}
    soonest: dict[int, date] = {}
    for kind in kinds.values():
        soonest |= soonest_full(need, [index for index in kind.lines if short[index]], here, as_of)
    lines = []
    for index, line in enumerate(need.lines):
        remedy = ""
        if short[index]:
            remedy = remedy_for(kinds[line.kind], index, short[index], soonest.get(index), away)
        lines.append(_kit_line(line, placed[index], short[index], soonest.get(index), remedy))
    refused, also_fit = _not_chosen(need, here, reasons, placed, held_on)
    return KitList(need, as_of, tuple(lines), refused, also_fit)


def _held_on(need: Need, held: Iterable[Held]) -> list[Counter[str]]:
    """For each line, what the job holds for it already: tag -> quantity."""
    places = {line.name: index for index, line in enumerate(need.lines)}
    held_on: list[Counter[str]] = [Counter() for _ in need.lines]
    for each in held:
        if each.line not in places:
            raise ValueError(
                f"{need.job} holds {each.tag} for the line {each.line!r}, and its arrangement has none; "
                f"release {each.tag} and reserve again"
            )
        held_on[places[each.line]][each.tag] += each.quantity
    return held_on


def _one_kind(
    name: str,
    need: Need,
    as_of: date,
    here: Iterable[Candidate],
    reasons: Mapping[tuple[str, int], tuple[Reason, ...]],
    held_on: Sequence[Counter[str]],
) -> OneKind:
    """A kind's lines with what they still need, and its pieces less what the job holds of them already."""
    lines = tuple(index for index, line in enumerate(need.lines) if line.kind == name)
    taken = sum((held_on[index] for index in lines), Counter[str]())
    pieces = (
        replace(piece, quantity=piece.quantity - taken[piece.tag]) if taken[piece.tag] else piece
        for piece in here
        if piece.kind == name
    )
    return OneKind(
        need=need,
        as_of=as_of,
        lines=lines,
        wanted=tuple(max(need.lines[index].quantity - held_on[index].total(), 0) for index in lines),
        pieces=tuple(piece for piece in pieces if piece.quantity > 0),
        reasons=reasons,
    )


def _kit_line(line: Line, placed: Counter[str], short: int, soonest: date | None, remedy: str) -> KitLine:
    if line.counted:
        return KitLine(line, (), tuple(sorted(placed.items())), short, soonest, remedy)
    return KitLine(line, tuple(sorted(placed)), (), short, soonest, remedy)


def _not_chosen(
    need: Need,
    here: Iterable[Candidate],
    reasons: Mapping[tuple[str, int], tuple[Reason, ...]],
    placed: Mapping[int, Counter[str]],
    held_on: Sequence[Counter[str]],
) -> tuple[tuple[Refused, ...], tuple[AlsoFit, ...]]:
    """What is refused and what would also do; a piece chosen for one line may be refused on another."""
    chosen = {tag for on_line in placed.values() for tag in on_line}
    refused, also_fit = [], []
    by_tag = sorted(here, key=lambda piece: piece.tag)
    for index, line in enumerate(need.lines):
        for piece in by_tag:
            if piece.kind != line.kind or piece.tag in held_on[index]:
                continue
            against = reasons[piece.tag, index]
            if line.counted and piece.quantity <= 0 and not _taken_by_others(against):
                continue
            if against:
                refused.append(Refused(piece.tag, line.name, against))
            elif piece.tag not in chosen:
                also_fit.append(AlsoFit(piece.tag, line.name))
    return tuple(refused), tuple(also_fit)


def _taken_by_others(reasons: Iterable[Reason]) -> bool:
    return any(reason.code in ("promised-elsewhere", "on-site") for reason in reasons)


def to_json(kit_list: KitList) -> dict[str, Any]:
    """The kit list as the plain values that JSON knows: dates as ISO text, the bore as a float or None."""
    need = kit_list.need
    return {
        "job": need.job,
        "as_of": kit_list.as_of.isoformat(),
        "load_on": need.load_on.isoformat(),
        "return_on": need.return_on.isoformat(),
        "bore_mm": None if need.bore_mm is None else float(need.bore_mm),
        "complete": kit_list.complete,
        "lines": [_line_json(line) for line in kit_list.lines],
        "refused": [
            {
                "tag": each.tag,
                "line": each.line,
                "reasons": [
                    {"code": reason.code, "date": _iso(reason.date), "text": reason.text}
                    for reason in each.reasons
                ],
            }
            for each in kit_list.refused
        ],
        "also_fit": [{"tag": each.tag, "line": each.line} for each in kit_list.also_fit],
    }


def _line_json(kit_line: KitLine) -> dict[str, Any]:
    line = kit_line.line
    pieces: dict[str, Any] = {"tags": list(kit_line.tags)}
    if line.counted:
        pieces = {"lots": [{"lot": lot, "quantity": quantity} for lot, quantity in kit_line.lots]}
    return {
        "line": line.name,
        "kind": line.kind,
        "needed": line.quantity,
        **pieces,
        "short": kit_line.short,
        "soonest": _iso(kit_line.soonest),
        "remedy": kit_line.remedy,
    }


def _iso(day: date | None) -> str | None:
    return None if day is None else day.isoformat()
