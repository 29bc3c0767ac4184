"""A proposed plan as the plain values that its page shows, and that a note of it keeps."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from kit.planning import draw_up
from kit.planning.rearranging import JobPlan, MovableJob, Season, WorkToDo
from kit.planning.sets import reasons_on
from kit.planning.values import NO_LIMIT, Candidate, Held
from kit.planning.what_if_weighed import jobs_with, left_over
from kit.stores.rearrange import ProposedPlan
from kit.stores.what_if import placed_by

MOST_REMEDIES = 40
"""For so many short jobs it is worked out what would mend them; a planner mends the first before reading further."""


def as_plain(proposed: ProposedPlan, season: Season) -> dict[str, Any]:
    """The objective on both sides, the jobs that change or are short, the works, and the moves to apply it by."""
    return _Telling(proposed, season).plain()


class _Telling:
    """The plan beside the season that it was made from."""

    def __init__(self, proposed: ProposedPlan, season: Season) -> None:
        self.plan, self.moves, self.season = proposed.plan, proposed.moves, season
        self.pieces = {piece.tag: piece for piece in season.candidates}
        self.move_of = {move.job: move for move in proposed.moves.moves}
        self.placed = placed_by(proposed.plan)
        self.left_by = _by_tag({job.need.job: job.leaves for job in proposed.plan.jobs})
        self.given_to = _by_tag({job.need.job: job.comes for job in proposed.plan.jobs})
        self.left = left_over(season, self.placed)

    def plain(self) -> dict[str, Any]:
        promised = {job.need.job: job.promised for job in self.season.jobs}
        now = jobs_with(self.season, promised)
        short = {job.job: job for job in jobs_with(self.season, self.placed) if job.short}
        mended = set(list(short)[:MOST_REMEDIES])
        movable = {job.need.job: job for job in self.season.jobs}
        return {
            "now": {
                "jobs_short": sum(1 for job in now if job.short),
                "pieces_short": sum(job.pieces_short for job in now),
            },
            "then": {
                "jobs_short": len(short),
                "pieces_short": self.plan.pieces_short,
                "changes": self.plan.changes,
            },
            "looked_at": len(self.plan.jobs),
            "proven": self.plan.proven,
            "gap": self.plan.gap,
            "works": [_work(work) for work in self.plan.works],
            "jobs": [
                self._job(job, movable[job.need.job], job.need.job in mended)
                for job in self.plan.jobs
                if job.leaves or job.comes or job.short
            ],
            "moves": self.moves.as_plain(),
        }

    def _job(self, job: JobPlan, movable: MovableJob, mend: bool) -> dict[str, Any]:
        need = job.need
        move = self.move_of.get(need.job)
        waits, stays = (move.waits, move.stays) if move else ((), ())
        return {
            "job": need.job,
            "depot": need.depot,
            "load_on": need.load_on.isoformat(),
            "return_on": need.return_on.isoformat(),
            "leaves": [self._leaves(held, movable, held in stays) for held in job.leaves],
            "comes": [self._comes(held, job, held.tag in waits) for held in job.comes],
            "short": self._short(job, mend),
        }

    def _leaves(self, held: Held, movable: MovableJob, stays: bool) -> dict[str, Any]:
        """A piece that the job gives up: because it may not go, because another job gets it, or to keep it."""
        need = movable.need
        piece = self.pieces.get(held.tag)
        line = next(line for line in need.lines if line.name == held.line)
        against = reasons_on(piece, line, need, self.season.as_of) if piece else ()
        takers = self.given_to.get(held.tag, [])
        others = [job for job in takers if job != need.job]
        if against:
            why, day = against[0].text, against[0].date
        elif others:
            why, day = _("goes to %(jobs)s") % {"jobs": ", ".join(others)}, None
        elif need.job in takers:
            why, day = _("goes to another line of this job"), None
        else:
            why, day = _("stays in the store: another serves as well and is better used here"), None
        if stays:
            why = _("%(why)s; not before what comes instead can be promised") % {"why": why}
        return {**_held(held), "why": why, "day": day.isoformat() if day else None}

    def _comes(self, held: Held, job: JobPlan, waits: bool) -> dict[str, Any]:
        """A piece that the job is given: from where, and until when it is in date."""
        piece = self.pieces[held.tag]
        givers = [name for name in self.left_by.get(held.tag, ()) if name != job.need.job]
        if waits:
            why = _("only once what it waits for is done, see below")
        elif givers:
            why = _("so far with %(jobs)s") % {"jobs": ", ".join(givers)}
        else:
            why = _("free")
        return {**_held(held), "why": why, "day": _until(piece), "waits": waits}

    def _short(self, job: JobPlan, mend: bool) -> list[dict[str, Any]]:
        """The lines that stay short, and what would mend them beside the whole plan."""
        lacking = {line.line.name: line.short for line in job.lines if line.short}
        remedies: dict[str, tuple[str, date | None]] = {}
        if lacking and mend:
            need = job.need
            here = [piece for piece in self.left if need.depot in (piece.depot, piece.transit_to)]
            away = [piece for piece in self.left if need.depot not in (piece.depot, piece.transit_to)]
            kit = draw_up(need, here, self.season.as_of, held=self.placed[need.job], elsewhere=away)
            remedies = {row.line.name: (row.remedy, row.soonest) for row in kit.lines}
        return [
            {
                "line": name,
                "number": number,
                "remedy": remedies.get(name, ("", None))[0],
                "soonest": soonest.isoformat() if (soonest := remedies.get(name, ("", None))[1]) else None,
            }
            for name, number in lacking.items()
        ]


def _by_tag(placed: Mapping[str, Any]) -> dict[str, list[str]]:
    """By tag, the jobs that have it."""
    found: dict[str, list[str]] = defaultdict(list)
    for job, held in placed.items():
        for each in held:
            found[each.tag].append(job)
    return found


def _held(held: Held) -> dict[str, Any]:
    return {"line": held.line, "tag": held.tag, "quantity": held.quantity}


def _until(piece: Candidate) -> str | None:
    until = piece.fit_until
    return None if until is None or until == NO_LIMIT else until.isoformat()


def _work(work: WorkToDo) -> dict[str, Any]:
    return {
        "what": work.what,
        "tag": work.tag,
        "on": work.on.isoformat(),
        "depot": work.depot,
        "check": work.check,
        "to": work.to_depot,
        "arrives_on": work.arrives_on.isoformat() if work.arrives_on else None,
    }
