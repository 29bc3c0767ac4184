"""A yard in which kit goes out, comes back, fails and is set aside: what the tests of cases do and ask."""

from __future__ import annotations

from inspections.actions import Finding, record
from inspections.actions.case_work import consider
from inspections.models import Check, QuarantineCase
from kit.models import Reservation
from kit.stores import (
    Who,
    acting,
    issue_piece,
    reserve,
    take_back,
)
from tests.kit.views.yard import Yard

STORES, LEAD, BENCH = (Who(name, "test") for name in ("w.hollis", "c.field", "e.marsh"))
JOB_NOTICES = ("authority", "operator", "maker")


def case_of(tag: str) -> QuarantineCase:
    """The case of that item opened last."""
    return QuarantineCase.objects.filter(item__tag=tag).latest("pk")


def companions(case: QuarantineCase) -> dict[str, str]:
    return dict(case.companions.values_list("item__tag", "looked"))


def out(made: Yard, *tags: str) -> None:
    """These pieces of the job's kit go out."""
    with acting(STORES) as act:
        reserve(act, made.job)
        for tag in tags:
            issue_piece(act, made.job, made.item(tag))


def back(made: Yard, tag: str, outcome: str, why: str = "") -> None:
    reservation = Reservation.objects.get(job=made.job, item__tag=tag, standing="issued")
    with acting(STORES) as act:
        take_back(act, reservation, outcome, why=why)


def consider_all(case: QuarantineCase, *keys: str) -> None:
    with acting(LEAD) as act:
        for key in keys:
            consider(act, case, key, "told by telephone")


def hold_test(made: Yard, tag: str, verdict: str, who: Who = BENCH, **more: object) -> None:
    item = made.item(tag)
    check = Check.objects.in_force().get(kind=item.kind)
    with acting(who) as act:
        record(act, Finding(item, check, act.today, verdict, note="drops", **more))
