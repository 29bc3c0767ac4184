"""What a change of checks would bring about, in words: for the screen, and as a spreadsheet."""

from __future__ import annotations

import io
from collections.abc import Iterator
from datetime import date

from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from inspections.judging import Due
from inspections.models import EVER
from inspections.preview import CheckMove, ItemMove, Preview
from kit.planning import NO_LIMIT, Fitness
from kit.tables.marks import short_day
from kit.workbooks.writing import Column, write_table_workbook

COLUMNS = (
    Column(gettext_noop("tag"), width=18),
    Column(gettext_noop("depot"), width=12),
    Column(gettext_noop("place"), width=26),
    Column(gettext_noop("state"), width=14, said=True),
    Column(gettext_noop("what changes"), width=34),
    Column(gettext_noop("checks"), width=60, said=True),
    Column(gettext_noop("fit until now"), "date", 14),
    Column(gettext_noop("fit until then"), "date", 14),
    Column(gettext_noop("why then"), width=40, said=True),
    Column(gettext_noop("promises that would break"), width=28),
)


def effect_in_words(move: ItemMove) -> str:
    """What becomes of the item as a whole; empty if only a check that does not gate differs."""
    if move.leaves_fettle:
        return _("no longer in fettle")
    if move.comes_free:
        return _("comes free")
    if move.sooner:
        return _("fit for a shorter time")
    if move.later:
        return _("fit for longer")
    return _("not fit, for another reason") if move.before != move.after else ""


def checks_in_words(move: ItemMove) -> Iterator[str]:
    """What becomes of each of its checks."""
    for check in move.checks:
        if check.differs:
            yield f"{check.check}: {_check(check, move.day)}"


def _check(check: CheckMove, day: date) -> str:
    if check.after is None:
        return _("asked for no more")
    if check.newly_never(day):
        return _("never done, so due at once")
    if check.newly_due(day):
        return _("due at once (%(then)s)") % {"then": _due(check.after)}
    if check.before is None:
        return _("asked for, %(then)s") % {"then": _due(check.after)}
    return _("%(then)s instead of %(now)s") % {"then": _due(check.after), "now": _due(check.before)}


def _due(due: Due) -> str:
    if due.status == "never" or due.due_on is None:
        return _("never done")
    if due.status == "failed":
        return _("failed on %(day)s") % {"day": short_day(due.due_on)}
    if due.note:
        return due.note
    return _("no end") if due.due_on == NO_LIMIT else _("due %(day)s") % {"day": short_day(due.due_on)}


def until_in_words(fitness: Fitness) -> str:
    if fitness.fit_until is None:
        return _("not fit")
    return _("no limit") if fitness.fit_until == NO_LIMIT else short_day(fitness.fit_until)


def counts_in_words(found: Preview) -> list[tuple[int, str]]:
    """(how many, of what), as tallies show them."""
    return [
        (found.count("leaves_fettle"), _("items no longer in fettle")),
        (found.count_checks("newly_due"), _("checks due at once")),
        (found.count_checks("newly_never"), _("checks never done so far")),
        (found.count("sooner"), _("items fit for a shorter time")),
        (found.count("comes_free"), _("items that come free")),
        (found.count("later"), _("items fit for longer")),
        (sum(not one.is_out for one in found.broken), _("promises that would break")),
    ]


def preview_workbook(found: Preview, who: str) -> bytes:
    """The items that would differ, as .xlsx, in the order of the screen."""
    jobs: dict[int, list[str]] = {}
    for one in found.broken:
        jobs.setdefault(one.reservation.item_id, []).append(one.reservation.job.reference)
    rows = (
        (
            move.item.tag,
            move.item.depot.code,
            move.item.place.name if move.item.place else "",
            move.item.state,
            effect_in_words(move),
            "; ".join(checks_in_words(move)),
            _cell(move.before),
            _cell(move.after),
            move.after.reason,
            ", ".join(jobs.get(move.item.pk, [])),
        )
        for move in found.moved
    )
    facts = {
        _("kind"): found.kind.name,
        _("in force from"): _("ever") if found.start == EVER else found.start,
        _("as it would be on"): found.day,
        _("drawn up by"): who,
        _("drawn up at"): timezone.localtime(),
        _("note"): _("Nothing of this is recorded: it is what the change would bring about."),
    }
    file = io.BytesIO()
    summary = [(words, number) for number, words in counts_in_words(found)]
    write_table_workbook(
        file, _("What the change would bring"), COLUMNS, rows, facts, summary, for_people=True
    )
    return file.getvalue()


def _cell(fitness: Fitness) -> object:
    """A date where there is one."""
    if fitness.fit_until in (None, NO_LIMIT):
        return until_in_words(fitness)
    return fitness.fit_until
