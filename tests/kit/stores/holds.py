"""What must hold in a store at every moment, as sentences on what does not. Reckoned from the rows alone."""

from __future__ import annotations

import json
from collections import Counter, defaultdict
from collections.abc import Iterator
from datetime import timedelta
from itertools import combinations
from typing import Any

from kit.planning import KitList
from tests.kit.stores.judged_by_hand import lets_out_on, stands
from tests.kit.stores.reckoning import HOLDING, Reckoning, Row

ENDED = ("closed", "cancelled")
FINAL = ("returned", "released")


def faults(now: Reckoning) -> list[str]:
    """Everything that is not as the rules of the trade have it; empty if all holds."""
    return [
        f"{rule.__name__}: {what}"
        for rule in (
            dates_are_right,
            due_dates_are_kept_right,
            what_is_promised_may_be_out,
            what_failed_as_found_is_reviewed,
            pieces_are_promised_once,
            promises_hold,
            broken_ones_do_not_hold,
            proposals_would_do,
            lots_are_not_overdrawn,
            windows_follow_the_job,
            ended_jobs_hold_nothing,
            custody_follows_the_issue,
            places_are_of_the_depot,
            what_has_ended_stays_ended,
            a_case_is_open_while_set_aside,
        )
        for what in rule(now)
    ]


def dates_are_right(now: Reckoning) -> Iterator[str]:
    for item in now.tables["item"]:
        if item["fit_until"] != now.fit_until(item):
            yield f"{item['tag']} is kept fit until {item['fit_until']}, reckoned {now.fit_until(item)}"


def due_dates_are_kept_right(now: Reckoning) -> Iterator[str]:
    kept = {(row["item_id"], row["check_due_id"]): row for row in now.tables["due"]}
    names = ("status", "due_on", "note", "last_done", "last_verdict", "conceded_from", "grace_until")
    for item in now.tables["item"]:
        for check, history in now.checks_of(item):
            row = kept.pop((item["id"], check["id"]), None)
            stored = None if row is None else tuple(row[name] for name in names)
            reckoned = stands(history, now.today).kept
            if stored != reckoned:
                yield f"{check['name']} of {item['tag']} is kept as {stored}, reckoned {reckoned}"
    yield from (f"a due date is kept of nothing: {key}" for key in kept)


def what_is_promised_may_be_out(now: Reckoning) -> Iterator[str]:
    """Day by day: available, within its use-by date, no gating check failed, in doubt, due or waited for."""
    for row in now.with_standing("promised"):
        item, job = now.item_of(row), now.job_of(row)
        if item["state"] != "available":
            yield f"{named(now, row)} is promised, and {item['state']}"
        margin = now.by_id["kind"][item["kind_id"]]["margin_days"]
        histories = [history for _, history in now.checks_of(item)]
        for ahead in range((job["return_on"] - now.today).days + margin + 1):
            day = now.today + timedelta(days=ahead)
            barred = [history for history in histories if not lets_out_on(history, now.today, day)]
            if barred or (item["use_by"] is not None and item["use_by"] < day):
                yield f"{named(now, row)} is promised, but may not be out on {day}"
                break


def what_failed_as_found_is_reviewed(now: Reckoning) -> Iterator[str]:
    """Each calibration that failed as found has its review, open or closed."""
    calibrating = {row["id"] for row in now.tables["check"] if row["method"] == "calibration"}
    reviewed = {row["calibration_id"] for row in now.tables["review"]}
    for row in now.tables["inspection"]:
        if row["readings"].get("method") != "calibration" or row["check_done_id"] not in calibrating:
            continue
        if row["verdict"] == "fail" and row["id"] not in reviewed:
            yield f"record {row['id']}, a calibration that failed, has no review"


def pieces_are_promised_once(now: Reckoning) -> Iterator[str]:
    by_item: dict[int, list[Row]] = defaultdict(list)
    for row in now.with_standing(*HOLDING):
        if not row["counted"]:
            by_item[row["item_id"]].append(row)
    for rows in by_item.values():
        for one, other in combinations(rows, 2):
            if one["starts"] <= other["ends"] and other["starts"] <= one["ends"]:
                yield f"{named(now, one)} and {named(now, other)} overlap"


def promises_hold(now: Reckoning) -> Iterator[str]:
    for row in now.with_standing("promised", "issued"):
        against = objections(now, row)
        if row["standing"] == "promised" and (against or row["why"]):
            yield f"{named(now, row)} stands against {against}, why {row['why']!r}"
        if row["standing"] == "issued" and bool(against) != bool(row["why"]):
            yield f"{named(now, row)} is out, against it {against}, but its why is {row['why']!r}"


def broken_ones_do_not_hold(now: Reckoning) -> Iterator[str]:
    for row in now.with_standing("broken"):
        line, job = now.line_of(row), now.job_of(row)
        full = now.held_on_line(job, line["name"]) + row["quantity"] > line["quantity"]
        short = row["counted"] and now.free_of_lot(now.item_of(row)) < row["quantity"]
        if not (objections(now, row) or full or short):
            yield f"{named(now, row)} is broken ({row['why']}), but nothing speaks against it"
        if not row["why"]:
            yield f"{named(now, row)} is broken and does not say why"


def proposals_would_do(now: Reckoning) -> Iterator[str]:
    proposed: Counter[tuple[int, int]] = Counter()
    for row in now.tables["reservation"]:
        if row["proposed_id"] is None:
            continue
        if row["standing"] != "broken":
            yield f"{named(now, row)} is {row['standing']} and proposes another piece"
            continue
        proposed[row["job_id"], row["proposed_id"]] += 1
        line = now.line_of(row)
        if now.held_on_line(now.job_of(row), line["name"]) + row["quantity"] > line["quantity"]:
            yield f"{named(now, row)} wants no other piece: its line is full"
        item = now.by_id["item"][row["proposed_id"]]
        against = now.objections(item, now.line_of(row), now.job_of(row))
        if any(
            r["item_id"] == item["id"] and r["job_id"] == row["job_id"] for r in now.with_standing(*HOLDING)
        ):
            against.add("held by this very job")
        if now.mixes(item, now.line_of(row), now.job_of(row)):
            against.add("mix")
        if against:
            yield f"{named(now, row)} proposes {item['tag']}, against it {against}"
    yield from (f"one piece is proposed {n} times for job {job}" for (job, _), n in proposed.items() if n > 1)


def lots_are_not_overdrawn(now: Reckoning) -> Iterator[str]:
    for item in now.tables["item"]:
        if item["counted"] and now.free_of_lot(item) < 0:
            yield f"{item['tag']}: {-now.free_of_lot(item)} more promised than there are"


def windows_follow_the_job(now: Reckoning) -> Iterator[str]:
    for row in now.with_standing(*HOLDING):
        kind = now.by_id["kind"][now.item_of(row)["kind_id"]]
        wanted = now.window(now.job_of(row), kind, row["issued_on"])
        if (row["starts"], row["ends"]) != wanted:
            yield f"{named(now, row)} runs {row['starts']} to {row['ends']}, its job {wanted}"


def ended_jobs_hold_nothing(now: Reckoning) -> Iterator[str]:
    for row in now.with_standing(*HOLDING, "broken"):
        if now.job_of(row)["state"] in ENDED:
            yield f"{named(now, row)} is {row['standing']}, its job {now.job_of(row)['state']}"


def custody_follows_the_issue(now: Reckoning) -> Iterator[str]:
    out = Counter(row["item_id"] for row in now.with_standing("issued"))
    for item in now.tables["item"]:
        if not item["counted"] and out[item["id"]] != (item["custody"] == "on-site"):
            yield f"{item['tag']} is {item['custody']} and out on {out[item['id']]} jobs"


def places_are_of_the_depot(now: Reckoning) -> Iterator[str]:
    for item in now.tables["item"]:
        place = now.by_id["place"].get(item["place_id"])
        if place is not None and place["depot_id"] != item["depot_id"]:
            yield f"{item['tag']} lies in {place['name']} of another depot"


def what_has_ended_stays_ended(now: Reckoning) -> Iterator[str]:
    ended: dict[tuple[str, int], str] = {}
    for entry in now.tables["ledgerentry"]:
        for label, number, values in json.loads(entry["body"])["rows"]:
            state = values.get("standing" if label == "kit.reservation" else "state", "")
            if label not in ("kit.reservation", "kit.job") or not state:
                continue
            # Only an undoing, which points at what it undoes, opens what has ended.
            undone = entry["deed"] == "undone" and entry["corrects_id"] is not None
            if (label, number) in ended and undone:
                del ended[label, number]
            elif (label, number) in ended:
                yield f"{label} {number} was {ended[label, number]}, then {state} in entry {entry['number']}"
            if state in FINAL + ENDED:
                ended[label, number] = state


def objections(now: Reckoning, row: Row) -> set[str]:
    found = now.objections(now.item_of(row), now.line_of(row), now.job_of(row))
    # What is out is out: its set and its unit are asked for when the van leaves, not held against it.
    if row["standing"] != "issued":
        if not now.set_goes_with(row):
            found.add("set")
        if now.mixes(now.item_of(row), now.line_of(row), now.job_of(row)):
            found.add("mix")
    return found


def named(now: Reckoning, row: Row) -> str:
    return f"{now.item_of(row)['tag']} for {now.job_of(row)['reference']}"


def kit_list_faults(now: Reckoning, job: Row, kit: KitList) -> list[str]:
    """Where the kit list of the job and this second opinion differ on what may go on which line."""
    found = []
    items = {item["tag"]: item for item in now.tables["item"]}
    lines = {
        line["name"]: line
        for line in now.tables["arrangementline"]
        if line["arrangement_id"] == job["arrangement_id"]
    }
    held = {
        (now.line_of(row)["name"], now.item_of(row)["tag"])
        for row in now.with_standing(*HOLDING, "returned")
        if row["job_id"] == job["id"]
    }
    chosen = {
        (each.line.name, tag) for each in kit.lines for tag in (*each.tags, *(lot for lot, _ in each.lots))
    }
    refused = {(each.line, each.tag) for each in kit.refused}
    also = {(each.line, each.tag) for each in kit.also_fit}

    def fault(what: str, which: Any) -> None:
        found.extend(f"{job['reference']}: {what} {tag} on {name}" for name, tag in sorted(which))

    fit = {
        (name, tag)
        for name, line in lines.items()
        for tag, item in items.items()
        if item["kind_id"] in now.kinds_of(line) and not now.objections(item, line, job)
    }
    fault("chooses, though something speaks against it,", chosen - held - fit)
    fault("calls also fit", also - fit)
    # A lot may be used up, a set not whole, and a unit begun with another mark: those are looked at elsewhere.
    alone = {
        (name, tag)
        for name, tag in fit
        if not items[tag]["counted"] and not now.mates_of(items[tag]) and not lines[name]["assembly"]
    }
    fault("refuses", refused & alone)
    taken = {tag for _, tag in chosen}
    for tag in sorted(taken - {tag for _, tag in held}):
        fault(
            "chooses without its set",
            {(mate["tag"], tag) for mate in now.mates_of(items[tag]) if mate["tag"] not in taken},
        )
    return found


def a_case_is_open_while_set_aside(now: Reckoning) -> Iterator[str]:
    """What is set aside has one open case, what is not has none; who was used with it is another piece."""
    opened = Counter(row["item_id"] for row in now.tables["quarantinecase"] if not row["decision"])
    for item in now.tables["item"]:
        if opened[item["id"]] != (item["state"] == "quarantined"):
            yield f"{item['tag']} is {item['state']} with {opened[item['id']]} open cases"
    cases = {row["id"]: row for row in now.tables["quarantinecase"]}
    for row in now.tables["casecompanion"]:
        if row["item_id"] == cases[row["case_id"]]["item_id"]:
            yield f"case {row['case_id']} names its own item as a companion"
