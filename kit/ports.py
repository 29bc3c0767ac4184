"""Where the store asks the inspections, which it does not import: they plug in at start-up.

The store knows only the answer, Item.fit_until and why. What makes an item fit is the business of `inspections`,
which sets these names in its AppConfig.ready().
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import TYPE_CHECKING, Any, Protocol

from kit.planning.values import Gate

if TYPE_CHECKING:
    from django.db.models import Model
    from django.http import HttpRequest

    from kit.models import Item, Job, Kind
    from kit.stores.act import Act
    from kit.stores.related import Batch
    from kit.views.listing import Listing
    from kit.views.now import Step


class Judge(Protocol):
    """What the store asks about checks."""

    def bring_up_to_date(self, items: Sequence[Item]) -> dict[int, tuple[Gate, ...]]:
        """Write when each check of these items is next due; give the gating ones by item id."""

    def gates_at(self, items: Sequence[Item], as_of: date) -> dict[int, tuple[Gate, ...]]:
        """The gating checks of these items as the records up to and with `as_of` have it, by item id."""

    def if_passed(
        self, items: Sequence[Item], days: Sequence[date]
    ) -> dict[int, dict[str, dict[date, date]]]:
        """By item id and check: day of a pass to come -> when the check would then be due next."""

    def differences(self, items: Sequence[Item]) -> list[str]:
        """Stored due dates of these items that differ from what the records give: a sentence each."""

    def used(self, act: Act, item: Item, used_on: date, job: str) -> list[str]:
        """Note that the item was used; gives the names of the checks that are due again because of it."""

    def failed_by(self, item: Item, since: datetime | None) -> set[str]:
        """Who made or recorded a fail or doubt that stood open at `since`, when it was set aside, or came after."""

    def concessions(self, item_ids: Sequence[int]) -> dict[int, list[str]]:
        """Of items that go out by a concession, by id: a sentence on each that counts today, with its conditions."""


class _NoChecks:
    """No inspections are installed: nothing gates."""

    def bring_up_to_date(self, items: Sequence[Item]) -> dict[int, tuple[Gate, ...]]:
        return {item.pk: () for item in items}

    def gates_at(self, items: Sequence[Item], as_of: date) -> dict[int, tuple[Gate, ...]]:
        return {item.pk: () for item in items}

    def if_passed(
        self, items: Sequence[Item], days: Sequence[date]
    ) -> dict[int, dict[str, dict[date, date]]]:
        return {}

    def differences(self, items: Sequence[Item]) -> list[str]:
        return []

    def used(self, act: Act, item: Item, used_on: date, job: str) -> list[str]:
        return []

    def failed_by(self, item: Item, since: datetime | None) -> set[str]:
        return set()

    def concessions(self, item_ids: Sequence[int]) -> dict[int, list[str]]:
        return {}


@dataclass(frozen=True, slots=True)
class Panel:
    """A part of a page that another package fills: its template, and what that needs beside the request."""

    template: str
    context: dict[str, Any]


@dataclass(frozen=True, slots=True)
class Way:
    """A way on from a page: where to, the words on it, and the name of its icon."""

    url: str
    label: Any
    icon: str


@dataclass
class Ports:
    judge: Judge = field(default_factory=_NoChecks)
    ledger_models: list[type[Model]] = field(default_factory=list)
    # Loaders of sheets that the store does not know, by the name of the sheet.
    sheet_loaders: dict[str, Callable[..., Any]] = field(default_factory=dict)
    # Called once when a register is founded, to write what is shipped besides kinds and arrangements.
    founders: list[Callable[[Act], None]] = field(default_factory=list)
    # Called at the start of every act, for what comes due with the day (a rule that comes into force).
    at_start: list[Callable[[Act], None]] = field(default_factory=list)
    # What `prove_ledger` proves besides the ledger itself: each gives the first fault as a sentence, or None.
    proofs: list[Callable[[], str | None]] = field(default_factory=list)
    # Told of every item that is set aside, withdrawn or lost: (act, item, why). The store keeps no cases.
    moved: list[Callable[[Act, Item, str], None]] = field(default_factory=list)
    # Told once of all items that come in set aside, withdrawn or lost: a register may bring thousands.
    received_so: list[Callable[[Act, Sequence[Item]], None]] = field(default_factory=list)
    # The number of the case under which an item is set aside, as papers name it; empty if there is none.
    case_of: Callable[[Item], str] = lambda item: ""
    # By item, what a paper tells of each check: check, done_on, verdict, due_on, certificate, by (JSON values).
    last_inspections: Callable[[Sequence[int]], dict[int, list[dict[str, str]]]] = lambda item_ids: {}
    # Further entries of the main navigation: (role names, label, url name, icon).
    navigation: list[tuple[Iterable[str], Any, str, str]] = field(default_factory=list)
    # Parts of an item's page and ways on from it, and parts of the page of the day; each may give nothing.
    item_panels: list[Callable[[HttpRequest, Item], Panel | None]] = field(default_factory=list)
    item_ways: list[Callable[[HttpRequest, Item], Iterable[Way]]] = field(default_factory=list)
    # Parts of the page of a kind, and of the page of a maker's batch.
    kind_panels: list[Callable[[HttpRequest, Kind], Panel | None]] = field(default_factory=list)
    batch_panels: list[Callable[[HttpRequest, Batch], Panel | None]] = field(default_factory=list)
    # Parts of a job's page, and ways on from it.
    job_panels: list[Callable[[HttpRequest, Job], Panel | None]] = field(default_factory=list)
    job_ways: list[Callable[[HttpRequest, Job], Iterable[Way]]] = field(default_factory=list)
    today_panels: list[Callable[[HttpRequest], Panel | None]] = field(default_factory=list)
    # What to do now, at the head of the page of the day.
    today_steps: list[Callable[[HttpRequest], Iterable[Step]]] = field(default_factory=list)
    # Long lists that people keep their own way, by name; the store's own are among them.
    listings: dict[str, Listing] = field(default_factory=dict)


ports = Ports()
