"""Arrangements as a table."""

from __future__ import annotations

import django_tables2 as tables
from django.utils.translation import gettext_lazy
from django_tables2.utils import A

from kit.sentences import said
from kit.tables.columns import NUMBER, NameColumn


class ArrangementTable(tables.Table):
    row_heading = "name"
    caption = gettext_lazy("Arrangements")

    name = NameColumn(verbose_name=gettext_lazy("Arrangement"), linkify=("arrangement", {"number": A("pk")}))
    version = tables.Column(verbose_name=gettext_lazy("Version"), attrs=NUMBER)
    pieces = tables.Column(verbose_name=gettext_lazy("Pieces"), attrs=NUMBER)
    open_jobs = tables.Column(verbose_name=gettext_lazy("Open jobs by it"), attrs=NUMBER)
    source = NameColumn(
        verbose_name=gettext_lazy("Where it comes from"), default=gettext_lazy("not recorded")
    )

    def render_source(self, value: str) -> str:
        return str(said(value))

    empty_hint = gettext_lazy(
        "An arrangement is the list of what a flow stop needs. A planner sets one up here, or the "
        "sheet Arrangements brings it."
    )
    empty_word = "arrangement"

    class Meta:
        empty_text = gettext_lazy("No arrangement is recorded.")
        order_by = "name"
