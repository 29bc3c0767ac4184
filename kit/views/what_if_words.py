"""The changes of a trial plan in words."""

from __future__ import annotations

from datetime import date
from functools import singledispatch

from django.utils.translation import gettext as _

from kit.days import date_format
from kit.planning.what_if import (
    AddJob,
    Buy,
    CancelJob,
    CloseBench,
    MoveJob,
    SetBench,
    TransferPiece,
    WithdrawPiece,
)
from kit.sentences import said as said_of


def _day(day: date) -> str:
    return date_format(day, "j M Y")


@singledispatch
def in_words(change: object) -> str:
    """A sentence on what would be otherwise."""
    raise TypeError(f"{change!r} is no change")


@in_words.register
def _add_job(change: AddJob) -> str:
    said = _("Job %(job)s more at %(depot)s, %(first)s to %(last)s: %(arrangement)s") % {
        "job": change.reference,
        "depot": change.depot,
        "first": _day(change.load_on),
        "last": _day(change.return_on),
        "arrangement": change.arrangement,
    }
    if change.bore_mm is not None:
        said += _(", bore %(bore)s mm") % {"bore": change.bore_mm}
    if change.base_mark:
        said += _(", bases marked %(mark)s") % {"mark": change.base_mark}
    return said


@in_words.register
def _move_job(change: MoveJob) -> str:
    return _("Job %(job)s moved to %(first)s to %(last)s") % {
        "job": change.job,
        "first": _day(change.load_on),
        "last": _day(change.return_on),
    }


@in_words.register
def _cancel_job(change: CancelJob) -> str:
    return _("Job %(job)s called off") % {"job": change.job}


@in_words.register
def _buy(change: Buy) -> str:
    said = _("%(n)s × %(kind)s more at %(depot)s, come on %(day)s") % {
        "n": change.pieces,
        "kind": said_of(change.kind),
        "depot": change.depot,
        "day": _day(change.comes_on),
    }
    if change.bore_min_mm is not None:
        said += _(", %(low)s to %(high)s mm") % {"low": change.bore_min_mm, "high": change.bore_max_mm}
    if change.mark:
        said += _(", marked %(mark)s") % {"mark": change.mark}
    if change.use_by is not None:
        said += _(", use by %(day)s") % {"day": _day(change.use_by)}
    return said


@in_words.register
def _withdraw(change: WithdrawPiece) -> str:
    return _("%(tag)s lost or withdrawn") % {"tag": change.tag}


@in_words.register
def _transfer(change: TransferPiece) -> str:
    return _("%(tag)s sent to %(depot)s, there on %(day)s") % {
        "tag": change.tag,
        "depot": change.to_depot,
        "day": _day(change.arrives_on),
    }


@in_words.register
def _close_bench(change: CloseBench) -> str:
    return _("Bench at %(depot)s closed from %(first)s to %(last)s") % {
        "depot": change.depot,
        "first": _day(change.first),
        "last": _day(change.last),
    }


@in_words.register
def _set_bench(change: SetBench) -> str:
    return _("Bench at %(depot)s does %(n)s inspections a day") % {"depot": change.depot, "n": change.a_day}
