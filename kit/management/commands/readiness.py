"""How many stops of an arrangement can be mounted at once, day by day."""

from __future__ import annotations

from argparse import ArgumentTypeError
from decimal import Decimal, InvalidOperation
from typing import Any

from django.core.management.base import CommandParser
from django.utils import timezone

from kit.management.base import TradeCommand, day
from kit.models import Arrangement, Depot
from kit.planning.mains import Main
from kit.planning.readiness import Day
from kit.stores.readiness import MOST_DAYS, Question
from kit.workbooks.sheets import nearest_name

_MOST_BORE_MM = 10_000


def bore(text: str) -> Decimal:
    """A bore in mm."""
    try:
        found = Decimal(text)
    except InvalidOperation:
        found = Decimal("NaN")
    if not found.is_finite() or not 0 < found < _MOST_BORE_MM:
        raise ArgumentTypeError(
            f"{text!r} is not a bore: write it in mm, more than 0 and less than {_MOST_BORE_MM}, for example 165.2"
        )
    return found


def day_count(text: str) -> int:
    """How many days, at least one."""
    if not (text.isascii() and text.isdigit()) or not 1 <= int(text) <= MOST_DAYS:
        raise ArgumentTypeError(
            f"{text!r} is not a number of days: write a whole number from 1 to {MOST_DAYS}"
        )
    return int(text)


class Command(TradeCommand):
    help = (
        "How many stops of an arrangement could be mounted at once on each day, with what is fit then and not "
        "promised on it, and which kinds limit them."
    )

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument(
            "--arrangement", required=True, metavar="NAME", help="its version in force counts"
        )
        parser.add_argument("--bore", "--bore-mm", dest="bore_mm", required=True, type=bore, metavar="MM")
        parser.add_argument(
            "--outside",
            dest="outside_mm",
            type=bore,
            metavar="MM",
            help="outside diameter of the main, for kinds that are sized by it",
        )
        parser.add_argument("--from", dest="first", required=True, type=day, metavar="DATE")
        parser.add_argument("--days", required=True, type=day_count, metavar="N")
        parser.add_argument(
            "--depot", metavar="CODE", help="stops of this depot alone (default: of all, added up)"
        )
        self.add_output(parser, "text", "json")

    def run(self, **options: Any) -> int:
        arrangement, depots = self._arrangement(options["arrangement"]), self._depots(options["depot"])
        first, bore_mm = options["first"], options["bore_mm"]
        if first < timezone.localdate():
            self.say(f"{first} is past: its days are judged with what is known today.")
        try:
            main = Main(bore_mm, options["outside_mm"])
            asked = Question(arrangement, main, first, options["days"], depots)
            if asked.unsized:
                self.say(
                    f"Sized by the outside diameter of the main: {', '.join(asked.unsized)}. None of them counts as "
                    "suiting, as no outside diameter is given; add --outside MM."
                )
            found = asked.known().answer()
        except OverflowError as error:
            raise self.refuse(f"{first} and {options['days']} days lead beyond the calendar.") from error
        if options["format"] == "json":
            self.emit_json(as_json(arrangement.name, bore_mm, found), options["output"])
        else:
            self.emit(as_text(arrangement, bore_mm, options["depot"], found), options["output"])
        return 0

    def _arrangement(self, name: str) -> Arrangement:
        current = Arrangement.objects.filter(current=True)
        found = current.filter(name=name).first()
        if found is None:
            near = nearest_name(name, current.values_list("name", flat=True))
            hint = f" Did you mean {near}?" if near else ""
            raise self.refuse(f"There is no arrangement {name} in the register.{hint}")
        if not found.lines.exists():
            raise self.refuse(f"The arrangement {name} has no lines, so there is nothing to count by.")
        return found

    def _depots(self, code: str | None) -> list[Depot] | None:
        if code is None:
            return None
        found = list(Depot.objects.filter(code=code))
        if not found:
            near = nearest_name(code, Depot.objects.values_list("code", flat=True))
            hint = f" Did you mean {near}?" if near else ""
            raise self.refuse(f"There is no depot {code} in the register.{hint}")
        return found


def as_json(arrangement: str, bore_mm: Decimal, found: list[Day]) -> dict[str, Any]:
    """As the contract has it; `at_most` on days on which sets might be put together to more stops than was counted."""
    return {
        "arrangement": arrangement,
        "bore_mm": float(bore_mm),
        "days": [
            {"date": each.day.isoformat(), "stops": each.stops, "limited_by": list(each.limited_by)}
            | ({"at_most": each.at_most} if each.sets_add else {})
            for each in found
        ],
    }


def as_text(arrangement: Arrangement, bore_mm: Decimal, depot: str | None, found: list[Day]) -> str:
    """A line a day for a terminal."""
    where = f"at {depot}" if depot else "at all depots"
    out = [f"Stops of {arrangement} in a bore of {bore_mm} mm {where}:"]
    for each in found:
        stops = "1 stop" if each.stops == 1 else f"{each.stops} stops"
        by = ", ".join(each.limited_by)
        if each.sets_add:
            by += f" (with sets put together otherwise {each.at_most} at most)"
        out.append(
            f"  {each.day:%a} {each.day}  {stops:>8}  {'short of' if not each.stops else 'limited by'} {by}"
        )
    return "\n".join(out) + "\n"
