"""Which depots a register file touches: those that it names, and those where its items and jobs are now."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from kit.models import Depot, Item, Job
from kit.workbooks.cell_text import shown, tidy
from kit.workbooks.reading import open_register

_TAGS = ("tag", "gauge")


def depots_touched(path: Path, name: str) -> set[str]:
    """Codes of depots of the register that loading the file would write to; new depots are not among them.

    Raises RegisterFileError for a file that cannot be read.
    """
    codes: set[str] = set()
    tags: set[str] = set()
    references: set[str] = set()
    for sheet in open_register(path, name).sheets.values():
        for row in sheet.rows():
            codes |= _texts(row.values, ["depot", "from", "to"])
            tags |= _texts(row.values, _TAGS)
            references |= _texts(row.values, ["reference"])
    touched = {code for code in Depot.objects.values_list("code", flat=True) if code.casefold() in codes}
    # Tags and references are looked up in any case: too much here only asks for one more depot's say.
    touched |= _of(Item.objects.values_list("tag", "depot__code"), tags)
    touched |= _of(Job.objects.values_list("reference", "depot__code"), references)
    return touched


def _texts(values: dict[str, object], columns: Iterable[str]) -> set[str]:
    return {tidy(shown(values[column])).casefold() for column in columns if values.get(column) is not None}


def _of(rows: Iterable[tuple[str, str]], names: set[str]) -> set[str]:
    if not names:
        return set()
    return {code for name, code in rows if name.casefold() in names}
