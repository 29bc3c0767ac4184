"""What would fill a line that is short: the soonest later loading day, and what a person can do about it."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from functools import partial

from kit.planning.as_slots import set_key
from kit.planning.bore_fit import size_to_enter
from kit.planning.coupled import groups_of
from kit.planning.matching import Offer, fill_amounts
from kit.planning.one_kind import NOTHING_WAIVED, OneKind, Waived
from kit.planning.reasons import is_fit, reasons_for
from kit.planning.sets import as_kind, sets_of
from kit.planning.soonest import NOT_MENDED_BY_WAITING, soonest_coupled
from kit.planning.values import Candidate, Need, SizedBy

_NAMED_AT_MOST = 3


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


def soonest_full(
    need: Need, short: Collection[int], candidates: Iterable[Candidate], as_of: date
) -> dict[int, date]:
    """For short lines, the earliest later loading day on which a job as long would find them full.

    `short` holds indices into the job's lines; a line that no known day fills is left out of the answer.
    The job is taken to choose afresh on the day, with what is known today. Of a set all members must be
    among the candidates, those of kinds that the job has no line for as well.
    """
    if not short:
        return {}
    pieces = list(candidates)
    sets = sets_of(pieces)
    never = {
        key
        for key, members in sets.items()
        if any(all(as_kind(line, member.kind) is None for line in need.lines) for member in members)
    }
    pieces = [piece for piece in pieces if set_key(piece) not in never]
    found: dict[int, date] = {}
    for group in groups_of(need, [members for key, members in sets.items() if key not in never]):
        asked = [index for index in short if index in group.lines]
        soonest = soonest_coupled if group.coupled else _soonest_of_one_kind
        if asked:
            found |= soonest(need, group.lines, asked, pieces, as_of)
    return found


def _soonest_of_one_kind(
    need: Need, lines: Sequence[int], short: Collection[int], candidates: Iterable[Candidate], as_of: date
) -> dict[int, date]:
    """The same for lines of one kind that nothing couples; `lines` are all of that kind.

    Only a few days need trying. As loading moves later a piece can only become fit the day after a promise
    of it ends or the day after it arrives by transfer; on every other day pieces only drop out, and fewer
    pieces never fill a line better. (Margin and turn-round being the kind's, a piece drops out of all its
    lines on one day. Were it to drop out of one line before another, that other could gain by it.) The day
    after the present loading is tried too: choosing afresh may do what the pieces held already stand in the
    way of.
    """
    kind = need.lines[min(short)].kind
    wanted = [need.lines[index].quantity for index in lines]
    hopeful = [
        (piece, fits)
        for piece in candidates
        if piece.kind == kind and (fits := _lines_worth_waiting_for(piece, lines, need, as_of))
    ]
    length = need.return_on - need.load_on
    found: dict[int, date] = {}
    for load_on in _days_that_can_bring_more(need, lines, [piece for piece, _ in hopeful]):
        later = replace(need, load_on=load_on, return_on=load_on + length)
        offers = [
            Offer(piece.tag, fits, quantity=piece.quantity if need.lines[lines[0]].counted else 1)
            for piece, fits in hopeful
            if is_fit(piece, need.lines[lines[min(fits)]], later, as_of)
        ]
        for index, amount, full in zip(lines, fill_amounts(wanted, offers), wanted, strict=True):
            if index in short and amount == full:
                found.setdefault(index, load_on)
        if len(found) == len(short):
            break
    return found


def _lines_worth_waiting_for(
    piece: Candidate, lines: Sequence[int], need: Need, as_of: date
) -> frozenset[int]:
    """The places in `lines` that the piece may fill some later day, if not now."""
    return frozenset(
        place
        for place, index in enumerate(lines)
        if not any(
            reason.code in NOT_MENDED_BY_WAITING
            for reason in reasons_for(piece, need.lines[index], need, as_of)
        )
    )


def _days_that_can_bring_more(need: Need, lines: Sequence[int], pieces: Iterable[Candidate]) -> list[date]:
    """The loading days after the present one on which a piece may be there that was not the day before."""
    eves = {need.load_on}
    for piece in pieces:
        eves.update(promise.ends for promise in piece.promises if promise.job != need.job)
        if piece.arrives_on is not None:
            eves.add(piece.arrives_on)
    # A promise without end (9999-12-31) leaves no later day to try.
    reach = max(need.lines[index].margin_days + need.lines[index].turn_round_days for index in lines)
    last_eve = date.max - (need.return_on - need.load_on) - timedelta(days=1 + reach)
    return [eve + timedelta(days=1) for eve in sorted(eves) if need.load_on <= eve < last_eve]


def remedy_for(
    kind: OneKind, line: int, short: int, soonest: date | None, away: Iterable[Candidate] = ()
) -> str:
    """A sentence on what would bring the `short` pieces that a line lacks.

    The ways are tried one at a time: inspect what only a check keeps back, release what only quarantine
    does, free what only another job does, hurry what is on its way here, transfer from another depot
    (`away` are the pieces of other depots that the kit list does not show), load on the `soonest` day.
    """
    need = kind.need
    match = need.lines[line].match
    everywhere = [*kind.pieces, *(piece for piece in away if piece.kind == need.lines[line].kind)]
    if match in ("bore", "bore+mark"):
        sized_by: SizedBy = everywhere[0].sized_by if everywhere else "inside"
        if to_enter := size_to_enter(sized_by, need.lines[line], need):
            return to_enter
    if match in ("mark", "bore+mark") and not need.base_mark.strip():
        return "Enter the mark of the job's bases: without it no piece can be matched to this line."
    now = kind.amounts(everywhere)[line]
    asked = []
    for way in _WAYS:
        waived = partial(way.waived, need=need)
        gain = kind.amounts(everywhere, waived)[line] - now
        if gain > 0:
            pieces = _named(_kept_back(kind, line, waived, everywhere), need.depot)
            brings = f" (brings {gain} of {short})" if gain < short else ""
            asked.append(way.sentence.format(pieces=pieces, load_on=need.load_on) + brings)
    if soonest is not None:
        asked.append(f"load on {soonest} or later")
    all_waived = partial(_all_waived, need=need)
    missing = short - (kind.amounts(everywhere, all_waived)[line] - now)
    if not asked and missing == short:
        return f"Buy or borrow {short}: nothing on the register would mend it."
    if not asked:
        pieces = _named(_kept_back(kind, line, all_waived, everywhere), need.depot)
        asked.append(f"mend more than one thing about {pieces}")
    sentence = "; or ".join(asked)
    if soonest is None and missing > 0:
        sentence += f"; {missing} must be bought or borrowed in any case"
    return f"{sentence[0].upper()}{sentence[1:]}."


def _all_waived(piece: Candidate, need: Need) -> frozenset[str]:
    return NOTHING_WAIVED.union(*(way.waived(piece, need) for way in _WAYS))


def _kept_back(kind: OneKind, line: int, waived: Waived, pieces: Iterable[Candidate]) -> list[Candidate]:
    """The pieces that only waived reasons keep off the line; if there is none, off other lines of the kind.

    A piece for another line can help as well: it frees one that lies there and fits here.
    """

    def kept_back(piece: Candidate, index: int) -> bool:
        codes = {reason.code for reason in kind.reasons_on(piece, index)}
        return bool(codes) and codes <= waived(piece)

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
