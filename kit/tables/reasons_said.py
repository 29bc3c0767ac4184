"""Why a piece is fit until a day, as the register keeps it (Item.fit_reason), in the language of the page.

Such a reason is a check and a day with one word between them. As a pattern among all sentences "due" would be found in
what people write ("leaks due to wear"), so it is read here, where nobody but the program writes.
"""

from __future__ import annotations

import re
from datetime import date

from django.utils.translation import gettext as _

from kit.sentences import said
from kit.tables.marks import short_day

_DAY = r"(\d{4}-\d{2}-\d{2})"
_DUE = re.compile(rf"(.+) due {_DAY}(?:, conceded from {_DAY})?")
_FAILED = re.compile(rf"(.+) failed on {_DAY}")


def reason_said(reason: str) -> str:
    """The reason with its check and its day as the page writes them; what is worded otherwise as a sentence."""
    if found := _DUE.fullmatch(reason):
        check, day, conceded = found.groups()
        words = _("%(check)s due %(day)s") % {"check": said(check), "day": _shown(day)}
        if conceded is None:
            return words
        return _("%(due)s, conceded from %(day)s") % {"due": words, "day": _shown(conceded)}
    if found := _FAILED.fullmatch(reason):
        return _("%(check)s failed on %(day)s") % {"check": said(found[1]), "day": _shown(found[2])}
    return str(said(reason))


def _shown(day: str) -> str:
    return short_day(date.fromisoformat(day))
