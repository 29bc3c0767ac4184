"""Take kit back from site, all at once or over days: used, unused, damaged or missing."""

from __future__ import annotations

from datetime import date

from kit.models import Custody, Deed, Item, Job, JobState, Outcome, Reservation, Standing, State
from kit.ports import ports
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh, renew_reservation
from kit.stores.late import MOVES, happened_on
from kit.stores.quarantine import find_again, lose, quarantine
from kit.stores.refit import refit
from kit.stores.rejudge import rejudge
from kit.stores.reserve import let_go_all


def take_back(
    act: Act,
    reservation: Reservation,
    outcome: Outcome | str,
    back_on: date | None = None,
    quantity: int | None = None,
    why: str = "",
) -> Reservation:
    """Take one issued reservation back. `quantity` is what came back of a lot; the rest counts as used.

    A used piece waits for its after-use checks, a damaged one is set aside, a missing one is noted as lost, and one
    that was noted as lost is set aside because it is found again.
    Raises NotAllowed with why.
    """
    outcome = Outcome(outcome)
    day = back_on or act.today
    renew_reservation(reservation)
    item = fresh(reservation.item)
    job = reservation.job
    if reservation.standing != Standing.ISSUED:
        raise NotAllowed(f"{item.tag} is not out on {job}.")
    if outcome == Outcome.NONE:
        raise NotAllowed(f"Say how {item.tag} came back: used, unused, damaged or missing.")
    if outcome in (Outcome.DAMAGED, Outcome.MISSING) and not why.strip():
        raise NotAllowed(
            f"{item.tag} is {outcome.label.lower()}: say what was found or where it was seen last."
        )
    if reservation.issued_on and day < reservation.issued_on:
        raise NotAllowed(f"{item.tag} went out on {reservation.issued_on}: it cannot be back on {day}.")
    if day > act.today:
        raise NotAllowed(f"{day} is in the future: give the day on which {item.tag} came back.")
    came_back = _came_back(reservation, outcome, quantity)
    # A record may have been made since it came back: only what moved it stands in the way of a late entry.
    moment = happened_on(act, item, day, "come back", MOVES)
    act.change(reservation, standing=Standing.RETURNED, outcome=outcome, back_on=day, back_quantity=came_back)
    if item.counted:
        act.change(item, quantity=item.quantity + came_back)
    else:
        act.change(item, custody=Custody.STORE)
    again = (
        ports.judge.used(act, item, day, job.reference)
        if outcome == Outcome.USED and not item.counted
        else []
    )
    note = why.strip() or outcome.label
    if again:
        note += f"; due again before it goes out: {', '.join(again)}"
    act.tell(
        Deed.TAKEN_BACK,
        [job, item],
        note=note,
        facts={
            "outcome": outcome,
            "back_on": day,
            "quantity": came_back,
            "checks_due_again": again,
            **({"set": item.set_name} if item.set_name else {}),
        },
        happened_at=moment,
    )
    if outcome == Outcome.DAMAGED and item.state != State.WITHDRAWN:
        quarantine(act, item, why=f"damaged on {job}: {why.strip()}")
    elif outcome == Outcome.MISSING and not item.counted and item.state != State.WITHDRAWN:
        lose(act, item, why=f"missing after {job}: {why.strip()}")
    elif item.state == State.LOST and outcome != Outcome.MISSING and not item.counted:
        find_again(act, item, why=f"came back from {job}: {note}")
    if outcome == Outcome.USED and not item.counted:
        refit(act, [fresh(item)])  # uses may also be counted, and end a time in store
    else:
        rejudge(act, [item.pk])
    close_if_all_back(act, job)
    return reservation


def _came_back(reservation: Reservation, outcome: Outcome, quantity: int | None) -> int:
    """How many of the reservation came back, checked."""
    default = reservation.quantity if outcome in (Outcome.UNUSED, Outcome.DAMAGED) else 0
    if not reservation.counted:
        return 0 if outcome == Outcome.MISSING else 1
    came_back = default if quantity is None else quantity
    if not 0 <= came_back <= reservation.quantity:
        raise NotAllowed(
            f"{reservation.quantity} of {reservation.item.tag} went out: "
            f"between 0 and {reservation.quantity} can be back."
        )
    return came_back


def close_if_all_back(act: Act, job: Job) -> None:
    """Close a job that is out once nothing of it is still on site; what was never issued is let go."""
    job = Job.objects.get(pk=job.pk)
    if job.state != JobState.OUT or job.reservations.filter(standing=Standing.ISSUED).exists():
        return
    let_go_all(act, job, "not issued before the job ended")
    job = Job.objects.get(pk=job.pk)
    act.change(job, state=JobState.CLOSED)
    act.tell(Deed.TAKEN_BACK, [job], note=f"all kit of {job} is back or accounted for; job closed")


def out_reservation(item: Item) -> Reservation | None:
    """The reservation under which an item is out, if it is."""
    return (
        Reservation.objects.filter(item=item, standing=Standing.ISSUED)
        .select_related("job__depot", "line", "item__kind")
        .order_by("issued_on")
        .first()
    )
