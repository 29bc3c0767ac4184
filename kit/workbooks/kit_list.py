"""A kit list as a spreadsheet: what is chosen, short, refused (with every reason) or would also do."""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping

from django.utils.translation import gettext_noop as _

from kit.planning import KitList
from kit.workbooks.writing import Column, write_table_workbook

COLUMNS = (
    Column(_("what"), width=10, said=True),
    Column(_("line"), width=24, said=True),
    Column(_("kind"), width=16, said=True),
    Column(_("tag or lot"), width=20),
    Column(_("quantity"), "integer", 10),
    Column(_("reason"), width=24),
    Column(_("date"), "date", 14),
    Column(_("text"), width=64, said=True),
)

Row = tuple[object, ...]


def kit_list_workbook(kit: KitList, said: Mapping[str, str] | None = None) -> bytes:
    """The kit list as .xlsx: a row a piece or lot chosen, line short, reason of a refusal, piece also fit.

    `said` tells in words, by tag, under which concession a piece goes out and what it goes with. The date is that of
    the reason, or of the soonest day on which a short line would be full.
    """
    need = kit.need
    facts: dict[str, object] = {
        _("job"): need.job,
        _("depot"): need.depot,
        _("load on"): need.load_on,
        _("return on"): need.return_on,
        _("bore in mm"): _("not known") if need.bore_mm is None else need.bore_mm,
        _("base mark"): need.base_mark or _("none given"),
        _("as of"): kit.as_of,
        _("stands"): _("complete") if kit.complete else _("short"),
        _("note"): _("What meets its recorded requirements. The network operator's procedure decides."),
    }
    summary = [
        (_("pieces chosen"), sum(len(line.tags) for line in kit.lines)),
        (_("quantity of lots chosen"), sum(quantity for line in kit.lines for _, quantity in line.lots)),
        (_("short"), sum(line.short for line in kit.lines)),
        (_("refused for a line"), len(kit.refused)),
        (_("also fit"), len(kit.also_fit)),
    ]
    file = io.BytesIO()
    write_table_workbook(
        file, f"Kit list {need.job}", COLUMNS, _rows(kit, said or {}), facts, summary, for_people=True
    )
    return file.getvalue()


def _rows(kit: KitList, said: Mapping[str, str]) -> Iterator[Row]:
    kinds = {line.name: line.kind for line in kit.need.lines}
    for each in kit.lines:
        line = each.line
        for tag in each.tags:
            yield _("chosen"), line.name, line.kind, tag, 1, "", None, said.get(tag, "")
        for lot, quantity in each.lots:
            yield _("chosen"), line.name, line.kind, lot, quantity, "", None, ""
        if each.short:
            yield _("short"), line.name, line.kind, "", each.short, "", each.soonest, each.remedy
    for refused in kit.refused:
        for reason in refused.reasons:
            kind = kinds[refused.line]
            yield _("refused"), refused.line, kind, refused.tag, None, reason.code, reason.date, reason.text
    for also in kit.also_fit:
        yield _("also fit"), also.line, kinds[also.line], also.tag, None, "", None, said.get(also.tag, "")
