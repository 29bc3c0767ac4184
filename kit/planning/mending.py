"""What would fill a line that is short: the soonest later loading day, and what a person can do about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from kit.planning.matching import Offer, fill_amounts
from kit.planning.one_kind import OneKind
from kit.planning.reasons import is_fit, reasons_for
from kit.planning.values import Candidate, Need

_NAMED_AT_MOST = 3
_ONE_DAY = timedelta(days=1)

# Time alone never mends these: a later loading day leaves them as they are or makes them worse.
_NOT_MENDED_BY_WAITING = frozenset(
    {
        "use-by-before-return",
        "check-due-before-return",
        "never-checked",
        "last-check-failed",
        "quarantined",
        "withdrawn",
        "lost",
        "wrong-bore",
        "wrong-mark",
    }
)

_INSPECT = frozenset({"check-due-before-return", "never-checked"})
_RELEASE = frozenset({"quarantined"})
_FREE = frozenset({"promised-elsewhere", "on-site", "in-transit"})
_TRANSFER = frozenset({"other-depot"})


def soonest_full(need: Need, line: int, candidates: Iterable[Candidate], as_of: date) -> date | None:
    """The earliest later loading day on which a job of the same length would find this line full, or None.

    `line` is an index into the job's lines. The job is taken to choose afresh on that day, with what is
    known today.

    Only a few days need trying. As loading moves later a piece can only become fit the day after a promise
    of it ends or the day after it arrives by transfer; on every other day pieces only drop out, and fewer
    pieces never fill a line better. The day after the present loading is tried too: choosing afresh may do
    what the pieces held already stand in the way of. (Margin and turn-round being the kind's, a piece drops out of
    all its lines on one day. Were it to drop out of one line before another, that other could gain by it.)
    """
    kind = need.lines[line].kind
    lines = [index for index, each in enumerate(need.lines) if each.kind == kind]
    hopeful = [
        (piece, fits)
        for piece in candidates
        if piece.kind == kind and (fits := _lines_worth_waiting_for(piece, lines, need, as_of))
    ]
    length = need.return_on - need.load_on
    # A promise without end (9999-12-31) leaves no later day to try.
    last_day = (
        date.max
        - length
        - timedelta(days=1 + max(each.margin_days + each.turn_round_days for each in need.lines))
    )
    freed = {need.load_on}
    for piece, _ in hopeful:
        freed.update(promise.ends for promise in piece.promises if promise.job != need.job)
        if piece.arrives_on is not None:
            freed.add(piece.arrives_on)
    wanted = [need.lines[index].quantity for index in lines]
    for day in sorted(freed):
        if not need.load_on <= day < last_day:
            continue
        later = replace(need, load_on=day + _ONE_DAY, return_on=day + _ONE_DAY + length)
        offers = [
            Offer(
                piece.tag,
                frozenset(place for place in fits if is_fit(piece, need.lines[lines[place]], later, as_of)),
                quantity=piece.quantity if need.lines[line].counted else 1,
            )
            for piece, fits in hopeful
        ]
        if fill_amounts(wanted, offers)[lines.index(line)] >= need.lines[line].quantity:
            return later.load_on
    return None


def _lines_worth_waiting_for(piece: Candidate, lines: Sequence[int], need: Need, as_of: date) -> list[int]:
    """The places in `lines` that the piece may fill some later day, if not now."""
    return [
        place
        for place, index in enumerate(lines)
        if not any(
            reason.code in _NOT_MENDED_BY_WAITING
            for reason in reasons_for(piece, need.lines[index], need, as_of)
        )
    ]


def remedy_for(
    kind: OneKind, line: int, short: int, soonest: date | None, away: Iterable[Candidate] = ()
) -> str:
    """A sentence on what would bring the `short` pieces that a line lacks.

    Tried one at a time: inspecting what only a check keeps back, releasing what only quarantine keeps back,
    freeing what only another job or a journey keeps back, transferring from `away` (pieces of other
    depots), loading later.
    """
    need = kind.need
    match = need.lines[line].match
    if match in ("bore", "bore+mark") and need.bore_mm is None:
        return "Enter the bore of the job's main: without it no piece can be matched to this line."
    if match in ("mark", "bore+mark") and not need.base_mark.strip():
        return "Enter the mark of the job's bases: without it no piece can be matched to this line."
    away = [piece for piece in away if piece.kind == need.lines[line].kind]
    now = kind.amounts()[line]
    ways = []
    for codes, besides, verb, after in (
        (_INSPECT, [], "inspect", ""),
        (_RELEASE, [], "release", " from quarantine"),
        (_FREE, [], "free", " from another job or a journey"),
        (_TRANSFER, away, "transfer", ""),
    ):
        gain = kind.amounts(codes, besides)[line] - now
        if gain > 0:
            named = _named(_kept_back_by(kind, line, codes, [*kind.pieces, *besides]), codes is _TRANSFER)
            ways.append(f"{verb} {named}{after}" + (f" (brings {gain} of {short})" if gain < short else ""))
    if soonest is not None:
        ways.append(f"load on {soonest} or later")
    if not ways:
        return f"Buy or borrow {short}: nothing on the register would mend it."
    together = kind.amounts(_INSPECT | _RELEASE | _FREE | _TRANSFER, away)[line] - now
    missing = short - together if soonest is None else 0
    last = f"; {missing} must be bought or borrowed in any case" if missing > 0 else ""
    sentence = "; or ".join(ways) + last + "."
    return sentence[0].upper() + sentence[1:]


def _kept_back_by(
    kind: OneKind, line: int, codes: frozenset[str], pieces: Sequence[Candidate]
) -> list[Candidate]:
    """The pieces that only these codes keep off the line, or, if there is none, off another line of the kind.

    A piece for another line can help as well: it frees one that lies there and fits here.
    """
    for indices in ([line], [each for each in kind.lines if each != line]):
        found = [
            piece
            for piece in pieces
            if any(
                reasons and all(reason.code in codes for reason in reasons)
                for reasons in (kind.reasons_on(piece, index) for index in indices)
            )
        ]
        if found:
            return sorted(found, key=lambda piece: piece.tag)
    return []


def _named(pieces: Sequence[Candidate], with_depot: bool) -> str:
    names = [
        f"{piece.tag} from {piece.depot}" if with_depot else piece.tag for piece in pieces[:_NAMED_AT_MOST]
    ]
    more = len(pieces) - len(names)
    if more:
        names.append(f"{more} more")
        return ", ".join(names[:-1]) + " or one of " + names[-1]
    return " or ".join(names) if len(names) < 3 else ", ".join(names[:-1]) + " or " + names[-1]
