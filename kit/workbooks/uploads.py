"""Register files handed in through the browser, kept until they are loaded or given up.

A file lies in a folder named by its person and its own SHA-256, beside a note of how far the work on it is. Any
worker of the server finds both, so the one that shows the progress need not be the one that does the work.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
import time
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

ENDINGS: Final = (".xlsx", ".ods", ".csv")
KEPT_HOURS: Final = 24
STOPPED_AFTER_SECONDS: Final = 600
"""Work that has not noted anything for so long has stopped: its server was restarted."""

_SHA256: Final = re.compile(r"[0-9a-f]{64}")
_NOTE: Final = "work.json"


@dataclass(frozen=True, slots=True)
class Upload:
    """One file in its folder. `name` is what the person's own machine calls it."""

    folder: Path
    name: str

    @property
    def sha256(self) -> str:
        return self.folder.name

    @property
    def path(self) -> Path:
        return self.folder / f"register{Path(self.name).suffix.lower()}"

    @property
    def size(self) -> int:
        """Bytes; 0 if the file is gone."""
        return self.path.stat().st_size if self.path.exists() else 0

    def intact(self) -> bool:
        """Whether the file is there and is the very one that was handed in."""
        if not self.path.exists():
            return False
        with self.path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest() == self.sha256

    def note(self, **work: Any) -> None:
        """Write down how far the work is, whole or not at all."""
        whole = {"name": self.name, "at": time.time(), **work}
        part = self.folder / f".{_NOTE}.{os.getpid()}.{time.monotonic_ns()}"
        part.write_text(json.dumps(whole, ensure_ascii=False), encoding="utf-8")
        os.replace(part, self.folder / _NOTE)

    def work(self) -> dict[str, Any]:
        """How far the work is: at least `state`, one of new, running, done, failed, stopped."""
        try:
            noted: dict[str, Any] = json.loads((self.folder / _NOTE).read_text(encoding="utf-8"))
        except (FileNotFoundError, json.JSONDecodeError):
            return {"state": "new"}
        if noted.get("state") == "running" and time.time() - noted["at"] > STOPPED_AFTER_SECONDS:
            noted["state"] = "stopped"
        return noted

    def forget_file(self) -> None:
        """Delete the file and keep the note of what became of it."""
        self.path.unlink(missing_ok=True)

    def discard(self) -> None:
        """Delete everything of it."""
        shutil.rmtree(self.folder, ignore_errors=True)


def keep(home: Path, name: str, chunks: Iterable[bytes]) -> Upload:
    """Keep a file under `home`, a folder of one person; older ones there that nobody went on with are deleted.

    If work on the very same file is running, that upload is given, and its work goes on.
    """
    purge(home)
    home.mkdir(parents=True, exist_ok=True, mode=0o700)
    part = home / f".part.{os.getpid()}.{time.monotonic_ns()}"
    digest = hashlib.sha256()
    try:
        with part.open("wb") as file:
            for chunk in chunks:
                digest.update(chunk)
                file.write(chunk)
        upload = Upload(home / digest.hexdigest(), name)
        if upload.work()["state"] == "running":
            return find(home, upload.sha256) or upload
        upload.discard()
        upload.folder.mkdir(mode=0o700)
        os.replace(part, upload.path)
    finally:
        part.unlink(missing_ok=True)
    upload.note(state="new")
    return upload


def find(home: Path, sha256: str) -> Upload | None:
    """The upload of this SHA-256 of that person, if it is kept."""
    if not _SHA256.fullmatch(sha256):
        return None
    folder = home / sha256
    try:
        name = json.loads((folder / _NOTE).read_text(encoding="utf-8"))["name"]
    except (FileNotFoundError, NotADirectoryError, json.JSONDecodeError, KeyError):
        return None
    return Upload(folder, name)


def purge(home: Path) -> None:
    """Delete what has lain there for more than a day."""
    if not home.is_dir():
        return
    oldest = time.time() - KEPT_HOURS * 3600
    for folder in home.iterdir():
        if folder.is_dir() and folder.stat().st_mtime < oldest:
            shutil.rmtree(folder, ignore_errors=True)
