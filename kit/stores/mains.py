"""The depot's own table of mains: what a size as written stands for, and the open jobs whose bore it moves."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass
from decimal import Decimal

from kit.models import Deed, Job, PipeSize
from kit.planning import Main, OwnSize
from kit.planning.mains import same_row
from kit.stores.act import Act, NotAllowed
from kit.stores.follow import follow_job
from kit.stores.knowledge import mains_of_job, open_jobs, own_sizes, plain
from kit.stores.refuse import refuse_measure


@dataclass(frozen=True, slots=True)
class MovedBore:
    """An open job whose main is another by the changed table; bores in mm, None where none is known."""

    job: Job
    before_mm: Decimal | None
    after_mm: Decimal | None
    outside_before_mm: Decimal | None
    outside_after_mm: Decimal | None


def size_named(material: str, size: str) -> PipeSize | None:
    """The row of the table that means this material and size, however they are written; withdrawn ones too."""
    wanted = (material, size)
    return next((row for row in PipeSize.objects.all() if same_row(wanted, (row.material, row.size))), None)


def set_size(
    act: Act,
    material: str,
    size: str,
    *,
    source: str,
    inside_mm: Decimal | None = None,
    outside_mm: Decimal | None = None,
    wall_mm: Decimal | None = None,
    note: str = "",
) -> tuple[PipeSize, list[MovedBore]]:
    """Enter a size in the table, or change the row that means the same one, and judge at once what it moves.

    Gives (row, the open jobs whose main it moves), none where nothing differs. A row that was withdrawn is in force
    again. Raises NotAllowed for a row that gives no bore or names no source.
    """
    material, size, source, note = (" ".join(text.split()) for text in (material, size, source, note))
    _refuse_row(material, size, source, inside_mm, outside_mm, wall_mm)
    values = {
        "inside_mm": inside_mm,
        "outside_mm": outside_mm,
        "wall_mm": wall_mm,
        "source": source,
        "note": note,
        "withdrawn": False,
    }
    before = own_sizes()
    row = size_named(material, size)
    was = None if row is None or row.withdrawn else _in_words(row)
    if row is None:
        row = act.create(PipeSize(material=material, size=size, **values))
    elif not act.change(row, **values):
        return row, []
    moved = moved_by(before, own_sizes())
    facts = {"before": was, "gives": _in_words(row), "source": source}
    act.tell(Deed.SIZED, [_subject(row), *(each.job for each in moved)], note=note, facts=facts)
    _follow(act, moved)
    return row, moved


def withdraw_size(act: Act, row: PipeSize, why: str) -> list[MovedBore]:
    """The table gives nothing for that size any more; the open jobs whose main that moves are judged at once."""
    row.refresh_from_db()
    if row.withdrawn:
        raise NotAllowed(f"{row} has been withdrawn from the table of mains already.")
    if not why.strip():
        raise NotAllowed(f"Say why {row} is withdrawn from the table of mains.")
    before = own_sizes()
    act.change(row, withdrawn=True)
    moved = moved_by(before, own_sizes())
    facts = {"before": _in_words(row)}
    note = f"withdrawn: {why.strip()}"
    act.tell(Deed.SIZED, [_subject(row), *(each.job for each in moved)], note=note, facts=facts)
    _follow(act, moved)
    return moved


def moved_by(before: Sequence[OwnSize], after: Sequence[OwnSize]) -> list[MovedBore]:
    """The open jobs whose near or far main differs between two states of the table, the first to load first."""
    moved: list[MovedBore] = []
    for job in open_jobs().exclude(main_size="").order_by("load_on", "reference"):
        old, new = mains_of_job(job, before), mains_of_job(job, after)
        if _sizes(old.near, old.far) != _sizes(new.near, new.far):
            near, then = old.near, new.near
            moved.append(MovedBore(job, near.bore_mm, then.bore_mm, near.outside_mm, then.outside_mm))
    return moved


def _sizes(*mains: Main | None) -> list[object]:
    return [None if main is None else (main.bore_mm, main.outside_mm, main.ovality_mm) for main in mains]


def _follow(act: Act, moved: Iterable[MovedBore]) -> None:
    for each in moved:
        # A load list that was printed names the bore: it is of an older revision now.
        job = copy(each.job)
        act.change(job, revision=job.revision + 1)
        act.tell(Deed.MOVED, [job], note=_moved_words(each))
        follow_job(act, job)


def _moved_words(moved: MovedBore) -> str:
    before, after = ("not known" if mm is None else f"{mm} mm" for mm in (moved.before_mm, moved.after_mm))
    if moved.before_mm == moved.after_mm:
        return "the outside diameter of its main is another by the table of mains"
    return f"the bore of its main by the table of mains: before {before}, now {after}"


def _refuse_row(
    material: str,
    size: str,
    source: str,
    inside_mm: Decimal | None,
    outside_mm: Decimal | None,
    wall_mm: Decimal | None,
) -> None:
    """Raise NotAllowed for a row that names no main, gives no bore, cannot be, or says not where it comes from."""
    named = f"{material} {size}"
    if not material or not size:
        raise NotAllowed(
            "A row of the table of mains needs a material and a size, as they are written of jobs."
        )
    if not source:
        raise NotAllowed(f"Say where the figures of {named} come from: a standard, a drawing, a survey.")
    refuse_measure(inside_mm, f"The inside diameter of {named}")
    refuse_measure(outside_mm, f"The outside diameter of {named}")
    refuse_measure(wall_mm, f"The wall of {named}")
    if inside_mm is None and (outside_mm is None or wall_mm is None):
        raise NotAllowed(
            f"{named} gives no bore: give the inside diameter, or the outside diameter and the wall."
        )
    if wall_mm is not None and outside_mm is None:
        raise NotAllowed(
            f"A wall of {named} alone says nothing: give the outside diameter too, or leave it out."
        )
    if outside_mm is None:
        return
    left_mm = outside_mm - 2 * (wall_mm or 0)
    if left_mm <= 0:
        raise NotAllowed(
            f"A wall of {plain(wall_mm)} mm leaves no bore in {plain(outside_mm)} mm of {named}: check both."
        )
    if inside_mm is not None and inside_mm >= outside_mm:
        raise NotAllowed(
            f"{named} would be {plain(inside_mm)} mm inside and {plain(outside_mm)} mm outside: check both."
        )
    if inside_mm is not None and wall_mm is not None and inside_mm != left_mm:
        raise NotAllowed(
            f"{named}: {plain(outside_mm)} mm less twice the wall of {plain(wall_mm)} mm is {plain(left_mm)} mm, and "
            f"the inside diameter is given as {plain(inside_mm)} mm: correct one, or leave the wall out."
        )


def _subject(row: PipeSize) -> str:
    return f"main:{row}"


def _in_words(row: PipeSize) -> str:
    parts = (
        f"{name} {plain(mm)} mm"
        for name, mm in (("inside", row.inside_mm), ("outside", row.outside_mm), ("wall", row.wall_mm))
        if mm is not None
    )
    return ", ".join(parts)
