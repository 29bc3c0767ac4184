"""A second opinion on a store: what holds and what does not, reckoned from the rows alone.

Nothing here calls the judges of the store or of the inspections; it is slower and plainer than they are.
"""

from __future__ import annotations

import calendar
import json
import re
from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.apps import apps

FOR_EVER = date(9999, 12, 31)
HOLDING = ("promised", "issued")
Row = dict[str, Any]
Tables = dict[str, list[Row]]


def read_tables() -> Tables:
    """Every row of every table of the program, by the model's name."""
    return {
        model._meta.model_name or "": list(model._default_manager.order_by("pk").values())
        for package in ("kit", "inspections")
        for model in apps.get_app_config(package).get_models()
    }


def later(day: date, interval: str, times: int) -> date:
    """`times` intervals such as P1Y, P6M or P10D after `day`; a day that a month lacks becomes its last."""
    found = re.fullmatch(r"P(\d+)([YMD])", interval)
    assert found is not None
    number = int(found[1]) * times
    if found[2] == "D":
        return day + timedelta(days=number)
    months = day.year * 12 + day.month - 1 + number * (12 if found[2] == "Y" else 1)
    year, month = divmod(months, 12)
    return date(year, month + 1, min(day.day, calendar.monthrange(year, month + 1)[1]))


@dataclass
class Reckoning:
    """The rows of one moment, with the few look-ups that the rules need."""

    tables: Tables
    today: date
    by_id: dict[str, dict[int, Row]] = field(init=False)
    records: dict[tuple[int, int], list[Row]] = field(init=False)

    def __post_init__(self) -> None:
        self.by_id = {
            name: {row["id"]: row for row in rows if "id" in row} for name, rows in self.tables.items()
        }
        self.records = defaultdict(list)
        for row in self.tables["inspection"]:
            self.records[row["item_id"], row["check_done_id"]].append(row)
        for rows in self.records.values():
            rows.sort(key=lambda row: (row["done_on"], row["id"]))

    # Fitness

    def fit_until(self, item: Row) -> date | None:
        """The last day on which the item is in date; None if it is not fit at all."""
        days = [item["use_by"] or FOR_EVER]
        for check in self.tables["check"]:
            if check["kind_id"] != item["kind_id"] or check["retired"] or not check["gates"]:
                continue
            done = self.records[item["id"], check["id"]]
            if not done or done[-1]["verdict"] != "pass":
                return None
            if check["after_use"] and self._used_since(item, done[-1]):
                return None
            if self._retest_ordered_since(item, check, done[-1]):
                return None
            days.append(self._due(check, done))
        return min(days)

    def _used_since(self, item: Row, last: Row) -> bool:
        return any(
            call["item_id"] == item["id"]
            and (
                call["used_on"] > last["done_on"]
                or (call["used_on"] == last["done_on"] and call["after_record"] >= last["id"])
            )
            for call in self.tables["usecall"]
        )

    def _retest_ordered_since(self, item: Row, check: Row, last: Row) -> bool:
        return any(
            (call["item_id"], call["cause"], call["check_called_id"]) == (item["id"], "ordered", check["id"])
            and (call["called_on"], call["after_record"]) >= (last["done_on"], last["id"])
            for call in self.tables["retestcall"]
        )

    def _due(self, check: Row, done: list[Row]) -> date:
        first, last = done[0]["done_on"], done[-1]["done_on"]
        if check["basis"] == "done":
            return later(last, check["interval"], 1)
        times = 1
        while later(first, check["interval"], times) <= last + timedelta(days=check["early_days"]):
            times += 1
        return later(first, check["interval"], times)

    # Promises

    def job_of(self, reservation: Row) -> Row:
        return self.by_id["job"][reservation["job_id"]]

    def item_of(self, reservation: Row) -> Row:
        return self.by_id["item"][reservation["item_id"]]

    def line_of(self, reservation: Row) -> Row:
        return self.by_id["arrangementline"][reservation["line_id"]]

    def with_standing(self, *standings: str) -> list[Row]:
        return [row for row in self.tables["reservation"] if row["standing"] in standings]

    def window(self, job: Row, kind: Row, issued_on: date | None = None) -> tuple[date, date]:
        """Loading to return and turn-round; what went out before loading is away from that day on."""
        starts = min(job["load_on"], issued_on or job["load_on"])
        return starts, job["return_on"] + timedelta(days=kind["turn_round_days"])

    def objections(self, item: Row, line: Row, job: Row) -> set[str]:
        """Why the item cannot be promised for that line of that job, in a few words of our own."""
        kind = self.by_id["kind"][item["kind_id"]]
        found = set()
        if item["kind_id"] != line["kind_id"]:
            found.add("kind")
        if item["state"] != "available":
            found.add(item["state"])
        fit = self.fit_until(item)
        if fit is None or fit < job["return_on"] + timedelta(days=kind["margin_days"]):
            found.add("date")
        if not self._will_be_there(item, job):
            found.add("place")
        found |= self._match_objections(item, line, job)
        if not item["counted"]:
            found |= self._taken(item, job, *self.window(job, kind))
        return found

    def _will_be_there(self, item: Row, job: Row) -> bool:
        if item["custody"] != "in-transit":
            return bool(item["depot_id"] == job["depot_id"])
        return bool(
            item["transit_to_id"] == job["depot_id"] and self.today <= item["arrives_on"] < job["load_on"]
        )

    def _match_objections(self, item: Row, line: Row, job: Row) -> set[str]:
        found = set()
        if "bore" in line["match"]:
            low, high, bore = item["bore_min_mm"], item["bore_max_mm"], job["bore_mm"]
            if low is None or high is None or bore is None or not low <= bore <= high:
                found.add("bore")
        if "mark" in line["match"] and (
            not item["mark"] or item["mark"].casefold() != job["base_mark"].casefold()
        ):
            found.add("mark")
        return found

    def _taken(self, item: Row, job: Row, starts: date, ends: date) -> set[str]:
        found, out = set(), False
        for other in self.with_standing(*HOLDING):
            if other["item_id"] != item["id"]:
                continue
            out = out or other["standing"] == "issued"
            if other["job_id"] == job["id"]:
                continue
            overdue = other["standing"] == "issued" and other["ends"] < self.today
            if overdue or (other["starts"] <= ends and starts <= other["ends"]):
                found.add("taken")
        if item["custody"] == "on-site" and not out:
            found.add("away")
        return found

    def free_of_lot(self, item: Row, leave_out: Row | None = None) -> int:
        """What of a lot nobody was promised, `leave_out` not counted."""
        promised = sum(
            row["quantity"]
            for row in self.with_standing("promised")
            if row["item_id"] == item["id"] and row is not leave_out
        )
        return int(item["quantity"] - promised)

    def held_on_line(self, job: Row, name: str) -> int:
        """What the job holds or has had back on its line of that name."""
        return sum(
            row["quantity"]
            for row in self.with_standing(*HOLDING, "returned")
            if row["job_id"] == job["id"] and self.line_of(row)["name"] == name
        )


@dataclass
class Case:
    """What the ledger says of one item's time in quarantine: who may not release it."""

    barred: set[str] = field(default_factory=set)
    # Fails and doubts that no pass has answered yet, by check: (day, number, people).
    open_fails: dict[int, list[tuple[date, int, set[str]]]] = field(default_factory=lambda: defaultdict(list))
    last_pass: dict[int, tuple[date, int]] = field(default_factory=dict)
    running: bool = False


def releases_by_the_wrong(tables: Tables) -> list[str]:
    """Each release, in the whole ledger, by a person who set the item aside or failed it, as a sentence.

    One who failed it is barred if no pass had answered that when the item was set aside, or if it was found since.
    """
    wrong = []
    for tag, case, entry in _cases(tables):
        if entry["actor"] in case.barred:
            wrong.append(f"{tag} was released by {entry['actor']} in entry {entry['number']}")
    return wrong


def case_waits(tables: Tables, tag: str) -> bool:
    """True if something in the item's open case is still to be looked at, or, after a job, to be considered."""
    [item] = [row["id"] for row in tables["item"] if row["tag"] == tag]
    for case in tables["quarantinecase"]:
        if case["item_id"] != item or case["decision"]:
            continue
        companions = [row for row in tables["casecompanion"] if row["case_id"] == case["id"]]
        noted = {row["about"] for row in tables["casenote"] if row["case_id"] == case["id"]}
        if any(row["looked"] == "" for row in companions):
            return True
        return case["job_id"] is not None and not noted >= {"authority", "operator", "maker"}
    return False


def barred_now(tables: Tables, tag: str) -> set[str]:
    """Who may not release the item as things stand."""
    cases: dict[str, Case] = defaultdict(Case)
    for _ in _cases(tables, cases):
        pass
    return cases[tag].barred


def _cases(tables: Tables, cases: dict[str, Case] | None = None) -> Any:
    """Go through the ledger; gives (tag, its case, the entry) at each release, before the case is closed."""
    cases = defaultdict(Case) if cases is None else cases
    tags = {row["id"]: row["tag"] for row in tables["item"]}
    for entry in tables["ledgerentry"]:
        body = json.loads(entry["body"])
        named = [name.removeprefix("item:") for name in body["about"] if name.startswith("item:")]
        for label, number, values in body["rows"]:
            if label == "inspections.inspection":
                _note_finding(cases[tags[values["item_id"]]], number, values)
        for tag in named:
            case = cases[tag]
            received_set_aside = entry["deed"] == "received" and any(
                values.get("state") == "quarantined" for _, _, values in body["rows"]
            )
            if entry["deed"] in ("quarantined", "found again") or received_set_aside:
                case.barred.add(entry["actor"])
                if not case.running:
                    case.running = True
                    case.barred.update(
                        *(people for fails in case.open_fails.values() for *_, people in fails)
                    )
            elif entry["deed"] == "released":
                yield tag, case, entry
                case.barred, case.running = set(), False


def _note_finding(case: Case, number: int, values: Row) -> None:
    day, check = date.fromisoformat(values["done_on"]), values["check_done_id"]
    answered = case.last_pass.get(check, (date.min, 0))
    if values["verdict"] == "pass":
        case.last_pass[check] = max(answered, (day, number))
        case.open_fails[check] = [
            fail for fail in case.open_fails[check] if (fail[0], fail[1]) > (day, number)
        ]
        return
    people = {values["by"], values["recorded_by"]} - {""}
    if (day, number) > answered:
        case.open_fails[check].append((day, number, people))
    if case.running:
        case.barred |= people
