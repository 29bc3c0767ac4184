"""Plan a job, change it (above all its window), cancel it."""

from __future__ import annotations

from copy import copy
from typing import Any

from kit.models import Deed, Job, JobState, Standing
from kit.stores.act import Act, NotAllowed
from kit.stores.current import renew_job
from kit.stores.follow import follow_job
from kit.stores.knowledge import plain
from kit.stores.refuse import refuse_measure
from kit.stores.reserve import let_go_all, refuse_ended

JOB_DETAILS = (
    "depot",
    "site",
    "load_on",
    "return_on",
    "main_material",
    "main_size",
    "main_sdr",
    "main_wall_mm",
    "bore_mm",
    "far_bore_mm",
    "ovality_mm",
    "lining_mm",
    "base_mark",
    "arrangement",
    "crew",
    "priority",
)
PRIORITIES = range(1, 10)
"""What it weighs that a job is short: 1 is the usual, 9 the most."""


def plan_job(act: Act, job: Job) -> Job:
    """Enter a new job."""
    refuse_details(job)
    if Job.objects.filter(reference=job.reference).exists():
        raise NotAllowed(f"{job} is planned already: give another reference, or change that job.")
    made = act.create(job)
    act.tell(Deed.PLANNED, [job, job.depot], facts={"load_on": job.load_on, "return_on": job.return_on})
    return made


def change_job(act: Act, job: Job, note: str = "", **details: Any) -> bool:
    """Change a job and re-judge all that is promised to it at once. True if anything differs.

    A promise that does not hold in the new window is flagged with a proposed substitute. Pieces that are out stay
    out, so promises of other jobs that an extension runs into are the ones that break.
    """
    unknown = set(details) - set(JOB_DETAILS)
    if unknown:
        raise NotAllowed(f"{', '.join(sorted(unknown))} of a job cannot be changed here.")
    renew_job(job)
    before = {name: getattr(job, name) for name in details}
    facts = {
        name: [str(before[name]), str(value)] for name, value in details.items() if before[name] != value
    }
    if not facts:
        return False
    refuse_ended(job)
    planned = copy(job)
    for name, value in details.items():
        setattr(planned, name, value)
    refuse_details(planned)
    act.change(job, **details, revision=job.revision + 1)
    act.tell(Deed.MOVED, [job], note=note, facts=facts)
    follow_job(act, job)
    return True


def cancel_job(act: Act, job: Job, why: str) -> None:
    """Cancel a job of which nothing is out; what was promised to it is let go."""
    refuse_ended(renew_job(job))
    if not why.strip():
        raise NotAllowed("Say why the job is cancelled.")
    if job.reservations.filter(standing=Standing.ISSUED).exists():
        raise NotAllowed(f"Kit of {job} is on site: take it back before the job is cancelled.")
    let_go_all(act, job, f"job cancelled: {why.strip()}")
    job = Job.objects.get(pk=job.pk)
    act.change(job, state=JobState.CANCELLED)
    act.tell(Deed.CANCELLED, [job], note=why)


def refuse_details(job: Job) -> None:
    """Raise NotAllowed for what no job can be: without a reference, backward in time, of no bore."""
    if not job.reference.strip():
        raise NotAllowed("A job needs a reference: what everybody calls it.")
    if job.return_on < job.load_on:
        raise NotAllowed(f"{job} would be back on {job.return_on}, before it is loaded on {job.load_on}.")
    refuse_measure(job.bore_mm, f"The bore of {job}")
    refuse_measure(job.main_wall_mm, f"The wall of the main of {job}")
    refuse_measure(job.far_bore_mm, f"The bore of {job} on the far side")
    refuse_measure(job.ovality_mm, f"The ovality of {job}", none_is_0=True)
    refuse_measure(job.lining_mm, f"The lining of {job}", none_is_0=True)
    for bore_mm in (job.bore_mm, job.far_bore_mm):
        if bore_mm is not None and job.ovality_mm is not None and job.ovality_mm >= bore_mm:
            raise NotAllowed(
                f"{job} would be out of round by {plain(job.ovality_mm)} mm in a bore of {plain(bore_mm)} mm: "
                "give the greatest less the least diameter."
            )
    if job.priority not in PRIORITIES:
        raise NotAllowed(f"{job} has priority {job.priority}: give a whole number from 1 (the usual) to 9.")
