"""Units of an assembly among the promises of a job: whether a piece would bring one mark too many. Reads only."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping, Sequence

from kit.models import HOLDING, Item, Job, Reservation, Standing
from kit.planning import Line, Need
from kit.planning.as_slots import as_compared, units_needed, units_of


class Begun:
    """What lies on the lines of a job, by mark; `besides` (ids) are left out. Looks the promises up once, when made."""

    def __init__(self, job: Job, need: Need, besides: Collection[int] = ()) -> None:
        self.job, self.need = job, need
        self._places = {line.name: place for place, line in enumerate(need.lines)}
        self._units = units_of(need.lines)
        self._marks: list[Counter[str]] = [Counter() for _ in need.lines]
        self._written: dict[str, dict[str, str]] = {}
        rows = job.reservations.filter(standing__in=[*HOLDING, Standing.RETURNED])
        rows = rows.exclude(pk__in=list(besides))
        for name, mark, quantity in rows.values_list("line__name", "item__mark", "quantity"):
            self.add(name, mark, quantity)

    def add(self, line_name: str, mark: str, quantity: int = 1) -> None:
        place = self._places.get(line_name)
        if place is None:
            return
        key = as_compared(mark)
        self._marks[place][key] += quantity
        if key:
            self._written.setdefault(self.need.lines[place].assembly, {}).setdefault(key, mark.strip())

    def is_full(self, line: Line) -> bool:
        return self._marks[self._places[line.name]].total() >= line.quantity

    def mixed_by(self, line: Line, item: Item) -> str:
        """Why the item would need a unit more of the line's assembly than there are; empty if it would not."""
        mark = as_compared(item.mark)
        if not line.assembly or not mark:
            return ""
        before = units_needed(self.need, self._marks)[line.assembly]
        on_line = self._marks[self._places[line.name]]
        on_line[mark] += 1
        after = units_needed(self.need, self._marks)[line.assembly]
        on_line[mark] -= 1
        units = self._units[line.assembly]
        if after <= units or after == before:
            return ""
        written = self._written.get(line.assembly, {})
        others = ", ".join(text for key, text in sorted(written.items()) if key != mark)
        made = "its one unit is" if units == 1 else f"its {units} units are"
        return (
            f"{item.tag} is marked {item.mark.strip()} and {line.assembly} of {self.job} is made up of pieces that "
            f"share a mark: {made} begun with {others or item.mark.strip()} already. Take one that is marked so, or "
            "put others in the place of those first."
        )


def unit_reasons(
    job: Job, need: Need, listed: Sequence[Reservation], own: Mapping[int, str]
) -> dict[int, str]:
    """By reservation of the job, why its piece mixes the marks of a unit; those that mix none are left out.

    `own` says what speaks against each piece by itself. What is out or back stays as it is. Of the promised pieces
    and those that could be taken up again, those stay together that were promised first.
    """
    lines = {line.name: line for line in need.lines if line.assembly}
    asked = {
        each.pk: each
        for each in listed
        if each.line.name in lines and each.standing in (Standing.PROMISED, Standing.BROKEN)
    }
    if not asked:
        return {}
    begun = Begun(job, need, besides=asked)
    found: dict[int, str] = {}
    for pk, each in sorted(asked.items(), key=lambda pair: (pair[1].standing == Standing.BROKEN, pair[0])):
        line = lines[each.line.name]
        if mixed := begun.mixed_by(line, each.item):
            found[pk] = mixed
        elif not own.get(pk) and not (each.standing == Standing.BROKEN and begun.is_full(line)):
            begun.add(line.name, each.item.mark, each.quantity)
    return found
