"""What a gauge found out of tolerance puts in doubt: as text or JSON."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from django.core.management.base import CommandParser

from inspections.look_back import InDoubt, LookBack, look_back
from kit.management.base import TradeCommand
from kit.models import Item
from kit.workbooks.sheets import nearest_name


class Command(TradeCommand):
    help = (
        "Records made with GAUGE since its last good calibration, up to the latest that failed: each judged again "
        "with the gauge's error taken off, and the jobs that relied on them."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("gauge", metavar="GAUGE", help="tag of the gauge")
        self.add_output(parser, "text", "json")

    def run(self, **options: Any) -> int:
        found = look_back(self._gauge(options["gauge"]))
        if options["format"] == "json":
            if found.calibration is None:
                self.say(as_text(found).strip())
            self.emit_json(found.as_dict(), options["output"])
        elif found.calibration is None and not options["output"]:
            self.say(as_text(found).strip())
        else:
            self.emit(as_text(found), options["output"])
        return 0

    def _gauge(self, tag: str) -> Item:
        gauge = Item.objects.filter(tag=tag).first()
        if gauge is None:
            near = nearest_name(tag, Item.objects.values_list("tag", flat=True))
            hint = f" Did you mean {near}?" if near else ""
            raise self.refuse(f"There is no item {tag} in the register.{hint}")
        return gauge


def as_text(found: LookBack) -> str:
    """The look-back for a terminal: what is in doubt, and above all which verdicts flip."""
    if found.calibration is None or found.until is None:
        return f"No calibration of {found.gauge.tag} failed as found: it puts nothing in doubt.\n"
    since = f"after {found.after}, its last good calibration," if found.after else "from the first"
    lines = [
        f"Gauge {found.gauge.tag} failed its calibration of {found.until}."
        + (f" {found.calibration.why}" if found.calibration.why else ""),
        f"In doubt is what was tested with it {since} up to and with {found.until}: "
        f"{_counted(len(found.records), 'record')}.",
    ]
    flipped = found.flipped
    open_ones = [one for one in found.records if not one.rejudged]
    lines += [f"Verdicts that flip: {len(flipped)}", *_listed(flipped)]
    lines += [f"To be repeated, cannot be computed: {len(open_ones)}", *_listed(open_ones)]
    stand = [one for one in found.records if one.rejudged and not one.flips]
    lines += [f"The same verdict with the error taken off: {len(stand)}", *_listed(stand)]
    lines.append(f"Jobs affected: {', '.join(found.jobs) or 'none'}")
    return "\n".join(lines) + "\n"


def _counted(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def _listed(records: Iterable[InDoubt]) -> list[str]:
    return [
        f"  {one.record.item.tag:<20} {one.record.check_done.name:<28} {one.record.done_on}  {one.record.verdict}"
        + (f" -> {one.rejudged.upper()}: {one.why}" if one.flips else "")
        for one in records
    ]
