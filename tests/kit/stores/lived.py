"""What every store lived at random shares: how an act is done and may be refused, and what holds after each step.

Each step is one act of one person. An act may be refused, and then not a row may differ; anything else than a
refusal is a fault. After each step a second opinion (`reckoning`) says what holds, from the rows alone.
"""

from __future__ import annotations

import copy
from collections.abc import Callable, Collection
from datetime import date, timedelta
from typing import Any

from django.db import connection, models, transaction
from django.utils import timezone
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, invariant, precondition, rule

from kit import stores
from kit.models import Item, Job, Reservation
from kit.stores import Act, NotAllowed, Who, acting
from tests.kit.stores.holds import faults, kit_list_faults
from tests.kit.stores.reckoning import Reckoning, Row, Tables, read_tables
from tests.kit.stores.who_is_barred import decided_by_the_wrong

PEOPLE = ("a.stores", "b.stores", "c.bench", "d.lead")

people = st.sampled_from(PEOPLE)
old_screens = st.integers(0, 4).map(lambda n: n == 0)  # one act in five is by a screen that shows what was
nth = st.integers(0, 11)
OPEN = ("promised", "broken", "issued")
# What screens hold when an act is asked for, in a fixed order.
SCREENS: dict[type[models.Model], models.QuerySet[Any]] = {
    Item: Item.objects.select_related("kind", "depot").order_by("tag"),
    Job: Job.objects.select_related("depot", "arrangement").order_by("reference"),
    Reservation: Reservation.objects.select_related("job__depot", "item__kind", "line").order_by(
        "job__reference", "line__position", "item__tag", "pk"
    ),
}


class Lived(RuleBasedStateMachine):
    """One store from its founding; it has been built before, and what a life changes is rolled back."""

    def __init__(self) -> None:
        super().__init__()
        self.rolled_back = transaction.atomic()
        self.rolled_back.__enter__()
        self.today = timezone.localdate()
        self.tables = read_tables()
        self.shown: dict[type[models.Model], list[Any]] = {}
        self.acts = 0
        self.look_at_screens()
        self.moved = True  # since the rules were looked at last
        self.sound = False  # whether they held then

    def teardown(self) -> None:
        try:
            if self.sound and not self.the_day_turned():
                self.judge_again()
        finally:
            transaction.set_rollback(True)
            self.rolled_back.__exit__(None, None, None)

    # How an act is done

    def act(self, person: str, do: Callable[[Act], Any]) -> Any:
        """The act's result; None, with nothing changed, if it was refused."""
        try:
            with acting(Who(person, stores.COUNTER)) as act:
                result = do(act)
        except NotAllowed as refusal:
            said = str(refusal)
            assert said.endswith((".", "?")), f"not a sentence: {said}"
            assert not any(word in said for word in ("constraint", "UNIQUE", "kit_", "DETAIL")), said
            assert read_tables() == self.tables, f"refused ({said}), yet rows differ"
            return None
        self.moved = True
        self.tables = read_tables()
        self.acts += 1
        if self.acts % 4 == 0:
            self.look_at_screens()
        return result

    def look_at_screens(self) -> None:
        self.shown = {model: list(rows.all()) for model, rows in SCREENS.items()}

    def rows(self, model: type[models.Model], old: bool) -> list[Any]:
        """Rows as a screen shows them: as they are now, or (`old`) as they were a few acts ago."""
        return copy.deepcopy(self.shown[model]) if old else list(SCREENS[model].all())

    def item(self, n: int, old: bool = False, among: Collection[str] = (), **which: Any) -> Any:
        listed = [
            item
            for item in self.rows(Item, old)
            if (not among or item.tag in among) and all(getattr(item, name) == which[name] for name in which)
        ]
        return listed[n % len(listed)] if listed else None

    def job(self, n: int, old: bool = False) -> Any:
        listed = self.rows(Job, old)
        return listed[n % len(listed)]

    def reservation(self, n: int, old: bool, standings: tuple[str, ...] = OPEN) -> Any:
        listed = [row for row in self.rows(Reservation, old) if row.standing in standings]
        return listed[n % len(listed)] if listed else None

    def day(self, days: int) -> date:
        return self.today + timedelta(days=days)

    # What holds after each step

    @rule()
    def judge_again(self) -> None:
        """Deriving every date and judging every promise again changes nothing, but that a piece which has become
        free since may be proposed; and once more changes nothing at all.
        """
        moments = []
        with transaction.atomic():
            for _ in range(2):
                with acting(Who("x.checker", "test")) as act:
                    stores.refit(act, list(Item.objects.select_related("kind")))
                moments.append(read_tables())
            transaction.set_rollback(True)
        once, twice = moments
        assert told_since(once, twice) == []
        assert twice == once
        others = [body for body in told_since(self.tables, once) if "proposed in its place" not in body]
        assert not others, "\n".join(others)
        assert without_proposals(once) == without_proposals(self.tables)

    @precondition(lambda self: self.moved)
    @invariant()
    def the_rules_hold(self) -> None:
        self.moved = self.sound = False
        if self.the_day_turned():
            return
        now = Reckoning(self.tables, self.today)
        assert not (found := faults(now)), "\n".join(found)
        assert decided_by_the_wrong(self.tables) == []
        assert stores.prove_ledger().fault is None
        assert stores.differences() == []
        connection.check_constraints()
        going = [row for row in self.tables["job"] if row["state"] in ("planned", "out")]
        # One kit list a step, in turn: they are the dearest to draw up.
        for row in going[len(self.tables["ledgerentry"]) % len(going) :][:1] if going else []:
            self.the_kit_list_chooses_only_what_may_go_out(now, row)
        self.sound = True

    def the_kit_list_chooses_only_what_may_go_out(self, now: Reckoning, row: Row) -> None:
        job = Job.objects.select_related("depot", "arrangement").get(pk=row["id"])
        assert kit_list_faults(now, row, stores.kit_list_of(job)) == []

    def the_day_turned(self) -> bool:
        """Past midnight the promises of this life were judged yesterday: nothing can be said of them."""
        return timezone.localdate() != self.today


def told_since(before: Tables, after: Tables) -> list[str]:
    return [row["body"] for row in after["ledgerentry"][len(before["ledgerentry"]) :]]


def without_proposals(tables: Tables) -> Tables:
    judged = {name: rows for name, rows in tables.items() if not name.startswith("ledger")}
    judged["reservation"] = [{**row, "proposed_id": None} for row in tables["reservation"]]
    return judged
