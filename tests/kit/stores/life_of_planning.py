"""What planners and two depots do to a plan, and days that pass, as rules of the life of a store."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st
from hypothesis.stateful import initialize, precondition, rule

from inspections.actions import Finding, record
from inspections.models import Check
from kit import stores
from kit.models import Depot, Item, Job, Transfer, TransferLine
from kit.stores import Act, Load
from kit.stores.rearrange import apply_plan, propose_plan
from tests.kit.stores.lived import nth, people
from tests.kit.stores.reckoning import Tables

whys = st.sampled_from(["the driver rang", "the driver rang", "the driver rang", ""])
SIGNED = ("arrived", "back")
READY = {"counted": False, "state": "available", "custody": "store"}


class LifeOfPlanning:
    """Rules that a life of a store takes in; `act`, `item`, `day`, `pass_days` and `tables` are the life's."""

    tables: Tables
    today: date

    if TYPE_CHECKING:

        def act(self, person: str, do: Callable[[Act], Any]) -> Any: ...
        def item(self, n: int, old: bool = False, **which: Any) -> Any: ...
        def job(self, n: int, old: bool = False) -> Any: ...
        def day(self, days: int) -> date: ...
        def pass_days(self, days: int) -> None: ...

    # Days, and what they bring

    @rule(days=st.sampled_from([1, 1, 1, 2, 4]), person=people)
    def a_day_passes(self, days: int, person: str) -> None:
        """Somebody opens the store: the first act of the day judges what the day has broken."""
        self.pass_days(days)
        depot = Depot.objects.order_by("code")[0]
        self.act(person, lambda act: stores.name_depot(act, depot, f"opened on {act.today}"))

    @precondition(lambda self: any(row["standing"] == "issued" for row in self.tables["reservation"]))
    @rule(
        n=nth, late=st.integers(1, 3), person=people, outcome=st.sampled_from(["used", "unused", "damaged"])
    )
    def a_van_is_late(self, n: int, late: int, person: str, outcome: str) -> None:
        """It should be back; days later its kit comes back all at once."""
        listed = [
            row for row in Job.objects.order_by("reference") if row.reservations.filter(standing="issued")
        ]
        job = listed[n % len(listed)]
        self.pass_days(max(0, (job.return_on - self.today).days) + late)

        def take(act: Act) -> None:
            for reservation in job.reservations.filter(standing="issued").order_by("pk"):
                stores.take_back(act, reservation, outcome, why="torn in the trench")

        self.act(person, take)

    @rule(person=people, n=nth, verdict=st.sampled_from(["fail", "fail", "doubt", "pass", "pass"]))
    def a_piece_is_tested(self, person: str, n: int, verdict: str) -> None:
        item = self.item(n, counted=False)
        checks = list(Check.objects.in_force().filter(kind=item.kind, method="plain"))
        if checks:
            finding = Finding(item, checks[n % len(checks)], self.today, verdict)
            self.act(person, lambda act: record(act, finding))

    # Between the depots

    @initialize(picked=st.sets(nth, max_size=3), part=st.integers(0, 5), days=st.integers(0, 4))
    def first_consignment(self, picked: set[int], part: int, days: int) -> None:
        """Kit of the first depot may be on its way to the other already."""
        north, mill = Depot.objects.get(code="NY"), Depot.objects.get(code="MB")
        items = {self.item(n, depot_id=north.pk, **READY) for n in sorted(picked)}
        loads = [Load(item) for item in sorted(items, key=lambda item: item.tag)]
        loads += [Load(Item.objects.get(tag="LOT-2"), part)] if part else []
        self.act("b.stores", lambda act: stores.send_all(act, loads, mill, self.day(days), "the first van"))

    @rule(
        person=people,
        picked=st.lists(nth, min_size=1, max_size=4),
        part=st.one_of(st.none(), st.integers(1, 6)),
        to=st.integers(0, 1),
        days=st.integers(0, 5),
        wrong=st.sampled_from(["", "", "", "", "", "twice", "any piece", "too soon", "early", "old"]),
    )
    def send_a_consignment(
        self, person: str, picked: list[int], part: int | None, to: int, days: int, wrong: str
    ) -> None:
        """Pieces that lie ready at one depot, and part of a lot; now and then something is wrong with it."""
        depot = Depot.objects.order_by("code")[to]
        here = Depot.objects.order_by("code")[1 - to]
        ready = {} if wrong == "any piece" else {"depot_id": here.pk, **READY}
        items = [self.item(n, wrong == "old", **ready) for n in picked]
        items = [item for item in items if item is not None]
        if wrong != "twice":
            items = sorted(set(items), key=lambda item: item.tag)
        loads = [Load(item) for item in items]
        lot = self.item(picked[0], counted=True, depot_id=here.pk, custody="store")
        if part is not None and lot is not None and lot.quantity:
            loads.append(Load(lot, None if part == 6 else min(part, lot.quantity)))
        before = stock()
        sent_on = self.day(-1 - days) if wrong == "early" else None
        arrives_on = self.day(-1 if wrong == "too soon" else days)
        self.act(person, lambda act: stores.send_all(act, loads, depot, arrives_on, "a van", sent_on=sent_on))
        assert stock() == before, "sending made or lost some of a lot"

    @precondition(lambda self: self.tables["transferline"])
    @rule(
        person=people,
        n=nth,
        what=st.sampled_from(["arrived", "arrived", "arrived", "missing", "back"]),
        fewer=st.sampled_from([0, 0, 1, 2]),
        late=st.sampled_from([0, 0, 0, 1]),
        why=whys,
    )
    def sign_for_one(self, person: str, n: int, what: str, fewer: int, late: int, why: str) -> None:
        """Of what is on the way as a rule, missing or signed for already now and then."""
        line = self._line(n)
        before, quantity = stock(), line.quantity - fewer
        on = None if late == 0 else self.day(-late)
        if what == "missing":
            done = self.act(person, lambda act: stores.note_missing(act, line, why))
        elif what == "back":
            done = self.act(person, lambda act: stores.bring_back(act, line, why, on))
        else:
            done = self.act(person, lambda act: stores.sign_for(act, line, quantity, on, why))
        lost = fewer if done is not None and what == "arrived" and line.item.counted else 0
        assert stock() == before - lost, "signing made or lost some of a lot"
        if done is not None:
            assert person != line.transfer.sent_by, "the sender signed"

    def _line(self, n: int) -> TransferLine:
        lines = list(TransferLine.objects.select_related("transfer", "item").order_by("-pk"))
        lines.sort(key=lambda line: (line.outcome in SIGNED, line.outcome == "missing"))
        waiting = [line for line in lines if line.outcome not in SIGNED]
        return waiting[n % len(waiting)] if waiting and n < 10 else lines[n % len(lines)]

    @precondition(lambda self: self.tables["transfer"])
    @rule(
        person=people,
        n=nth,
        what=st.sampled_from(["all", "all", "expect", "expect", "one"]),
        days=st.integers(-1, 6),
        why=whys,
    )
    def look_after_a_consignment(self, person: str, n: int, what: str, days: int, why: str) -> None:
        listed = list(Transfer.objects.order_by("closed", "-number"))
        transfer = listed[n % len(listed)]
        if what == "all":
            self.act(person, lambda act: stores.sign_for_all(act, transfer))
        elif what == "expect":
            self.act(person, lambda act: stores.expect_on(act, transfer, self.day(days), why))
        else:
            item = self.item(n)
            self.act(person, lambda act: stores.arrive(act, item))

    @rule(person=people, to=st.integers(0, 1), days=st.sampled_from([0, 1, 2, 61, -1, None]), bench=nth)
    def set_the_ways(self, person: str, to: int, days: int | None, bench: int) -> None:
        there, here = Depot.objects.order_by("code")[to], Depot.objects.order_by("code")[1 - to]
        if days is None:
            self.act(person, lambda act: stores.withdraw_link(act, here, there, "bridge closed"))
        else:
            self.act(person, lambda act: stores.set_link(act, here, there, days))
        self.act(person, lambda act: stores.set_bench(act, there, bench % 4))

    # The plan as a whole

    @rule(
        person=people,
        between=st.sampled_from(["", "", "", "extend", "fail", "day"]),
        n=nth,
        one_depot=st.booleans(),
    )
    def rearrange(self, person: str, between: str, n: int, one_depot: bool) -> None:
        """A plan is made and looked at; it is applied, unless the register has moved meanwhile."""
        depots = [Depot.objects.order_by("code")[n % 2].pk] if one_depot else None
        proposed = propose_plan(depots, self.today)
        entries = len(self.tables["ledgerentry"])
        if between == "extend":
            job = self.job(n)
            later = Job.objects.get(pk=job.pk).return_on + timedelta(days=2)
            self.act(person, lambda act: stores.change_job(act, job, return_on=later))
        elif between == "fail":
            self.a_piece_is_tested(person, n, "fail")
        elif between == "day":
            self.a_day_passes(1, person)
        moved = len(self.tables["ledgerentry"]) > entries
        before = shorts(self.tables)
        done = self.act(person, lambda act: apply_plan(act, proposed))
        if not moved:
            now = [move for move in proposed.moves.moves if move.leaves or move.comes]
            assert done == len(now), "a fresh plan was refused"
        if between == "day":
            assert done is None, "a plan of yesterday was applied"
        if done is not None:
            assert shorts(self.tables) <= before, "the plan made more jobs short"


def stock() -> int:
    """What all lots hold, wherever they lie."""
    return sum(Item.objects.filter(counted=True).values_list("quantity", flat=True))


def shorts(tables: Tables) -> int:
    """How many planned jobs hold less than their arrangement asks for."""
    held: dict[tuple[int, int], int] = {}
    for row in tables["reservation"]:
        if row["standing"] in ("promised", "issued", "returned"):
            key = row["job_id"], row["line_id"]
            held[key] = held.get(key, 0) + row["quantity"]
    lines = tables["arrangementline"]
    return sum(
        any(
            held.get((job["id"], line["id"]), 0) < line["quantity"]
            for line in lines
            if line["arrangement_id"] == job["arrangement_id"]
        )
        for job in tables["job"]
        if job["state"] == "planned"
    )
