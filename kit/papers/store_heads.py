"""What all papers read from the register: the job's head, the stamp, how a piece is named. Reads only."""

from __future__ import annotations

from datetime import date, datetime

from django.utils import timezone
from django.utils.translation import gettext as _

from kit.models import Custody, Item, Job, LedgerEntry
from kit.papers.stamp import LedgerMark, Stamp
from kit.papers.values import JobHead, Piece
from kit.papers.wording import day, millimetres, wall_class
from kit.stores import NotAllowed
from kit.stores.knowledge import mains_of_job


def job_head(job: Job) -> JobHead:
    """The job as a paper's head names it."""
    sdr = wall_class(job.main_material, job.main_sdr)
    mains = mains_of_job(job)
    wall = (
        _("wall %(wall)s mm") % {"wall": millimetres(job.main_wall_mm)}
        if job.main_wall_mm is not None
        else ""
    )
    return JobHead(
        reference=job.reference,
        site=job.site,
        depot=str(job.depot),
        load_on=job.load_on,
        return_on=job.return_on,
        arrangement=str(job.arrangement),
        bore_mm=mains.near.bore_mm,
        far_bore_mm=mains.far.bore_mm if mains.far else None,
        mark=job.base_mark,
        main=" ".join(part for part in (job.main_material, job.main_size, sdr, wall) if part),
    )


def stamp(revision: int, printed_at: datetime | None = None) -> Stamp:
    """The stamp of a printing made now (or at `printed_at`): the revision and the ledger's last entry."""
    head = LedgerEntry.objects.order_by("-number").values_list("number", "hash").first()
    if head is None:
        raise NotAllowed("The ledger is empty, so no paper can stand on it: set the register up first.")
    return Stamp(printed_at or timezone.localtime(), revision, LedgerMark(*head))


def paper_piece(item: Item, line: str, until: date | None, reason: str) -> Piece:
    return Piece(
        tag=item.tag,
        kind=item.kind.name,
        line=line,
        place=where(item),
        maker=item.maker,
        serial=item.serial,
        bore_min_mm=item.bore_min_mm,
        bore_max_mm=item.bore_max_mm,
        mark=item.mark,
        fit_until=until,
        fit_reason=reason,
    )


def place_name(item: Item) -> str:
    return item.place.name if item.place else ""


def where(item: Item) -> str:
    """Where the piece is fetched: its place, or how it gets here."""
    if item.custody == Custody.IN_TRANSIT:
        if item.arrives_on is None:
            return _("In transit from %(depot)s") % {"depot": item.depot}
        return _("In transit from %(depot)s, expected %(day)s") % {
            "depot": item.depot,
            "day": day(item.arrives_on),
        }
    return place_name(item)
