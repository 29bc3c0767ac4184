"""What a change of checks would bring about, before anybody makes it: computed on versions that are never written."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from inspections.actions.check_specs import CheckSpec
from inspections.actions.regimes import Change, changes_of, first_version, starts_on
from inspections.judge import Judged, Regime, evidence_of, gates, judge_by
from inspections.judging import Due
from inspections.models import Check, CheckVersion
from kit.models import Item, Kind, Reservation, Standing, State
from kit.planning import Gate, judge_fitness
from kit.planning.fitness import Fitness
from kit.stores import chunked
from kit.stores.rejudge import open_reservations, reasons_against

A_CHUNK = 2000


@dataclass(frozen=True, slots=True)
class CheckMove:
    """One check of an item on the day looked at, by the rules as they are and as they would be; None: not asked."""

    check: str
    before: Due | None
    after: Due | None

    def newly_never(self, day: date) -> bool:
        """Whether it would have to be done for the first time, and did not before."""
        return _never(self.after) and not _never(self.before)

    def newly_due(self, day: date) -> bool:
        """Whether it would be due at once, and was in date or not asked for before; a first time aside."""
        if self.after is None or _never(self.after) or self.after.in_date_on(day):
            return False
        return self.before is None or self.before.in_date_on(day)

    @property
    def differs(self) -> bool:
        return self.before != self.after


@dataclass(frozen=True, slots=True)
class ItemMove:
    """One item on `day`; `today_after` is until when it would be fit as seen today, once the change is made."""

    item: Item
    day: date
    before: Fitness
    after: Fitness
    today_after: Fitness
    checks: tuple[CheckMove, ...]

    @property
    def differs(self) -> bool:
        return self.before != self.after or any(check.differs for check in self.checks)

    @property
    def leaves_fettle(self) -> bool:
        return _fit(self.before, self.day) and not _fit(self.after, self.day)

    @property
    def comes_free(self) -> bool:
        return not _fit(self.before, self.day) and _fit(self.after, self.day)

    @property
    def sooner(self) -> bool:
        """Whether it stays fit, for a shorter time."""
        until = self.before.fit_until, self.after.fit_until
        return _fit(self.after, self.day) and None not in until and until[1] < until[0]  # type: ignore[operator]

    @property
    def later(self) -> bool:
        """Whether it was fit already, and is for a longer time."""
        until = self.before.fit_until, self.after.fit_until
        return _fit(self.before, self.day) and None not in until and until[1] > until[0]  # type: ignore[operator]


@dataclass(frozen=True, slots=True)
class BrokenPromise:
    """An open promise that would not hold, and why; one that is out already can only be told of."""

    reservation: Reservation
    why: str

    @property
    def is_out(self) -> bool:
        return self.reservation.standing == Standing.ISSUED


@dataclass(frozen=True, slots=True)
class Preview:
    """What the change would bring: `start` is its first day, `day` the one looked at (today, or the start if later)."""

    kind: Kind
    start: date
    day: date
    changes: tuple[Change, ...]
    items: tuple[ItemMove, ...]
    broken: tuple[BrokenPromise, ...]

    @property
    def moved(self) -> list[ItemMove]:
        """Items of which anything differs, those that fall out of fettle first, then those that come free."""
        return sorted(
            (item for item in self.items if item.differs),
            key=lambda move: (not move.leaves_fettle, not move.comes_free, not move.sooner, move.item.tag),
        )

    def count(self, what: str) -> int:
        """How many items `leaves_fettle`, `comes_free`, are fit `sooner` or `later`."""
        return sum(1 for item in self.items if getattr(item, what))

    def count_checks(self, what: str) -> int:
        """How many checks are `newly_never` or `newly_due`."""
        return sum(1 for item in self.items for check in item.checks if getattr(check, what)(self.day))


def preview(
    kind: Kind,
    specs: Sequence[CheckSpec],
    from_day: date | None,
    today: date,
    dropped: Collection[str] | None = None,
) -> Preview:
    """What `set_checks` with these would do to every item of the kind in use, and to what is promised.

    Writes nothing. Promises are judged as the change would judge them today. Raises NotAllowed as `set_checks`.
    """
    changes = changes_of(kind, specs, today, from_day, dropped=dropped)
    start = starts_on(kind, today, from_day)
    day = max(start, today)
    then = _regimes(kind, ())
    new = _regimes(kind, changes, start, today)
    moves: list[ItemMove] = []
    gates_by_item: dict[int, tuple[Gate, ...]] = {}
    in_use = Item.objects.filter(kind=kind).exclude(state__in=[State.WITHDRAWN, State.LOST]).order_by("tag")
    ids = list(in_use.values_list("pk", flat=True)) if changes else []
    for chunk in chunked(ids, A_CHUNK):
        items = list(in_use.filter(pk__in=chunk).select_related("kind", "depot", "place"))
        evidence = evidence_of(chunk)
        before = judge_by(items, {kind.pk: then}, evidence, day)
        after = judge_by(items, {kind.pk: new}, evidence, day)
        at_once = after if day == today else judge_by(items, {kind.pk: new}, evidence, today)
        for item in items:
            gates_by_item[item.pk] = gates(at_once[item.pk])
            moves.append(
                ItemMove(
                    item,
                    day,
                    judge_fitness(item.use_by, gates(before[item.pk])),
                    judge_fitness(item.use_by, gates(after[item.pk])),
                    judge_fitness(item.use_by, gates_by_item[item.pk]),
                    _check_moves(before[item.pk], after[item.pk]),
                )
            )
    return Preview(kind, start, day, tuple(changes), tuple(moves), _broken(gates_by_item, today))


def _regimes(
    kind: Kind, changes: Iterable[Change], start: date | None = None, today: date | None = None
) -> list[Regime]:
    """The checks of the kind with their versions, and with those that the changes would add."""
    versions: dict[int, list[CheckVersion]] = {}
    for row in CheckVersion.objects.filter(of__kind=kind):
        versions.setdefault(row.of_id, []).append(row)
    checks: dict[str, Check] = {check.name: check for check in Check.objects.filter(kind=kind)}
    listed: dict[str, list[CheckVersion]] = {
        name: versions.get(check.pk, []) for name, check in checks.items()
    }
    for change in changes:
        assert start is not None
        assert today is not None
        check = checks.setdefault(change.check.name, change.check)
        rows = listed.setdefault(check.name, [])
        if not rows and check.version:
            rows.append(first_version(check, known_on=today))
        number = max((row.number for row in rows), default=0) + 1
        rows.append(change.version(number, start, today))
    regimes = [Regime(checks[name], listed[name]) for name in sorted(checks)]
    return [regime for regime in regimes if regime.ever_asked]


def _check_moves(before: Iterable[Judged], after: Iterable[Judged]) -> tuple[CheckMove, ...]:
    had = {one.check.name: one.due for one in before}
    has = {one.check.name: one.due for one in after}
    return tuple(CheckMove(name, had.get(name), has.get(name)) for name in sorted({*had, *has}))


def _broken(gates_by_item: Mapping[int, tuple[Gate, ...]], today: date) -> tuple[BrokenPromise, ...]:
    """The promises that hold now and would not with these gates; those that are out and would be newly unfit."""
    held: list[Reservation] = []
    for chunk in chunked(list(gates_by_item), A_CHUNK):
        held.extend(open_reservations().filter(item_id__in=chunk).exclude(standing=Standing.BROKEN))
    for reservation in held:
        # Kept beside its column on the object, as `Item.gates` keeps what it has read.
        reservation.item.__dict__["gates"] = gates_by_item[reservation.item_id]
    against = reasons_against(today, held)
    return tuple(
        BrokenPromise(reservation, against[reservation.pk])
        for reservation in held
        if against[reservation.pk] and not (reservation.standing == Standing.ISSUED and reservation.why)
    )


def _never(due: Due | None) -> bool:
    return due is not None and due.status == "never"


def _fit(fitness: Fitness, day: date) -> bool:
    return fitness.fit_until is not None and fitness.fit_until >= day
