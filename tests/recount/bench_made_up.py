"""Made-up bench records: gauges calibrated over years, hold tests read on, just under and just over their limits."""

from __future__ import annotations

from copy import deepcopy
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from tests.recount.bench_register import STEPS, UNITS, BenchRegister, in_steps
from tests.recount.looking_back import corrected, latest_failing
from tests.recount.made_up import Row, day_text
from tests.recount.readings import Bench, convert, exact, in_calibration, take_readings
from tests.recount.reference import add
from tests.recount.rows import Check, Kind, read_interval, read_register


class BenchMadeUp(BenchRegister):
    """A register with readings, made from a seed around `today`; `bench` is what it makes of what is shipped."""

    def __init__(
        self, seed: int, today: date, kinds: dict[str, Kind], checks: dict[str, list[Check]]
    ) -> None:
        super().__init__(seed, today)
        self.gauges = [row["tag"] for row in self.sheets["Items"] if row["kind"] == "gauge"]
        self._calibrations()
        self.bench = Bench(read_register(self.sheets, deepcopy(kinds), deepcopy(checks)))
        take_readings(self.bench, self.sheets)
        self._hold_tests()
        if "Hold tests" in self.sheets:
            take_readings(self.bench, {"Hold tests": self.sheets["Hold tests"]})
        self.bench.register.rows = sum(len(rows) for rows in self.sheets.values())

    # Calibrations -----------------------------------------------------------------------------------------------

    def _calibrations(self) -> None:
        check = self.calibration_check
        rows: list[Row] = []
        for item in self.sheets["Items"]:
            if item["kind"] != "gauge":
                continue
            for done_on in self._calibrated_on(check):
                if (item["tag"], done_on) not in self.plain_days:
                    rows += self.calibration(check, item["tag"], done_on)
        # The points of one calibration need not stand together.
        if self.chance(0.3):
            self.dice.shuffle(rows)
        if rows:
            self.sheets["Calibrations"] = rows

    def _calibrated_on(self, check: Row) -> list[date]:
        months, days = read_interval(check["interval"])
        day = add(self.today, -months * self.dice.randint(0, 4), self.dice.randint(-25, 5))
        found = []
        while day <= self.today and len(found) < 5:
            found.append(day)
            day = add(day, months, days + self.dice.choice([0, 0, -20, -3, 1, 40]))
            if self.chance(0.2):
                day -= timedelta(days=60)
        if self.chance(0.2):
            found.append(self.today)
        return sorted(set(found))

    def calibration(
        self, check: Row, gauge: str, done_on: date, found_as: str | None = None, left_as: str | None = None
    ) -> list[Row]:
        """Rows of one calibration, meant (`found_as`, `left_as`) to pass, to fail, or for anything about a limit."""
        dice = self.dice
        unit = check["unit"] if self.chance(0.6) else dice.choice(UNITS)
        span = convert(exact(check["span"]), check["unit"], unit)
        references = [in_steps(span * n / 4, unit) for n in range(0 if self.chance(0.7) else 1, 5)]
        if exact(references[-1]) > span:  # the dial ends there
            references[-1] -= STEPS[unit]
        ways = dice.choice([["up", "down"], ["up", "down"], ["up"]])
        if self.chance(0.5):
            references = dice.sample(references, dice.randint(2, len(references)))
        if self.chance(0.3):  # not up to where hold tests are read
            references = sorted(references)[:2]
        found_as = found_as or dice.choices(["pass", "fail", "edge"], [60, 15, 25])[0]
        if left_as is None and self.chance(0.35 if found_as == "pass" else 0.7):
            left_as = dice.choices(["pass", "fail", "edge"], [70, 10, 20])[0]
        found = self._errors(check, unit, found_as, len(references) * len(ways))
        left = self._errors(check, unit, left_as, len(references) * len(ways)) if left_as else None
        rows = []
        by = dice.choice(["Test house", None])
        when = day_text(dice, done_on)
        for place, (way, reference) in enumerate((way, one) for way in ways for one in references):
            row = {
                "gauge": gauge,
                "check": check["check"],
                "done_on": when,
                "direction": way,
                "reference": self.cell(reference),
                "as_found": self.cell(max(reference + found[place], Decimal(0))),
                "unit": unit,
                "by": by,
            }
            if left:
                row["as_left"] = self.cell(max(reference + left[place], Decimal(0)))
            rows.append(row)
        return rows

    def _errors(self, check: Row, unit: str, meant: str, count: int) -> list[Decimal]:
        dice = self.dice
        permissible = convert(
            exact(check["span"]) * exact(check["accuracy_class"]) / 100, check["unit"], unit
        )
        guard = convert(exact(check["guard"] or 0), check["unit"], unit)
        usual = (permissible - guard) / 2
        errors = [
            in_steps(usual * dice.choice([-1, 0, 0, 1]) / dice.choice([1, 2, 3]), unit) for _ in range(count)
        ]
        if meant == "fail":
            # More and more the higher on the dial, or everywhere the same; sometimes only on the latter half.
            most = permissible * dice.choice([2, 3, -2, -4, 5, 8])
            steps = max(count // 2, 1)
            rising, one_way = self.chance(0.7), self.chance(0.3)
            for place in range(count):
                share = Fraction(place % steps + 1, steps) if rising else Fraction(1)
                if not (one_way and place < steps):
                    errors[place] += in_steps(most * share, unit)
        if meant == "edge":
            edge = in_steps(permissible + dice.choice([-1, 0, 1]) * guard, unit)
            edge += dice.choice([-1, 0, 0, 1]) * STEPS[unit]
            errors[dice.randrange(count)] = edge * dice.choice([-1, 1])
        return errors

    # Hold tests -------------------------------------------------------------------------------------------------

    def _hold_tests(self) -> None:
        rows: list[Row] = []
        for item in self.sheets["Items"]:
            for check in self.sheets["Checks"]:
                if check["kind"] == item["kind"] and check.get("method") == "hold test":
                    for _ in range(self.dice.choice([0, 2, 4, 6])):
                        row = self.hold_test(check, item["tag"], self._tested_on(check))
                        rows += [row] if row else []
        self.dice.shuffle(rows)
        if rows:
            self.sheets["Hold tests"] = rows

    def _tested_on(self, check: Row) -> date:
        """A day that matters: of a calibration, the day about it, or about when the check was last due."""
        days = [one.done_on for one in self.bench.calibrations]
        days += [found.day for gauge in self.gauges if (found := latest_failing(self.bench, gauge))] * 2
        way = self.dice.random()
        if days and way < 0.5:
            day = self.dice.choice(days) + timedelta(days=self.dice.choice([-1, 0, 0, 1, 30]))
        elif way < 0.8:
            months, more = read_interval(check["interval"])
            day = add(self.today, -months, -more) + timedelta(days=self.dice.choice([-1, 0, 1, 30]))
        else:
            day = self.today - timedelta(days=self.dice.choice([0, 0, 1, 100, 400]))
        return min(day, self.today)

    def gauges_in(self, day: date) -> list[str]:
        """The gauges that were in calibration on that day."""
        return [tag for tag in self.gauges if in_calibration(self.bench, tag, day)]

    def found_out(self, gauges: list[str], day: date) -> list[str]:
        """Those, more often than not, that are found out of tolerance on that day or later."""
        if self.chance(0.3):
            return []
        failing = [(gauge, latest_failing(self.bench, gauge)) for gauge in gauges]
        return [gauge for gauge, found in failing if found and found.day >= day]

    def hold_test(self, check: Row, tag: str, done_on: date) -> Row | None:
        """A row of readings about a limit; None where no gauge was in calibration on that day."""
        dice = self.dice
        gauges = self.gauges_in(done_on)
        if not gauges:
            return None
        unit = check["unit"] if self.chance(0.6) else dice.choice(UNITS)
        most = convert(exact(check["max_pressure"]), check["unit"], unit)
        drop = convert(exact(check["max_drop"]), check["unit"], unit)
        guard = convert(exact(check["guard"] or 0), check["unit"], unit)
        start = in_steps(most * dice.choice([1, 1, Fraction(4, 5), Fraction(1, 2)]), unit)
        if exact(start) > most:
            start -= STEPS[unit]
        fallen = in_steps(drop + dice.choice([-1, -1, 0, 1]) * guard, unit)
        fallen += dice.choice([-5, -1, 0, 0, 0, 1, 9]) * STEPS[unit]
        if self.chance(0.4):
            fallen = in_steps(drop / 4, unit)
        gauge = dice.choice(self.found_out(gauges, done_on) or gauges)
        if self.chance(0.7):
            fallen += self._error_of_drop(gauge, start, start - fallen, unit)
        row: Row = {
            "tag": tag,
            "check": check["check"],
            "done_on": day_text(dice, done_on),
            "start_pressure": self.cell(start),
            "end_pressure": self.cell(max(start - fallen, Decimal(0))),
            "unit": unit,
            "minutes": check["hold_minutes"] + dice.choice([0, 0, 1, 20]),
            "gauge": gauge,
            "by": dice.choice(["Examiner", None]),
        }
        if self.chance(0.4):
            row |= self._temperatures(unit, start - fallen, row)
        return row

    def _error_of_drop(self, gauge: str, start: Decimal, end: Decimal, unit: str) -> Decimal:
        """By how much the gauge's found error will move the drop: so that the corrected one is about a limit."""
        failing = latest_failing(self.bench, gauge)
        if failing is None or failing.calibration is None:
            return Decimal(0)
        true_drop = corrected(failing.calibration, exact(start), unit)
        true_drop -= corrected(failing.calibration, exact(max(end, Decimal(0))), unit)
        return in_steps(exact(start - end) - true_drop, unit)

    def _temperatures(self, unit: str, end: Decimal, row: Row) -> Row:
        """Temperatures, and more often than not the end pressure that the warming alone would bring about."""
        start_c = Decimal(self.dice.randint(-50, 250)) / 10
        end_c = start_c + Decimal(self.dice.choice([-20, -5, 0, 1, 10, 40])) / 10
        found = {"start_c": self.cell(start_c), "end_c": self.cell(end_c)}
        if self.chance(0.7):
            ambient = convert(Fraction("1.01325"), "bar", unit)
            warming = (exact(end_c) + Fraction("273.15")) / (exact(start_c) + Fraction("273.15"))
            read = in_steps((exact(end) + ambient) * warming - ambient, unit)
            found["end_pressure"] = self.cell(max(read, Decimal(0)))
        return found

    def as_of_days(self) -> list[date]:
        """Today, and days on which the register knew less."""
        days = {one.done_on for one in self.bench.calibrations} | {t.done_on for t in self.bench.hold_tests}
        return [self.today, *self.dice.sample(sorted(days), min(2, len(days)))]

    # What comes in later -----------------------------------------------------------------------------------------

    def further_calibrations(self) -> list[Row]:
        """Gauges brought to the bench today or yesterday, and mostly found out of tolerance."""
        rows: list[Row] = []
        read = {(one.gauge, one.done_on) for one in self.bench.calibrations} | self.plain_days
        for item in self.sheets["Items"]:
            done_on = self.today - timedelta(days=self.dice.choice([0, 0, 1]))
            if item["kind"] == "gauge" and (item["tag"], done_on) not in read and self.chance(0.6):
                found_as = self.dice.choice(["fail", "fail", "fail", "pass"])
                left_as = self.dice.choice(["pass", "pass", "fail"])
                rows += self.calibration(self.calibration_check, item["tag"], done_on, found_as, left_as)
        return rows

    def further_hold_tests(self) -> list[Row]:
        """Tests of today."""
        rows = []
        kinds = {item["tag"]: item["kind"] for item in self.sheets["Items"]}
        for check in self.sheets["Checks"]:
            for tag, kind in kinds.items():
                if check["kind"] == kind and check.get("method") == "hold test" and self.chance(0.4):
                    row = self.hold_test(check, tag, self.today)
                    rows += [row] if row else []
        return rows
