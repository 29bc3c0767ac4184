"""What would fill a line that is short: the soonest later loading day, and what a person can do about it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial

from kit.planning.matching import Offer, fill_amounts
from kit.planning.one_kind import NOTHING_WAIVED, OneKind
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


@dataclass(frozen=True, slots=True)
class _Way:
    """A way to mend: the reasons that it takes away, from which pieces, and how to ask for it."""

    codes: frozenset[str]
    sentence: str
    only_arriving: bool = False

    def waived(self, piece: Candidate, need: Need) -> frozenset[str]:
        return NOTHING_WAIVED if self.only_arriving and piece.transit_to != need.depot else self.codes


_WAYS = (
    _Way(frozenset({"check-due-before-return", "never-checked"}), "inspect {pieces}"),
    _Way(frozenset({"quarantined"}), "release {pieces} from quarantine"),
    _Way(frozenset({"promised-elsewhere", "on-site"}), "free {pieces} from another job"),
    _Way(frozenset({"in-transit", "other-depot"}), "have {pieces} here before {load_on}", only_arriving=True),
    _Way(frozenset({"other-depot"}), "transfer {pieces}"),
)


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

    The ways are tried one at a time: inspect what only a check keeps back, release what only quarantine does, free
    what only another job does, hurry what is on its way here, transfer from another depot (`away` are the pieces
    of other depots that the kit list does not show), load on the `soonest` day.
    """
    need = kind.need
    match = need.lines[line].match
    if match in ("bore", "bore+mark") and need.bore_mm is None:
        return "Enter the bore of the job's main: without it no piece can be matched to this line."
    if match in ("mark", "bore+mark") and not need.base_mark.strip():
        return "Enter the mark of the job's bases: without it no piece can be matched to this line."
    everywhere = [*kind.pieces, *(piece for piece in away if piece.kind == need.lines[line].kind)]
    now = kind.amounts(everywhere)[line]
    asked = []
    for way in _WAYS:
        gain = kind.amounts(everywhere, partial(way.waived, need=need))[line] - now
        if gain > 0:
            pieces = _named(_kept_back(kind, line, way, everywhere), need.depot)
            brings = f" (brings {gain} of {short})" if gain < short else ""
            asked.append(way.sentence.format(pieces=pieces, load_on=need.load_on) + brings)
    if soonest is not None:
        asked.append(f"load on {soonest} or later")
    if not asked:
        return f"Buy or borrow {short}: nothing on the register would mend it."
    sentence = "; or ".join(asked)
    missing = short - (kind.amounts(everywhere, partial(_all_waived, need=need))[line] - now)
    if soonest is None and missing > 0:
        sentence += f"; {missing} must be bought or borrowed in any case"
    return f"{sentence[0].upper()}{sentence[1:]}."


def _all_waived(piece: Candidate, need: Need) -> frozenset[str]:
    return NOTHING_WAIVED.union(*(way.waived(piece, need) for way in _WAYS))


def _kept_back(kind: OneKind, line: int, way: _Way, pieces: Iterable[Candidate]) -> list[Candidate]:
    """The pieces that only this way's reasons keep off the line; if there is none, off other lines of the kind.

    A piece for another line can help as well: it frees one that lies there and fits here.
    """

    def kept_back(piece: Candidate, index: int) -> bool:
        codes = {reason.code for reason in kind.reasons_on(piece, index)}
        return bool(codes) and codes <= way.waived(piece, kind.need)

    ordered = sorted(pieces, key=lambda piece: piece.tag)
    here = [piece for piece in ordered if kept_back(piece, line)]
    return here or [piece for piece in ordered if any(kept_back(piece, index) for index in kind.lines)]


def _named(pieces: Sequence[Candidate], depot: str) -> str:
    """A few of the pieces by tag, with the depot of those that are elsewhere: "A, B or C"."""
    names = [
        piece.tag if piece.depot == depot or piece.transit_to == depot else f"{piece.tag} from {piece.depot}"
        for piece in pieces[:_NAMED_AT_MOST]
    ]
    if len(pieces) > len(names):
        names.append(f"one of {len(pieces) - len(names)} more")
    return " or ".join(part for part in (", ".join(names[:-1]), names[-1]) if part)
