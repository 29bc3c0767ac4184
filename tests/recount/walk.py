"""One made-up register's whole walk through the commands, beside its recount: load, ask, reserve, issue, move."""

from __future__ import annotations

from copy import deepcopy
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from django.utils import timezone

from kit import stores
from kit.models import Depot, Item, Job
from tests.recount import answers, reference
from tests.recount.comparing import answer, differences, plain_kit_list, shipped
from tests.recount.made_up import MadeUp, save
from tests.recount.rows import Record, read_register

CLERK = stores.Who("clerk", "recount")


class Walk:
    """`found` collects each difference as a sentence; steps after the first that differs are left out."""

    def __init__(self, seed: int, folder: Path) -> None:
        reference.MEMORY.clear()
        self.today = timezone.localdate()
        self.made = MadeUp(seed, self.today)
        self.dice = self.made.dice
        self.path = folder / f"register-{seed}.xlsx"
        self.unknown_headings = self.made.save(self.path)
        with stores.acting(CLERK) as act:
            stores.found_register(act)
        kinds, checks = shipped()
        self.given = deepcopy((kinds, checks))
        self.register = read_register(self.made.sheets, kinds, checks)
        self.found: list[str] = []

    def run(self) -> list[str]:
        for step in (
            self.load,
            self.ask,
            self.reserve_all,
            self.issue,
            self.inspect,
            self.send,
            self.set_aside,
        ):
            step()
            if self.found:
                self.found.insert(0, f"{self.path.stem}, {step.__name__}:")
                break
        return self.found

    def differ(self, what: str, program: Any, recount: Any) -> None:
        self.found += differences(what, program, recount)

    # Steps ------------------------------------------------------------------------------------------------------

    def load(self) -> None:
        report, code = answer("load_register", str(self.path))
        counts = {"new": 0, "changed": 0, "unchanged": 0} | answers.load_counts(self.made.sheets, *self.given)
        self.differ("load", {key: report[key] for key in (*counts, "loaded", "faults")},
                    {**counts, "loaded": True, "faults": []})  # fmt: skip
        self.differ("load exit", code, 0)
        for warning in report["warnings"]:
            self.differ("warning", sorted(warning), ["column", "row", "sheet", "value", "why"])
        unknown = sorted(w["sheet"] for w in report["warnings"] if "colour" in (w["column"], w["value"]))
        self.differ("unknown headings", unknown, sorted(self.unknown_headings))
        report, code = answer("load_register", str(self.path))
        self.differ("load again", [report["new"], report["changed"], report["unchanged"], code],
                    [0, 0, self.register.rows, 0])  # fmt: skip

    def ask(self) -> None:
        for day in self.made.as_of_days():
            for reference_ in self.register.jobs:
                self.kit_list(reference_, day)
            self.kit_list(self.dice.choice(list(self.register.jobs)), day, "--all-depots")
            self.due(day)
            self.due(day, within=self.dice.choice([0, 1, 30, 400]))
            known = sorted({item.depot for item in self.register.items.values()})
            if known:
                self.due(day, within=60, depot=self.dice.choice(known))

    def reserve_all(self) -> None:
        jobs = list(self.register.jobs)
        for job in self.dice.sample(jobs, len(jobs)):
            answers.reserve(self.register, job, self.today)
            self.kit_list(job, self.today, "--reserve")
            self.kit_list(job, self.today, "--reserve", say_day=False)
            for other in jobs:
                self.kit_list(other, self.today)
            self.due(self.today, within=30)
            if self.found:
                return
        self.kit_list(self.dice.choice(jobs), self.today, "--all-depots")
        self.kit_list(self.dice.choice(jobs), self.today - timedelta(days=self.dice.choice([1, 10])))
        self.kit_list(self.dice.choice(jobs), self.today + timedelta(days=self.dice.choice([1, 10])))
        self.due(self.today + timedelta(days=self.dice.randint(1, 40)))

    def issue(self) -> None:
        """Issue what the counter lets go for one job, and ask again."""
        reference_ = self.dice.choice(list(self.register.jobs))
        job = Job.objects.get(reference=reference_)
        for promise in [p for p in self.register.promises if p.job == reference_]:
            try:
                with stores.acting(CLERK) as act:
                    stores.issue_piece(act, job, Item.objects.get(tag=promise.tag))
            except stores.NotAllowed:
                continue
            promise.out_since = self.today
            item = self.register.items[promise.tag]
            if self._counted(item.tag):
                item.quantity -= promise.quantity
        self._ask_all()

    def take_back(self) -> None:
        """Take single pieces back, some damaged or missing, and ask about the other jobs."""
        out = [p for p in self.register.promises if p.out_since and not self._counted(p.tag)]
        for promise in self.dice.sample(out, min(3, len(out))):
            item = self.register.items[promise.tag]
            outcomes = ["unused", "damaged", "missing"] + (["used"] if item.kind != "bag" else [])
            outcome = self.dice.choice(outcomes)
            with stores.acting(CLERK) as act:
                reservation = stores.out_reservation(Item.objects.get(tag=item.tag))
                assert reservation
                stores.take_back(act, reservation, outcome, why="as found")
            promise.back = True
            if outcome in ("damaged", "missing"):
                item.state = "quarantined" if outcome == "damaged" else "lost"
        answers.drop_what_no_longer_holds(self.register, self.today)
        self._ask_all()

    def _counted(self, tag: str) -> bool:
        return self.register.kinds[self.register.items[tag].kind].counted

    def inspect(self) -> None:
        """Load further records alone: what they speak against is no longer promised, and nothing else changes."""
        rows = []
        for item in self.dice.sample(list(self.register.items.values()), min(5, len(self.register.items))):
            for check in self.register.checks.get(item.kind, [])[:2]:
                done_on = self.today - timedelta(days=self.dice.choice([0, 0, 1, 30]))
                row = {
                    "tag": item.tag,
                    "check": check.name,
                    "done_on": done_on.isoformat(),
                    "verdict": self.dice.choice(["pass", "pass", "fail", "doubt"]),
                    "certificate": f"further {len(rows)}",
                }
                rows.append(row)
                self.register.records.append(Record(item.tag, check.name, done_on, row["verdict"]))
        if not rows:
            return
        save(self.path.with_name("further.xlsx"), {"Inspections": rows})
        report, code = answer("load_register", str(self.path.with_name("further.xlsx")))
        self.differ("further records", [report["new"], report["changed"], code], [len(rows), 0, 0])
        self.register.dues.clear()
        answers.drop_what_no_longer_holds(self.register, self.today)
        self._ask_all()

    def send(self) -> None:
        """Send a piece that nobody was promised to another depot, and ask again."""
        promised = {promise.tag for promise in self.register.promises}
        pieces = [
            item
            for item in self.register.items.values()
            if item.state == "available" and item.tag not in promised and not self._counted(item.tag)
        ]
        codes = {job.depot for job in self.register.jobs.values()} | {i.depot for i in pieces}
        if not pieces or len(codes) < 2:
            return
        item = self.dice.choice(pieces)
        item.sent_to = self.dice.choice(sorted(codes - {item.depot}))
        item.arrives_on = self.today + timedelta(days=self.dice.choice([0, 1, 5, 20]))
        with stores.acting(CLERK) as act:
            stores.send(
                act, Item.objects.get(tag=item.tag), Depot.objects.get(code=item.sent_to), item.arrives_on
            )
        self._ask_all()

    def set_aside(self) -> None:
        """Set a piece aside, promised or not: what is not out yet is no longer promised."""
        pieces = [item for item in self.register.items.values() if item.state == "available"]
        if not pieces:
            return
        item = self.dice.choice(pieces)
        with stores.acting(CLERK) as act:
            stores.quarantine(act, Item.objects.get(tag=item.tag), "dropped")
        item.state = "quarantined"
        self.register.promises = [
            p for p in self.register.promises if p.tag != item.tag or p.out_since is not None
        ]
        self._ask_all()
        job = self.dice.choice(list(self.register.jobs))
        answers.reserve(self.register, job, self.today)
        self.kit_list(job, self.today, "--reserve")

    # Questions --------------------------------------------------------------------------------------------------

    def _ask_all(self) -> None:
        for job in self.register.jobs:
            self.kit_list(job, self.today)
        self.kit_list(self.dice.choice(list(self.register.jobs)), self.today, "--all-depots")
        self.due(self.today, within=10)

    def kit_list(self, job: str, day: date, *options: str, say_day: bool = True) -> None:
        asked = ["kit_list", job, *options, *(["--as-of", day.isoformat()] if say_day else [])]
        program, code = answer(*asked)
        recount = answers.kit_list(self.register, job, day, "--all-depots" in options)
        self.differ(" ".join(asked), plain_kit_list(program), recount)
        self.differ(f"exit of {' '.join(asked)}", code, 0 if recount["complete"] else 1)

    def due(self, day: date, within: int | None = None, depot: str | None = None) -> None:
        asked = ["inspections_due", "--as-of", day.isoformat()]
        asked += ["--within", str(within)] if within is not None else []
        asked += ["--depot", depot] if depot else []
        program, code = answer(*asked)
        recount = {"as_of": day.isoformat(), "due": answers.due_list(self.register, day, within, depot)}
        self.differ(" ".join(asked), program, recount)
        self.differ(f"exit of {' '.join(asked)}", code, 0)
