"""Whether a piece that a person names may go on a line of a job: by itself, with its set, in its assembly. Reads only.

The best choice minds all of this by itself; here it is said to somebody who chose by hand or stands at the counter.
"""

from __future__ import annotations

from kit.models import ArrangementLine, Item, Job, Reservation, Standing
from kit.planning import Line, Need
from kit.planning.sets import as_kind, reasons_on
from kit.stores.act import Act, NotAllowed
from kit.stores.knowledge import candidates, held_by, kit_list_of, need_of
from kit.stores.set_promises import mates_promised, mates_wanted
from kit.stores.unit_promises import Begun


def refuse_unfit(
    act: Act, job: Job, line_name: str, item: Item, instead_of: Reservation | None = None
) -> None:
    """Raise NotAllowed with every reason why the item cannot fill that line of the job.

    `instead_of`: what it would be put in the place of; its set is looked at by `coming_with`.
    """
    need = need_of(job)
    line = next((line for line in need.lines if line.name == line_name), None)
    if line is None:
        raise NotAllowed(f"{job} has no line {line_name}.")
    if as_kind(line, item.kind.name) is None:
        others = "".join(f", or instead a {other.kind}" for other in line.substitutes)
        raise NotAllowed(
            f"{item.tag} is a {item.kind.name}; {line_name} of {job} asks for a {line.kind}{others}."
        )
    if not item.counted and (mine := job.reservations.holding().filter(item=item).first()):
        raise NotAllowed(f"{item.tag} is reserved for {job} already, for {mine.line.name}.")
    [candidate] = candidates([item], act.today, job)
    texts = [reason.text for reason in reasons_on(candidate, line, need, act.today)]
    if mixed := mixes_marks(job, need, line, item, instead_of):
        texts.append(mixed)
    if texts:
        raise NotAllowed(" ".join(texts))


def mixes_marks(job: Job, need: Need, line: Line, item: Item, instead_of: Reservation | None = None) -> str:
    """Why the item would bring another mark into an assembly that has no unit left for it; empty if it would not."""
    if not line.assembly or not item.mark.strip():
        return ""
    besides = [instead_of.pk] if instead_of is not None else []
    return Begun(job, need, besides).mixed_by(line, item)


def refuse_leaving_its_set(job: Job, item: Item) -> None:
    """Raise NotAllowed where other pieces of the item's set stay promised to the job, or are out on it."""
    mates = mates_promised(job, item)
    if mates:
        raise NotAllowed(
            f"{item.tag} is of the set {item.set_name}, which goes as a whole, and {', '.join(mates)} of it "
            f"would stay with {job}. Let all of it go and reserve anew, or take the set apart first."
        )


def refuse_without_its_set(job: Job, item: Item) -> None:
    """Raise NotAllowed where the job does not hold the rest of the item's set."""
    mates = mates_wanted(job, item)
    if mates:
        raise NotAllowed(_needs_mates(item, [mate.tag for mate in mates], job))


def _needs_mates(item: Item, mates: list[str], job: Job) -> str:
    return (
        f"{item.tag} is of the set {item.set_name}, which goes as a whole: {', '.join(mates)} of it would have to go "
        f"to {job} as well. Take a piece of no set, or reserve anew once all of the set can go."
    )


def coming_with(act: Act, reservation: Reservation, item: Item) -> list[tuple[ArrangementLine, Item]]:
    """The rest of the item's set, each with the line that it would fill, if the item is put in that place.

    Raises NotAllowed where the best choice for what is then open in the job would not take the whole set so.
    """
    job = reservation.job
    mates = mates_wanted(job, item)
    if not mates:
        return []
    held = held_by(job)
    if reservation.standing == Standing.PROMISED:
        held = [h for h in held if (h.line, h.tag) != (reservation.line.name, reservation.item.tag)]
    kit = kit_list_of(job, act.today, held=held, mend="nothing")
    on = {tag: row.line.name for row in kit.lines for tag in row.tags}
    if on.get(item.tag) != reservation.line.name or any(mate.tag not in on for mate in mates):
        raise NotAllowed(_needs_mates(item, [mate.tag for mate in mates], job))
    lines = {line.name: line for line in job.arrangement.lines.select_related("kind")}
    return [(lines[on[mate.tag]], mate) for mate in mates]
