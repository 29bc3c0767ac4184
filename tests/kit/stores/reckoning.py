"""A second opinion on a store: what holds and what does not, reckoned from the rows alone.

Nothing here calls the judges of the store or of the inspections; it is slower and plainer than they are.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any

from django.apps import apps

from tests.inspections.judging.history_rows import History
from tests.kit.stores.judged_by_hand import FOR_EVER, history_of, stands

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


@dataclass
class Reckoning:
    """The rows of one moment, with the few look-ups that the rules need."""

    tables: Tables
    today: date
    by_id: dict[str, dict[int, Row]] = field(init=False)
    _checks: dict[int, list[tuple[Row, History]]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.by_id = {
            name: {row["id"]: row for row in rows if "id" in row} for name, rows in self.tables.items()
        }

    # Fitness

    def checks_of(self, item: Row) -> list[tuple[Row, History]]:
        """Each check of the item's kind, asked for or not, with all that is recorded of it."""
        if item["id"] not in self._checks:
            self._checks[item["id"]] = [
                (check, history_of(self.tables, item, check))
                for check in self.tables["check"]
                if check["kind_id"] == item["kind_id"]
            ]
        return self._checks[item["id"]]

    def fit_until(self, item: Row) -> date | None:
        """The last day on which the item is in date; None if it is not fit at all."""
        days = [item["use_by"] or FOR_EVER]
        for _, history in self.checks_of(item):
            bars_after = stands(history, self.today).bars_after
            if bars_after is None:
                return None
            days.append(bars_after)
        return min(days)

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
        if item["kind_id"] not in self.kinds_of(line):
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

    def kinds_of(self, line: Row) -> set[int]:
        """The kind that the line asks for and those that may stand in."""
        others = {row["kind_id"] for row in self.tables["linesubstitute"] if row["line_id"] == line["id"]}
        return {line["kind_id"], *others}

    def mates_of(self, item: Row) -> list[Row]:
        """The other pieces of its set at its depot."""
        if not item["set_name"]:
            return []
        at = item["depot_id"], item["set_name"]
        rows = [row for row in self.tables["item"] if (row["depot_id"], row["set_name"]) == at]
        return [row for row in rows if row["id"] != item["id"]]

    def set_goes_with(self, reservation: Row) -> bool:
        """Whether the rest of the piece's set is out on the job, or has a promise of it that could hold."""
        room: dict[str, int] = {}
        for mate in self.mates_of(self.item_of(reservation)):
            rows = [
                row
                for row in self.tables["reservation"]
                if (row["item_id"], row["job_id"]) == (mate["id"], reservation["job_id"])
            ]
            if any(row["standing"] in ("issued", "returned") for row in rows):
                continue
            rows = [row for row in rows if row["standing"] in ("promised", "broken")]
            rows.sort(key=lambda row: row["standing"] == "broken")
            if not rows or self.objections(mate, self.line_of(rows[0]), self.job_of(rows[0])):
                return False
            if rows[0]["standing"] == "broken":
                if self.mixes(mate, self.line_of(rows[0]), self.job_of(rows[0])):
                    return False
                name = self.line_of(rows[0])["name"]
                room[name] = room.get(name, 0) + 1
        if reservation["standing"] == "broken":
            own = self.line_of(reservation)["name"]
            room[own] = room.get(own, 0) + 1
        job = self.job_of(reservation)
        lines = [
            row for row in self.tables["arrangementline"] if row["arrangement_id"] == job["arrangement_id"]
        ]
        asked = {line["name"]: line["quantity"] for line in lines}
        return all(self.held_on_line(job, name) + more <= asked[name] for name, more in room.items())

    def mixes(self, item: Row, line: Row, job: Row) -> bool:
        """Whether the job holds a piece of another mark in the same assembly, of which it asks for one unit."""
        marks = {
            self.item_of(row)["mark"].strip().casefold()
            for row in self.with_standing(*HOLDING, "returned")
            if row["job_id"] == job["id"]
            and row["item_id"] != item["id"]
            and self.line_of(row)["assembly"] == line["assembly"] != ""
        }
        mark = item["mark"].strip().casefold()
        return bool(mark and marks - {"", mark})

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
