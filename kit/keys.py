"""What the keyboard does on each kind of page, as the scripts of `static/kit/js` listen: for the sheet of keys."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_lazy as _


@dataclass(frozen=True, slots=True)
class Key:
    """Keys pressed together, and what they do."""

    press: tuple[str, ...]
    does: Any


@dataclass(frozen=True, slots=True)
class KeyGroup:
    where: Any
    keys: Sequence[Key]
    note: Any = ""


KEYS: Sequence[KeyGroup] = (
    KeyGroup(
        _("On every page"),
        (
            Key(
                ("Tab",), _("on to the next field, link or button; the first on a page skips to the content")
            ),
            Key(("Shift", "Tab"), _("back to the one before")),
            Key(("Enter",), _("follow the link, press the button, send the form")),
            Key(("Space",), _("tick a box, open what is folded")),
            Key(("Esc",), _("close this sheet or a question")),
            Key(("Ctrl", "/"), _("open this sheet, also from a scan box")),
            Key(("?",), _("open this sheet, outside of fields and on pages without a scan box")),
        ),
    ),
    KeyGroup(
        _("Where there is a scan box"),
        (
            Key(
                ("Enter",),
                _("take what was scanned or typed; with nothing to scan, do what is offered first"),
            ),
            Key(("Tab",), _("leave the box")),
        ),
        _(
            "Whatever is typed while no other field has the focus goes into the box, ? as well: a scanner types."
        ),
    ),
    KeyGroup(
        _("At the counter"),
        (
            Key(("Ctrl", "Z"), _("undo the last act, with the scan box empty")),
            Key(("Ctrl", "Enter"), _("finish the issue once every scan is answered")),
        ),
    ),
    KeyGroup(
        _("One check of many pieces"),
        (
            Key(("\u2191",), _("the piece above, with the scan box empty")),
            Key(("\u2193",), _("the piece below, with the scan box empty")),
            Key(("Ctrl", "Enter"), _("record the batch")),
        ),
    ),
    KeyGroup(
        _("On the plan board, with a job in focus"),
        (
            Key(("\u2190",), _("the job a day earlier")),
            Key(("\u2192",), _("the job a day later")),
            Key(("Shift", "\u2190"), _("its return day earlier")),
            Key(("Shift", "\u2192"), _("its return day later")),
            Key(("Enter",), _("see what the move would bring")),
            Key(("Esc",), _("put the job back")),
        ),
    ),
)
