"""A depot of its own for every round of a race: one piece, and the jobs that want it. Read by the race scripts."""

from __future__ import annotations

from typing import Any

from django.utils import timezone

from kit.models import Depot, Item, Job, Kind, LedgerEntry, Reservation
from kit.stores import (
    Act,
    LineSpec,
    NotAllowed,
    Who,
    acting,
    found_register,
    plan_job,
    receive,
    set_arrangement,
)
from kit.stores.receive import depot_named

SETTER = Who("setter", "race")


def racer(process: int) -> Who:
    return Who(f"person {process}", "race")


def one_piece(round_number: int, jobs: int = 2, counted: bool = False) -> dict[str, Any]:
    """A depot with the last piece (or ten of a lot), and jobs in the same days that want one (or six) each."""
    today = timezone.localdate()
    with acting(SETTER) as act:
        found_register(act)
        depot = depot_named(act, f"D{round_number}")
        kind = Kind.objects.get(name="seal" if counted else "pump")
        if not counted:
            _retire_checks(act, kind)
        item = Item(tag=f"T{round_number}", kind=kind, depot=depot)
        if counted:
            item.quantity = 10
        receive(act, [item])
        quantity = 6 if counted else 1
        arrangement, _ = set_arrangement(act, f"of one {kind}", [LineSpec("line", kind, quantity)])
        references = [f"J{round_number}.{number}" for number in range(jobs)]
        for reference in references:
            plan_job(
                act,
                Job(
                    reference=reference,
                    depot=depot,
                    load_on=today,
                    return_on=today,
                    arrangement=arrangement,
                ),
            )
    return {"tag": item.tag, "jobs": references, "depot": depot.code}


def _retire_checks(act: Act, kind: Kind) -> None:
    from inspections.actions import set_checks

    set_checks(act, kind, [])


def job(reference: str) -> Job:
    return Job.objects.select_related("depot", "arrangement").get(reference=reference)


def piece(tag: str) -> Item:
    return Item.objects.get(tag=tag)


def said(refusal: NotAllowed) -> dict[str, Any]:
    return {"refused": str(refusal)}


def afterwards(given: dict[str, Any]) -> dict[str, Any]:
    """Where the piece is, who holds it, and what the ledger tells of it, in order."""
    item = piece(given["tag"])
    held = Reservation.objects.filter(item=item).order_by("pk")
    entries = LedgerEntry.objects.filter(mentions__about=f"item:{item.tag}").order_by("number")
    return {
        "state": item.state,
        "custody": item.custody,
        "quantity": item.quantity,
        "reservations": list(held.values_list("job__reference", "standing", "quantity", "why")),
        "deeds": list(entries.values_list("deed", flat=True)),
    }


def depot(code: str) -> Depot:
    return Depot.objects.get(code=code)
