"""Reserve the best free choice for a job, let a reservation go, or put another piece in its place by hand."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from django.db import IntegrityError, transaction
from django.db.models import F

from kit.models import ArrangementLine, Deed, Item, Job, JobState, Reservation, Standing
from kit.planning import KitList
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh, renew_job, renew_reservation
from kit.stores.fits import coming_with, refuse_leaving_its_set, refuse_unfit
from kit.stores.knowledge import held_by, kit_list_of
from kit.stores.rejudge import line_is_full, take_up
from kit.stores.windows import window


def reserve(act: Act, job: Job, as_of: date | None = None) -> KitList:
    """Promise to the job what its kit list chooses. Doing it again changes nothing; broken ones that another piece
    has replaced are let go. Gives the kit list as it then stands.

    Raises NotAllowed if the job is closed or cancelled, or if the database refuses a piece.
    """
    refuse_ended(renew_job(job))
    day = as_of or act.today
    held = held_by(job)
    kit = kit_list_of(job, day, held=held)
    have: dict[tuple[str, str], int] = {}
    for h in held:
        have[(h.line, h.tag)] = have.get((h.line, h.tag), 0) + h.quantity
    lines = {line.name: line for line in job.arrangement.lines.select_related("kind")}
    new: list[tuple[str, str, int]] = []
    for chosen in kit.lines:
        wanted = chosen.lots if chosen.line.counted else [(tag, 1) for tag in chosen.tags]
        for tag, quantity in wanted:
            missing = quantity - have.get((chosen.line.name, tag), 0)
            if missing > 0:
                new.append((chosen.line.name, tag, missing))
    made: list[Reservation] = []
    if new:
        items = Item.objects.select_related("kind", "depot").in_bulk(
            [tag for _, tag, _ in new], field_name="tag"
        )
        made = [promise(act, job, lines[line], items[tag], quantity) for line, tag, quantity in new]
        revise(act, job)
        act.tell(
            Deed.RESERVED,
            [job, *(r.item for r in made)],
            note=f"{len(made)} reserved for {job}",
            facts={"fit_until": {r.item.tag: r.item.fit_until for r in made}},
        )
    replaced = let_go_replaced(act, job)
    if not made and not replaced:
        return kit
    take_up(act, [r.item_id for r in [*made, *replaced]], [job])
    return kit_list_of(job, day)


def promise(act: Act, job: Job, line: ArrangementLine, item: Item, quantity: int = 1) -> Reservation:
    """One promised reservation; what the database refuses becomes a sentence.

    A broken one of the same piece for the job is let go by it. The caller tells of both, then calls `take_up`.
    """
    if not item.counted:
        for broken in job.reservations.filter(item=item, standing=Standing.BROKEN):
            why = f"reserved anew for {line.name}; {broken.why}"
            act.change(broken, standing=Standing.RELEASED, why=why[:600], proposed=None)
    starts, ends = window(job, item.kind)
    try:
        with transaction.atomic():
            return act.create(
                Reservation(
                    job=job,
                    line=line,
                    item=item,
                    counted=item.counted,
                    quantity=quantity,
                    starts=starts,
                    ends=ends,
                )
            )
    except IntegrityError as refusal:
        raise NotAllowed(
            f"{item.tag} cannot be reserved for {job}: {refusal_text(refusal)}. Draw up the kit list again."
        ) from refusal


def refusal_text(refusal: IntegrityError) -> str:
    """What the database said, without the engine's own wording."""
    text = str(refusal).split("fettlebook refuses: ")[-1].splitlines()[0]
    return "it is promised to another job in that window" if "no_overlap" in text else text


def let_go_replaced(act: Act, job: Job) -> list[Reservation]:
    """Let go the broken reservations of lines that other pieces fill now; gives them."""
    replaced = []
    for broken in job.reservations.filter(standing=Standing.BROKEN).select_related("item", "line", "job"):
        if line_is_full(broken):
            act.change(broken, standing=Standing.RELEASED, why=f"replaced; {broken.why}"[:600], proposed=None)
            act.tell(
                Deed.LET_GO,
                [job, broken.item],
                note=f"{broken.item} let go for {job}: another piece replaces it",
            )
            replaced.append(broken)
    return replaced


def let_go(act: Act, reservation: Reservation, why: str) -> None:
    """Give up a reservation that is not issued."""
    _give_up(act, renew_reservation(reservation), why)
    take_up(act, [reservation.item_id], [reservation.job])


def _give_up(act: Act, reservation: Reservation, why: str) -> None:
    if reservation.standing not in (Standing.PROMISED, Standing.BROKEN):
        raise NotAllowed(
            f"{reservation.item.tag} is {reservation.get_standing_display().lower()} for {reservation.job} "
            "and cannot be let go; take it back instead."
            if reservation.standing == Standing.ISSUED
            else f"{reservation.item.tag} is not promised to {reservation.job} any more: "
            f"it is {reservation.get_standing_display().lower()}."
        )
    if not why.strip():
        raise NotAllowed("Say why the reservation is let go.")
    act.change(reservation, standing=Standing.RELEASED, why=why.strip()[:600], proposed=None)
    revise(act, reservation.job)
    act.tell(Deed.LET_GO, [reservation.job, reservation.item], note=why)


def let_go_all(act: Act, job: Job, why: str) -> int:
    """Give up everything that is promised to the job and not issued; the number of reservations."""
    listed = list(
        job.reservations.filter(standing__in=[Standing.PROMISED, Standing.BROKEN]).select_related(
            "item", "job"
        )
    )
    for reservation in listed:
        _give_up(act, reservation, why)
    # Only now: what is broken of the job itself is not to hold again between two that are let go.
    take_up(act, [reservation.item_id for reservation in listed])
    return len(listed)


def substitute(act: Act, reservation: Reservation, item: Item, why: str) -> Reservation:
    """Put another piece in the place of a promised or broken one, with a reason; refused with all objections.

    A piece of a set brings its set with it, where the best choice for the job would put all of it there.
    """
    renew_reservation(reservation)
    item = fresh(item)
    if not why.strip():
        raise NotAllowed("Say why another piece is put in its place.")
    if reservation.standing not in (Standing.PROMISED, Standing.BROKEN):
        raise NotAllowed(f"{reservation.item.tag} is already {reservation.get_standing_display().lower()}.")
    if item.pk == reservation.item_id:
        raise NotAllowed(f"{item.tag} is the piece that is to be replaced.")
    job = reservation.job
    refuse_unfit(act, job, reservation.line.name, item, reservation)
    if reservation.standing == Standing.PROMISED:
        refuse_leaving_its_set(job, reservation.item)
    mates = coming_with(act, reservation, item)
    if reservation.standing == Standing.BROKEN and line_is_full(reservation):
        raise NotAllowed(
            f"{reservation.line.name} of {job} is full without {reservation.item.tag}: let {reservation.item.tag} go."
        )
    act.change(
        reservation,
        standing=Standing.RELEASED,
        why=f"{item.tag} in its place: {why.strip()}"[:600],
        proposed=None,
    )
    made = promise(act, job, reservation.line, item, reservation.quantity)
    for line, mate in mates:
        promise(act, job, line, mate)
    revise(act, job)
    act.tell(Deed.SUBSTITUTED, [job, reservation.item, item, *(mate for _, mate in mates)], note=why)
    replaced = let_go_replaced(act, job) if mates else []
    take_up(act, [reservation.item_id, item.pk, *(each.item_id for each in replaced)], [job])
    return made


def refuse_ended(job: Job) -> None:
    if job.state in (JobState.CLOSED, JobState.CANCELLED):
        raise NotAllowed(
            f"{job} is {job.get_state_display().lower()}: nothing can be reserved or issued for it."
        )


def revise(act: Act, job: Job) -> None:
    """Count the load list's revision up, so that an old print-out shows its age."""
    current = Job.objects.values_list("revision", flat=True).get(pk=job.pk)
    job.revision = current
    act.change(job, revision=current + 1)


def reservations_to_issue(job: Job) -> Sequence[Reservation]:
    return list(
        job.reservations.filter(standing=Standing.PROMISED)
        .select_related("item__place", "item__kind", "line")
        .order_by(
            F("item__place__walk").asc(nulls_last=True), "item__place__name", "line__position", "item__tag"
        )
    )
