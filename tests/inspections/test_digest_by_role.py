"""The digest of the day: each role finds its own work, the first to bite first, and nothing of another depot."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inspections.actions import CheckSpec, set_checks
from inspections.digest import digest, digest_of
from inspections.digest_parts import Section
from inspections.due_list import USE_BY, due_list
from inspections.models import Concession, Inspection, QuarantineCase, Review
from kit.models import Deed, Item, Role
from kit.stores import acting, finish_issue, issue_piece, quarantine, refit, send
from tests.kit.views.holm import CLERK, Yard, make_yard

pytestmark = pytest.mark.django_db

ONE_GAUGE = [("gauge", "gauge", 1)]


@pytest.fixture
def busy() -> Yard:
    """J-OUT is out and a day overdue with G-5; J-MORN loads tomorrow and lost a gauge; J-LATER is short in ten days;
    the pump W-1 is on its way from Weir.
    """
    yard = make_yard()
    for n in range(1, 6):
        yard.receive(f"G-{n}", serial=str(n))
    pair, single = yard.arrangement(), yard.arrangement("one", ONE_GAUGE)
    out = yard.plan("J-OUT", single, load_in=0, days=0)
    yard.do(issue_piece, out, Item.objects.get(tag="G-5"))
    out = yard.do(finish_issue, out)
    with acting(CLERK) as act:  # some days pass
        act.change(out, load_on=yard.today - timedelta(days=5), return_on=yard.today - timedelta(days=1))
        act.tell(Deed.MOVED, [out])
    yard.reserve(yard.plan("J-MORN", pair, load_in=1))
    yard.plan("J-LATER", pair, load_in=10)
    promised = Item.objects.filter(reservations__job__reference="J-MORN").order_by("tag")[0]
    yard.do(quarantine, promised, "needle sticks")
    yard.do(send, yard.receive("W-1", kind="pump", depot=yard.weir), yard.holm, yard.today)
    return yard


def keys(sections: list[Section]) -> list[str]:
    return [section.key for section in sections]


def section(sections: list[Section], key: str) -> Section:
    return next(each for each in sections if each.key == key)


def test_the_stores_person_has_vans_with_what_is_not_fit_then_late_returns_then_arrivals(busy):
    found = digest(Role.STORES, busy.holm, busy.today)
    assert keys(found) == ["vans", "late-back", "arriving"]
    van, piece = section(found, "vans").lines
    assert (van.job, van.tag, van.when) == ("J-MORN", "", busy.today + timedelta(days=1))
    assert van.what == "1 of 2 pieces not promised, Weir Lane"
    assert piece.tag == Item.objects.get(state="quarantined").tag
    assert "needle sticks" in piece.what
    assert "Proposed in its place: G-" in piece.what
    [late] = section(found, "late-back").lines
    assert (late.job, late.what, late.when) == ("J-OUT", "1 piece still out", busy.today - timedelta(days=1))
    [coming] = section(found, "arriving").lines
    assert (coming.tag, coming.when, coming.path) == ("W-1", busy.today, "/items/W-1/")


def test_the_planner_has_broken_promises_with_their_substitute_before_jobs_that_are_short(busy):
    found = digest(Role.PLANNER, busy.holm, busy.today)
    assert keys(found) == ["broken", "short"]
    [broken] = section(found, "broken").lines
    assert broken.job == "J-MORN"
    assert "Proposed in its place: G-" in broken.what
    assert broken.path == "/jobs/J-MORN/"
    assert [line.job for line in section(found, "short").lines] == ["J-MORN", "J-LATER"]


def test_the_crew_hears_of_a_piece_on_site_that_is_no_longer_fit(busy):
    gauge, job = busy.receive("G-8", serial="8"), busy.plan("J-SITE", busy.arrangement("one", ONE_GAUGE))
    busy.do(issue_piece, job, gauge)
    busy.do(finish_issue, job)
    busy.inspect(gauge, "calibration", verdict="fail", days_ago=0)
    found = digest(Role.CREW, busy.holm, busy.today)
    assert keys(found) == ["on-site", "vans", "late-back"]
    [line] = section(found, "on-site").lines
    assert (line.tag, line.job) == ("G-8", "J-SITE")
    assert "take it out" in line.what


def test_the_crew_looks_a_week_ahead_and_the_stores_person_three_days(busy):
    busy.plan("J-WEEK", busy.arrangement("one", ONE_GAUGE), load_in=7)
    crew = section(digest(Role.CREW, busy.holm, busy.today), "vans")
    assert "J-WEEK" in {line.job for line in crew.lines}
    stores = section(digest(Role.STORES, busy.holm, busy.today), "vans")
    assert "J-WEEK" not in {line.job for line in stores.lines}
    assert stores.said == "1 van to load"


def test_the_examiners_bench_is_what_is_due_within_a_fortnight_the_soonest_promised_first(busy):
    busy.receive("A-1", kind="pump", serial="1", passed=False)  # never done, promised to nobody
    pump = busy.receive("P-2", kind="pump", serial="2", passed=False)
    busy.inspect(pump, "inspection", days_ago=360)
    busy.reserve(busy.plan("J-PUMP", busy.arrangement("pump", [("pump", "pump", 1)]), load_in=1, days=1))
    [bench] = digest(Role.EXAMINER, busy.holm, busy.today)
    due = [e for e in due_list(busy.today, 14, [busy.holm.pk]) if e.check != USE_BY]
    assert {line.tag for line in bench.lines} == {e.tag for e in due} == {"A-1", "P-2"}
    assert [(line.tag, line.job) for line in bench.lines] == [("P-2", "J-PUMP"), ("A-1", "")]
    assert bench.lines[0].path == "/inspections/record/P-2/?check=inspection"
    assert bench.lines[1].what == "pump: inspection never done"


def test_the_compliance_leads_overdue_lines_are_the_due_list_and_quarantine_follows(busy):
    busy.receive("P-4", kind="pump", serial="4", passed=False)
    busy.receive("P-5", kind="pump", serial="5", use_by=busy.today - timedelta(days=1))
    found = digest(Role.COMPLIANCE, busy.holm, busy.today)
    assert keys(found) == ["overdue", "quarantine"]
    listed = {(line.tag, line.when) for line in section(found, "overdue").lines}
    assert listed == {(e.tag, e.due_on) for e in due_list(busy.today, depots=[busy.holm.pk])}
    assert ("P-4", None) in listed
    [aside] = section(found, "quarantine").lines
    assert (aside.what, aside.when) == ("gauge: needle sticks", busy.today)
    assert aside.path == f"/inspections/cases/{QuarantineCase.objects.get().pk}/"


def test_a_rule_that_comes_within_a_fortnight_is_told_and_a_later_one_not_yet(busy):
    kind = Item.objects.get(tag="G-1").kind
    in_days = [busy.today + timedelta(days=days) for days in (14, 15)]
    with acting(CLERK) as act:
        set_checks(act, kind, [CheckSpec("calibration", "P6M")], from_day=in_days[0], why="drift found")
        set_checks(act, kind, [CheckSpec("calibration", "P3M")], from_day=in_days[1])
    [line] = section(digest(Role.COMPLIANCE, busy.holm, busy.today), "rules").lines
    assert line.when == in_days[0]
    assert line.what.startswith("gauge: calibration every 6 months")
    assert "drift found" in line.what
    assert "rules" not in keys(digest(Role.COMPLIANCE, busy.weir, busy.today))


def conceded(yard: Yard, tag: str, until_in: int, state: str) -> Concession:
    """A concession for the calibration of a gauge that fell due ten days ago, asked for or granted."""
    gauge = yard.receive(tag, serial=tag, passed=False)
    yard.inspect(gauge, "calibration", days_ago=375 if state == "granted" else 376)
    due_on = gauge.dues.get().due_on
    decided = {"decided_by": "dee", "decided_on": due_on} if state == "granted" else {}
    with acting(CLERK) as act:
        made = act.create(
            Concession(
                item=gauge,
                check_due=gauge.dues.get().check_due,
                due_on=due_on,
                until=yard.today + timedelta(days=until_in),
                reason="the bench is shut",
                risk="low",
                state=state,
                asked_by="eve",
                asked_at=act.now,
                **decided,
            )
        )
        act.tell(Deed.CONCESSION, [gauge])
        refit(act, [gauge])
    return made


def test_concessions_asked_for_and_those_that_run_out_are_told_to_lead_and_duty_manager(busy):
    conceded(busy, "C-1", 14, "granted")
    conceded(busy, "C-2", 15, "granted")
    asked_for = conceded(busy, "C-3", 5, "asked")
    for role in (Role.COMPLIANCE, "duty manager"):
        found = digest(role, busy.holm, busy.today)
        [asked] = section(found, "asked").lines
        assert (asked.tag, asked.path) == ("C-3", f"/inspections/concessions/{asked_for.pk}/")
        assert [line.tag for line in section(found, "running-out").lines] == ["C-1"]
        assert section(found, "running-out").lines[0].when == busy.today + timedelta(days=14)
    # It lapses when the due date that it extends moves.
    busy.inspect(Item.objects.get(tag="C-1"), "calibration", days_ago=0)
    assert "running-out" not in keys(digest(Role.COMPLIANCE, busy.holm, busy.today))


def test_a_concession_that_a_longer_one_takes_over_is_not_told_as_running_out(busy):
    first = conceded(busy, "C-1", 5, "granted")
    with acting(CLERK) as act:
        columns = {name: getattr(first, name) for name in ("item", "check_due", "due_on", "reason", "risk")}
        people = {"asked_by": "eve", "decided_by": "dee", "decided_on": busy.today, "asked_at": act.now}
        until = busy.today + timedelta(days=20)
        act.create(Concession(**columns, **people, until=until, state="granted"))
        act.tell(Deed.CONCESSION, [first.item])
        refit(act, [first.item])
    assert "running-out" not in keys(digest(Role.COMPLIANCE, busy.holm, busy.today))


def test_an_open_review_is_told_until_it_is_closed(busy):
    gauge = Item.objects.get(tag="G-1")
    found_out = Inspection.objects.filter(item=gauge).latest("id")
    with acting(CLERK) as act:
        review = act.create(
            Review(
                gauge=gauge,
                calibration=found_out,
                until=busy.today,
                opened_at=act.now,
                opened_by="eve",
            )
        )
        act.tell(Deed.REVIEWED, [gauge])
    [line] = section(digest(Role.COMPLIANCE, busy.holm, busy.today), "reviews").lines
    assert (line.tag, line.when, line.path) == ("G-1", busy.today, f"/inspections/reviews/{review.pk}/")
    with acting(CLERK) as act:
        act.change(review, closed_at=act.now, closed_by="lee", conclusion="nothing relied on it")
        act.tell(Deed.REVIEWED, [gauge])
    assert "reviews" not in keys(digest(Role.COMPLIANCE, busy.holm, busy.today))


def test_two_roles_have_each_section_once(busy):
    both = digest_of({Role.STORES, Role.CREW, Role.EXAMINER}, busy.holm, busy.today)
    assert keys(both) == ["vans", "late-back", "arriving"]
    assert keys(digest_of({Role.STORES, Role.COMPLIANCE}, busy.holm, busy.today)) == [
        "vans",
        "late-back",
        "arriving",
        "quarantine",
    ]


def test_a_depot_with_nothing_before_it_gives_no_section(busy):
    assert digest_of(Role.values, busy.weir, busy.today) == []
