"""What did we know on that day? Of an item and of a job: known then beside known now, and what came between."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from inspections.forms.knew import WhenForm
from inspections.knew import Known, Learnt, Seen, seen
from inspections.knew_job import JobSeen, Piece, job_seen
from kit.models import Depot, Standing
from kit.planning import NO_LIMIT
from kit.sentences import said
from kit.tables.marks import Mark, short_day, standing_of
from kit.tables.reasons_said import reason_said
from kit.views.desk import at_desk
from kit.views.found import item_in_sight, job_in_sight
from kit.views.story import told


@dataclass(frozen=True)
class Row:
    """One thing on both sides."""

    what: Any
    then: Any
    now: Any
    mark_then: Mark | None = None
    mark_now: Mark | None = None

    @property
    def differs(self) -> bool:
        return (self.then, self.mark_then) != (self.now, self.mark_now)


@require_safe
@at_desk()
def item_on_a_day(request: HttpRequest, tag: str) -> HttpResponse:
    item = item_in_sight(request, tag)
    form, moment = _asked(request)
    context: dict[str, Any] = {"item": item, "form": form, "moment": moment}
    if moment is not None:
        found = seen([item], moment)[item.pk]
        context |= {
            "rows": list(_item_rows(found)),
            "known_then": found.then is not None,
            "entries": _entries(found.learnt, f"item:{item.tag}"),
        }
    return render(request, "knew/item.html", context)


@require_safe
@at_desk()
def job_on_a_day(request: HttpRequest, reference: str) -> HttpResponse:
    job = job_in_sight(request, reference)
    form, moment = _asked(request)
    context: dict[str, Any] = {"job": job, "form": form, "moment": moment}
    if moment is not None:
        found = job_seen(job, moment)
        context |= {
            "rows": list(_job_rows(found)),
            "known_then": found.then is not None,
            "entries": _entries(found.learnt, f"job:{job.reference}"),
        }
    return render(request, "knew/job.html", context)


def _asked(request: HttpRequest) -> tuple[WhenForm, datetime | None]:
    """The form, and the moment it asks about; today's end where nothing is asked yet, None if it cannot be."""
    asked = {"on": request.desk.today.isoformat(), **request.GET.dict()}
    form = WhenForm(asked)
    return form, form.moment if form.is_valid() else None


def _entries(learnt: list[Learnt], subject: str) -> list[tuple[str, dict[str, Any]]]:
    """Each entry that bears on the day, told in words, with how it does."""
    words = {
        "late entry": _("entered later"),
        "correction": _("corrected later"),
        "rule": _("a rule set later"),
        "details": _("details put right later"),
    }
    shown = told([one.entry for one in learnt], subject)
    return [(words[one.how], entry) for one, entry in zip(learnt, shown, strict=True)]


def _item_rows(found: Seen) -> Iterator[Row]:
    then, now = found.then, found.now
    depots = {depot.pk: str(depot) for depot in Depot.objects.all()}
    yield Row(_("Requirements"), "", "", _fit_mark(then), _fit_mark(now))
    yield Row(_("Fit until"), _until(then), _until(now))
    yield Row(
        _("What decides it"), *(reason_said(side.fitness.reason) if side else "" for side in (then, now))
    )
    yield Row(_("State"), *(_(side.item.get_state_display()) if side else "" for side in (then, now)))
    yield Row(_("Where it is"), *(_(side.item.get_custody_display()) if side else "" for side in (then, now)))
    yield Row(_("Depot"), *(depots.get(side.item.depot_id, "") if side else "" for side in (then, now)))
    yield Row(_("Use-by date"), *(_day(side.item.use_by) if side else "" for side in (then, now)))
    checks = {one.check.name for side in (then, now) if side for one in side.judged}
    for name in sorted(checks):
        yield Row(capfirst(said(name)), _check(then, name), _check(now, name))
    yield Row(_("Records up to that day"), *(_count(side) for side in (then, now)))
    yield Row(_("Concessions running"), *(_conceded(side) for side in (then, now)))


def _fit_mark(side: Known | None) -> Mark:
    if side is None:
        return Mark("never", word=_("not known yet"))
    return Mark("in-fettle" if side.fit else "not-in-fettle")


def _until(side: Known | None) -> str:
    if side is None:
        return ""
    until = side.fitness.fit_until
    if until is None:
        return _("not fit")
    return _("no date limits it") if until == NO_LIMIT else short_day(until)


def _day(day: date | None) -> str:
    return short_day(day) if day else ""


def _check(side: Known | None, name: str) -> str:
    due = next((one.due for one in side.judged if one.check.name == name), None) if side else None
    if due is None:
        return _("not asked for")
    if due.status == "never":
        return _("never done")
    said = [
        _("last done %(day)s, %(verdict)s") % {"day": _day(due.last_done), "verdict": due.last_verdict}
        if due.last_done
        else "",
        due.note,
        _("due %(day)s") % {"day": short_day(due.due_on)} if due.due_on and due.due_on < NO_LIMIT else "",
        _("by concession from %(day)s") % {"day": short_day(due.conceded_from)} if due.conceded_from else "",
    ]
    return "; ".join(part for part in said if part)


def _count(side: Known | None) -> str:
    if side is None:
        return ""
    corrected = {row.corrects_id for row in side.records}
    listed = [row for row in side.records if row.pk not in corrected and not row.struck]
    return str(len(listed))


def _conceded(side: Known | None) -> str:
    return (
        ", ".join(_("until %(day)s") % {"day": short_day(one.until)} for one in side.concessions)
        if side
        else ""
    )


def _job_rows(found: JobSeen) -> Iterator[Row]:
    then, now = found.then, found.now
    yield Row(_("State"), *(_(side.job.get_state_display()) if side else "" for side in (then, now)))
    yield Row(
        _("Loading and return"),
        *(
            _("%(first)s to %(last)s")
            % {"first": short_day(side.job.load_on), "last": short_day(side.job.return_on)}
            if side
            else ""
            for side in (then, now)
        ),
    )
    pieces: dict[tuple[str, str], dict[str, Piece]] = {}
    for name, side in (("then", then), ("now", now)):
        for piece in side.pieces if side else ():
            pieces.setdefault((piece.line, piece.tag), {})[name] = piece
    for (line, tag), sides in pieces.items():
        before, after = sides.get("then"), sides.get("now")
        yield Row(
            f"{tag}, {said(line)}",
            _piece_text(before, then.job.return_on if then else None),
            _piece_text(after, now.job.return_on if now else None),
            standing_of(before.reservation) if before else None,
            standing_of(after.reservation) if after else None,
        )


def _piece_text(piece: Piece | None, return_on: date | None) -> str:
    if piece is None or return_on is None:
        return _("not on this job")
    if piece.reservation.standing == Standing.RETURNED:
        return ""
    if piece.known is None:
        return _("nothing known of it")
    reason = reason_said(piece.known.fitness.reason)
    if piece.lasts(return_on):
        return _("meets its requirements through the return: %(why)s") % {"why": reason}
    return _("does not last through the return: %(why)s") % {"why": reason}
