"""Sets that go out as a whole or not at all: what keeps one back from a job, and whether a job has room for it.

A set is what stands in one depot under one name. A piece of it that no line of the job takes, or that is refused on
every line, keeps the others back; each of those is refused with the reason `set-not-whole`, which names that piece
and says why. What the job holds already of a set stays where it is: only the rest of the set goes together.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date

from kit.planning.as_slots import SetKey, as_compared, kinds_of, set_key, units_needed, units_of
from kit.planning.reasons import reasons_for
from kit.planning.values import Candidate, Line, Need, Reason

SET_NOT_WHOLE = "set-not-whole"

ReasonsOn = Callable[[Candidate, int], tuple[Reason, ...]]
"""What speaks against a piece on a line (by its place in the job) that takes its kind."""


def as_kind(line: Line, kind: str) -> Line | None:
    """The line as a piece of this kind sees it, with margin and turn-round of that kind; None if it takes none."""
    return next((seen for _, seen in kinds_of(line) if seen.kind == kind), None)


def reasons_on(piece: Candidate, line: Line, need: Need, as_of: date) -> tuple[Reason, ...]:
    """What speaks against a piece on a line that it may stand in for, whatever its set.

    A line that does not take its kind (it did once, when the piece was promised) is a reason without a code.
    """
    seen = as_kind(line, piece.kind)
    if seen is None:
        return (Reason("", None, f"{line.name} of {need.job} does not take a {piece.kind}; take another."),)
    return reasons_for(piece, seen, need, as_of)


def sets_of(pieces: Iterable[Candidate], besides: Collection[str] = ()) -> dict[SetKey, list[Candidate]]:
    """The sets of two pieces or more, by depot and name; `besides`: tags that are left out of them."""
    found: dict[SetKey, list[Candidate]] = defaultdict(list)
    for piece in sorted(pieces, key=lambda piece: piece.tag):
        key = set_key(piece)
        if key is not None and piece.tag not in besides:
            found[key].append(piece)
    return {key: members for key, members in sorted(found.items()) if len(members) > 1}


def held_back(
    need: Need, sets: Mapping[SetKey, Sequence[Candidate]], reasons_on: ReasonsOn
) -> dict[str, Reason]:
    """By tag, the reason `set-not-whole` of each piece whose set cannot go to the job for the sake of another piece.

    A piece that alone keeps its set back does not get it: what is wrong with that one is said in its own reasons.
    """
    found: dict[str, Reason] = {}
    for (_, name), members in sets.items():
        fits: dict[str, list[int]] = {}
        against: dict[str, Reason] = {}
        for member in members:
            lines = [place for place, line in enumerate(need.lines) if as_kind(line, member.kind) is not None]
            on = {place: reasons_on(member, place) for place in lines}
            fits[member.tag] = [place for place in lines if not on[place]]
            if not fits[member.tag]:
                against[member.tag] = _why(need, member, list(on.values()))
        if not against and not _room_for_all(need, members, fits):
            tags = ", ".join(member.tag for member in members)
            text = (
                f"Its set {name} goes as a whole, and {need.job} has no room for all of it ({tags}) together."
            )
            found.update({member.tag: Reason(SET_NOT_WHOLE, None, text) for member in members})
        for member in members:
            others = [tag for tag in against if tag != member.tag]
            if others:
                found[member.tag] = set_not_whole(name, others, against)
    return found


def _why(need: Need, member: Candidate, against: list[tuple[Reason, ...]]) -> Reason:
    """The first of the reasons on the line where the fewest speak against the piece."""
    if not against:
        return Reason(SET_NOT_WHOLE, None, f"{need.job} has no line for a {member.kind}.")
    return min(against, key=len)[0]


def set_not_whole(name: str, others: Sequence[str], against: Mapping[str, Reason]) -> Reason:
    """The reason of a piece whose set these others keep back: the first of them, and why, is told."""
    why = against[others[0]]
    more = f" (nor can {', '.join(others[1:])})" if others[1:] else ""
    said = why.text[0].lower() + why.text[1:] if why.text.startswith("It") else why.text
    text = f"Its set {name} goes as a whole, and {others[0]} of it cannot go{more}: {said}"
    return Reason(SET_NOT_WHOLE, why.date, text)


def _room_for_all(need: Need, members: Sequence[Candidate], fits: Mapping[str, Sequence[int]]) -> bool:
    """Whether the lines of an empty job take all these pieces at once, units of one mark included."""
    marks = {member.tag: as_compared(member.mark) for member in members}
    order = sorted((member.tag for member in members), key=lambda tag: (len(fits[tag]), tag))
    units = units_of(need.lines)
    on = [Counter[str]() for _ in need.lines]
    room = [line.quantity for line in need.lines]
    failed: set[tuple[int, tuple[frozenset[tuple[str, int]], ...]]] = set()

    def made_up() -> bool:
        return all(needed <= units[name] for name, needed in units_needed(need, on).items())

    def go(number: int) -> bool:
        if number == len(order):
            return True
        state = number, tuple(frozenset(on_line.items()) for on_line in on)
        if state in failed:
            return False
        tag = order[number]
        for place in fits[tag]:
            if room[place]:
                room[place] -= 1
                mark = marks[tag] if need.lines[place].assembly else ""
                on[place][mark] += 1
                if made_up() and go(number + 1):
                    return True
                room[place] += 1
                on[place][mark] -= 1
                if not on[place][mark]:
                    del on[place][mark]
        failed.add(state)
        return False

    return go(0)
