"""What a digest is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to see to. `tag` and `job` may be empty, `when` None; `path` leads to its page."""

    tag: str
    what: str
    when: date | None
    job: str
    path: str


@dataclass(frozen=True, slots=True)
class Section:
    """Lines of one sort. `said` counts them for the subject of a mail, `path` leads to the whole list."""

    key: str
    title: str
    said: str
    lines: tuple[Line, ...]
    path: str
