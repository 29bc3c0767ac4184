"""Made-up register workbooks, dense with the cases that go wrong: a day early or late, month ends, ties, doubles."""

from __future__ import annotations

import calendar
import random
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from openpyxl import Workbook

from tests.recount.reference import add
from tests.recount.rows import PE_WALLS_MM, read_interval

Row = dict[str, Any]
Sheets = dict[str, list[Row]]

SHIPPED = (
    ("bag", True, False),
    ("bag tube", False, False),
    ("control head", False, False),
    ("bagging head", False, True),
    ("nose", True, False),
    ("base", False, True),
    ("gauge", False, False),
    ("gas detector", False, False),
    ("hand tool", False, False),
    ("pump", False, False),
)
COUNTED = ("seal", "cap", "lubricant")
NEW_KINDS = ("Stopple clamp", "purge hose", "o-ring")
INTERVALS = ("P90D", "P13W", "P3M", "P6M", "P6M", "P12M", "P1Y", "P1Y6M", "P4M15D", "P2Y")
SHORT_INTERVALS = ("P1D", "P2W", "P30D", "P1M", "P1M15D")
MARKS = ("I", "II", "III", "i", "M-2")
LINE_WORDS = ("main", "spare", "vent", "second pair", "Reserve")


def day_text(dice: random.Random, day: date) -> Any:
    """One of the writings of a whole day."""
    return dice.choice(
        [datetime(day.year, day.month, day.day), day.isoformat(), f"{day:%d/%m/%Y}", f"{day:%d/%m/%Y}"]
    )


def use_by_text(dice: random.Random, day: date) -> Any:
    """A writing of the day, or of the month that ends on it."""
    month_end = day.day == calendar.monthrange(day.year, day.month)[1]
    if month_end and dice.random() < 0.8:
        gs1 = f"{day:%y%m}00"
        return dice.choice([f"{day:%Y-%m}", f"{day:%m/%Y}", gs1, int(gs1)])
    return dice.choice([day_text(dice, day), day_text(dice, day), f"{day:%y%m%d}"])


def save(path: Path, sheets: Sheets) -> None:
    """Write a workbook of these sheets as they are."""
    book = Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        sheet = book.create_sheet(name)
        sheet.append(list(rows[0]))
        for row in rows:
            sheet.append([row[column] for column in rows[0]])
    book.save(path)


class MadeUp:
    """One register, made from a seed around `today`: `sheets` holds its rows as a spreadsheet would."""

    def __init__(self, seed: int, today: date) -> None:
        self.dice = random.Random(seed)
        self.today = today
        self.sheets: Sheets = {}
        # In a well-kept store the choice has to be made, in the other one the reasons have to be given.
        self.well_kept = self.chance(0.75)
        self.depots = self.dice.sample(["Yard", "north", "D-3"], self.dice.choice([1, 1, 2, 2, 3]))
        self.kinds: dict[str, dict[str, Any]] = {}
        self.intervals: dict[str, list[Row]] = {}
        self._kinds()
        self._checks()
        self._jobs()
        self._items()
        self._inspections()

    def chance(self, likelihood: float) -> bool:
        return self.dice.random() < likelihood

    # Sheets -----------------------------------------------------------------------------------------------------

    def _kinds(self) -> None:
        rows: list[Row] = []
        for name, bore, mark in self.dice.sample(SHIPPED, self.dice.randint(1, 3)):
            self.kinds[name] = {"counted": False, "bore": bore, "mark": mark, "margin": 0, "turn": 0}
        for name in self.dice.sample(COUNTED, self.dice.choice([0, 1, 1])):
            self.kinds[name] = {"counted": True, "bore": False, "mark": False, "margin": 0, "turn": 0}
        new = self.dice.sample(NEW_KINDS, self.dice.choice([0, 0, 1]))
        for name in new:
            counted = name == "o-ring"
            bore = not counted and self.chance(0.5)
            self.kinds[name] = {"counted": counted, "bore": bore, "mark": bore, "margin": 0, "turn": 0}
        for name, kind in self.kinds.items():
            if name not in new and not self.chance(0.5):
                continue
            row: Row = {"kind": name}
            if name in new:
                row |= {"counted": "yes" if kind["counted"] else "no"}
                row |= {"bore": "yes" if kind["bore"] else "no", "mark": "yes" if kind["mark"] else "no"}
            if self.chance(0.7):
                row["turn_round_days"] = kind["turn"] = self.dice.choice([0, 1, 2, 3])
            if self.chance(0.7):
                row["margin_days"] = kind["margin"] = self.dice.choice([0, 1, 2, 5])
            rows.append(row)
        if rows:
            self.sheets["Kinds"] = rows

    def _checks(self) -> None:
        rows: list[Row] = []
        for kind in self.kinds:
            if self.chance(0.15):
                continue  # keeps what is shipped
            if self.chance(0.15):
                rows.append({"kind": kind})
                self.intervals[kind] = []
                continue
            own = []
            for number in range(self.dice.choice([1, 1, 1, 2] if self.well_kept else [1, 2, 3])):
                row: Row = {
                    "kind": kind,
                    "check": f"{self.dice.choice(['test', 'Visual', 'bench'])} {number} of {kind}",
                    "interval": self.dice.choice(SHORT_INTERVALS if self.chance(0.08) else INTERVALS),
                    "basis": self.dice.choice(["done", "anchor", "anchor", None]),
                    "early_days": self.dice.choice([None, 0, 7, 14, 30, 40]),
                    "gates": self.dice.choice(["yes", "yes", "yes", "no", None]),
                    "source": self.dice.choice([None, "made up"]),
                }
                own.append(row)
            rows += own
            self.intervals[kind] = own
        self.dice.shuffle(rows)
        if rows:
            self.sheets["Checks"] = rows

    def _jobs(self) -> None:
        jobs: list[Row] = []
        arrangements: list[Row] = []
        base = self.today + timedelta(days=self.dice.randint(0, 30))
        if self.chance(0.4):  # about the end of a month
            base = (base.replace(day=1) + timedelta(days=62)).replace(day=1) - timedelta(days=1)
        self.bores: list[float] = []
        for number in range(self.dice.randint(2, 4)):
            load_on = base + timedelta(days=self.dice.randint(-4, 9))
            return_on = load_on + timedelta(days=self.dice.choice([0, 0, 1, 3, 6]))
            if self.chance(0.7) or number == 0:
                arrangement = f"pattern {number}"
                lines = self._lines(arrangement)
                arrangements += lines
            else:
                arrangement = arrangements[0]["arrangement"]
            job: Row = {
                "reference": f"J-{number}",
                "depot": self.depots[0] if self.chance(0.7) else self.dice.choice(self.depots),
                "site": self.dice.choice([None, "Mill Lane"]),
                "load_on": day_text(self.dice, load_on),
                "return_on": day_text(self.dice, return_on),
                "base_mark": self.dice.choice([*MARKS[:2], *MARKS[:2], *MARKS[:4], None]),
                "arrangement": arrangement,
            }
            way = self.dice.random()
            if way < 0.45:
                size = self.dice.choice(sorted(PE_WALLS_MM))
                sdr = self.dice.choice(sorted(PE_WALLS_MM[size]))
                job |= {
                    "main_material": "PE",
                    "main_size": self.dice.choice([size, int(size)]),
                    "main_sdr": self.dice.choice([sdr, float(sdr)]),
                }
                self.bores.append(round(int(size) - 2 * float(PE_WALLS_MM[size][sdr]), 1))
            if 0.35 < way < 0.9:
                job["bore_mm"] = round(self.dice.uniform(80, 400), self.dice.choice([0, 1, 1, 2]))
                self.bores.append(job["bore_mm"])
            job["window"] = (load_on, return_on)
            jobs.append(job)
        self.windows = [job.pop("window") for job in jobs]
        self.dice.shuffle(jobs)
        self.sheets["Arrangements"] = arrangements
        self.sheets["Jobs"] = jobs

    def _lines(self, arrangement: str) -> list[Row]:
        lines = []
        for name, kind in self.kinds.items():
            for number in range(self.dice.choice([1, 1, 2, 2, 3])):
                match = "any"
                if kind["bore"]:
                    match = self.dice.choice(["bore", "bore", "any", "bore+mark"])
                elif kind["mark"]:
                    match = self.dice.choice(["mark", "mark", "any"])
                elif self.chance(0.1):
                    match = self.dice.choice(["bore", "mark", None])
                lines.append(
                    {
                        "arrangement": arrangement,
                        "line": f"{name} {LINE_WORDS[number]}",
                        "kind": name,
                        "quantity": self.dice.choice([1, 1, 2, 3]),
                        "match": match,
                    }
                )
        self.dice.shuffle(lines)
        return lines

    def _near_a_return(self, margin: int) -> date:
        """A day on which, or just about which, it matters whether an item is in date."""
        _, return_on = self.dice.choice(self.windows)
        early = [0] if self.well_kept and self.chance(0.8) else [-2, -1, -1]
        return return_on + timedelta(days=margin + self.dice.choice([*early, 0, 0, 1, 1, 2, 30, 30]))

    def _use_by(self, kind: dict[str, Any]) -> Any:
        way = self.dice.random()
        if way < 0.4:
            return None
        if way < 0.7:
            return use_by_text(self.dice, self._near_a_return(kind["margin"]))
        if way < (0.72 if self.well_kept else 0.85):
            return use_by_text(self.dice, self.today - timedelta(days=self.dice.randint(0, 60)))
        day = self.today + timedelta(days=self.dice.choice([50, 90, 90, 400, 1500]))
        end = day.replace(day=calendar.monthrange(day.year, day.month)[1])
        return use_by_text(self.dice, self.dice.choice([day, end, end]))

    def _items(self) -> None:
        rows: list[Row] = []
        for name, kind in self.kinds.items():
            most = 4 if kind["counted"] else 7
            for number in range(self.dice.randint(most // 2 if self.well_kept else 0, most)):
                letters = name[:2] + name[-2:]
                tag = self.dice.choice(
                    [
                        f"{letters}-{number}",
                        f"{letters.upper()}_{number}",
                        f"{letters} {10 + number}",
                        f"é{letters}{number}",
                    ]
                )
                row: Row = {
                    "tag": tag,
                    "kind": name,
                    "depot": self.depots[0] if self.chance(0.7) else self.dice.choice(self.depots),
                    "use_by": self._use_by(kind),
                    "state": self.dice.choices(
                        ["available", None, "quarantined", "withdrawn", "lost"],
                        [80, 14, 2, 2, 2] if self.well_kept else [60, 14, 11, 8, 7],
                    )[0],
                }
                if self.chance(0.5):
                    row |= {
                        "maker": self.dice.choice(["Maker A", "Maker B"]),
                        "serial": f"{name[:2]}{number}",
                    }
                if kind["counted"]:
                    row["quantity"] = self.dice.choice([0, 1, 2, 2, 3, 4, 4])
                    row["batch"] = self.dice.choice([None, "L1", "L2"])
                elif self.chance(0.1):
                    row["quantity"] = 1
                if (kind["bore"] or self.chance(0.1)) and self.chance(0.9):
                    row |= self._bore_range()
                if kind["mark"] or self.chance(0.1):
                    row["mark"] = self.dice.choice([*MARKS[:2] * 3, *MARKS, None])
                if self.chance(0.2):
                    row |= {"place": "Rack 1", "note": "seen"}
                rows.append(row)
        self.dice.shuffle(rows)
        self.sheets["Items"] = rows

    def _bore_range(self) -> Row:
        bore = self.dice.choice(self.bores) if self.bores else 150.0
        wide = [0, 0, 0.1, 5, 5, 25] if self.chance(0.85) else [-0.1, 0.1, 5]
        low, high = sorted((bore - self.dice.choice(wide), bore + self.dice.choice(wide)))
        return {"bore_min_mm": round(low, 3), "bore_max_mm": round(high, 3)}

    def _inspections(self) -> None:
        rows: list[Row] = []
        for item in self.sheets["Items"]:
            for check in self.intervals.get(item["kind"], []):
                if self.chance(0.02 if self.well_kept else 0.12):
                    continue
                rows += self._records(item, check)
        self.dice.shuffle(rows)
        for row in list(rows):
            if self.chance(0.04):
                rows.insert(self.dice.randint(0, len(rows)), dict(row))
        if rows:
            self.sheets["Inspections"] = rows

    def _days_done(self, check: Row, target: date) -> list[date]:
        """Days on which the check was done so that, more often than not, it is next due on or about `target`."""
        months, days = read_interval(check["interval"])
        early = int(check["early_days"] or 0)
        done = []
        for back in self.dice.choice([[1], [1], [2, 1], [3, 2, 1], [3, 1], [5, 2, 1]]):
            day = add(target, -back * months, -back * days)
            # On a grid a check done a little early, or late, leaves the grid where it is.
            off = self.dice.choice([0, 0, 0, -1, 1, -early, -early - 1]) if back > 1 or check["basis"] else 0
            day += timedelta(days=off if done or check["basis"] != "anchor" else 0)
            way = self.dice.random()
            if way < 0.1:
                day = day.replace(day=calendar.monthrange(day.year, day.month)[1])
            elif way < 0.2:
                day = self.today - timedelta(days=self.dice.choice([0, 0, 1, 1, 5, 20]))
            elif way < 0.25:
                day = self.dice.choice([date(2024, 2, 29), date(2025, 8, 31), date(2024, 1, 31)])
            done.append(min(day, self.today))
        return done

    def _records(self, item: Row, check: Row) -> list[Row]:
        target = self._near_a_return(self.kinds[item["kind"]]["margin"])
        failing = [2, 1] if self.well_kept else [10, 7]
        rows = []
        for day in self._days_done(check, target):
            row = {
                "tag": item["tag"],
                "check": check["check"],
                "done_on": day_text(self.dice, day),
                "verdict": self.dice.choices(["pass", "fail", "doubt"], [90, *failing])[0],
                "by": self.dice.choice(["Examiner", None]),
            }
            rows.append(row)
            if row["verdict"] != "pass" and self.chance(0.6):
                # A pass beside it, of the same day or about it, entered before or after.
                other = min(day + timedelta(days=self.dice.choice([-1, 0, 0, 1])), self.today)
                rows.append(dict(row, verdict="pass", done_on=day_text(self.dice, other)))
        return rows

    # The file ---------------------------------------------------------------------------------------------------

    def as_of_days(self) -> list[date]:
        """Today, and days before it on which the register knew less."""
        return [self.today, self.today - timedelta(days=self.dice.choice([1, 1, 2, 6, 21, 90, 400]))]

    def save(self, path: Path) -> list[str]:
        """Write the workbook, columns and sheets in any order and heading; gives the headings nobody knows."""
        book = Workbook()
        book.remove(book.active)
        unknown = []
        names = list(self.sheets)
        self.dice.shuffle(names)
        for name in names:
            sheet = book.create_sheet(self.dice.choice([name, name.lower(), f" {name} "]))
            rows = self.sheets[name]
            columns = sorted({column for row in rows for column in row})
            needed = {"Checks": ["check", "interval"], "Items": ["tag", "kind", "depot"]}.get(name, [])
            columns += [column for column in needed if column not in columns]
            self.dice.shuffle(columns)
            headings = [self.dice.choice([c, c, c.upper(), c.replace("_", " "), f" {c} "]) for c in columns]
            if self.chance(0.1):
                headings.append("colour")
                unknown.append(name)
            sheet.append(headings)
            for row in rows:
                sheet.append([row.get(column) for column in columns])
        book.save(path)
        return unknown
