"""The kit list of a job: what goes on each line, what is refused and why, what else fits, what is short."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from kit.planning.as_slots import kinds_of, set_key
from kit.planning.coupled import choose_coupled, groups_of, marks_held
from kit.planning.mending import remedy_for, soonest_full
from kit.planning.one_kind import OneKind
from kit.planning.reasons import reasons_for
from kit.planning.sets import as_kind, held_back, sets_of
from kit.planning.values import Candidate, Held, Line, Need, Reason

Mend = Literal["remedies", "soonest", "nothing"]


@dataclass(frozen=True, slots=True)
class KitLine:
    """A line with what was chosen for it: sorted `tags`, or `lots` as (lot, quantity) of a counted kind.

    `short` pieces are lacking; then `soonest` is the earliest later loading day that would find the line
    full, None if none is known, and `remedy` a sentence on what would mend it. `instead`: (tag, kind) of
    those that are of a substitute kind.
    """

    line: Line
    tags: tuple[str, ...]
    lots: tuple[tuple[str, int], ...]
    short: int
    soonest: date | None
    remedy: str
    instead: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Refused:
    """A piece that cannot fill a line that takes its kind, with all the reasons."""

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
    """The kit list of one job. Lines are in the arrangement's order; the others by line, then tag.

    `proven`: no other choice is better, ties included; only where lines are coupled might it ever be open.
    """

    need: Need
    as_of: date
    lines: tuple[KitLine, ...]
    refused: tuple[Refused, ...]
    also_fit: tuple[AlsoFit, ...]
    proven: bool = True

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
    mend: Mend = "remedies",
) -> KitList:
    """Draw up the kit list of a job from the pieces of the register.

    What the job holds already (`held`) stays on its line as it is, whatever speaks against it by now, and
    the best choice is made for what that leaves open. Pieces of other depots are left out, unless they are
    on their way to the job's depot or `all_depots` asks for them to be listed with the reasons that refuse
    them; together with `elsewhere` they serve to say what a transfer would bring. `as_of` is the day whose
    knowledge is used.

    Of a set every piece must be among the candidates or `elsewhere`, those of kinds that the job has no line
    for as well; of what the job holds of a set already only the rest goes together. A lot of which nothing is
    left is left out, unless another job's promise of it is what leaves nothing.
    `mend`: what is looked for beside the choice, for it takes longest: the soonest day and the remedy of each short
    line, the day alone, or nothing.
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
    reasons, whole = _reasons(need, register, here, held_tags, as_of)
    free = _free(here, held_on)
    kinds = {
        name: _one_kind(name, need, as_of, free, reasons, held_on)
        for name in {line.kind for line in need.lines}
    }
    placed = dict(enumerate(held_on))
    proven = True
    spoilt: set[int] = set()
    for group in groups_of(need, whole):
        if not group.coupled:
            chosen = kinds[need.lines[group.lines[0]].kind].choose()
        else:
            marks = [marks_held(on_line, register) for on_line in held_on]
            fits = {key for key, against in reasons.items() if not against}
            choice = choose_coupled(need, group.lines, free, fits, marks)
            chosen, proven = list(choice.placed), proven and choice.proven
            spoilt.update(group.lines)
        for index, on_line in zip(group.lines, chosen, strict=True):
            placed[index] = held_on[index] + Counter(on_line)
    short = {index: max(line.quantity - placed[index].total(), 0) for index, line in enumerate(need.lines)}
    lacking = [index for index in short if short[index] and mend != "nothing"]
    soonest = soonest_full(need, lacking, _with_mates(here, register.values()), as_of) if lacking else {}
    refused, also_fit = _not_chosen(need, here, reasons, placed, held_on)
    lines = []
    for index, line in enumerate(need.lines):
        remedy = ""
        if short[index] and mend == "remedies":
            remedy = remedy_for(kinds[line.kind], index, short[index], soonest.get(index), away)
            if index in spoilt:
                remedy = _of_coupled(line, remedy, [fit.tag for fit in also_fit if fit.line == line.name])
        kit_line = _kit_line(line, placed[index], short[index], soonest.get(index), remedy)
        lines.append(replace(kit_line, instead=_instead(line, placed[index], register)))
    return KitList(need, as_of, tuple(lines), refused, also_fit, proven)


Reasons = Mapping[tuple[str, int], tuple[Reason, ...]]


def _reasons(
    need: Need,
    register: Mapping[str, Candidate],
    here: Iterable[Candidate],
    held_tags: Collection[str],
    as_of: date,
) -> tuple[Reasons, list[list[Candidate]]]:
    """What speaks against each piece here on each line that takes its kind; and the sets that may go whole."""

    def reasons_on(piece: Candidate, index: int) -> tuple[Reason, ...]:
        known = found.get((piece.tag, index))
        seen = as_kind(need.lines[index], piece.kind)
        return reasons_for(piece, seen, need, as_of) if known is None and seen is not None else known or ()

    found: dict[tuple[str, int], tuple[Reason, ...]] = {}
    seen_here = {}
    for index, line in enumerate(need.lines):
        by_kind = {seen.kind: seen for _, seen in kinds_of(line)}
        for piece in here:
            if piece.kind in by_kind:
                found[piece.tag, index] = reasons_for(piece, by_kind[piece.kind], need, as_of)
                seen_here[piece.tag] = set_key(piece)
    asked = {key for key in seen_here.values() if key is not None}
    if not asked:
        return found, []
    sets = {key: each for key, each in sets_of(register.values(), held_tags).items() if key in asked}
    back = held_back(need, sets, reasons_on)
    for (tag, index), against in found.items():
        if tag in back:
            found[tag, index] = (*against, back[tag])
    fits = {tag for (tag, _), against in found.items() if not against}
    return found, [members for members in sets.values() if all(m.tag in fits for m in members)]


def _with_mates(here: Sequence[Candidate], register: Iterable[Candidate]) -> list[Candidate]:
    """The pieces here, and those elsewhere that are of a set with one of them: parts of a set may be on the way."""
    keys = {key for piece in here if (key := set_key(piece)) is not None}
    listed = {piece.tag for piece in here}
    return (
        [*here, *(p for p in register if p.tag not in listed and set_key(p) in keys)] if keys else list(here)
    )


def _of_coupled(line: Line, remedy: str, spare: Sequence[str]) -> str:
    """The remedy of a line that pieces would fit which cannot be brought together with the others."""
    if not spare:
        return remedy
    listed = ", ".join(spare[:3]) + (f" and {len(spare) - 3} more" if len(spare) > 3 else "")
    bound = f"units of one mark ({line.assembly})" if line.assembly else "whole sets"
    return f"{listed} would do on this line but for {bound}: others must be brought to go with them. {remedy}"


def _instead(
    line: Line, placed: Counter[str], register: Mapping[str, Candidate]
) -> tuple[tuple[str, str], ...]:
    if not line.substitutes:
        return ()
    kinds = {tag: register[tag].kind for tag in sorted(placed) if tag in register}
    return tuple((tag, kind) for tag, kind in kinds.items() if kind != line.kind)


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


def _free(here: Iterable[Candidate], held_on: Sequence[Counter[str]]) -> list[Candidate]:
    """The pieces less what the job holds of them already."""
    taken = sum(held_on, Counter[str]())
    pieces = (
        replace(piece, quantity=piece.quantity - taken[piece.tag]) if taken[piece.tag] else piece
        for piece in here
    )
    return [piece for piece in pieces if piece.quantity > 0]


def _one_kind(
    name: str,
    need: Need,
    as_of: date,
    free: Iterable[Candidate],
    reasons: Reasons,
    held_on: Sequence[Counter[str]],
) -> OneKind:
    """A kind's lines with what they still need, and what is free of its pieces."""
    lines = tuple(index for index, line in enumerate(need.lines) if line.kind == name)
    return OneKind(
        need=need,
        as_of=as_of,
        lines=lines,
        wanted=tuple(max(need.lines[index].quantity - held_on[index].total(), 0) for index in lines),
        pieces=tuple(piece for piece in free if piece.kind == name),
        reasons=reasons,
    )


def _kit_line(line: Line, placed: Counter[str], short: int, soonest: date | None, remedy: str) -> KitLine:
    if line.counted:
        return KitLine(line, (), tuple(sorted(placed.items())), short, soonest, remedy)
    return KitLine(line, tuple(sorted(placed)), (), short, soonest, remedy)


def _not_chosen(
    need: Need,
    here: Iterable[Candidate],
    reasons: Reasons,
    placed: Mapping[int, Counter[str]],
    held_on: Sequence[Counter[str]],
) -> tuple[tuple[Refused, ...], tuple[AlsoFit, ...]]:
    """What is refused and what would also do; a piece chosen for one line may be refused on another."""
    chosen = {tag for on_line in placed.values() for tag in on_line}
    refused, also_fit = [], []
    by_tag = sorted(here, key=lambda piece: piece.tag)
    for index, line in enumerate(need.lines):
        for piece in by_tag:
            against = reasons.get((piece.tag, index))
            if against is None or piece.tag in held_on[index]:
                continue
            if line.counted and piece.quantity <= 0 and not _taken_by_others(against):
                continue
            if against:
                refused.append(Refused(piece.tag, line.name, against))
            elif piece.tag not in chosen:
                also_fit.append(AlsoFit(piece.tag, line.name))
    return tuple(refused), tuple(also_fit)


def _taken_by_others(reasons: Iterable[Reason]) -> bool:
    return any(reason.code in ("promised-elsewhere", "on-site") for reason in reasons)
