"""Made-up histories lived in a real store, day after day, each on a kind, a check and an item of its own.

Every event is done on its day by the action that does it in a yard, under a clock that stands at noon of that day.
Where an action refuses a combination that the dice threw, the row is written through the act itself:

- a version that begins before anybody knew of it, or repeats what is in force then (`set_checks`);
- a correction of what was struck out (`correct`), and one that fails the item (it would set the item aside, and with
  that call for re-tests of which the history knows nothing) or says the same again: those through `record_many`;
- repairs, quarantines and ordered re-tests (the actions date them by today, and set aside only once);
- a concession for a day that is no due date, beyond the bound, or before the store was founded.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from itertools import accumulate
from typing import Any
from unittest.mock import patch

from django.utils import timezone

from inspections.actions import CheckSpec, Finding, record_many, set_checks
from inspections.actions.concessions import ask, end, grant
from inspections.actions.correct import correct, entered, strike
from inspections.actions.regimes import columns_of
from inspections.concession_bounds import Extendable, extendable
from inspections.judge import last_record
from inspections.models import Check, CheckVersion, Concession, ConcessionState, Inspection, RetestCall
from kit.models import Deed, Item, Kind
from kit.ports import ports
from kit.stores import Act, NotAllowed, Who, acting, depot_named, receive, refit, set_kind
from tests.inspections.judging.history_rows import CALLS, ConcessionRow, Entry, History, VersionRow, days

NAME = "check"
EXAMINER, LEAD = Who("c.bench", "test"), Who("d.lead", "test")
WIDEST = 2000
"""Days by which a due date may be extended: the histories bound nothing."""


def as_entered(history: History) -> History:
    """The history with its versions numbered in the order in which they were known, the first one first of all.

    Of calls that came on one day with no record between, the tables do not say which was first: here the alphabet
    says it, as it decides whose words are shown. Concessions granted half a year early are granted in the last week:
    nobody could have asked for them before.
    """
    first, *others = history.versions
    begins = [] if first.in_force_from == date.min else [first.in_force_from]
    known = min([first.known_on, *begins, *(version.known_on for version in others)])
    versions = [
        replace(first, known_on=known),
        *sorted(others, key=lambda version: (version.known_on, version.number)),
    ]
    return replace(
        history,
        versions=tuple(replace(version, number=number) for number, version in enumerate(versions, start=1)),
        entries=_calls_by_the_alphabet(history.entries),
        concessions=tuple(_asked_in_time(row) for row in history.concessions),
    )


def _calls_by_the_alphabet(entries: Sequence[Entry]) -> tuple[Entry, ...]:
    told = sorted(entries, key=lambda entry: entry.order)
    records_before = accumulate(entry.what not in CALLS for entry in told)
    together: dict[tuple[int, date], list[int]] = defaultdict(list)
    for place, (entry, before) in enumerate(zip(told, records_before, strict=True)):
        if entry.what in CALLS:
            together[before, entry.day].append(place)
    for places in together.values():
        for place, what in zip(places, sorted(told[place].what for place in places), strict=True):
            told[place] = replace(told[place], what=what)
    return tuple(told)


def _asked_in_time(row: ConcessionRow) -> ConcessionRow:
    later = max((row.due_on - row.granted_on).days - 5, 0)
    ended_on = None if row.ended_on is None else row.ended_on + days(later)
    return replace(row, granted_on=row.granted_on + days(later), ended_on=ended_on)


@contextmanager
def at_noon_of(day: date) -> Iterator[datetime]:
    moment = timezone.make_aware(datetime(day.year, day.month, day.day, 12))
    with patch.object(timezone, "now", lambda: moment):
        yield moment


def evening_of(day: date) -> datetime:
    return timezone.make_aware(datetime(day.year, day.month, day.day, 23, 59))


@dataclass
class Lived:
    """One history as it is lived in the store."""

    history: History
    item: Item
    records: dict[int, Inspection] = field(
        default_factory=dict
    )  # by order; of what is corrected, the last word
    granted: dict[int, Concession] = field(default_factory=dict)

    @property
    def today(self) -> date:
        """The last day on which anything happens or is asked."""
        happens = [day for day, _, _ in self.events()]
        return max([*happens, *self.history.asked])

    def events(self) -> Iterator[tuple[date, int, Any]]:
        """(day, place within the day, what): a version, an entry, a concession's number, or its number to end."""
        founded = self.history.versions[0].known_on
        for version in self.history.versions:
            yield version.known_on, version.number - 100, version
        for entry in self.history.entries:
            yield entry.recorded_on, entry.order, entry
        for number, row in enumerate(self.history.concessions):
            begun = max(row.granted_on, founded)
            yield begun, 100 + number, number
            if row.ended_on is not None:
                yield max(row.ended_on, begun), 200 + number, (number,)


class Store:
    """The histories of one example; `how` counts which way each event was written."""

    def __init__(self, histories: Sequence[History]) -> None:
        self.how: Counter[str] = Counter()
        told = [as_entered(history) for history in histories]
        with at_noon_of(min(history.versions[0].known_on for history in told)), acting(LEAD) as act:
            depot = depot_named(act, "NY")
            kinds = [set_kind(act, f"kind {number}") for number in range(len(told))]
            items = [Item(tag=f"T-{number}", kind=kind, depot=depot) for number, kind in enumerate(kinds)]
            self.lived = [
                Lived(history, item) for history, item in zip(told, receive(act, items), strict=True)
            ]

    def live(self, in_the_evening: Callable[[date, Sequence[Lived]], None]) -> None:
        """Day after day; `in_the_evening` is told of the histories whose last day it is, their dates derived."""
        by_day: dict[date, list[tuple[int, Lived, Any]]] = defaultdict(list)
        last: dict[date, list[Lived]] = defaultdict(list)
        for one in self.lived:
            for day, place, what in one.events():
                by_day[day].append((place, one, what))
            last[one.today].append(one)
        for day in sorted({*by_day, *last}):
            with at_noon_of(day):
                with acting(EXAMINER) as act:
                    for _, one, what in sorted(by_day[day], key=lambda event: event[0]):
                        self._do(act, one, what)
                    ids = [one.item.pk for one in last[day]]
                    refit(act, list(Item.objects.filter(pk__in=ids).select_related("kind")))
                in_the_evening(day, last[day])

    def _do(self, act: Act, one: Lived, what: Any) -> None:
        if isinstance(what, VersionRow):
            self._rule(act, one.item.kind, what)
        elif isinstance(what, Entry):
            if what.what in CALLS:
                self._call(act, one.item, what)
            else:
                self._record(act, one, what)
        elif isinstance(what, int):
            one.granted[what] = self._concede(act, one.item, one.history.concessions[what])
        else:
            [number] = what
            self._end(act, one.granted[number])

    # Rules

    def _rule(self, act: Act, kind: Kind, version: VersionRow) -> None:
        specs = []
        if version.rule is not None:
            specs = [CheckSpec(NAME, **vars(version.rule), concession_days=WIDEST)]
        ever = version.in_force_from == date.min
        if ever or version.in_force_from >= act.today:
            begins = None if ever else version.in_force_from
            if set_checks(act, kind, specs, derive=False, from_day=begins):
                self.how["set_checks"] += 1
                return
        self.how["version written"] += 1
        check = Check.objects.get(kind=kind)
        columns = columns_of(check) | {"retired": version.rule is None}
        if version.rule is not None:
            columns |= vars(version.rule)
        newest = CheckVersion.objects.filter(of=check).order_by("-number").first()
        act.create(
            CheckVersion(
                of=check,
                number=newest.number + 1 if newest else 1,
                in_force_from=version.in_force_from,
                known_on=act.today,
                made_by=act.who.actor,
                **columns,
            )
        )
        act.tell(Deed.RULED, [f"kind:{kind.name}"], note="written by hand")

    # Records and calls

    def _record(self, act: Act, one: Lived, entry: Entry) -> None:
        check = Check.objects.get(kind=one.item.kind)
        finding = Finding(one.item, check, entry.day, entry.what, by=act.who.actor)
        if entry.corrects is None:
            self.how["record_many"] += 1
            [made] = record_many(act, [finding], derive=False)
            one.records[entry.order] = made
            return
        old = one.records[entry.corrects]
        made = self._correct(act, finding, old)
        # Whatever pointed at the old record has the new one for its last word.
        for order, record in one.records.items():
            if record.pk == old.pk:
                one.records[order] = made
        one.records[entry.order] = made

    def _correct(self, act: Act, finding: Finding, old: Inspection) -> Inspection:
        struck = finding.verdict == "struck"
        if old.struck:
            self.how["record written"] += 1
            made = act.create(
                Inspection(
                    item=old.item,
                    check_done=finding.check,
                    done_on=finding.done_on,
                    verdict="" if struck else finding.verdict,
                    struck=struck,
                    corrects=old,
                    recorded_at=act.now,
                    recorded_by=act.who.actor,
                )
            )
            act.tell(Deed.CORRECTED, [old.item], note="written by hand")
            return made
        if struck:
            self.how["strike"] += 1
            return strike(act, old, "entered for another")
        same = (finding.done_on, finding.verdict) == (old.done_on, old.verdict)
        if finding.verdict == "fail" or same:
            self.how["record_many, corrects"] += 1
            again = replace(finding, corrects=old, why_corrected="misread")
            return record_many(act, [again], derive=False)[0]
        self.how["correct"] += 1
        said = replace(entered(old), done_on=finding.done_on, verdict=finding.verdict)
        return correct(act, old, said, "misread")

    def _call(self, act: Act, item: Item, entry: Entry) -> None:
        self.how[entry.what] += 1
        if entry.what == "use":
            ports.judge.used(act, item, entry.day, "J-1")
        else:
            ordered = Check.objects.get(kind=item.kind) if entry.what == "ordered" else None
            act.create(
                RetestCall(
                    item=item,
                    check_called=ordered,
                    cause=entry.what,
                    called_on=entry.day,
                    after_record=last_record(),
                    called_by=act.who.actor,
                )
            )
        act.tell(Deed.RETEST, [item], note=entry.what)

    # Concessions

    def _concede(self, act: Act, item: Item, row: ConcessionRow) -> Concession:
        item, check = Item.objects.select_related("kind").get(pk=item.pk), Check.objects.get(kind=item.kind)
        standing = extendable(item, check, act.today)
        if row.granted_on == act.today and isinstance(standing, Extendable) and standing.due_on == row.due_on:
            try:
                asked = ask(act, item, check, row.until, "no bench free", "little used since")
            except NotAllowed:
                pass
            else:
                self.how["ask and grant"] += 1
                examiner, act.who = act.who, LEAD
                granted = grant(act, asked)
                act.who = examiner
                return granted
        self.how["concession written"] += 1
        made = act.create(
            Concession(
                item=item,
                check_due=check,
                due_on=row.due_on,
                until=row.until,
                reason="no bench free",
                risk="little used since",
                state=ConcessionState.GRANTED,
                asked_by=act.who.actor,
                asked_at=act.now - timedelta(days=1),
                decided_by=LEAD.actor,
                decided_on=row.granted_on,
            )
        )
        act.tell(Deed.CONCESSION, [item], note="written by hand")
        return made

    def _end(self, act: Act, concession: Concession) -> None:
        try:
            end(act, concession, "a bench is free")
            self.how["end"] += 1
        except NotAllowed:
            self.how["end written"] += 1
            act.change(concession, state=ConcessionState.ENDED, ended_by=LEAD.actor, ended_on=act.today)
            act.tell(Deed.CONCESSION, [concession.item], note="written by hand")
