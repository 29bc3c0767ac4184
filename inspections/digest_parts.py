"""What a digest is made of."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to see to. `tag` and `job` may be empty, `when` None; `path` leads to its page."""

    tag: str
    what: str
    when: date | None
    job: str
    path: str

    @property
    def about(self) -> str:
        """What it is about in a word or two: the tag, the job, or the tag for the job."""
        if self.tag and self.job:
            return _("%(tag)s for %(job)s") % {"tag": self.tag, "job": self.job}
        return self.tag or self.job


@dataclass(frozen=True, slots=True)
class Section:
    """Lines of one sort. `said` counts them for the subject of a mail, `path` leads to the whole list."""

    key: str
    title: str
    said: str
    lines: tuple[Line, ...]
    path: str
