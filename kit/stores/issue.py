"""Issue at the counter: each piece is scanned against the kit list, then the issue is closed with a note."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.db import IntegrityError, transaction

from kit.models import Custody, Deed, Item, Job, JobState, Reservation, Standing
from kit.planning.as_slots import kinds_of
from kit.planning.sets import reasons_on
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh, renew_job
from kit.stores.fits import mixes_marks, refuse_without_its_set
from kit.stores.knowledge import candidates, free_of_lot, held_by, need_of
from kit.stores.late import happened_on
from kit.stores.rejudge import take_up
from kit.stores.reserve import promise, refusal_text, refuse_ended, revise
from kit.stores.set_promises import sets_in_part
from kit.stores.windows import window


@dataclass(frozen=True, slots=True)
class ShortLine:
    line: str
    needed: int
    issued: int

    @property
    def short(self) -> int:
        return self.needed - self.issued


def issue_piece(act: Act, job: Job, item: Item, issued_on: date | None = None) -> Reservation:
    """Issue one scanned piece (or the promised quantity of a lot) to the job; `issued_on` an earlier day makes it a
    late entry of what left then.

    A piece that is not reserved is taken when a line of the job is short of it and nothing speaks against it.
    Raises NotAllowed with why, for a person standing at the counter.
    """
    refuse_ended(renew_job(job))
    if job.return_on < act.today:
        # Dates are judged up to the return: a piece may be out of date by today and not by then.
        raise NotAllowed(f"{job} was to be back on {job.return_on}: move its return first, then issue to it.")
    item = fresh(item)
    with act.at(happened_on(act, item, issued_on, "gone out")):
        return _issue(act, job, item, issued_on or act.today)


def _issue(act: Act, job: Job, item: Item, day: date) -> Reservation:
    reservation = (
        job.reservations.filter(item=item, standing__in=[Standing.PROMISED, Standing.ISSUED, Standing.BROKEN])
        .select_related("line", "job", "item__kind")
        .order_by("-standing")
        .first()
    )
    if reservation is None:
        reservation = _take_unreserved(act, job, item)
    elif reservation.standing == Standing.ISSUED:
        raise NotAllowed(f"{item.tag} is issued to {job} already.")
    elif reservation.standing == Standing.BROKEN:
        raise NotAllowed(f"{item.tag} may not go out: {reservation.why}")
    _refuse_before_others_are_done(reservation, day)
    reservation.item = item
    starts, _ = window(job, item.kind, day)
    try:
        with transaction.atomic():
            act.change(reservation, standing=Standing.ISSUED, issued_on=day, starts=starts)
    except IntegrityError as refusal:
        raise NotAllowed(f"{item.tag} may not go out: {refusal_text(refusal)}.") from refusal
    if item.counted:
        act.change(item, quantity=item.quantity - reservation.quantity)
    else:
        act.change(item, custody=Custody.ON_SITE)
    act.tell(
        Deed.ISSUED,
        [job, item],
        facts={
            "line": reservation.line.name,
            "quantity": reservation.quantity,
            "return_on": job.return_on,
            "fit_until": item.fit_until,
            "fit_reason": item.fit_reason,
            "gates": item.gates_json,
            **({"set": item.set_name} if item.set_name else {}),
        },
    )
    # A piece that nobody reserved has filled a line: what is broken there wants no other any more.
    take_up(act, [item.pk], [job])
    return reservation


def _refuse_before_others_are_done(reservation: Reservation, day: date) -> None:
    """A piece that leaves before its loading day must not be promised to anybody else until then."""
    item, job = reservation.item, reservation.job
    others = Reservation.objects.holding().filter(
        item=item, counted=False, starts__lt=job.load_on, ends__gte=day
    )
    other = others.exclude(pk=reservation.pk).select_related("job").order_by("-ends").first()
    if other is not None:
        how = "out on" if other.standing == Standing.ISSUED else "promised to"
        raise NotAllowed(
            f"{item.tag} is {how} {other.job} until {other.ends} and cannot go out before: "
            f"issue it to {job} after that, or take another piece."
        )


def _take_unreserved(act: Act, job: Job, item: Item) -> Reservation:
    """Reserve a scanned piece that nobody reserved, if a line wants it; else say why it is the wrong one."""
    need = need_of(job)
    held: dict[str, int] = {}
    for h in held_by(job):
        held[h.line] = held.get(h.line, 0) + h.quantity
    taking = [
        (rank, line) for line in need.lines for rank, seen in kinds_of(line) if seen.kind == item.kind.name
    ]
    lines = [line for _, line in sorted(taking, key=lambda each: each[0])]
    if not lines:
        raise NotAllowed(f"{item.tag} is a {item.kind.name}; {job} needs none.")
    [candidate] = candidates([item], act.today, job)
    objections: list[str] = []
    for line in lines:
        reasons = [reason.text for reason in reasons_on(candidate, line, need, act.today)]
        missing = line.quantity - held.get(line.name, 0)
        if missing > 0 and (mixed := mixes_marks(job, need, line, item)):
            reasons.append(mixed)
        if reasons:
            objections.append(" ".join(reasons))
        elif missing <= 0:
            wanted = job.reservations.filter(line__name=line.name, standing=Standing.PROMISED).values_list(
                "item__tag", flat=True
            )
            waiting = ", ".join(wanted)
            objections.append(
                f"{item.tag} is not on the load list of {job}: {line.name} wants {waiting}. "
                f"Put {item.tag} in the place of one of them on the job's page, with a reason."
                if waiting
                else f"{item.tag} is not on the load list of {job}: {line.name} is complete without it."
            )
        else:
            row = job.arrangement.lines.get(name=line.name)
            quantity = min(missing, free_of_lot(item)) if item.counted else 1
            if quantity < 1:
                objections.append(f"Nothing is left of {item.tag}.")
                continue
            refuse_without_its_set(job, item)
            made = promise(act, job, row, item, quantity)
            revise(act, job)
            act.tell(Deed.RESERVED, [job, item], note="taken at the counter for a line that was short")
            return made
    raise NotAllowed(objections[0])


def short_lines(job: Job) -> list[ShortLine]:
    """Lines of which less has been issued (or is back already) than the arrangement asks for."""
    issued: dict[str, int] = {}
    rows = job.reservations.filter(standing__in=[Standing.ISSUED, Standing.RETURNED])
    for line, quantity in rows.values_list("line__name", "quantity"):
        issued[line] = issued.get(line, 0) + quantity
    return [
        ShortLine(line.name, line.quantity, issued.get(line.name, 0))
        for line in job.arrangement.lines.order_by("position")
        if issued.get(line.name, 0) < line.quantity
    ]


def finish_issue(act: Act, job: Job, why_short: str = "") -> Job:
    """Close the issue: the van leaves. A short issue needs a reason, which stands on the issue note.

    A set never leaves in part, whoever agrees to it.
    """
    refuse_ended(renew_job(job))
    if not job.reservations.filter(standing=Standing.ISSUED).exists():
        raise NotAllowed(f"Nothing has been issued to {job} yet: scan the pieces first.")
    if parted := sets_in_part(job):
        raise NotAllowed(f"{job} cannot leave like this: {'; '.join(str(each) for each in parted)}.")
    missing = short_lines(job)
    if missing and not why_short.strip():
        listed = ", ".join(f"{line.short} x {line.line}" for line in missing)
        raise NotAllowed(f"{job} would go out short of {listed}. Say who agreed to it and why.")
    act.change(job, state=JobState.OUT)
    act.tell(
        Deed.SHORT if missing else Deed.ISSUED,
        [job],
        note=why_short.strip() or f"{job} issued complete",
        facts={"short": {line.line: line.short for line in missing}},
    )
    return job
