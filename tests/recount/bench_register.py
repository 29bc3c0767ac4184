"""What a made-up register with readings holds besides them: rules, items, a job, verdicts without readings."""

from __future__ import annotations

import random
from datetime import date, timedelta
from decimal import ROUND_HALF_EVEN, Decimal
from fractions import Fraction
from typing import Any

from tests.recount.made_up import Row, Sheets
from tests.recount.readings import exact

TESTED = ("bag", "bag tube", "bagging head", "control head")
UNITS = ("bar", "mbar", "kPa", "psi")
STEPS = {"bar": Decimal("0.0001"), "mbar": Decimal("0.1"), "kPa": Decimal("0.01"), "psi": Decimal("0.001")}


def in_steps(value: Fraction, unit: str) -> Decimal:
    """The value as a gauge in that unit would be read."""
    decimal = Decimal(value.numerator) / Decimal(value.denominator)
    return decimal.quantize(STEPS[unit], ROUND_HALF_EVEN)


def plain(value: Decimal | Fraction) -> Decimal:
    """A decimal of few places, exactly: what a person would type."""
    if isinstance(value, Decimal):
        return value
    decimal = Decimal(value.numerator) / Decimal(value.denominator)
    assert Fraction(str(decimal)) == value, value
    return decimal


class BenchRegister:
    """Rows of the sheets Checks, Items, Arrangements, Jobs and Inspections, made from a seed around `today`."""

    def __init__(self, seed: int, today: date) -> None:
        self.dice = random.Random(seed)
        self.today = today
        self.sheets: Sheets = {}
        self.plain_days: set[tuple[str, date]] = (
            set()
        )  # gauges, and days on which only a verdict was written down
        self._checks()
        self._items()
        self._jobs()
        self._plain_records()

    def chance(self, likelihood: float) -> bool:
        return self.dice.random() < likelihood

    def cell(self, value: Decimal | Fraction) -> Any:
        """The number as a spreadsheet keeps it, or as text."""
        decimal = plain(value)
        if self.chance(0.1):
            return f"{decimal:f}"
        return int(decimal) if decimal == int(decimal) and self.chance(0.7) else float(decimal)

    # Rules ------------------------------------------------------------------------------------------------------

    def _checks(self) -> None:
        dice = self.dice
        self.kinds = dice.sample(TESTED, dice.choice([1, 2, 2]))
        self.calibration_check = self._calibration_check()
        rows = [self.calibration_check]
        if self.chance(0.4):
            rows.append({"kind": "gauge", "check": "zero", "interval": "P3M", "gates": "no"})
        for kind in self.kinds:
            rows.append(self._hold_check(kind))
            if self.chance(0.3):
                rows.append({"kind": kind, "check": "visual", "interval": "P6M", "gates": "no"})
        dice.shuffle(rows)
        self.sheets["Checks"] = rows

    def _calibration_check(self) -> Row:
        dice = self.dice
        unit = dice.choice(UNITS)
        span = {"bar": "0.4", "mbar": "400", "kPa": "40", "psi": "6"}[unit]
        guard = dice.choice([None, "0", "0.25", "0.5", "0.1"])
        accuracy_class = dice.choice(["0.6", "1", "1.6", "2.5"])
        permissible = exact(span) * exact(accuracy_class) / 100
        return {
            "kind": "gauge",
            "check": "calibration",
            "interval": dice.choice(["P6M", "P12M", "P1Y"]),
            "basis": dice.choice(["done", "anchor", None]),
            "early_days": dice.choice([None, 0, 14]),
            "gates": dice.choice(["yes", None]),
            "method": "calibration",
            "unit": unit,
            "accuracy_class": self.cell(exact(accuracy_class)),
            "span": self.cell(exact(span)),
            "guard": None if guard is None else self.cell(permissible * exact(guard)),
        }

    def _hold_check(self, kind: str) -> Row:
        dice = self.dice
        unit = dice.choice(UNITS)
        top = {"bar": "0.2", "mbar": "200", "kPa": "20", "psi": "3"}[unit]
        drop = exact(top) * exact(dice.choice(["0.01", "0.05", "0.2", "0.5"]))
        guard = dice.choice([None, "0", "0.1", "0.2"])
        return {
            "kind": kind,
            "check": dice.choice(["hold test", f"tightness of {kind}"]),
            "interval": dice.choice(["P3M", "P6M", "P6M", "P12M"]),
            "basis": dice.choice(["done", "anchor", None]),
            "early_days": dice.choice([None, 0, 7, 30]),
            "gates": dice.choice(["yes", "yes", None, "no"]),
            "method": "hold test",
            "unit": unit,
            "max_pressure": self.cell(exact(top)),
            "max_drop": self.cell(drop),
            "hold_minutes": dice.choice([5, 5, 10, 2.5]),
            "guard": None if guard is None else self.cell(drop * exact(guard)),
        }

    # What there is, and what was looked at ----------------------------------------------------------------------

    def _items(self) -> None:
        rows = [{"tag": f"G-{n}", "kind": "gauge"} for n in range(self.dice.randint(2, 4))]
        for kind in self.kinds:
            rows += [
                {"tag": f"{kind[:5]}{kind[-1]}-{n}", "kind": kind} for n in range(self.dice.randint(2, 4))
            ]
        for row in rows:
            row |= {"depot": "Yard", "state": self.dice.choices([None, "quarantined"], [9, 1])[0]}
            if row["kind"] == "bag":
                row |= {"bore_min_mm": 100, "bore_max_mm": 200}
        self.dice.shuffle(rows)
        self.sheets["Items"] = rows

    def _jobs(self) -> None:
        load_on = self.today + timedelta(days=self.dice.choice([0, 1, 20, 100]))
        self.sheets["Arrangements"] = [
            {
                "arrangement": "one",
                "line": f"{kind}s",
                "kind": kind,
                "quantity": self.dice.choice([1, 2]),
                "match": "any",
            }
            for kind in [*self.kinds, "gauge"]
        ]
        self.sheets["Jobs"] = [
            {
                "reference": "J-1",
                "depot": "Yard",
                "load_on": load_on.isoformat(),
                "return_on": (load_on + timedelta(days=self.dice.choice([0, 3]))).isoformat(),
                "bore_mm": 150,
                "arrangement": "one",
            }
        ]

    def _plain_records(self) -> None:
        rows = []
        for item in self.sheets["Items"]:
            for check in self.sheets["Checks"]:
                if check["kind"] != item["kind"] or check.get("method", "plain") != "plain":
                    continue
                for _ in range(self.dice.choice([0, 1, 2])):
                    done_on = self.today - timedelta(days=self.dice.randint(0, 300))
                    verdict = self.dice.choice(["pass", "pass", "pass", "fail", "doubt"])
                    rows.append(
                        {"tag": item["tag"], "check": check["check"], "done_on": done_on.isoformat()}
                        | {"verdict": verdict}
                    )
        rows += self._plain_calibrations()
        if rows:
            self.sheets["Inspections"] = rows

    def _plain_calibrations(self) -> list[Row]:
        """Certificates of which only the verdict was written down; on days on which nothing was read."""
        rows = []
        for row in self.sheets["Items"]:
            if row["kind"] == "gauge" and self.chance(0.3):
                done_on = self.today - timedelta(days=self.dice.randint(1, 900))
                self.plain_days.add((row["tag"], done_on))
                verdict = self.dice.choices(["pass", "fail", "doubt"], [6, 2, 1])[0]
                rows.append(
                    {"tag": row["tag"], "check": "calibration", "done_on": done_on.isoformat()}
                    | {"verdict": verdict}
                )
        return rows
