"""Every computed verdict with its figures, computed anew; exit 1 if one differs from what is stored."""

from __future__ import annotations

from typing import Any

from django.core.management.base import CommandParser

from inspections.verdicts import ComputedAnew, verdicts_anew
from kit.management.base import TradeCommand
from kit.models import Item
from kit.workbooks.sheets import nearest_name


class Command(TradeCommand):
    help = (
        "Hold tests, calibrations and forms judged anew from their readings, under the rule that judged them; "
        "exit 1 if a verdict or figure differs from what is stored."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--tag", metavar="TAG", help="only this item")
        parser.add_argument("--format", choices=["text", "json"], default="text")

    def run(self, **options: Any) -> int:
        item = None if options["tag"] is None else self._item(options["tag"])
        found = verdicts_anew(item)
        if options["format"] == "json":
            self.emit_json({"verdicts": [each.as_dict() for each in found]})
        else:
            self.emit(as_text(found), None)
        differing = [each for each in found if each.differences]
        for each in differing:
            self.say(f"{each.tag}, {each.check} of {each.done_on}: {'; '.join(each.differences)}")
        return 1 if differing else 0

    def _item(self, tag: str) -> Item:
        item = Item.objects.filter(tag=tag).first()
        if item is None:
            near = nearest_name(tag, Item.objects.values_list("tag", flat=True))
            hint = f" Did you mean {near}?" if near else ""
            raise self.refuse(f"There is no item {tag} in the register.{hint}")
        return item


def as_text(found: list[ComputedAnew]) -> str:
    """One line a record, for a terminal, and at last how many differ."""
    lines = [f"Verdicts computed anew: {len(found)}"]
    for each in found:
        said = each.anew.verdict if each.anew else "not computed"
        if each.anew and each.anew.as_left:
            said += f", as left {each.anew.as_left}"
        mark = "DIFFERS  " if each.differences else ""
        why = each.anew.why if each.anew else each.fault
        lines.append(f"  {each.tag:<20} {each.check:<28} {each.done_on}  {mark}{said}: {why}")
    differing = sum(bool(each.differences) for each in found)
    lines.append(f"Differing from what is stored: {differing}")
    return "\n".join(lines) + "\n"
