"""Entries of the ledger as they are written out; on screen they stand as a timeline."""

from __future__ import annotations

from datetime import date
from typing import Any

import django_tables2 as tables
from django.utils import timezone
from django.utils.translation import gettext_lazy

from kit.tables.columns import Written


class LedgerTable(tables.Table):
    """Of entries told in words (see kit.views.story): each a mapping."""

    row_heading = "number"
    caption = gettext_lazy("Ledger")
    written = {
        "number": Written(lambda entry, _day: entry["number"], "integer"),
        "at": Written(lambda entry, _day: timezone.localtime(entry["at"]), "date", 17),
        "recorded_at": Written(lambda entry, _day: timezone.localtime(entry["recorded_at"]), "date", 17),
        "action": Written(lambda entry, _day: entry["action"], width=24),
        "text": Written(lambda entry, _day: entry["text"], width=70),
        "actor": Written(lambda entry, _day: entry["actor"], width=18),
        "source": Written(lambda entry, _day: entry["source"], width=22),
        "corrects": Written(lambda entry, _day: entry["corrects"] or "", width=14),
        "corrected_by": Written(lambda entry, _day: entry["corrected_by"] or "", width=14),
    }

    number = tables.Column(verbose_name=gettext_lazy("Entry"))
    at = tables.Column(verbose_name=gettext_lazy("Happened"))
    recorded_at = tables.Column(verbose_name=gettext_lazy("Recorded"))
    action = tables.Column(verbose_name=gettext_lazy("What was done"))
    text = tables.Column(verbose_name=gettext_lazy("What is told of it"))
    actor = tables.Column(verbose_name=gettext_lazy("By whom"))
    source = tables.Column(verbose_name=gettext_lazy("From where"))
    corrects = tables.Column(verbose_name=gettext_lazy("Corrects"))
    corrected_by = tables.Column(verbose_name=gettext_lazy("Corrected by"))

    class Meta:
        orderable = False

    def __init__(self, *args: Any, today: date, **more: Any) -> None:
        self.today = today
        super().__init__(*args, **more)
