"""Bring fit_until up to date after anything that moves a date or a state, and re-judge what is promised."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from django.utils import timezone

from kit.models import Deed, Item, JobState, Reservation, Standing, gate_to_json
from kit.planning import Gate, judge_fitness, reasons_for
from kit.ports import ports
from kit.stores.act import Act
from kit.stores.knowledge import candidates, chunked, held_by, kit_list_of, need_of

DERIVED = ["fit_until", "fit_reason", "gates_json"]


def derive(item: Item, gates: tuple[Gate, ...]) -> bool:
    """Set the derived columns on the object; True if any differs from before."""
    fitness = judge_fitness(item.use_by, gates)
    before = (item.fit_until, item.fit_reason, item.gates_json)
    item.fit_until, item.fit_reason = fitness.fit_until, fitness.reason[:300]
    item.gates_json = [gate_to_json(gate) for gate in gates]
    item.__dict__.pop("gates", None)
    return before != (item.fit_until, item.fit_reason, item.gates_json)


def refit(act: Act, items: Sequence[Item]) -> None:
    """Derive due dates and fit_until of these items anew, then re-judge every open reservation of them.

    Call it in the act that moved a date, a verdict or a state, after the entry that tells of it.
    """
    for some in chunked(items, 2000):
        gates = ports.judge.bring_up_to_date(some)
        moved = [item for item in some if derive(item, gates[item.pk])]
        Item.objects.bulk_update(moved, DERIVED, batch_size=200)
    rejudge(act, [item.pk for item in items])


def rejudge(act: Act, item_ids: Sequence[int]) -> None:
    """Judge the open reservations of these items again (invariant 5): what no longer holds is flagged, with a
    proposed substitute, never dropped; what holds again is taken up again.
    """
    affected: list[Reservation] = []
    for chunk in chunked(item_ids):
        affected.extend(
            Reservation.objects.open()
            .filter(item_id__in=chunk, job__state__in=[JobState.PLANNED, JobState.OUT])
            .select_related(
                "job__depot",
                "job__arrangement",
                "line__kind",
                "item__kind",
                "item__depot",
                "item__transit_to",
            )
            .order_by("starts", "job_id", "line__position", "item__tag")
        )
    broken: list[Reservation] = []
    for reservation in affected:
        if rejudge_one(act, reservation):
            broken.append(reservation)
    propose_substitutes(act, broken)


def why_not(act: Act, reservation: Reservation) -> str:
    """All reasons why the item may not be promised to its job, as one text; empty if it may."""
    need = need_of(reservation.job)
    line = next(line for line in need.lines if line.name == reservation.line.name)
    [candidate] = candidates([reservation.item], act.today, reservation.job)
    reasons = list(reasons_for(candidate, line, need, act.today))
    text = " ".join(reason.text for reason in reasons)
    if not text and reservation.counted and candidate.quantity < reservation.quantity:
        return f"Only {candidate.quantity} of the lot are left for this job."
    return text[:600]


def rejudge_one(act: Act, reservation: Reservation) -> bool:
    """Flag or heal one reservation. True if it is broken now (and so wants a substitute)."""
    why = why_not(act, reservation)
    subjects = [reservation.item, reservation.job]
    if reservation.standing == Standing.ISSUED:
        # Out already: nobody can un-issue it from a desk. The note is shown to planner and crew.
        if act.change(reservation, why=why):
            note = (
                f"{reservation.item} is out on {reservation.job} and no longer fit for it: {why}"
                if why
                else "fit again"
            )
            act.tell(Deed.BROKE if why else Deed.HEALED, subjects, note=note)
        return False
    if why and reservation.standing == Standing.PROMISED:
        act.change(reservation, standing=Standing.BROKEN, why=why)
        act.tell(
            Deed.BROKE, subjects, note=f"{reservation.item} no longer holds for {reservation.job}: {why}"
        )
        return True
    if why:
        if act.change(reservation, why=why):
            act.tell(Deed.BROKE, subjects, note=why)
        return True
    if reservation.standing == Standing.BROKEN and not line_is_full(reservation):
        act.change(reservation, standing=Standing.PROMISED, why="", proposed=None)
        act.tell(Deed.HEALED, subjects, note=f"{reservation.item} holds again for {reservation.job}")
    return False


def line_is_full(reservation: Reservation) -> bool:
    """True if other live reservations fill the line already, so that the broken one is not needed any more."""
    held = sum(h.quantity for h in held_by(reservation.job) if h.line == reservation.line.name)
    return held + reservation.quantity > reservation.line.quantity


def propose_substitutes(act: Act, broken: Iterable[Reservation]) -> None:
    """For each broken reservation name the piece that the best choice would put in its place, if there is one."""
    by_job: dict[int, list[Reservation]] = {}
    for reservation in broken:
        by_job.setdefault(reservation.job_id, []).append(reservation)
    for reservations in by_job.values():
        job = reservations[0].job
        held = held_by(job)
        taken = {(h.line, h.tag) for h in held}
        kit = kit_list_of(job, act.today, held=held)
        free = {
            row.line.name: [tag for tag in row.tags if (row.line.name, tag) not in taken]
            for row in kit.lines
            if not row.line.counted
        }
        tags = {tag for names in free.values() for tag in names}
        items = {item.tag: item for item in Item.objects.filter(tag__in=tags)}
        for reservation in reservations:
            names = free.get(reservation.line.name, [])
            proposed = items[names.pop(0)] if names else None
            if act.change(reservation, proposed=proposed):
                act.tell(
                    Deed.BROKE,
                    [reservation.item, reservation.job],
                    note=f"proposed in its place: {proposed}"
                    if proposed
                    else "nothing fit to take its place",
                )


def differences() -> list[str]:
    """Every stored fit_until, reason and due date that differs from what the records give: a sentence each."""
    found: list[str] = []
    ids = list(Item.objects.order_by("pk").values_list("pk", flat=True))
    for chunk in chunked(ids, 2000):
        items = list(Item.objects.filter(pk__in=chunk).select_related("kind"))
        found.extend(ports.judge.differences(items))
        gates = ports.judge.gates_at(items, timezone.localdate())
        for item in items:
            stored = (item.fit_until, item.fit_reason)
            if derive(item, gates[item.pk]):
                found.append(
                    f"{item.tag}: stored fit until {stored[0]} ({stored[1]}), "
                    f"derived anew {item.fit_until} ({item.fit_reason})"
                )
    return found
