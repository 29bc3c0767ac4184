"""Columns that several tables share."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import django_tables2 as tables

from kit.tables.marks import Mark

NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}
WIDE_ONLY = {"td": {"class": "wide-only"}, "th": {"class": "wide-only"}}


class MarkColumn(tables.TemplateColumn):
    """A state as a mark. `of` gives it for a record and the day; the table carries the day as `today`."""

    template_code = (
        '{% include "components/mark.html" with state=mark.state more=mark.more word=mark.word only %}'
    )

    def __init__(self, of: Callable[..., Mark], **more: Any) -> None:
        self.of = of
        super().__init__(**{"accessor": "pk", **more})

    def get_context_data(self, *, record: Any, table: Any, **more: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(record=record, table=table, **more)
        return {**context, "mark": self.of(record, table.today)}
