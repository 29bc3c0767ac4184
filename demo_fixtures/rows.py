"""The rows of a register workbook, and the factories that make them in the depots' usual ways."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field, fields
from datetime import date
from typing import Any

import factory
import factory.random
from factory.fuzzy import FuzzyChoice

from demo_fixtures.dates import Cell, Style, in_days, in_months, last_day_of, written
from demo_fixtures.depots import BENCH, CODE, LETTER, MAKERS, PRINTS, SENT_AWAY, TEST_HOUSE, TYPES, place_of

SHELF_MONTHS = 84  # made-on to use-by: five years and an extension of two, as for natural rubber


@dataclass(slots=True)
class ItemRow:
    tag: str
    kind: str
    maker: str
    serial: str | int | None
    batch: str | None
    bore_min_mm: int | None
    bore_max_mm: int | None
    mark: str | None
    made_on: Cell | None
    use_by: Cell | None
    depot: str
    place: str
    state: str
    quantity: int | None
    note: str | None
    set: str | None
    # No column: the day it was made, before it was written down in some way.
    born: date | None = field(default=None, metadata={"column": False})


@dataclass(slots=True)
class InspectionRow:
    tag: str
    check: str
    done_on: Cell
    verdict: str
    by: str
    certificate: str | None
    note: str | None
    # No column: the day itself, before it was written down in some way.
    day: date = field(default=date.min, metadata={"column": False})


@dataclass(slots=True)
class JobRow:
    reference: str
    depot: str
    site: str
    load_on: Cell
    return_on: Cell
    main_material: str
    main_size: str
    main_sdr: str | None
    main_wall_mm: float | None
    bore_mm: float | None
    base_mark: str
    arrangement: str
    crew: str
    priority: int | None


def columns(row: type[Any]) -> tuple[str, ...]:
    return tuple(each.name for each in fields(row) if each.metadata.get("column", True))


def _dice() -> Any:
    return factory.random.randgen


def style_of(row: Any) -> Style:
    """How the row's use-by date is written: as its maker's label prints it, a day as the depot types days."""
    style = PRINTS.get(row.maker, "date")
    if style == "gs1 number" and row.depot == "Ostermere":
        return "gs1 text"
    return TYPES[row.depot] if style == "date" else style


def _made_on(row: Any) -> date | None:
    """Some months of life before the use-by date; a piece of the last weeks was made a month ago."""
    if row.fit_to is None:
        return None
    made = in_days(in_months(row.fit_to, -SHELF_MONTHS), _dice().randint(0, 100))
    return min(made, in_days(row.day, -35))


class ItemFactory(factory.Factory):
    """A piece in its place. `day` is the workbook's, `fit_to` the day to which its label is to run, if any."""

    class Meta:
        model = ItemRow

    class Params:
        day = None
        fit_to = None
        quarantined = factory.Trait(
            state="quarantined",
            note=FuzzyChoice(
                (
                    "skirt cut, found while cleaning",
                    "valve sticks",
                    "thread galled, cover does not close",
                    "dropped from the tailgate",
                )
            ),
        )
        withdrawn = factory.Trait(state="withdrawn", note="life ended, cut up after the last examination")
        lost = factory.Trait(state="lost", note="not found at the last two counts")
        counted = factory.Trait(
            serial=None,
            quantity=24,
            batch=factory.LazyAttribute(lambda row: f"L{_dice().randint(2000, 9999)}"),
            born=None,
        )

    kind = "bag"
    depot = "Quillby"
    tag = factory.LazyAttributeSequence(lambda row, n: f"{LETTER[row.depot]}-{CODE[row.kind]}-{n:04d}")
    maker = factory.LazyAttribute(lambda row: _dice().choice(MAKERS[row.kind]))
    serial = factory.LazyAttributeSequence(lambda row, n: _serial(row, n))
    batch = None
    bore_min_mm = None
    bore_max_mm = None
    mark = None
    born = factory.LazyAttribute(_made_on)
    made_on = factory.LazyAttribute(lambda row: row.born and written(row.born, TYPES[row.depot]))
    use_by = factory.LazyAttribute(lambda row: row.fit_to and written(row.fit_to, style_of(row)))
    place = factory.LazyAttribute(lambda row: place_of(row.depot, row.kind, row.bore_min_mm))
    state = "available"
    quantity = None
    note = None
    set = None


def _serial(row: Any, n: int) -> str | int | None:
    if row.kind == "hand tool":
        return None
    number = 40_000 + 7 * n
    # One maker stamps digits alone, which a spreadsheet keeps as a number.
    return number if row.maker.startswith("Grumbold") else f"{row.maker[0]}{row.kind[0].upper()}{number}"


class BagFactory(ItemFactory):
    """A bag for a range of bores, with the batch that its serial belongs to."""

    kind = "bag"
    bore_min_mm = 140
    bore_max_mm = 190
    batch = factory.LazyAttribute(
        lambda row: f"{row.born:%y}-{row.born.isocalendar().week:02d}{row.maker[0]}"
    )


def label_day(row: ItemRow, fit_to: date) -> date:
    """The last day that the row's label covers when it was written for `fit_to`."""
    return last_day_of(fit_to, style_of(row))


class InspectionFactory(factory.Factory):
    """A pass by the depot's bench; instruments go to a test house, which writes ISO dates and certificates."""

    class Meta:
        model = InspectionRow

    class Params:
        item = None
        away = factory.LazyAttribute(lambda row: row.item.kind in SENT_AWAY and row.check == "calibration")
        failed = factory.Trait(
            verdict="fail",
            note=FuzzyChoice(
                (
                    "lost pressure past the limit within the hold",
                    "leak at the inflation valve",
                    "crack beside the lug",
                    "reading off by more than the class allows",
                )
            ),
        )
        doubtful = factory.Trait(verdict="doubt", note="too near the limit to tell; to be done again")

    day = None
    tag = factory.LazyAttribute(lambda row: row.item.tag)
    check = "inspection"
    done_on = factory.LazyAttribute(
        lambda row: written(row.day, "iso text" if row.away else TYPES[row.item.depot])
    )
    verdict = "pass"
    by = factory.LazyAttribute(lambda row: TEST_HOUSE if row.away else _dice().choice(BENCH))
    certificate = factory.LazyAttributeSequence(
        lambda row, n: f"FL-{row.day.year}-{n:04d}" if row.away else None
    )
    note = None


class JobFactory(factory.Factory):
    """A job `starts` days from `day` that is back `lasts` days later, written as its depot types days."""

    class Meta:
        model = JobRow

    class Params:
        day = None
        starts = 0
        lasts = 2
        main = None

    depot = "Quillby"
    site = ""
    load_on = factory.LazyAttribute(lambda row: written(in_days(row.day, row.starts), TYPES[row.depot]))
    return_on = factory.LazyAttribute(
        lambda row: written(in_days(row.day, row.starts + row.lasts), TYPES[row.depot])
    )
    main_material = factory.LazyAttribute(lambda row: row.main.material)
    main_size = factory.LazyAttribute(lambda row: row.main.size)
    main_sdr = factory.LazyAttribute(lambda row: row.main.sdr)
    main_wall_mm = factory.LazyAttribute(lambda row: row.main.wall_mm)
    bore_mm = None
    base_mark = factory.LazyAttribute(lambda row: row.main.mark)
    arrangement = "two-way, two bags a hole"
    crew = ""
    priority = None


@contextmanager
def same_every_time(seed: int) -> Iterator[None]:
    """Factories that draw and number alike on every run, whatever made rows before; afterwards as before."""
    before = factory.random.get_random_state()
    factory.random.reseed_random(seed)
    for each in (ItemFactory, BagFactory, InspectionFactory, JobFactory):
        each.reset_sequence(101, force=True)
    try:
        yield
    finally:
        factory.random.set_random_state(before)
