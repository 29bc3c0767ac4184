"""What each command must answer of a register, in the shape of its JSON without the texts for people."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from tests.recount.reference import (
    Choice,
    Window,
    choose,
    dues_of,
    free_quantity,
    held_by,
    promise_reasons,
    reasons,
    window_of,
)
from tests.recount.rows import Check, Job, Kind, Promise, Register

SEARCH_DAYS = 60


def kit_list(register: Register, reference: str, as_of: date, all_depots: bool = False) -> dict[str, Any]:
    """What kit_list must answer, order where the page gives none and texts left out."""
    job = register.jobs[reference]
    window = Window(job.load_on, job.return_on)
    held = held_by(register, job)
    chosen = choose(register, job, window, as_of, held)
    lines = []
    for place, line in enumerate(job.lines):
        short = line.quantity - len(chosen[place])
        entry: dict[str, Any] = {
            "line": line.name,
            "kind": line.kind,
            "needed": line.quantity,
            "short": short,
            "soonest": soonest(register, job, place, as_of) if short else None,
        }
        if register.kinds[line.kind].counted:
            entry["lots"] = sorted((tag, chosen[place].count(tag)) for tag in set(chosen[place]))
        else:
            entry["tags"] = chosen[place]
        lines.append(entry)
    refused, also_fit = [], []
    anywhere = {tag for tags in chosen.values() for tag in tags}
    for place, line in enumerate(job.lines):
        for item in register.items.values():
            here = job.depot in (item.depot, item.sent_to)
            if item.kind != line.kind or not (here or all_depots):
                continue
            if item.tag in chosen[place]:
                continue
            free = free_quantity(register, item, job)
            if free <= 0 and not promise_reasons(register, item, job, window, as_of):
                continue  # an empty lot is nothing to choose from or to refuse
            why = reasons(register, item, line, job, window, as_of)
            if why:
                refused.append((item.tag, line.name, sorted(why, key=repr)))
            elif item.tag not in anywhere:
                also_fit.append((item.tag, line.name))
    return {
        "job": reference,
        "as_of": as_of.isoformat(),
        "load_on": job.load_on.isoformat(),
        "return_on": job.return_on.isoformat(),
        "bore_mm": None if job.bore is None else float(job.bore),
        "complete": not any(line["short"] for line in lines),
        "lines": lines,
        "refused": sorted(refused, key=repr),
        "also_fit": sorted(also_fit),
    }


def soonest(register: Register, job: Job, place: int, as_of: date) -> str | None:
    """The first later loading day on which the line would be full, found by trying every one."""
    nothing: Choice = {n: [] for n in range(len(job.lines))}
    for later in range(1, SEARCH_DAYS + 1):
        more = timedelta(days=later)
        window = Window(job.load_on + more, job.return_on + more)
        chosen = choose(register, job, window, as_of, nothing, only_kind=job.lines[place].kind)
        if len(chosen[place]) == job.lines[place].quantity:
            return window.load_on.isoformat()
    return None


def reserve(register: Register, reference: str, as_of: date) -> None:
    """Promise to the job what its kit list chooses and does not hold yet."""
    job = register.jobs[reference]
    held = held_by(register, job)
    chosen = choose(register, job, Window(job.load_on, job.return_on), as_of, held)
    for place, line in enumerate(job.lines):
        for tag in sorted(set(chosen[place])):
            more = chosen[place].count(tag) - held[place].count(tag)
            if more:
                register.promises.append(Promise(reference, line.name, tag, more))


def drop_what_no_longer_holds(register: Register, as_of: date) -> None:
    """Promises that something speaks against by now hold no longer; what is out stays out."""
    standing = []
    for promise in register.promises:
        job, item = register.jobs[promise.job], register.items[promise.tag]
        line = next(line for line in job.lines if line.name == promise.line)
        against = reasons(register, item, line, job, Window(job.load_on, job.return_on), as_of)
        if promise.out_since or not against:
            standing.append(promise)
    register.promises = standing


def next_job(register: Register, tag: str, as_of: date) -> str | None:
    """The job that the item is promised to next, or out on: the first to load of those that are not past."""
    windows = [
        (window_of(register, promise).load_on, promise.job)
        for promise in register.promises
        if promise.tag == tag and not promise.back and register.jobs[promise.job].return_on >= as_of
    ]
    return min(windows)[1] if windows else None


def due_list(
    register: Register, as_of: date, within: int | None = None, depot: str | None = None
) -> list[dict[str, Any]]:
    """What inspections_due must answer, in order."""
    found = []
    for item in register.items.values():
        if item.state in ("withdrawn", "lost") or (depot and item.depot != depot):
            continue
        rows: list[tuple[str, date | None, date | None]] = [
            (due.check.name, due.last_done, due.due_on) for due in dues_of(register, item, as_of)
        ]
        if item.use_by:
            rows.append(("use-by", None, item.use_by))
        for check, last_done, due_on in rows:
            if due_on is None:
                asked = True
            elif within is None:
                asked = due_on < as_of
            else:
                asked = due_on <= as_of + timedelta(days=within)
            if asked:
                found.append(
                    {
                        "tag": item.tag,
                        "kind": item.kind,
                        "check": check,
                        "last_done": last_done.isoformat() if last_done else None,
                        "due_on": due_on.isoformat() if due_on else None,
                        "days_over": (as_of - due_on).days if due_on else None,
                        "state": item.state,
                        "depot": item.depot,
                        "job": next_job(register, item.tag, as_of),
                    }
                )
    return sorted(found, key=lambda e: (e["due_on"] is not None, e["due_on"] or "", e["tag"], e["check"]))


def load_counts(
    sheets: dict[str, list[dict[str, Any]]], kinds: dict[str, Kind], checks: dict[str, list[Check]]
) -> dict[str, int]:
    """How many rows are new, changed and unchanged when a register that holds only what is shipped takes them."""
    counts = {"new": 0, "changed": 0, "unchanged": 0}
    for name, rows in sheets.items():
        for row in rows:
            if name == "Kinds" and row["kind"] in kinds:
                kind = kinds[row["kind"]]
                same = all(
                    row.get(setting) in (None, getattr(kind, setting))
                    for setting in ("turn_round_days", "margin_days")
                )
                counts["unchanged" if same else "changed"] += 1
            elif name == "Checks" and row.get("check") is None:
                counts["changed" if checks.get(row["kind"]) else "unchanged"] += 1
            else:
                counts["new"] += 1
    return counts
