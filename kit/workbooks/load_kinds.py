"""The sheet Kinds: new kinds, or other settings of known ones."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from kit.models import Kind, ShortDate, SizedBy
from kit.stores import Act, set_kind, set_maker_label
from kit.workbooks.cells import RowReader
from kit.workbooks.load_context import Context, KindNames
from kit.workbooks.register_sheet import RegisterSheet

_MOST_DAYS = 3650
_MOST_MARGIN_MM = Decimal(500)
_FLAGS = {
    "counted": "counted",
    "bore": "has_bore",
    "mark": "has_mark",
    "serial": "has_serial",
    "batch": "has_batch",
    "use_by": "has_use_by",
}


@dataclass(slots=True)
class _KindRow:
    row: int
    name: str
    settings: dict[str, Any]
    maker: str
    short_date: str | None


class KindsLoader:
    def __init__(self) -> None:
        self.rows: list[_KindRow] = []

    def read(self, sheet: RegisterSheet, context: Context) -> None:
        seen: dict[tuple[str, str], int] = {}
        in_use = set(Kind.objects.filter(items__isnull=False).values_list("name", flat=True).distinct())
        for reader in context.readers(sheet):
            name = reader.text("kind", required=True, most=60)
            maker = reader.text("maker", most=80)
            settings: dict[str, Any] = {}
            for column, setting in _FLAGS.items():
                value = reader.yes_no(column)
                if value is not None:
                    settings[setting] = value
            short_date = reader.choice("short_date", ["month", "quarter"])
            for column in ("turn_round_days", "margin_days"):
                days = reader.whole_number(column, most=_MOST_DAYS)
                if days is not None:
                    settings[column] = days
            margin_mm = reader.decimal("bore_margin_mm", unit="mm", most=_MOST_MARGIN_MM)
            if margin_mm is not None:
                settings["bore_margin_mm"] = margin_mm
            sized_by = reader.choice("sized_by", SizedBy.values)
            if sized_by is not None:
                settings["sized_by"] = sized_by
            if not name:
                continue
            key = (name.casefold(), maker.casefold())
            if key in seen:
                reader.fault("kind", f"Row {seen[key]} sets this kind already: keep one of the two.")
                continue
            seen[key] = reader.row.number
            if maker and short_date is None and "short_date" not in reader.faulty:
                reader.fault(
                    "maker",
                    "A row with a maker says what its short dates mean: write month or quarter in short_date.",
                )
            known = context.kinds.get(name.casefold())
            if known and known.name in in_use and settings.get("counted", known.counted) != known.counted:
                now = "counted" if known.counted else "single pieces"
                reader.fault(
                    "counted",
                    f"{known.name} has items in the register and they are {now}: that cannot change.",
                )
            self._remember(context, reader, name, maker, settings, short_date)
            self.rows.append(
                _KindRow(reader.row.number, known.name if known else name, settings, maker, short_date)
            )

    @staticmethod
    def _remember(
        context: Context,
        reader: RowReader,
        name: str,
        maker: str,
        settings: dict[str, Any],
        short_date: str | None,
    ) -> None:
        """What rows of the kind are read by. A faulty setting is left open, so that they are not reported on top."""
        kind = context.kinds.setdefault(name.casefold(), KindNames(name))
        kind.counted = None if "counted" in reader.faulty else settings.get("counted", kind.counted)
        if "short_date" in reader.faulty:
            short_date = ShortDate.MONTH  # either reading is a date, and nothing is written of a faulty file
        if short_date and maker:
            kind.maker_labels[maker.casefold()] = short_date
        elif short_date:
            kind.short_date = short_date

    def apply(self, act: Act, context: Context) -> None:
        for row in self.rows:
            before = Kind.objects.filter(name=row.name).first()
            number = act.head[0]
            settings = dict(row.settings)
            if row.short_date and not row.maker:
                settings["short_date"] = row.short_date
            kind = set_kind(act, row.name, **settings)
            if row.maker and row.short_date:
                set_maker_label(act, kind, row.maker, ShortDate(row.short_date))
            moved = act.head[0] != number
            context.note(
                "Kinds", row.row, row.name, "new" if before is None else "changed" if moved else "unchanged"
            )
