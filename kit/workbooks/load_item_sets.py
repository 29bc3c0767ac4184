"""The column `set` of the sheet Items: which pieces make up a set once the file is loaded, and what speaks against it.

A blank cell says that the piece is of no set; a sheet without the column changes no set.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from django.db.models import QuerySet

from kit.models import Item, State
from kit.stores import Act, bind_set, chunked, unbind_set
from kit.workbooks.cells import RowReader
from kit.workbooks.item_rows import ItemRow
from kit.workbooks.load_context import Context

SHEET = "Items"
COLUMN = "set"
_OUT_OF_USE = (State.WITHDRAWN, State.LOST)


@dataclass(frozen=True, slots=True)
class _Stand:
    """Where a piece stands and of which set it is, in the register or once the file is loaded."""

    depot: str
    name: str
    state: str


class SetCheck:
    """Adds a fault for each row whose set cannot be. `unclear`: names of sets that faulty rows give, folded."""

    def __init__(
        self,
        rows: Sequence[ItemRow],
        readers: dict[int, RowReader],
        unclear: Collection[str],
        context: Context,
    ) -> None:
        self.rows = rows
        self.readers = readers
        self.unclear = frozenset(unclear)
        self.context = context
        self.before: dict[str, _Stand] = {}
        self._know(Item.objects.exclude(set_name="").order_by("tag"))

    def _know(self, items: QuerySet[Item]) -> None:
        for tag, depot, name, state in items.values_list("tag", "depot__code", "set_name", "state"):
            self.before[tag] = _Stand(depot, name, state)

    def sound_rows(self) -> list[ItemRow]:
        """The rows that nothing speaks against, each with its set spelt as the set is called."""
        told = [row for row in self.rows if row.set_name or row.tag in self.before]
        if not told:
            return list(self.rows)
        for chunk in chunked([row.tag for row in told if row.tag not in self.before]):
            self._know(Item.objects.filter(tag__in=chunk))
        self._spell_alike(told)
        after = dict(self.before)
        for row in told:
            known = self.before.get(row.tag)
            name = row.set_name if row.set_name is not None else known.name if known else ""
            after[row.tag] = _Stand(row.depot, name, row.state or (known.state if known else ""))
        members: dict[tuple[str, str], list[str]] = defaultdict(list)
        for tag, stand in after.items():
            if stand.name:
                members[stand.depot, stand.name].append(tag)
        refused = {row.row for row in told if not self._stands(row, after, members)}
        return [row for row in self.rows if row.row not in refused]

    def _spell_alike(self, rows: Sequence[ItemRow]) -> None:
        spelt = {
            (stand.depot, stand.name.casefold()): stand.name for stand in self.before.values() if stand.name
        }
        for row in rows:
            if row.set_name:
                row.set_name = spelt.setdefault((row.depot, row.set_name.casefold()), row.set_name)

    def _stands(
        self, row: ItemRow, after: dict[str, _Stand], members: dict[tuple[str, str], list[str]]
    ) -> bool:
        known, now = self.before.get(row.tag), after[row.tag]
        if known and (known.depot, known.name) == (now.depot, now.name):
            return True
        if known and known.name and known.depot != now.depot and now.name == known.name:
            left = [
                tag
                for tag, stand in after.items()
                if tag in self.before
                and (self.before[tag].depot, self.before[tag].name) == (known.depot, known.name)
                and (stand.depot, stand.name) == (known.depot, known.name)
                and stand.state not in _OUT_OF_USE
            ]
            if left:
                self.readers[row.row].fault(
                    "depot",
                    f"{row.tag} is of the set {known.name}, which goes to {now.depot} together or stays at "
                    f"{known.depot}: move {', '.join(left)} as well, or take the set apart first.",
                )
                return False
        if row.set_name is None or not now.name:
            return True
        why = self._against(row, now, members[now.depot, now.name])
        if why:
            self.readers[row.row].fault(COLUMN, why)
        return not why

    def _against(self, row: ItemRow, now: _Stand, members: Sequence[str]) -> str:
        kind = self.context.kinds[row.kind.casefold()]
        if kind.counted:
            return f"A {row.kind} is counted in lots, and only single pieces make up a set: leave the cell empty."
        if now.state in _OUT_OF_USE:
            return f"{row.tag} is {now.state}, and a set is made up of pieces in use: leave the cell empty."
        if len(members) == 1 and now.name.casefold() not in self.unclear:
            return (
                f"{row.tag} would be the only piece of the set {now.name} at {now.depot}, and a set holds two pieces "
                "of one depot or more: give the others the same name, or leave the cell empty."
            )
        return ""


def sets_differ(row: ItemRow, item: Item) -> bool:
    """Whether the row puts the item into another set, or into none."""
    return row.set_name is not None and row.set_name != item.set_name


def write_sets(act: Act, context: Context, rows: Sequence[ItemRow]) -> None:
    """Take apart and make up the sets that the rows change; what the store refuses is a fault of a row of the set."""
    wanted = {row.tag: row for row in rows if row.set_name is not None}
    items: dict[str, Item] = {}
    for chunk in chunked(sorted(wanted)):
        items.update((item.tag, item) for item in Item.objects.filter(tag__in=chunk).select_related("depot"))
    moved = [item for tag, item in items.items() if sets_differ(wanted[tag], item)]
    leaving: dict[tuple[int, str], list[Item]] = defaultdict(list)
    for item in moved:
        if item.set_name:
            leaving[item.depot_id, item.set_name].append(item)
    why = f"the register loaded ({context.file_name})"
    for pieces in leaving.values():
        with context.writing(
            SHEET, wanted[pieces[0].tag].row, COLUMN, wanted[pieces[0].tag].set_name or None
        ):
            unbind_set(act, pieces, why)
    joining: dict[tuple[int, str], list[Item]] = defaultdict(list)
    for item in moved:
        if name := wanted[item.tag].set_name:
            joining[item.depot_id, name].append(item)
    for (depot, name), pieces in joining.items():
        tags = {tag for tag, row in wanted.items() if row.set_name == name and items[tag].depot_id == depot}
        there = Item.objects.filter(depot=depot, set_name=name).exclude(tag__in=tags)
        with context.writing(SHEET, wanted[pieces[0].tag].row, COLUMN, name):
            bind_set(act, name, [*(items[tag] for tag in sorted(tags)), *there], why)
