"""One made-up register with readings through the commands, beside its recount: load, ask, look back, read further."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.utils import timezone

from kit import stores
from tests.recount import answers, looking_back, reference
from tests.recount.bench_made_up import BenchMadeUp
from tests.recount.comparing import answer, differences, plain_kit_list, shipped
from tests.recount.made_up import save
from tests.recount.readings import take_readings


def whole_rows(sheets: dict[str, list[dict[str, Any]]]) -> dict[str, list[dict[str, Any]]]:
    """Every row of a sheet with all columns that any of its rows has."""
    found = {}
    for name, rows in sheets.items():
        columns = {column: None for row in rows for column in row}
        found[name] = [{**columns, **row} for row in rows]
    return found


class BenchWalk:
    """`found` collects each difference as a sentence; steps after the first that differs are left out."""

    def __init__(self, seed: int, folder: Path) -> None:
        reference.MEMORY.clear()
        self.today = timezone.localdate()
        self.path = folder / f"bench-{seed}.xlsx"
        with stores.acting(stores.Who("clerk", "recount")) as act:
            stores.found_register(act)
        kinds, checks = shipped()
        self.shipped_checks = {(kind, check.name) for kind, own in checks.items() for check in own}
        self.made = BenchMadeUp(seed, self.today, kinds, checks)
        self.bench = self.made.bench
        self.found: list[str] = []

    def run(self) -> list[str]:
        for step in (self.load, self.ask, self.look_back, self.reserve, self.calibrate, self.test_again):
            step()
            if self.found:
                self.found.insert(0, f"{self.path.stem}, {step.__name__}:")
                break
        return self.found

    def differ(self, what: str, program: Any, recount: Any) -> None:
        self.found += differences(what, program, recount)

    # Steps ------------------------------------------------------------------------------------------------------

    def load(self) -> None:
        save(self.path, whole_rows(self.made.sheets))
        rows = self.bench.register.rows
        changed = sum(
            (row["kind"], row["check"]) in self.shipped_checks for row in self.made.sheets["Checks"]
        )
        report, code = answer("load_register", str(self.path))
        counts = {"new": rows - changed, "changed": changed, "unchanged": 0}
        self.differ(
            "load",
            {key: report[key] for key in ("loaded", "faults", *counts)},
            {"loaded": True, "faults": [], **counts},
        )
        self.differ("load exit", code, 0)
        report, code = answer("load_register", str(self.path))
        self.differ(
            "load again", [report["new"], report["changed"], report["unchanged"], code], [0, 0, rows, 0]
        )

    def ask(self) -> None:
        for day in self.made.as_of_days():
            for within in (None, 0, 60, 500):
                self.due(day, within)
            self.kit_list(day)
        self.verdicts()
        self.verdicts(self.made.dice.choice(list(self.bench.register.items)))

    def look_back(self) -> None:
        for tag, item in self.bench.register.items.items():
            if item.kind == "gauge":
                self.back_from(tag)

    def reserve(self) -> None:
        answers.reserve(self.bench.register, "J-1", self.today)
        self.bench.promised = {(promise.job, promise.tag) for promise in self.bench.register.promises}
        self.kit_list(self.today, "--reserve")
        self.look_back()

    def calibrate(self) -> None:
        """Gauges found out of tolerance afterwards: what they put in doubt waits for a person, no due date moves."""
        rows = self.made.further_calibrations()
        if rows and self.further("gauges", {"Calibrations": rows}):
            self.ask_anew()

    def test_again(self) -> None:
        """Tests of today, after those calibrations."""
        rows = self.made.further_hold_tests()
        if rows and self.further("tests", {"Hold tests": rows}):
            self.ask_anew()

    def further(self, name: str, sheets: dict[str, list[dict[str, Any]]]) -> bool:
        """Load these rows alone; whether they were loaded."""
        path = self.path.with_name(f"{name}.xlsx")
        save(path, whole_rows(sheets))
        report, code = answer("load_register", str(path))
        rows = sum(len(rows) for rows in sheets.values())
        self.differ(name, [report["faults"], report["new"], report["changed"], code], [[], rows, 0, 0])
        take_readings(self.bench, sheets)
        return not self.found

    def ask_anew(self) -> None:
        answers.drop_what_no_longer_holds(self.bench.register, self.today)
        self.kit_list(self.today)
        for within in (None, 0, 60, 500):
            self.due(self.today, within)
            self.due(self.today - timedelta(days=1), within)
        self.verdicts()
        self.look_back()

    # Questions --------------------------------------------------------------------------------------------------

    def due(self, day: date, within: int | None) -> None:
        asked = ["inspections_due", "--as-of", day.isoformat()]
        asked += ["--within", str(within)] if within is not None else []
        program, code = answer(*asked)
        recount = {"as_of": day.isoformat(), "due": answers.due_list(self.bench.register, day, within)}
        self.differ(" ".join(asked), program, recount)
        self.differ(f"exit of {' '.join(asked)}", code, 0)

    def kit_list(self, day: date, *options: str) -> None:
        program, code = answer("kit_list", "J-1", "--as-of", day.isoformat(), *options)
        recount = answers.kit_list(self.bench.register, "J-1", day)
        self.differ(f"kit list of {day}", plain_kit_list(program), recount)
        self.differ(f"exit of kit list of {day}", code, 0 if recount["complete"] else 1)

    def verdicts(self, tag: str | None = None) -> None:
        program, code = answer("verdicts", *(["--tag", tag] if tag else []))
        mine = []
        for entry in program["verdicts"]:
            assert entry.pop("why"), entry
            mine.append(entry)
        recount = looking_back.verdicts(self.bench, tag)
        for entry in (*mine, *recount):
            entry["figures"] = rounded(entry["figures"])
        self.differ(f"verdicts {tag or ''}", sorted(mine, key=repr), sorted(recount, key=repr))
        self.differ(f"exit of verdicts {tag or ''}", code, 0)

    def back_from(self, gauge: str) -> None:
        recount = looking_back.look_back(self.bench, gauge)
        program, code = answer("look_back", gauge)
        for records in (program["records"], recount["records"]):
            records.sort(key=repr)
        self.differ(f"look_back {gauge}", program, recount)
        self.differ(f"exit of look_back {gauge}", code, 0)


def rounded(figures: dict[str, Any]) -> dict[str, Any]:
    """Figures to nine places: as many as are told."""
    return {
        name: value if value is None or isinstance(value, str) else round(value, 9)
        for name, value in figures.items()
    }
