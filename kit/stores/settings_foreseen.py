"""What a change of a kind, or the next version of an arrangement, would bring, told before it is made.

As with a move of a job, the real action is done and taken back: nothing is written. A press that records names the
mark of what was shown, and does that or nothing.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any

from django.db.models import Q, QuerySet

from kit.models import OPEN, Arrangement, Job, JobState, Kind, Reservation
from kit.stores.act import Act, NotAllowed, Who, canonical_for, canonical_of
from kit.stores.arrange import LineSpec, set_arrangement, specs_of
from kit.stores.foresee import Swings, gives_of, rehearse, short_of, stands_now, swings_of
from kit.stores.knowledge import kit_list_of, open_jobs
from kit.stores.receive import set_kind

MOST_JOBS = 12
"""For how many open jobs it is reckoned what a change would leave short; how many are left out is told."""

CHANGED_MEANWHILE = (
    "Something else would change by now than was shown: nothing is recorded. "
    "Look at what changes now, then record it."
)


@dataclass(frozen=True, slots=True)
class JobShort:
    """An open job: how many pieces its best kit lacks as things are, and as they would be after the change.

    Of a version of an arrangement: by the version that the job keeps, and by the new one.
    """

    job: Job
    short_now: int
    short_then: int


@dataclass(frozen=True, slots=True)
class ForeseenKind:
    """What other settings of a kind bring. `changed` names the settings that differ, as (name, now, then).

    `pieces` of it are in use, `promised` of these are promised or out. `without_bore` and `without_mark` count pieces
    in use that lack what the kind would then ask for, 0 where it asks for it already or not at all. `jobs` are the
    planned ones with a line for it whose best kit would be short of more or less; `jobs_left_out` were not reckoned.
    """

    changed: tuple[tuple[str, object, object], ...]
    pieces: int
    promised: int
    without_bore: int
    without_mark: int
    swings: Swings
    jobs: tuple[JobShort, ...]
    jobs_left_out: int
    seen: str


def foresee_kind(who: Who, kind: Kind, settings: Mapping[str, Any]) -> ForeseenKind:
    """What these settings would bring. Nothing is written. Raises NotAllowed where the change would."""
    return rehearse(who, lambda act: _kind_told(act, kind, settings))


def set_kind_as_seen(act: Act, kind: Kind, settings: Mapping[str, Any], seen: str) -> Kind:
    """Change the kind; refused, with nothing written, if that brings something else by now than was shown."""
    if _kind_told(act, kind, settings, for_jobs=False).seen != seen:
        raise NotAllowed(CHANGED_MEANWHILE)
    return Kind.objects.get(pk=kind.pk)


def _kind_told(act: Act, kind: Kind, settings: Mapping[str, Any], for_jobs: bool = True) -> ForeseenKind:
    was = Kind.objects.get(pk=kind.pk)
    changed = tuple(
        (name, getattr(was, name), value)
        for name, value in settings.items()
        if canonical_of(was, name) != canonical_for(was, name, value)
    )
    before = stands_now()
    listed = list(_planned_with(was)) if changed and for_jobs else []
    short_now = [_short(act, job) for job in listed[:MOST_JOBS]]
    set_kind(act, was.name, **settings)
    after = stands_now()
    reckoned = [
        JobShort(job, now, _short(act, job)) for job, now in zip(listed[:MOST_JOBS], short_now, strict=True)
    ]
    in_use = was.items.in_use()
    names = {name for name, _now, then in changed if then is True}
    mark = (was.name, [(name, str(now), str(then)) for name, now, then in changed], gives_of(before, after))
    return ForeseenKind(
        changed=changed,
        pieces=in_use.count(),
        promised=Reservation.objects.filter(item__kind=was, standing__in=OPEN)
        .values("item")
        .distinct()
        .count(),
        without_bore=in_use.filter(bore_min_mm__isnull=True).count() if "has_bore" in names else 0,
        without_mark=in_use.filter(mark="").count() if "has_mark" in names else 0,
        swings=swings_of(before, after),
        jobs=tuple(each for each in reckoned if each.short_now != each.short_then),
        jobs_left_out=max(0, len(listed) - MOST_JOBS),
        seen=sha256(repr(mark).encode()).hexdigest(),
    )


def _planned_with(kind: Kind) -> QuerySet[Job]:
    """Planned jobs with a line that the kind fills, or may stand in on, those that load first in front."""
    fills = Q(arrangement__lines__kind=kind) | Q(arrangement__lines__substitutes__kind=kind)
    planned = open_jobs().filter(fills, state=JobState.PLANNED)
    return planned.order_by("load_on", "reference").distinct()


def _short(act: Act, job: Job) -> int:
    # Read anew: what was looked up for the job before the change would answer for it after.
    return short_of(kit_list_of(Job.objects.get(pk=job.pk), act.today, mend="nothing"))


@dataclass(frozen=True, slots=True)
class ForeseenVersion:
    """What the next version brings: its number, the lines that come, go and differ, and the open jobs of older ones.

    `makes` is False where the lines are those of the version in force. `jobs_left_out` were not reckoned.
    """

    version: int
    makes: bool
    come: tuple[LineSpec, ...]
    go: tuple[LineSpec, ...]
    differ: tuple[tuple[LineSpec, LineSpec], ...]
    jobs: tuple[JobShort, ...]
    jobs_left_out: int
    seen: str


def foresee_version(
    who: Who, name: str, lines: Sequence[LineSpec], source: str = "", note: str = ""
) -> ForeseenVersion:
    """What setting the arrangement so would bring. Nothing is written. Raises NotAllowed where the change would."""

    def told(act: Act) -> ForeseenVersion:
        before = Arrangement.objects.filter(name=name, current=True).first()
        old = specs_of(before) if before else []
        made, makes = set_arrangement(act, name, lines, source, note)
        listed = list(_open_jobs_of(name)) if makes else []
        return ForeseenVersion(
            version=made.version,
            makes=makes,
            **_compared(old, specs_of(made)),
            jobs=tuple(_by_version(act, job, made) for job in listed[:MOST_JOBS]),
            jobs_left_out=max(0, len(listed) - MOST_JOBS),
            seen=_version_mark(old, specs_of(made), source, note, listed),
        )

    return rehearse(who, told)


def set_arrangement_as_seen(
    act: Act, name: str, lines: Sequence[LineSpec], source: str, note: str, seen: str
) -> tuple[Arrangement, bool]:
    """Set the arrangement; refused, with nothing written, if it is another change by now than was shown."""
    before = Arrangement.objects.filter(name=name, current=True).first()
    old = specs_of(before) if before else []
    made, makes = set_arrangement(act, name, lines, source, note)
    listed = list(_open_jobs_of(name)) if makes else []
    if _version_mark(old, specs_of(made), source, note, listed) != seen:
        raise NotAllowed(CHANGED_MEANWHILE)
    return made, makes


def _open_jobs_of(name: str) -> Any:
    jobs = open_jobs().filter(arrangement__name=name).select_related("depot", "arrangement")
    return jobs.order_by("load_on", "reference")


def _by_version(act: Act, job: Job, made: Arrangement) -> JobShort:
    now = short_of(kit_list_of(job, act.today, mend="nothing"))
    as_planned = job.arrangement
    job.arrangement = made
    then = short_of(kit_list_of(job, act.today, mend="nothing"))
    job.arrangement = as_planned
    return JobShort(job, now, then)


def _compared(old: Sequence[LineSpec], new: Sequence[LineSpec]) -> dict[str, Any]:
    before = {line.name.casefold(): line for line in old}
    after = {line.name.casefold(): line for line in new}
    return {
        "come": tuple(line for key, line in after.items() if key not in before),
        "go": tuple(line for key, line in before.items() if key not in after),
        "differ": tuple(
            (before[key], line) for key, line in after.items() if key in before and before[key] != line
        ),
    }


def _version_mark(
    old: Sequence[LineSpec], new: Sequence[LineSpec], source: str, note: str, jobs: Sequence[Job]
) -> str:
    told = (repr(old), repr(new), source, note, [job.reference for job in jobs])
    return sha256(repr(told).encode()).hexdigest()
