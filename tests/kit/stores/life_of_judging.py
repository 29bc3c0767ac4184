"""What people do at the bench, in the office and with doubtful gauges, as further rules of the life of a store."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from inspections.actions import CheckSpec, record_answers, record_calibration, record_hold_test, set_checks
from inspections.actions.attach import attach
from inspections.actions.concessions import ask, end, grant, refuse
from inspections.actions.correct import correct, entered, strike
from inspections.actions.repair import order_retest, repair
from inspections.actions.reviews import close, decide, let_stand, take_in
from inspections.models import Check, Concession, Due, Inspection, Review, ReviewedRecord
from kit.models import Item, Kind
from kit.stores import Act
from tests.kit.stores.small_bench import ANSWERS, ENDS, SHOWN, read_hold, read_points

PEOPLE = ("a.stores", "b.stores", "c.bench", "d.lead")

people = st.sampled_from(PEOPLE)
old_screens = st.integers(0, 4).map(lambda n: n == 0)
nth = st.integers(0, 11)
lately = st.sampled_from([0, 0, 0, 1, 4, -1])
whys = st.sampled_from(["seen twice", "seen twice", "seen twice", ""])


class LifeOfJudging:
    """Rules that a life of a store takes in; `act`, `item`, `day` and `tables` are the life's."""

    tables: dict[str, list[dict[str, Any]]]

    if TYPE_CHECKING:

        def act(self, person: str, do: Callable[[Act], Any]) -> Any: ...
        def item(self, n: int, old: bool = False, **which: Any) -> Any: ...
        def day(self, days: int) -> date: ...

    # Readings

    @rule(
        person=people,
        by=st.sampled_from(["", *PEOPLE]),
        n=nth,
        gauge=st.sampled_from(["G1", "G1", "G1", "G2", "B1", None]),
        old=old_screens,
        verdict=st.sampled_from(["pass", "pass", *ENDS]),
        minutes=st.sampled_from([5, 5, 5, 4]),
        days=lately,
    )
    def hold_test(
        self,
        person: str,
        by: str,
        n: int,
        gauge: str | None,
        old: bool,
        verdict: str,
        minutes: int,
        days: int,
    ) -> None:
        item = self.item(n, old, kind_id=_kind("bag").pk)
        on = Item.objects.get(tag=gauge) if gauge else None
        check = Check.objects.filter(kind=item.kind, name="hold test").first()
        if check is None:
            return
        test = read_hold(verdict, minutes)
        self.act(person, lambda act: record_hold_test(act, item, check, on, test, self.day(-days), by=by))

    @rule(
        person=people,
        n=nth,
        old=old_screens,
        found=st.sampled_from(["true", "true", *SHOWN]),
        left=st.sampled_from([None, None, "true", "high"]),
        days=lately,
    )
    def calibration(self, person: str, n: int, old: bool, found: str, left: str | None, days: int) -> None:
        gauge = self.item(n, old, kind_id=_kind("gauge").pk)
        check = Check.objects.get(kind=gauge.kind, name="calibration")
        read = read_points(found, left)
        self.act(person, lambda act: record_calibration(act, gauge, check, read, self.day(-days)))

    @rule(person=people, n=nth, old=old_screens, said=st.sampled_from(["pass", *ANSWERS]), days=lately)
    def answers(self, person: str, n: int, old: bool, said: str, days: int) -> None:
        item = self.item(n, old, kind_id=_kind("base").pk)
        check = Check.objects.filter(kind=item.kind).order_by("retired", "name").first()
        if check is not None:
            self.act(person, lambda act: record_answers(act, item, check, ANSWERS[said], self.day(-days)))

    # Put right, repaired, ordered

    @rule(
        person=people,
        n=nth,
        what=st.sampled_from(["strike", "day", "verdict", "verdict"]),
        verdict=st.sampled_from(["pass", "fail", "doubt"]),
        days=lately,
        why=whys,
    )
    def put_right(self, person: str, n: int, what: str, verdict: str, days: int, why: str) -> None:
        """Correct or strike out one of the records entered last."""
        [old] = Inspection.objects.order_by("-pk")[n : n + 1]
        if what == "strike":
            self.act(person, lambda act: strike(act, old, why))
            return
        if old.struck:
            return
        said = entered(old)
        if what == "day":
            said = replace(said, done_on=self.day(-days))
        elif said.test is not None:
            said = replace(said, test=read_hold(verdict))
        elif said.calibration is not None:
            found = "true" if verdict == "pass" else "high"
            said = replace(said, calibration=read_points(found, "true" if n % 2 else None))
        elif said.answers is not None:
            said = replace(said, answers=ANSWERS["pass" if verdict == "pass" else "fail"])
        else:
            said = replace(said, verdict=verdict)
        self.act(person, lambda act: correct(act, old, said, why))

    @rule(
        person=people, n=nth, which=nth, old=old_screens, what=st.sampled_from(["repair", "order"]), why=whys
    )
    def call_for_checks(self, person: str, n: int, which: int, old: bool, what: str, why: str) -> None:
        item = self.item(n, old)
        checks = list(Check.objects.filter(kind=item.kind).order_by("name"))
        if what == "repair":
            self.act(person, lambda act: repair(act, item, why))
        elif checks:
            self.act(person, lambda act: order_retest(act, item, checks[which % len(checks)], why))

    @rule(
        person=people,
        n=nth,
        content=st.sampled_from([b"%PDF-1.4 page", b"\xff\xd8\xff\xe0photo", b"text", b""]),
    )
    def attach_a_file(self, person: str, n: int, content: bytes) -> None:
        item = self.item(n)
        record = Inspection.objects.order_by("-pk")[n]
        about = record if n % 2 else None
        self.act(person, lambda act: attach(act, item, "seen.pdf", content, inspection=about))

    # Concessions

    @rule(
        person=people,
        n=nth,
        days=st.sampled_from([1, 5, 12, 30, 31, 0]),
        past=st.sampled_from([True, True, False]),
        then=st.sampled_from(["", "grant", "grant", "grant"]),
        who=people,
    )
    def ask_for_a_concession(self, person: str, n: int, days: int, past: bool, then: str, who: str) -> None:
        """For a check that is due soon or overdue, or for any; often it is decided at once."""
        dues = Due.objects.select_related("item__kind", "check_due").order_by("due_on", "item__tag", "pk")
        listed = [due for due in dues if due.due_on is not None and (not past or due.status == "dated")]
        due = listed[n % len(listed)]
        until = due.due_on + (self.day(days) - self.day(0))
        asked = self.act(
            person, lambda act: ask(act, due.item, due.check_due, until, "no bench free", "little used")
        )
        if asked is not None and then:
            self.act(who, lambda act: grant(act, asked))

    @precondition(lambda self: self.tables["concession"])
    @rule(person=people, n=nth, what=st.sampled_from(["grant", "grant", "refuse", "end"]), why=whys)
    def decide_a_concession(self, person: str, n: int, what: str, why: str) -> None:
        listed = list(Concession.objects.order_by("state", "-pk"))
        concession, do = listed[n % len(listed)], {"grant": grant, "refuse": refuse, "end": end}[what]
        self.act(person, lambda act: do(act, concession, why))

    # Doubtful gauges

    @precondition(lambda self: self.tables["review"])
    @rule(
        person=people,
        n=nth,
        what=st.sampled_from(["decide", "decide", "decide", "stand", "take in", "close"]),
        outcome=st.sampled_from(["stands", "repeat", "set aside", "lost"]),
        why=whys,
    )
    def work_on_a_review(self, person: str, n: int, what: str, outcome: str, why: str) -> None:
        reviews = list(Review.objects.order_by("-pk"))
        review, records = reviews[n % len(reviews)], list(ReviewedRecord.objects.order_by("outcome", "-pk"))
        if what == "decide" and records:
            self.act(person, lambda act: decide(act, records[n % len(records)], outcome, why))
        elif what == "stand":
            self.act(person, lambda act: let_stand(act, review))
        elif what == "take in":
            self.act(person, lambda act: take_in(act, review))
        else:
            self.act(person, lambda act: close(act, review, why))

    # Rules

    @rule(
        person=people,
        kind=st.sampled_from(["bag", "base", "gauge"]),
        days=st.sampled_from([None, 0, 1, 3, 10, 40, -1]),
        changed=st.fixed_dictionaries(
            {"interval": st.sampled_from(["P6M", "P1Y", "P12M", "P25D", "P2W"])},
            optional={
                "gates": st.booleans(),
                "basis": st.sampled_from(["done", "anchor"]),
                "after_use": st.booleans(),
                "after_repair": st.booleans(),
                "after_quarantine": st.booleans(),
                "after_uses": st.integers(0, 2),
                "after_storage": st.sampled_from(["", "P1M"]),
                "grace_days": st.sampled_from([0, 5]),
                "concession_days": st.sampled_from([0, 10, 30]),
            },
        ),
    )
    def change_a_check(self, person: str, kind: str, days: int | None, changed: dict[str, Any]) -> None:
        """From today or from a later day; what is not said stays as it is."""
        of = _kind(kind)
        name = {"bag": "hold test", "base": "inspection", "gauge": "calibration"}[kind]
        begins = None if days is None else self.day(days)
        self.act(
            person,
            lambda act: set_checks(act, of, [CheckSpec(name, **changed)], from_day=begins, dropped=()),
        )


def _kind(name: str) -> Kind:
    return Kind.objects.get(name=name)
