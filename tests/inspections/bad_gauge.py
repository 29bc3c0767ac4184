"""A store with many bench tests and one gauge found out of tolerance, seeded; and what is in doubt, from plain data.

`make_store` writes it through the store's own actions. `affected`, `flipped` and `jobs` work from the same plain
rows by brute force, in floats and with numpy.interp, and share no code with the program.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

import numpy
from django.utils import timezone

from inspections.actions import CheckSpec, Finding, record_many, set_checks
from inspections.judging import (
    Calibration,
    CalibrationLimits,
    HoldLimits,
    HoldTest,
    Point,
    judge_calibration,
    judge_hold_test,
)
from inspections.models import Check, CheckVersion, Inspection
from kit.models import Deed, Depot, Item, Job, Kind, Reservation
from kit.stores import LineSpec, Who, acting, found_register, receive, refit, set_arrangement

EXAMINER = Who("e.bench", "test")
GUARD, PA = 0.0005, 1.01325
# The allowed drop in bar was tightened so many days ago: older tests keep the version that judged them.
TIGHTENED, MAX_DROP = 150, {"old": "0.01", "new": "0.008"}
# Days ago of the bad gauge's calibrations. After the doubt nothing passed until it failed; then it was set right.
CALIBRATED = ((500, "pass"), (260, "pass"), (200, "doubt"), (30, "fail"), (10, "pass"))
AFTER, UNTIL = 260, 30
# (reference, as found going up, going down) on the day it failed: it sticks in the middle of its dial.
FOUND = (("0", "0", "0"), ("0.1", "0.1", "0.101"), ("0.15", "0.17", "0.171"), ("0.2", "0.201", "0.203"))
TOP = ("0.25", "0.25", "0.25")
# Greatest error, in units that the class allows 0.00625 bar of: 2.5 % of 0.25 bar.
POINTS = {
    "pass": (("0", "0", "0"), ("0.2", "0.201", "0.202"), TOP),
    "doubt": (("0", "0", "0"), ("0.2", "0.206", "0.206"), TOP),
    "fail": (*FOUND, TOP),
}
PER_BAR = {"bar": 1.0, "mbar": 1000.0, "psi": 1 / 0.06894757293168}
DIGITS = {"bar": 4, "mbar": 1, "psi": 3}


@dataclass(frozen=True)
class Row:
    """One bench test in plain figures, pressures in `unit`; without `start` nothing was read but a verdict.

    `fate`: it stands, or was struck out or corrected since.
    """

    number: int
    tag: str
    gauge: str
    days_ago: int
    unit: str
    start: float | None
    end: float | None
    celsius: tuple[float, float] | None
    fate: str

    @property
    def limit(self) -> float:
        return float(MAX_DROP["new" if self.days_ago <= TIGHTENED else "old"]) * PER_BAR[self.unit]

    def drop(self, corrected: bool) -> float:
        """In `unit`, by the formula of the design page; `corrected` by the found error."""
        factor = PER_BAR[self.unit]
        start, end = self.start / factor, self.end / factor
        if corrected:
            references = [float(at) for at, *_ in POINTS["fail"]]
            errors = [(float(up) + float(down)) / 2 - float(at) for at, up, down in POINTS["fail"]]
            start -= float(numpy.interp(start, references, errors))
            end -= float(numpy.interp(end, references, errors))
        t1, t2 = (each + 273.15 for each in self.celsius or (0, 0))
        return (start - (end + PA) * t1 / t2 + PA) * factor

    def verdict(self, corrected: bool = False) -> str:
        if self.start is None:
            return "" if corrected else "pass"
        guard = GUARD * PER_BAR[self.unit]
        drop = self.drop(corrected)
        if drop <= self.limit - guard:
            return "pass"
        return "fail" if drop > self.limit + guard else "doubt"

    @property
    def near_a_limit(self) -> bool:
        """So near that floats might err: such a row is not drawn."""
        if self.start is None:
            return False
        guard = GUARD * PER_BAR[self.unit]
        edges = (self.limit - guard, self.limit + guard)
        return any(
            abs(self.drop(corrected) - edge) < 1e-9 * PER_BAR[self.unit]
            for corrected in (False, True)
            for edge in edges
        )

    @property
    def affected(self) -> bool:
        return self.gauge == "G-BAD" and self.fate == "stands" and UNTIL <= self.days_ago < AFTER


@dataclass
class Store:
    """`held` are reservations in plain figures: (job, tag, ends days ago, standing)."""

    today: date
    depot: Depot
    rows: list[Row]
    held: list[tuple[str, str, int, str]]
    made: dict[int, Inspection] = field(default_factory=dict)

    def day(self, days_ago: int) -> date:
        return self.today - timedelta(days=days_ago)

    @property
    def bad(self) -> Item:
        return Item.objects.get(tag="G-BAD")

    @property
    def failing(self) -> Inspection:
        return Inspection.objects.get(item__tag="G-BAD", verdict="fail")

    @property
    def affected(self) -> list[Row]:
        return [row for row in self.rows if row.affected]

    @property
    def jobs(self) -> set[str]:
        """Brute force: every reservation against every affected test."""
        return {
            job
            for job, tag, ends, standing in self.held
            for row in self.affected
            if standing != "released" and row.tag == tag and ends <= row.days_ago
        }

    @property
    def latest(self) -> dict[str, Row]:
        """By bag, the latest test that counts, whatever gauge it was read on."""
        standing = [row for row in self.rows if row.fate != "struck"]
        return {row.tag: row for row in sorted(standing, key=lambda row: (-row.days_ago, row.number))}


def draw(number: int, dice: random.Random, bags: int) -> Row:
    """One test: readings as a dial gives them, around the limit often enough that verdicts flip."""
    while True:
        unit = dice.choice(("bar", "bar", "mbar", "psi"))
        start = dice.uniform(0.12, 0.2)
        end = start - dice.choice((dice.uniform(0, 0.006), dice.uniform(0.004, 0.014)))
        warm = dice.random() < 0.3
        t1 = round(dice.uniform(5, 25), 1)
        read = dice.random() >= 0.08
        row = Row(
            number,
            f"B-{dice.randrange(bags):03}",
            dice.choice(("G-BAD", "G-BAD", "G-1", "G-2")),
            dice.choice((dice.randrange(1, 420), dice.randrange(1, 420), AFTER, UNTIL)),
            unit,
            round(start * PER_BAR[unit], DIGITS[unit]) if read else None,
            round(end * PER_BAR[unit], DIGITS[unit]) if read else None,
            (t1, round(t1 + dice.uniform(-1, 1), 1)) if read and warm else None,
            dice.choices(("stands", "struck", "corrected"), (90, 5, 5))[0],
        )
        if not row.near_a_limit:
            return row


def hold_test_of(row: Row) -> HoldTest:
    def exact(figure: float) -> Decimal:
        return Decimal(str(figure))

    assert row.start is not None
    assert row.end is not None
    t1, t2 = (exact(each) for each in row.celsius) if row.celsius else (None, None)
    return HoldTest(exact(row.start), exact(row.end), row.unit, Decimal(5), t1, t2)  # type: ignore[arg-type]


def calibration(verdict: str) -> Calibration:
    return Calibration(
        "bar",
        tuple(
            Point(way, Decimal(at), Decimal(read))  # type: ignore[arg-type]
            for at, up, down in POINTS[verdict]
            for way, read in (("up", up), ("down", down))
        ),
    )


def make_store(count: int, seed: int = 4, bags: int = 60) -> Store:
    """`count` tests on `bags` bags with three gauges, of which G-BAD failed; jobs that took bags out."""
    dice = random.Random(seed)
    rows = [draw(number, dice, bags) for number in range(count)]
    today = timezone.localdate()
    with acting(EXAMINER) as act:
        found_register(act)
        depot = act.create(Depot(code="NY", name="North yard"))
        act.tell(Deed.CHANGED, [depot], note="depot set up")
        bag, gauge = Kind.objects.get(name="bag"), Kind.objects.get(name="gauge")
        _set_checks(act, bag, gauge)
        use_by = today + timedelta(days=900)
        receive(
            act,
            [
                *[
                    Item(tag=f"B-{n:03}", kind=bag, depot=depot, serial=str(n), use_by=use_by)
                    for n in range(bags)
                ],
                *[Item(tag=tag, kind=gauge, depot=depot, serial=tag) for tag in ("G-BAD", "G-1", "G-2")],
            ],
        )
    held = _lend(depot, _loans(rows, dice, bags), today)
    store = Store(today, depot, rows, held)
    with acting(EXAMINER) as act:
        _calibrate(act, store)
        _test(act, store)
    return store


def _set_checks(act, bag: Kind, gauge: Kind) -> None:
    hold = CheckSpec(
        "hold test",
        "P36M",
        method="hold test",
        unit="bar",
        max_drop=Decimal(MAX_DROP["old"]),
        guard=Decimal(str(GUARD)),
        hold_minutes=Decimal(5),
    )
    set_checks(act, bag, [hold])
    check = Check.objects.get(kind=bag, name="hold test")
    first = CheckVersion.objects.filter(of=check).order_by("number").last()
    assert first is not None
    columns = {
        each.name: getattr(first, each.name)
        for each in CheckVersion._meta.concrete_fields
        if each.name not in ("id", "of", "number", "in_force_from", "known_on", "max_drop", "shipped")
    }
    # No action sets a rule of the past; a register of long ago has one all the same.
    tighter = CheckVersion(
        of=check,
        number=first.number + 1,
        in_force_from=act.today - timedelta(days=TIGHTENED),
        known_on=act.today,
        max_drop=Decimal(MAX_DROP["new"]),
        **columns,
    )
    act.create(tighter)
    act.tell(Deed.RULED, ["kind:bag"], note="tightened in the past, for this test")
    spec = CheckSpec(
        "calibration",
        "P36M",
        method="calibration",
        unit="bar",
        accuracy_class=Decimal("2.5"),
        span=Decimal("0.25"),
        guard=Decimal("0.0005"),
    )
    set_checks(act, gauge, [spec])


def _calibrate(act, store: Store) -> None:
    check = Check.objects.get(kind__name="gauge", name="calibration")
    limits = CalibrationLimits("bar", Decimal("2.5"), Decimal("0.25"), Decimal("0.0005"))
    findings = []
    for tag, history in (("G-BAD", CALIBRATED), ("G-1", ((500, "pass"),)), ("G-2", ((500, "pass"),))):
        for days_ago, verdict in history:
            read = calibration(verdict)
            judged = judge_calibration(read, limits)
            assert judged.verdict == verdict
            findings.append(
                Finding(
                    Item.objects.get(tag=tag),
                    check,
                    store.day(days_ago),
                    verdict,
                    by="lab",
                    readings={"method": "calibration", "calibration": read.to_json()},
                    figures=judged.figures(),
                    why=judged.why,
                )
            )
    record_many(act, findings)


def _test(act, store: Store) -> None:
    items = {item.tag: item for item in Item.objects.select_related("kind")}
    check = Check.objects.get(kind__name="bag", name="hold test")

    def finding(row: Row, **more) -> Finding:
        readings, figures, why = {}, {}, ""
        if row.start is not None:
            test = hold_test_of(row)
            drop = Decimal(MAX_DROP["new" if row.days_ago <= TIGHTENED else "old"])
            judged = judge_hold_test(test, HoldLimits("bar", None, drop, Decimal(5), Decimal(str(GUARD))))
            assert judged.verdict == row.verdict()
            readings, figures, why = (
                {"method": "hold test", "test": test.to_json()},
                judged.figures(),
                judged.why,
            )
        values = {
            "verdict": row.verdict(),
            "by": f"tester-{row.number % 3}",
            "gauge": items[row.gauge],
            "readings": readings,
            "figures": figures,
            "why": why,
            **more,
        }
        return Finding(items[row.tag], check, store.day(row.days_ago), **values)

    made = record_many(act, [finding(row) for row in store.rows], derive=False)
    store.made = dict(zip((row.number for row in store.rows), made, strict=True))
    later = []
    for row in store.rows:
        if row.fate == "struck":
            later.append(finding(row, verdict="", struck=True, corrects=store.made[row.number], gauge=None))
        elif row.fate == "corrected":
            # It was read on another gauge, as it turned out.
            later.append(finding(row, corrects=store.made[row.number], gauge=items["G-2"]))
    record_many(act, later, derive=False)
    refit(act, list(items.values()))


def _loans(rows: list[Row], dice: random.Random, bags: int) -> list[tuple[str, int, str]]:
    """(tag, ends days ago, standing) at random, and two that end on and just before the day of a test in doubt."""
    loans = [
        (
            f"B-{dice.randrange(bags):03}",
            dice.randrange(1, 420),
            dice.choice(("returned", "broken", "released")),
        )
        for _ in range(40)
    ]
    first = max((row for row in rows if row.affected), key=lambda row: (row.days_ago, row.tag))
    return [*loans, (first.tag, first.days_ago, "returned"), (first.tag, first.days_ago + 1, "returned")]


def _lend(depot: Depot, loans: list[tuple[str, int, str]], today: date) -> list[tuple[str, str, int, str]]:
    """Jobs of the past with every standing that a reservation can have had."""
    held = []
    with acting(EXAMINER) as act:
        arrangement, _ = set_arrangement(act, "one bag", [LineSpec("bag", Kind.objects.get(name="bag"), 1)])
        line = arrangement.lines.get()
        for number, (tag, ends, standing) in enumerate(loans):
            start, end = today - timedelta(days=ends + 2), today - timedelta(days=ends)
            job = act.create(
                Job(
                    reference=f"J-{number:02}",
                    depot=depot,
                    site="Weir Lane",
                    load_on=start,
                    return_on=end,
                    arrangement=arrangement,
                )
            )
            more = (
                {"issued_on": start, "back_on": end, "outcome": "used"}
                if standing == "returned"
                else {"why": "for this test"}
            )
            act.create(
                Reservation(
                    job=job,
                    line=line,
                    item=Item.objects.get(tag=tag),
                    starts=start,
                    ends=end,
                    standing=standing,
                    **more,
                )
            )
            act.tell(Deed.RESERVED, [job], note="a job of long ago, for this test")
            held.append((job.reference, tag, ends, standing))
    return held
