"""Why an item cannot fill a line of a job: every reason, not the first one found.

The rules are those of the trade: in date means inclusive, a piece in doubt does not go out, and both ends of
a window belong to it. Each sentence says what would mend it, because its reader stands at a counter.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta

from kit.planning.bore_fit import bore_mismatch
from kit.planning.values import Candidate, Gate, Line, Need, Promise, Reason

REASON_CODES = (
    "use-by-before-return",
    "check-due-before-return",
    "never-checked",
    "last-check-failed",
    "quarantined",
    "withdrawn",
    "lost",
    "in-transit",
    "promised-elsewhere",
    "on-site",
    "wrong-bore",
    "wrong-mark",
    "other-depot",
    "set-not-whole",
)
"""Every reason code, in the order in which reasons are given."""

_RANK = {code: rank for rank, code in enumerate(REASON_CODES)}


def reasons_for(candidate: Candidate, line: Line, need: Need, as_of: date) -> tuple[Reason, ...]:
    """All reasons why this item cannot fill this line, in the order of REASON_CODES; () means it can.

    Whether its set goes as a whole is no matter of one piece: see `kit.planning.sets`.
    A promise to the job itself is never a reason. `as_of` is the day whose knowledge is used: an item issued
    to another job and due back before that day is overdue, so nobody knows when it will be here.
    """
    return tuple(sorted(_reasons(candidate, line, need, as_of), key=lambda reason: _RANK[reason.code]))


def is_fit(candidate: Candidate, line: Line, need: Need, as_of: date) -> bool:
    """Whether `reasons_for` is empty, found without writing all the reasons."""
    return next(_reasons(candidate, line, need, as_of), None) is None


def arrives_before_loading(candidate: Candidate, need: Need, as_of: date) -> bool:
    """Whether the item is on its way to the job's depot and will be there before the day of loading.

    A transfer that should have arrived before `as_of` and has not been received is not counted on.
    """
    return (
        candidate.custody == "in-transit"
        and candidate.transit_to == need.depot
        and candidate.arrives_on is not None
        and as_of <= candidate.arrives_on < need.load_on
    )


def _reasons(candidate: Candidate, line: Line, need: Need, as_of: date) -> Iterator[Reason]:
    yield from _date_reasons(candidate, line, need, as_of)
    yield from _state_reasons(candidate)
    # The quantity of a lot is net of what other jobs hold already: a promise does not refuse the rest of it.
    if not line.counted or candidate.quantity <= 0:
        yield from _promise_reasons(candidate, line, need, as_of)
    yield from _match_reasons(candidate, line, need)
    if not arrives_before_loading(candidate, need, as_of):
        yield from _place_reasons(candidate, need, as_of)


def _date_reasons(candidate: Candidate, line: Line, need: Need, as_of: date) -> Iterator[Reason]:
    needed_until = need.return_on + timedelta(days=line.margin_days)
    use_by = candidate.use_by
    if use_by is not None and use_by < needed_until:
        if use_by < as_of:
            text = (
                f"Its use-by date {use_by} has passed and nothing renews it; take another, withdraw this one."
            )
        else:
            until = _until(line, need, needed_until)
            text = f"Its use-by date {use_by} comes before {until}; take a later one, or return earlier."
        yield Reason("use-by-before-return", use_by, text)
    for gate in sorted(candidate.gates, key=lambda gate: gate.check):
        if gate.status == "failed":
            day = f" on {gate.last_done}" if gate.last_done else ""
            text = (
                f"Its last {gate.check}{day} was failed or left in doubt; only a later pass lets it go out."
            )
            yield Reason("last-check-failed", gate.last_done, text)
        elif gate.status == "never" or gate.due_on is None:
            text = f"Its {gate.check} has never been done; a first pass would let it go out."
            yield Reason("never-checked", None, text)
        elif gate.waits or gate.due_on < needed_until:
            yield Reason("check-due-before-return", gate.due_on, _due_text(gate, line, need, as_of))


def _until(line: Line, need: Need, needed_until: date) -> str:
    if line.margin_days:
        return f"the return on {need.return_on} with its margin of {line.margin_days} days ({needed_until})"
    return f"the return on {need.return_on}"


def _due_text(gate: Gate, line: Line, need: Need, as_of: date) -> str:
    if gate.waits:
        return f"Its {gate.check} is due since {gate.due_on} ({gate.note}); a pass would let it go out."
    if gate.due_on is not None and gate.due_on < as_of:
        return f"Its {gate.check} is overdue since {gate.due_on}; a pass would let it go out."
    until = _until(line, need, need.return_on + timedelta(days=line.margin_days))
    return f"Its {gate.check} falls due on {gate.due_on}, before {until}; do it before loading."


def _state_reasons(candidate: Candidate) -> Iterator[Reason]:
    why = f" ({candidate.state_why})" if candidate.state_why else ""
    if candidate.state == "quarantined":
        text = (
            f"It is in quarantine{why}; a release, by another person than set it aside, would bring it back."
        )
        yield Reason("quarantined", None, text)
    elif candidate.state == "withdrawn":
        yield Reason("withdrawn", None, f"It has been withdrawn for good{why}; take another.")
    elif candidate.state == "lost":
        text = f"It is recorded as lost{why}; if it is found again it goes to quarantine first."
        yield Reason("lost", None, text)


def _promise_reasons(candidate: Candidate, line: Line, need: Need, as_of: date) -> Iterator[Reason]:
    window_ends = need.return_on + timedelta(days=line.turn_round_days)
    out_on_a_job = False
    for promise in sorted(candidate.promises, key=lambda each: (each.ends, each.starts, each.job)):
        out_on_a_job = out_on_a_job or promise.issued
        if promise.job == need.job:
            continue
        if promise.issued and promise.ends < as_of:
            text = f"It is overdue from {promise.job} since {promise.ends}; ask that crew for it."
            yield Reason("on-site", None, text)
        elif line.counted:
            # A promised lot is used up on that job, so nothing of it comes free for another day.
            yield _lot_gone(promise)
        elif promise.starts <= window_ends and promise.ends >= need.load_on:
            yield _overlap(promise)
    if candidate.custody == "on-site" and not out_on_a_job:
        text = "It is out on a site and no return is recorded to count on; take it back at the counter first."
        yield Reason("on-site", None, text)


def _overlap(promise: Promise) -> Reason:
    if promise.issued:
        text = (
            f"It is out on {promise.job} until {promise.ends}; an earlier return or later loading frees it."
        )
        return Reason("on-site", promise.ends, text)
    text = (
        f"It is promised to {promise.job} from {promise.starts} to {promise.ends}; "
        "another piece for that job or later loading would free it."
    )
    return Reason("promised-elsewhere", promise.ends, text)


def _lot_gone(promise: Promise) -> Reason:
    if promise.issued:
        text = (
            f"What was left of it is out on {promise.job} until {promise.ends}; take back what was not used."
        )
        return Reason("on-site", promise.ends, text)
    text = f"What is left of it is promised to {promise.job}; take another lot, or count in new stock."
    return Reason("promised-elsewhere", promise.ends, text)


def _match_reasons(candidate: Candidate, line: Line, need: Need) -> Iterator[Reason]:
    if line.match in ("bore", "bore+mark"):
        text = bore_mismatch(candidate, line, need)
        if text:
            yield Reason("wrong-bore", None, text)
    if line.match in ("mark", "bore+mark"):
        text = _mark_mismatch(candidate, need)
        if text:
            yield Reason("wrong-mark", None, text)
    elif line.assembly and not candidate.mark.strip():
        text = (
            f"It has no mark recorded, and {line.name} is made up into units of one mark ({line.assembly}); "
            "record its mark."
        )
        yield Reason("wrong-mark", None, text)


def _mark_mismatch(candidate: Candidate, need: Need) -> str:
    mark, wanted = candidate.mark.strip(), need.base_mark.strip()
    if not wanted:
        return "The job names no base mark to match; enter the mark of its bases."
    if not mark:
        return f"It has no mark recorded and the job's bases are marked {wanted}; record its mark."
    if mark.casefold() != wanted.casefold():
        return f"Its mark is {mark} and the job's bases are marked {wanted}; take one of that mark."
    return ""


def _place_reasons(candidate: Candidate, need: Need, as_of: date) -> Iterator[Reason]:
    if candidate.custody == "in-transit":
        yield _in_transit(candidate, need, as_of)
    if candidate.depot != need.depot:
        text = (
            f"It is at depot {candidate.depot}; a transfer that arrives before {need.load_on} would bring it."
        )
        yield Reason("other-depot", None, text)


def _in_transit(candidate: Candidate, need: Need, as_of: date) -> Reason:
    arrives_on = candidate.arrives_on
    where = f" to {candidate.transit_to}" if candidate.transit_to else ""
    if arrives_on is not None and arrives_on < as_of:
        text = f"It was due{where} on {arrives_on} and has not been received; find it and receive it."
        return Reason("in-transit", None, text)
    if arrives_on is not None and candidate.transit_to == need.depot:
        text = f"It arrives on {arrives_on}, not before loading on {need.load_on}; hurry it or load later."
        return Reason("in-transit", arrives_on, text)
    text = f"It is in transit{where}; it can be chosen once it is received here."
    return Reason("in-transit", None, text)
