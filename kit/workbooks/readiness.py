"""Readiness as a spreadsheet: a row a day."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext
from django.utils.translation import gettext_noop as _

from kit.planning.readiness import Day
from kit.workbooks.writing import Column, write_table_workbook


def readiness_workbook(days: Sequence[Day], facts: Mapping[str, Any]) -> bytes:
    """The days as .xlsx, with the stops of each depot where there is more than one. `facts` say what was asked."""
    depots = [depot for depot, _stops in days[0].by_depot] if days else []
    named = depots if len(depots) > 1 else []
    columns = (
        Column(_("date"), "date"),
        Column(_("stops"), "integer"),
        Column(_("at most"), "integer"),
        *(Column(gettext("at %(depot)s") % {"depot": depot}, "integer", 12) for depot in named),
        Column(_("limited by"), width=48, said=True),
    )
    rows = (
        (
            day.day,
            day.stops,
            day.at_most,
            *(stops for _depot, stops in day.by_depot if named),
            ", ".join(day.limited_by),
        )
        for day in days
    )
    summary = [
        (_("days"), len(days)),
        (_("most stops on a day"), max((day.stops for day in days), default=0)),
        (_("fewest stops on a day"), min((day.stops for day in days), default=0)),
        (_("days without a stop"), sum(1 for day in days if not day.stops)),
    ]
    file = io.BytesIO()
    write_table_workbook(file, _("Readiness"), columns, rows, facts, summary, for_people=True)
    return file.getvalue()
