"""Ledger entries told in words, for people: what was done, when, by whom, and what was noted."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Any

from django.urls import reverse
from django.utils import timezone
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from kit.models import Deed, LedgerEntry
from kit.planning import NO_LIMIT
from kit.tables.marks import short_day

_DAY = re.compile(r"\d{4}-\d{2}-\d{2}")
MARKS = {
    Deed.QUARANTINED: "set-aside",
    Deed.WITHDRAWN: "withdrawn",
    Deed.LOST: "lost",
    Deed.FOUND_AGAIN: "set-aside",
    Deed.ISSUED: "out",
    Deed.SENT: "in-transit",
    Deed.RESERVED: "promised",
}
MOST_LISTED = 4
# Said already by the note or by the deed itself.
_LEFT_OUT = {"gates", "inspections", "fit_reason", "outcome", "check", "verdict", "set"}


def told(entries: Iterable[LedgerEntry], subject: str = "") -> list[dict[str, Any]]:
    """Entries as components/timeline.html takes them; `subject` ("item:TAG") is not named again in them."""
    return [_one(entry, subject) for entry in entries]


def _one(entry: LedgerEntry, subject: str) -> dict[str, Any]:
    body = json.loads(entry.body)
    corrections = [str(other.number) for other in entry.corrections.all()]
    job = next((name[4:] for name in body["about"] if name.startswith("job:")), None)
    verdict = body["facts"].get("verdict")
    return {
        "number": entry.number,
        "entry_url": reverse("entry", args=[entry.number]),
        "at": entry.happened_at,
        "recorded_at": entry.recorded_at,
        "late": _late(entry),
        "day_only": _noon(entry.happened_at) and entry.happened_at != entry.recorded_at,
        "action": _(Deed(entry.deed).label) if entry.deed in Deed.values else entry.deed,
        "text": " ".join(_sentences(body, subject)),
        "by": _("%(actor)s, %(source)s, entry %(number)s")
        % {"actor": entry.actor, "source": entry.source, "number": entry.number},
        "mark": verdict if verdict in ("pass", "fail", "doubt") else MARKS.get(entry.deed),  # type: ignore[call-overload]
        "url": reverse("job", args=[job]) if job and not subject.startswith("job:") else None,
        "corrects": _("entry %(number)s") % {"number": entry.corrects_id} if entry.corrects_id else None,
        "corrected_by": ", ".join(corrections) or None,
    }


def _late(entry: LedgerEntry) -> str:
    """How many days after it happened it was entered, in words; empty if on the same day."""
    days = (timezone.localdate(entry.recorded_at) - timezone.localdate(entry.happened_at)).days
    if days < 1:
        return ""
    return ngettext("entered %(n)s day later", "entered %(n)s days later", days) % {"n": days}


def _noon(moment: datetime) -> bool:
    """Whether it is the moment that stands for a day of which no time is known (kit.stores.act.Act.noon_of)."""
    return timezone.localtime(moment).time() == time(12)


def _sentences(body: dict[str, Any], subject: str) -> list[str]:
    note = body["note"].strip()
    said = [note if note.endswith((".", "!", "?")) else f"{note}."] if note else []
    others = [_named(name) for name in body["about"] if name != subject and _name_of(name) not in note]
    if others and len(others) <= 3:
        said.append(_("With %(others)s.") % {"others": ", ".join(others)})
    facts = [text for name, value in body["facts"].items() if (text := fact_in_words(name, value, subject))]
    if facts:
        said.append(f"{'; '.join(facts)}.")
    return [capfirst(sentence) for sentence in said]


def _name_of(about: str) -> str:
    return about.partition(":")[2]


def _named(about: str) -> str:
    what, _colon, name = about.partition(":")
    words = {
        "item": _("item"),
        "job": _("job"),
        "depot": _("depot"),
        "kind": _("kind"),
        "transfer": _("consignment"),
        "stocktake": _("stock-take"),
        "main": _("main"),
        "labelpaper": _("label stock"),
    }
    return f"{words.get(what, what)} {name}"


def fact_in_words(name: str, value: Any, subject: str = "") -> str:
    """One recorded fact: "back on 3 Mar 2027". Empty for what is said elsewhere or not known."""
    if name in _LEFT_OUT or value in (None, "", [], {}) or (name == "quantity" and value == 1):
        return ""
    if isinstance(value, dict):
        # Of a fact about several items only that of the subject belongs here.
        own = value.get(subject.partition(":")[2]) if subject.startswith("item:") else None
        if own is not None:
            return fact_in_words(name, own, subject)
        listed = [f"{key} {_plain(part)}" for key, part in value.items()]
        if len(listed) > MOST_LISTED:
            left = len(listed) - MOST_LISTED
            listed[MOST_LISTED:] = [_("and %(n)s more") % {"n": left}]
        return f"{_label(name)} {', '.join(listed)}"
    if isinstance(value, list):
        if len(value) == 2 and name in CHANGED:
            return _("%(what)s from %(before)s to %(after)s") % {
                "what": _label(name),
                "before": _plain(value[0]) or _("nothing"),
                "after": _plain(value[1]) or _("nothing"),
            }
        return f"{_label(name)} {', '.join(_plain(part) for part in value)}"
    return f"{_label(name)} {_plain(value)}"


def _plain(value: Any) -> str:
    if value is True or value is False:
        return _("yes") if value else _("no")
    text = "" if value in (None, "None") else str(value)
    if _DAY.fullmatch(text):
        day = date.fromisoformat(text)
        return _("no limit") if day == NO_LIMIT else short_day(day)
    return text


# Facts that are a pair of before and after.
CHANGED = {
    "maker", "serial", "batch", "bore_min_mm", "bore_max_mm", "mark", "made_on", "use_by", "use_by_precision",
    "use_by_text", "place", "note", "depot", "site", "load_on", "return_on", "main_material", "main_size",
    "main_sdr", "main_wall_mm", "bore_mm", "far_bore_mm", "ovality_mm", "lining_mm", "base_mark", "arrangement",
    "crew", "priority",
}  # fmt: skip


def _label(name: str) -> str:
    words = {
        "line": _("for the line"),
        "sides": _("side of the main:"),
        "assemblies": _("made up into units that share a mark:"),
        "instead": _("may stand in:"),
        "quantity": _("quantity"),
        "return_on": _("return on"),
        "load_on": _("loading on"),
        "fit_until": _("fit until"),
        "back_on": _("back on"),
        "checks_due_again": _("due again before it goes out:"),
        "before": _("before"),
        "counted": _("counted"),
        "arrives_on": _("expected there on"),
        "kind": _("kind"),
        "done_on": _("done on"),
        "short": _("short of"),
        "use_by": _("use-by date"),
        "made_on": _("made on"),
        "use_by_text": _("printed date"),
        "use_by_precision": _("precision of the date"),
        "bore_min_mm": _("smallest bore in mm"),
        "bore_max_mm": _("largest bore in mm"),
        "bore_mm": _("measured bore in mm"),
        "far_bore_mm": _("measured bore on the far side in mm"),
        "ovality_mm": _("ovality in mm"),
        "lining_mm": _("lining in mm"),
        "main_sdr": _("SDR, schedule or class"),
        "main_wall_mm": _("wall in mm"),
        "bore_margin_mm": _("margin of the bore in mm"),
        "sized_by": _("sized by"),
    }
    return words.get(name, name.replace("_", " "))
