"""Judge promises again after anything that may break or mend them: what no longer holds is flagged, with a proposed
substitute, never dropped; what holds again is taken up again (invariant 5).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, timedelta

from django.db.models import QuerySet

from kit.models import ArrangementLine, Deed, Item, Job, JobState, Reservation, Standing
from kit.planning.sets import reasons_on
from kit.stores.act import Act
from kit.stores.knowledge import candidates, chunked, free_of_lot, held_by, kit_list_of, needs_of
from kit.stores.set_promises import mate_ids, set_reasons
from kit.stores.shelf import Shelf
from kit.stores.unit_promises import unit_reasons
from kit.stores.windows import window

OF_THE_REST = frozenset({"promised-elsewhere", "on-site"})
LINE_IS_FULL = "It would do again, but its line is full by now; let it go, or put it in the place of another."


def rejudge(act: Act, item_ids: Sequence[int]) -> None:
    """Judge the open reservations of these items again, and those of the sets that they are of."""
    item_ids = [*item_ids, *mate_ids(item_ids)]
    holding: list[Reservation] = []
    broken: list[Reservation] = []
    for chunk in chunked(item_ids):
        listed = open_reservations().filter(item_id__in=chunk)
        holding.extend(listed.exclude(standing=Standing.BROKEN))
        broken.extend(listed.filter(standing=Standing.BROKEN))
    # Where not all can hold any longer (a lot that was counted again), the job that loads last gives way.
    holding.sort(key=lambda reservation: reservation.starts, reverse=True)
    against = reasons_against(act.today, holding)
    lost = [reservation for reservation in holding if _judge(act, reservation, against[reservation.pk])]
    # A line that lost a piece has room again for one that was broken before, and a unit may be of one mark again.
    again = [reservation.job for reservation in holding if reservation.line.assembly]
    again += [reservation.job for reservation in lost]
    _judge_broken(act, [*broken, *lost, *broken_of(again)], item_ids)


def take_up(act: Act, item_ids: Sequence[int], jobs: Iterable[Job] = ()) -> None:
    """Judge again what is broken on these items or in these jobs, after pieces or lines were given up or taken.

    Where one of a set was given up, what is promised of the rest of it does not hold any more.
    """
    mates = mate_ids(item_ids)
    broken: list[Reservation] = []
    if mates:
        promised = list(open_reservations().filter(item_id__in=mates, standing=Standing.PROMISED))
        against = reasons_against(act.today, promised)
        broken.extend(each for each in promised if _judge(act, each, against[each.pk]))
        item_ids = [*item_ids, *mates]
    for chunk in chunked(item_ids):
        broken.extend(open_reservations().filter(item_id__in=chunk, standing=Standing.BROKEN))
    _judge_broken(act, [*broken, *broken_of(jobs)], item_ids)


def broken_of(jobs: Iterable[Job]) -> list[Reservation]:
    ids = {job.pk for job in jobs}
    return list(open_reservations().filter(job_id__in=ids, standing=Standing.BROKEN)) if ids else []


def _judge_broken(act: Act, broken: Iterable[Reservation], item_ids: Sequence[int]) -> None:
    """Take up again what holds again, the soonest to load first; then propose anew in the jobs of the others, and
    in every job that was proposed one of these items.
    """
    by_pk = {reservation.pk: reservation for reservation in broken}
    waiting = sorted(by_pk.values(), key=lambda reservation: (reservation.starts, reservation.pk))
    against = reasons_against(act.today, waiting)
    healed: set[int] = set()
    for reservation in waiting:
        if reservation.item_id in healed:
            against.update(reasons_against(act.today, [reservation]))
        _judge(act, reservation, against[reservation.pk])
        if reservation.standing == Standing.PROMISED:
            healed.add(reservation.item_id)
    for reservation in waiting:
        # What took a piece after this one was judged belongs to why it cannot have it.
        if reservation.standing == Standing.BROKEN and reservation.item_id in healed:
            _judge(act, reservation, reasons_against(act.today, [reservation])[reservation.pk])
    jobs = {reservation.job_id: reservation.job for reservation in waiting}
    for chunk in chunked([*item_ids, *healed]):
        proposed = open_reservations().filter(standing=Standing.BROKEN, proposed_id__in=chunk)
        jobs.update((reservation.job_id, reservation.job) for reservation in proposed)
    propose_substitutes(act, jobs.values())


def open_reservations() -> QuerySet[Reservation]:
    """Promised, broken and issued reservations of jobs that have not ended, with all that judging them reads."""
    return (
        Reservation.objects.open()
        .filter(job__state__in=[JobState.PLANNED, JobState.OUT])
        .select_related(
            "job__depot",
            "job__arrangement",
            "line__kind",
            "item__kind",
            "item__depot",
            "item__transit_to",
        )
        .order_by("starts", "job_id", "line__position", "item__tag", "pk")
    )


def reasons_against(today: date, reservations: Iterable[Reservation]) -> dict[int, str]:
    """By reservation, all reasons why its item may not be promised to its job, as one text; empty if it may.

    Each item's own `gates` decide, as they stand on the object: nothing is written.
    """
    by_job: dict[int, list[Reservation]] = {}
    for reservation in reservations:
        by_job.setdefault(reservation.job_id, []).append(reservation)
    needs = needs_of(listed[0].job for listed in by_job.values())
    # Of a lot each job has another part free; all other pieces are read once for all jobs.
    items = {each.item_id: each.item for listed in by_job.values() for each in listed if not each.counted}
    loose = dict(zip(items, candidates(items.values(), today), strict=True))
    found: dict[int, str] = {}
    for key, listed in by_job.items():
        job, need = listed[0].job, needs[key]
        lines = {line.name: line for line in need.lines}
        lots = {each.item_id: each.item for each in listed if each.counted}
        pieces = loose | (dict(zip(lots, candidates(lots.values(), today, job), strict=True)) if lots else {})
        for reservation in listed:
            reasons = reasons_on(pieces[reservation.item_id], lines[reservation.line.name], need, today)
            # What is out of a lot is out, whoever was promised the rest of it.
            out_of_lot = reservation.counted and reservation.standing == Standing.ISSUED
            texts = [reason.text for reason in reasons if not (out_of_lot and reason.code in OF_THE_REST)]
            found[reservation.pk] = " ".join(texts)[:600]
        for each, why in unit_reasons(job, need, listed, found).items():
            found[each] = f"{found[each]} {why}".strip()[:600]
        for each, why in set_reasons(today, job, need, listed, found).items():
            found[each] = f"{found[each]} {why}".strip()[:600]
    return found


def lack_of_lot(reservation: Reservation) -> str:
    """That too little is left of its lot, if so. What is out has left the stock; what is promised has not, be it to
    this very job.
    """
    if not reservation.counted or reservation.standing == Standing.ISSUED:
        return ""
    left = free_of_lot(reservation.item, besides=reservation)
    if left >= reservation.quantity:
        return ""
    return f"Only {left} of the lot are left." if left else "Nothing is left of the lot."


def _judge(act: Act, reservation: Reservation, against: str) -> bool:
    """Flag or heal one reservation. True if it is broken now and its line wants a substitute."""
    why = against or lack_of_lot(reservation)
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
    if reservation.standing == Standing.PROMISED or not _dates_are_in(reservation):
        return False
    if line_is_full(reservation):
        if act.change(reservation, why=LINE_IS_FULL, proposed=None):
            act.tell(Deed.BROKE, subjects, note=LINE_IS_FULL)
        return False
    starts, ends = window(reservation.job, reservation.item.kind)
    act.change(reservation, standing=Standing.PROMISED, why="", proposed=None, starts=starts, ends=ends)
    act.tell(Deed.HEALED, subjects, note=f"{reservation.item} holds again for {reservation.job}")
    return False


def _dates_are_in(reservation: Reservation) -> bool:
    """False while a register is loaded that brought a later date which has not been derived yet: `refit` follows."""
    margin = timedelta(days=reservation.item.kind.margin_days)
    return reservation.item.fit_on(reservation.job.return_on + margin)


def line_is_full(reservation: Reservation, line: ArrangementLine | None = None) -> bool:
    """True if other live reservations fill the line (its own by default), so that this one is not needed any more."""
    line = line or reservation.line
    held = sum(h.quantity for h in held_by(reservation.job) if h.line == line.name)
    return held + reservation.quantity > line.quantity


def propose_substitutes(act: Act, jobs: Iterable[Job]) -> None:
    """For each broken reservation of these jobs name the piece that the best choice would put in its place, if
    there is one; no piece for two of them.
    """
    by_job: dict[int, list[Reservation]] = {}
    for reservation in broken_of(jobs):
        by_job.setdefault(reservation.job_id, []).append(reservation)
    if not by_job:
        return
    needs = needs_of(listed[0].job for listed in by_job.values())
    shelf = Shelf(needs.values(), act.today)
    for reservations in by_job.values():
        job = reservations[0].job
        held = held_by(job)
        taken = {(h.line, h.tag) for h in held}
        kit = kit_list_of(
            job, act.today, held=held, asked=(needs[job.pk], shelf.for_job(job)), mend="nothing"
        )
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
