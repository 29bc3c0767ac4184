"""What is recorded of a piece and what decides whether it may go out; each figure leads to what proves it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.text import slugify
from django.utils.translation import gettext as _

from kit.life_picture import days_in_words, name_of
from kit.links import linked
from kit.models import Item, State
from kit.planning.life_left import Life, lives_of
from kit.sentences import said
from kit.stores.written_by import written_by
from kit.tables.items import bore_text, use_by_text
from kit.tables.marks import short_day
from kit.tables.reasons_said import reason_said

PROVED = ("quantity", "bore_min_mm", "made_on", "use_by", "state")


def proofs_of(item: Item) -> dict[str, str]:
    """By column of the item: the address of the entry that last wrote it."""
    return {column: reverse("entry", args=[number]) for column, number in written_by(item, PROVED).items()}


def _proved(words: Any, proofs: Mapping[str, str], column: str) -> Any:
    url = proofs.get(column)
    return linked(url, words) if words and url else words


def facts(item: Item, proofs: Mapping[str, str]) -> list[tuple[Any, Any]]:
    """What is recorded of the item; what does not apply to its kind and is empty is left out."""
    use_by = use_by_text(item)
    if item.use_by and item.use_by_precision != "day":
        use_by = _("%(use_by)s: the last day of the %(precision)s counts") % {
            "use_by": use_by,
            "precision": _(item.get_use_by_precision_display()).lower(),
        }
    quantity = _proved(item.quantity, proofs, "quantity") if item.counted else ""
    made_on = _proved(short_day(item.made_on), proofs, "made_on") if item.made_on else ""
    batch = item.batch and linked(reverse("maker_batch", args=[item.tag]), item.batch)
    rows = [
        (_("Kind"), linked(reverse("kind_page", args=[item.kind.name]), said(item.kind.name)), True),
        (_("Quantity"), quantity, item.counted),
        (_("Maker"), item.maker, True),
        (_("Maker's serial"), item.serial, item.kind.has_serial),
        (_("Batch"), batch, item.kind.has_batch),
        (_("Bore, mm"), _proved(bore_text(item), proofs, "bore_min_mm"), item.kind.has_bore),
        (_("Mark"), item.mark, item.kind.has_mark),
        (_("Made on"), made_on, False),
        (_("Use-by date"), _proved(use_by, proofs, "use_by"), item.kind.has_use_by),
        (_("Set"), item.set_name, False),
        (_("Depot"), item.depot, True),
        (_("Note"), item.note, False),
    ]
    return [(label, value or _("not recorded")) for label, value, asked in rows if asked or value]


def lives_now(item: Item, today: date) -> list[Life]:
    """What is left of its dates, what decides first on top; nothing for what is not in use any more."""
    if item.state in (State.WITHDRAWN, State.LOST):
        return []
    return lives_of(item.made_on, item.use_by, item.gates, today)


def life_rows(lives: Sequence[Life], proofs: Mapping[str, str]) -> list[dict[str, Any]]:
    """The picture of what is left as rows, each with the address of what proves it: its check, or the entry."""
    return [
        {
            "name": name_of(life),
            "url": _proof_of(life, proofs),
            "began": life.began,
            "last": life.last,
            "left": days_in_words(life),
            "conceded": life.conceded,
        }
        for life in lives
    ]


def _proof_of(life: Life, proofs: Mapping[str, str]) -> str:
    return f"#{check_anchor(life.name)}" if life.name else proofs.get("use_by", "")


def check_anchor(check: str) -> str:
    """Where the row of that check stands on the page."""
    return f"check-{slugify(check, allow_unicode=True)}"


def why_so(item: Item, lives: Sequence[Life], proofs: Mapping[str, str]) -> list[tuple[Any, Any]]:
    """What decides whether it may go out: the date that comes first, and its state."""
    if item.fit_until is None:
        until = _("not fit now")
    elif item.limited:
        until = short_day(item.fit_until)
    else:
        until = _("no date limits it")
    decides = _proof_of(lives[0], proofs) if lives else ""
    rows = [
        (_("Fit until"), linked(decides, until) if decides else until),
        (_("What decides it"), reason_said(item.fit_reason)),
        (_("State"), _(item.get_state_display())),
    ]
    if item.state != State.AVAILABLE:
        rows.append((_("Why"), said(item.state_why)))
        since = short_day(item.state_since.date()) if item.state_since else _("not recorded")
        rows.append((_("Since, by"), _proved(f"{since}, {item.state_by}", proofs, "state")))
    return rows
