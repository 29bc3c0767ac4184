"""The state of an item, a promise or a job as a mark: which shape, and what stands behind the word."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import lru_cache

from django.utils.translation import get_language, gettext_lazy
from django.utils.translation import gettext as _

from kit.days import date_format
from kit.models import Custody, Item, Reservation, Standing, State
from kit.planning import Gate
from kit.sentences import said

SOON_DAYS = 14
"""How many days ahead a date counts as due soon on screens; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Mark:
    """`state` names the shape (components/mark.html), `more` stands behind its word, `word` replaces it."""

    state: str
    more: str = ""
    word: str = ""


USUAL_WORDS = {
    "in-fettle": gettext_lazy("in fettle"),
    "not-in-fettle": gettext_lazy("not in fettle"),
    "due-soon": gettext_lazy("due soon"),
    "overdue": gettext_lazy("overdue"),
    "never": gettext_lazy("never done"),
    "set-aside": gettext_lazy("set aside"),
    "quarantined": gettext_lazy("set aside"),
    "withdrawn": gettext_lazy("withdrawn"),
    "lost": gettext_lazy("lost"),
    "out": gettext_lazy("out"),
    "on-site": gettext_lazy("out"),
    "in-transit": gettext_lazy("in transit"),
    "promised": gettext_lazy("promised"),
    "awaiting": gettext_lazy("awaiting check"),
    "short": gettext_lazy("short"),
    "conceded": gettext_lazy("by concession"),
    "available": gettext_lazy("available"),
}
"""What components/mark.html says of a state; a test holds the two to each other."""


def in_words(*marks: Mark) -> str:
    """Marks as they read on screen, for a cell of a spreadsheet."""
    said = []
    for mark in marks:
        word = mark.word or str(USUAL_WORDS.get(mark.state, mark.state))
        said.append(f"{word} {mark.more}".rstrip())
    return "; ".join(said)


def short_day(day: date) -> str:
    return _short_day(day, get_language())


# A list of 100,000 pieces that is written out names few days many times over.
@lru_cache(maxsize=4096)
def _short_day(day: date, _language: str | None) -> str:
    return date_format(day, "j M Y")


def mark_of(item: Item, today: date) -> Mark:
    """What matters most about the item on this day: where it may not go out, why; else until when it may."""
    if item.state == State.WITHDRAWN:
        return Mark("withdrawn")
    if item.state == State.LOST:
        return Mark("lost")
    if item.state == State.QUARANTINED:
        return Mark("set-aside")
    if item.custody == Custody.IN_TRANSIT:
        return Mark("in-transit", _("to %(depot)s") % {"depot": item.transit_to})
    if item.custody == Custody.ON_SITE:
        return Mark("out")
    return fettle_of(item, today)


def fettle_of(item: Item, today: date) -> Mark:
    """Whether the item meets its recorded requirements on this day, and until when; its state left aside."""
    if item.fit_until is None:
        if any(gate.status == "failed" for gate in item.gates):
            return Mark("not-in-fettle")
        return Mark("awaiting" if any(gate.waits for gate in item.gates) else "never")
    if item.fit_until < today:
        return Mark("overdue", _("since %(day)s") % {"day": short_day(item.fit_until)})
    if not item.limited:
        return Mark("in-fettle")
    until = _("until %(day)s") % {"day": short_day(item.fit_until)}
    if item.fit_until <= today + timedelta(days=SOON_DAYS):
        return Mark("due-soon", until)
    return Mark("in-fettle", until)


def conceded(gates: Iterable[Gate]) -> list[Mark]:
    """A mark for each check that is in date only by a concession, or will be."""
    return [
        Mark(
            "conceded",
            _("%(check)s, from %(due)s to %(until)s")
            % {
                "check": said(gate.check),
                "due": short_day(gate.conceded_from),
                "until": short_day(gate.due_on),
            },
        )
        for gate in gates
        if gate.conceded_from is not None and gate.due_on is not None
    ]


def conceded_item(item: Item, _today: date | None = None) -> list[Mark]:
    """The concessions under which an item goes out."""
    return conceded(item.gates)


def standing_of(reservation: Reservation) -> Mark:
    """Where a promise stands."""
    if reservation.standing == Standing.BROKEN:
        return Mark("not-in-fettle", word=_("no longer holds"))
    if reservation.standing == Standing.ISSUED:
        return Mark("out")
    if reservation.standing == Standing.RETURNED:
        return Mark("available", word=_("back"), more=_(reservation.get_outcome_display()).lower())
    if reservation.standing == Standing.RELEASED:
        return Mark("available", word=_("let go"))
    return Mark("promised")
