"""What rows of a bench sheet name: an item of the register or of the same workbook, and a check of its kind."""

from __future__ import annotations

from datetime import date

from inspections.models import Check
from kit.workbooks.cells import RowReader
from kit.workbooks.load_context import Context


class RowNames:
    """Reads names; a name that leans on a faulty row of another sheet is left without a fault of its own."""

    def __init__(self, context: Context) -> None:
        self._context = context
        self._by_folded: dict[str, str] = {}
        # As they will be in force: those of the sheet Checks for the kinds that it names.
        self.checks: dict[str, dict[str, str]] = {}
        for kind, check in Check.objects.in_force().values_list("kind__name", "name"):
            self.checks.setdefault(kind, {})[check.casefold()] = check
        self.checks.update(context.checks_of_kinds)

    def is_known(self, reader: RowReader, tag: str, column: str = "tag") -> bool:
        """Whether there is such an item; adds the fault if there surely is none."""
        if not tag:
            return False
        if tag in self._context.kind_of_tag:
            return True
        if "Items" not in self._context.unclear:
            why = f"There is no item {tag} in the register or in the sheet Items.{self.meant(tag)}"
            reader.fault(column, why)
        return False

    def check(self, reader: RowReader, tag: str, name: str) -> str | None:
        """The check of a known item as it is spelt; None with a fault, or where it cannot be told."""
        context = self._context
        kind = context.kind_of_tag.get(tag)
        if not name or kind is None or kind in context.kinds_of_unclear_checks:
            return None
        known = self.checks.get(kind, {})
        if name.casefold() in known:
            return known[name.casefold()]
        if "Checks" in context.unclear or name.casefold() in context.checks_of_unclear_kinds:
            return None
        hint = context.meant("check", name, known.values())
        has = (
            f" Its checks: {', '.join(sorted(known.values()))}."
            if known
            else " It has no checks: name them in the sheet Checks."
        )
        reader.fault("check", f"{tag} is a {kind}, which has no check {name}.{hint or has}")
        return None

    def day_done(self, reader: RowReader) -> date | None:
        """The day in done_on, which cannot be to come."""
        today = self._context.today
        done = reader.printed_date("done_on", today=today, want="day", required=True)
        if done and done.day > today:
            reader.fault(
                "done_on",
                f"This day is in the future (today is {today}): write the day on which it was done.",
            )
        return done.day if done else None

    def meant(self, tag: str) -> str:
        """' Did you mean X?', or nothing; the same tag in other letters comes first."""
        if not self._by_folded:
            self._by_folded.update((known.casefold(), known) for known in self._context.kind_of_tag)
        same = self._by_folded.get(tag.casefold())
        return (
            f" Did you mean {same}?" if same else self._context.meant("tag", tag, self._context.kind_of_tag)
        )
