"""Work that may take longer than a page should: done aside, with a note of how far it is and of what came of it.

A note is a file of one person, named by what was asked and of which state of the register: any worker of the server
finds it, the same question is not worked out twice, and an answer never outlives the state that it is about.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from django.conf import settings
from django.db import connections
from django.utils.translation import gettext as _

from kit.models import LedgerEntry

KEPT_HOURS: Final = 24
STOPPED_AFTER_SECONDS: Final = 600
NOTED_EVERY_SECONDS: Final = 0.5

log = logging.getLogger(__name__)

Progress = Callable[[int, int, str], None]
Work = Callable[[Progress], dict[str, Any]]


def state_of_the_register() -> str:
    """The hash of the last entry of the ledger: it is another one as soon as anything was done."""
    return LedgerEntry.objects.order_by("-number").values_list("hash", flat=True).first() or ""


@dataclass(frozen=True, slots=True)
class Note:
    """Where one answer is noted."""

    path: Path

    @property
    def key(self) -> str:
        return self.path.stem

    def read(self) -> dict[str, Any]:
        """At least `state`: new, running (with done, total, text), done (with answer), failed (with text)."""
        try:
            noted: dict[str, Any] = json.loads(self.path.read_text(encoding="utf-8"))
        except (FileNotFoundError, json.JSONDecodeError):
            return {"state": "new"}
        if noted.get("state") == "running" and time.time() - noted["at"] > STOPPED_AFTER_SECONDS:
            return {"state": "new"}
        return noted

    def write(self, **said: Any) -> None:
        """Whole or not at all."""
        part = self.path.with_name(f".{self.path.name}.{os.getpid()}.{time.monotonic_ns()}")
        part.write_text(json.dumps({"at": time.time(), **said}, ensure_ascii=False), encoding="utf-8")
        os.replace(part, self.path)

    def forget(self) -> None:
        self.path.unlink(missing_ok=True)


def _home(person: int | str) -> Path:
    return Path(settings.MEDIA_ROOT) / "answers" / str(person)


def note_of(person: int | str, key: str) -> Note:
    """The note that this person was shown under this key, of whatever state of the register."""
    return Note(_home(person) / f"{key}.json")


def note_for(person: int | str, *asked: object) -> Note:
    """The note of this person for this question about the register as it is now."""
    home = _home(person)
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    oldest = time.time() - KEPT_HOURS * 3600
    for old in home.iterdir():
        if old.stat().st_mtime < oldest:
            old.unlink(missing_ok=True)
    text = json.dumps([state_of_the_register(), *map(str, asked)], ensure_ascii=False)
    return Note(home / f"{hashlib.sha256(text.encode()).hexdigest()}.json")


def see_to(note: Note, work: Work, aside: bool) -> dict[str, Any]:
    """What is noted; where nothing is, the work is done first: here, or `aside` in a thread while the page goes out."""
    noted = note.read()
    if noted["state"] == "new":
        note.write(state="running", done=0, total=None, text=_("reading"))
        if aside:
            threading.Thread(target=_in_thread, args=(note, work), daemon=False).start()
        else:
            _do(note, work)
        noted = note.read()
    return noted


def _in_thread(note: Note, work: Work) -> None:
    try:
        _do(note, work)
    finally:
        connections.close_all()


def _do(note: Note, work: Work) -> None:
    noted = 0.0

    def progress(done: int, total: int, text: str) -> None:
        nonlocal noted
        if time.monotonic() - noted >= NOTED_EVERY_SECONDS:
            noted = time.monotonic()
            note.write(state="running", done=done, total=total, text=text)

    try:
        answer = work(progress)
    except Exception:
        log.exception("%s failed", note.key)
        text = _("A fault of the program stopped the work. Nothing was changed; tell whoever runs it.")
        note.write(state="failed", text=text)
    else:
        note.write(state="done", answer=answer)
