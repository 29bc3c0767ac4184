"""Columns that several tables share."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Literal

import django_tables2 as tables

from kit.sentences import said
from kit.tables.marks import Mark
from kit.tables.reasons_said import reason_said

NUMBER = {"td": {"class": "num"}, "th": {"class": "num"}}
WIDE_ONLY = {"td": {"class": "wide-only"}, "th": {"class": "wide-only"}}


@dataclass(frozen=True, slots=True)
class Written:
    """How a column is written out: `of` gives its value for a record and the day of the table, in its own type."""

    of: Callable[[Any, Any], object]
    kind: Literal["text", "date", "integer", "decimal"] = "text"
    width: float = 0


class NameColumn(tables.Column):
    """A name of a kind, a check or an arrangement, or a sentence of the program, in the language of the page."""

    def render(self, value: Any) -> str:
        return str(said(str(value)))


class ReasonColumn(tables.Column):
    """A reason as it is stored, its days as the reader writes them."""

    def render(self, value: Any) -> str:
        return reason_said(str(value))


class MarkColumn(tables.TemplateColumn):
    """A state as a mark. `of` gives it for a record and the day; the table carries the day as `today`. `besides`
    gives further marks that stand under it.
    """

    template_code = (
        '{% include "components/mark.html" with state=mark.state more=mark.more word=mark.word only %}'
        "{% for one in besides %}<br>"
        '{% include "components/mark.html" with state=one.state more=one.more word=one.word only %}{% endfor %}'
    )

    def __init__(
        self, of: Callable[..., Mark], besides: Callable[..., list[Mark]] | None = None, **more: Any
    ) -> None:
        self.of = of
        self.besides = besides
        super().__init__(**{"accessor": "pk", **more})

    def get_context_data(self, *, record: Any, table: Any, **more: Any) -> dict[str, Any]:
        context: dict[str, Any] = super().get_context_data(record=record, table=table, **more)
        besides = self.besides(record, table.today) if self.besides else []
        return {**context, "mark": self.of(record, table.today), "besides": besides}
