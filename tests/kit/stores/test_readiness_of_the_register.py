"""What the database groups comes to the same as the register's pieces, one by one, recounted by hand."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.db import transaction
from django.utils import timezone

from kit.models import (
    Arrangement,
    ArrangementLine,
    Custody,
    Depot,
    Item,
    Job,
    Kind,
    LineSubstitute,
    Reservation,
    Standing,
    gate_to_json,
)
from kit.planning.mains import Main
from kit.planning.readiness import ready
from kit.planning.readiness_stock import sets_of, stock_of
from kit.planning.values import NO_LIMIT, Gate
from kit.stores import candidates
from kit.stores.knowledge import lines_of
from kit.stores.readiness import Question, readiness_of
from kit.stores.readiness_gains import inspections_in_time
from tests.counts import cases
from tests.kit.planning.sets_by_hand import stops_with_sets
from tests.kit.planning.stops_by_hand import stops_by_hand

DAYS = 8
BORE = Decimal("165.2")
RANGES = ((100, 200), (150, 250), (180, 260), (None, None))

pytestmark = pytest.mark.django_db


def a_register(draw: random.Random, today: date) -> Arrangement:
    """Two depots with a few pieces of three kinds and a few lots, some promised, out, under way or unfit."""
    depots = [Depot.objects.create(code=code) for code in ("NY", "MB")]
    kinds = [
        Kind.objects.create(
            name=name,
            counted=name == "seal",
            margin_days=draw.choice((0, 0, 2)),
            turn_round_days=draw.choice((0, 1, 3)),
        )
        for name in ("bag", "base", "seal")
    ]
    arrangement = Arrangement.objects.create(name="drawn")
    for position in range(draw.randint(1, 3)):
        kind = draw.choice(kinds)
        line = ArrangementLine.objects.create(
            arrangement=arrangement,
            position=position,
            name=f"line {position}",
            kind=kind,
            quantity=draw.randint(1, 2),
            match="any" if kind.counted else draw.choice(("any", "bore", "mark", "bore+mark")),
        )
        if not kind.counted and draw.random() < 0.2:
            LineSubstitute.objects.create(line=line, kind=next(k for k in kinds if k != kind))
    jobs = [
        Job.objects.create(
            reference=f"J{number}",
            depot=draw.choice(depots),
            load_on=today + timedelta(days=starts),
            return_on=today + timedelta(days=starts + draw.randint(0, 3)),
            arrangement=arrangement,
        )
        for number, starts in enumerate((-5, -3, -1, 0, 2, 4, 6))
    ]
    for number in range(draw.randint(0, 9)):
        an_item(draw, f"T{number}", draw.choice(kinds), draw.choice(depots), jobs, today)
    return arrangement


def an_item(draw: random.Random, tag: str, kind: Kind, depot: Depot, jobs: list[Job], today: date) -> None:
    low, high = draw.choice(RANGES)
    use_by = draw.choice((None, None, today + timedelta(days=draw.randint(5, 14))))
    item = Item.objects.create(
        tag=tag,
        kind=kind,
        depot=depot,
        counted=kind.counted,
        quantity=draw.randint(1, 5) if kind.counted else 1,
        bore_min_mm=low,
        bore_max_mm=high,
        mark=draw.choice(("II", " ii ", "III", "")),
        set_name="" if kind.counted or draw.random() < 0.8 else "set one",
        use_by=use_by,
        fit_until=use_by or NO_LIMIT,
    )
    line = ArrangementLine.objects.filter(kind=kind).first()
    if line is not None:
        held(draw, item, line, jobs)
    spoil(draw, item, depot, today)


def held(draw: random.Random, item: Item, line: ArrangementLine, jobs: list[Job]) -> None:
    """Promise the item to some of the jobs that it may be promised to, and issue the first promise at times."""
    free_from, left = date.min, item.quantity
    for job in sorted(draw.sample(jobs, draw.randint(0, 3)), key=lambda job: job.load_on):
        lasts = item.fit_on(job.return_on + timedelta(days=item.kind.margin_days))
        quantity = draw.randint(1, left) if item.counted and left else 1
        if (
            job.depot_id != item.depot_id
            or not lasts
            or (not item.counted and job.load_on < free_from)
            or not left
        ):
            continue
        ends = job.return_on + timedelta(days=item.kind.turn_round_days)
        Reservation.objects.create(
            job=job,
            line=line,
            item=item,
            counted=item.counted,
            quantity=quantity,
            starts=job.load_on,
            ends=ends,
        )
        free_from = ends + timedelta(days=1)
        left -= quantity if item.counted else 0
    first = item.reservations.order_by("starts").first()
    if first is not None and not item.counted and draw.random() < 0.4:
        Reservation.objects.filter(pk=first.pk).update(standing=Standing.ISSUED, issued_on=first.starts)
        Item.objects.filter(pk=item.pk).update(custody=Custody.ON_SITE)


def spoil(draw: random.Random, item: Item, depot: Depot, today: date) -> None:
    """Once in a while something about the item changes behind the back of its promises."""
    change: dict = {}
    match draw.randint(0, 9):
        case 0:
            change = {"state": draw.choice(("withdrawn", "lost"))}
        case 1:
            gate = Gate("hold test", "never")
            change = {"fit_until": None, "gates_json": [gate_to_json(gate)]}
        case 2:
            change = {
                "custody": Custody.IN_TRANSIT,
                "transit_to": draw.choice(list(Depot.objects.all())),
                "arrives_on": draw.choice((None, today + timedelta(days=draw.randint(-1, 5)))),
            }
        case 3:
            change = {"custody": Custody.ON_SITE}
    if change:
        Item.objects.filter(pk=item.pk).update(**change)


def test_grouped_in_the_database_as_counted_by_hand():
    today = timezone.localdate()
    for seed in range(cases(60)):
        with transaction.atomic():
            arrangement = a_register(random.Random(seed), today)
            compare(arrangement, today, today + timedelta(days=seed % 3), seed)
            transaction.set_rollback(True)


def compare(arrangement: Arrangement, today: date, first: date, seed: int) -> None:
    lines = lines_of(arrangement)
    items = list(Item.objects.select_related("kind", "depot", "transit_to"))
    sets = {item.tag: item.set_name for item in items}
    pieces = [replace(piece, set_name=sets[piece.tag]) for piece in candidates(items, today)]
    answer = readiness_of(arrangement, Main(BORE), first, DAYS, today=today).answer()
    stock = stock_of(pieces, lines, Main(BORE), today, first)
    assert answer == ready(lines, stock, first, DAYS, sets_of(pieces, lines, Main(BORE), today, first)), seed
    for depot in ("NY", "MB"):
        here = [piece for piece in pieces if depot in (piece.depot, piece.transit_to)]
        one = readiness_of(arrangement, Main(BORE), first, DAYS, [Depot.objects.get(code=depot)], today)
        for found, among_all in zip(one.answer(), answer, strict=True):
            singly = stops_by_hand(lines, here, BORE, found.day, today, depot)
            most = singly
            if any(piece.set_name for piece in pieces):
                keyed = [replace(p, set_name=p.set_name and f"{p.depot} {p.set_name}") for p in pieces]
                most = stops_with_sets(lines, keyed, BORE, found.day, today, depot)
            assert singly <= found.stops <= most <= found.at_most, (seed, depot, found.day)
            assert found.stops == dict(among_all.by_depot).get(depot, 0), (seed, depot, found.day)


def test_an_inspection_in_time_is_named_with_its_pieces_and_what_it_gives():
    """Two of three bags fall due on day 3; one has a second check due on day 6, so both together last no longer."""
    today = timezone.localdate()

    def on(number: int) -> date:
        return today + timedelta(days=number)

    depot = Depot.objects.create(code="NY")
    kind = Kind.objects.create(name="bag")
    arrangement = Arrangement.objects.create(name="two bags")
    ArrangementLine.objects.create(arrangement=arrangement, position=1, name="bags", kind=kind, quantity=2)
    for tag, gates in (
        ("B1", {"hold test": 3, "visual": 6}),
        ("B2", {"hold test": 3}),
        ("B3", {}),
        ("B4", {"hold test": -2}),
    ):
        listed = [Gate(check, "dated", on(due), on(due - 180)) for check, due in gates.items()]
        Item.objects.create(
            tag=tag,
            kind=kind,
            depot=depot,
            fit_until=on(min(gates.values())) if gates else NO_LIMIT,
            gates_json=[gate_to_json(gate) for gate in listed],
        )
    asked = Question(arrangement, Main(BORE), today, 10, today=today)
    known = asked.known()
    days = known.answer()
    assert [day.stops for day in days] == [1, 1, 1, 1, 0, 0, 0, 0, 0, 0]
    found = inspections_in_time(asked, known, days)
    # B4, overdue, makes the second stop of days 0 to 3 and one stop with B3 afterwards; B1 and B2 one each while they
    # last, three among B1, B2 and B3 being still one.
    assert [
        (each.tags, each.gain.due_on, each.gain.pieces, each.gain.stops, each.gain.days) for each in found
    ] == [(("B4",), on(-2), 1, 10, 10), (("B1", "B2"), on(3), 2, 6, 6)]


def test_days_that_two_promises_of_a_piece_rule_out_are_taken_away_once():
    """With three days of turn-round both promises rule out days 6 to 8: the other bag is not taken away for that."""
    today = timezone.localdate()
    depot = Depot.objects.create(code="NY")
    kind = Kind.objects.create(name="bag", turn_round_days=3)
    arrangement = Arrangement.objects.create(name="one bag")
    line = ArrangementLine.objects.create(
        arrangement=arrangement, position=1, name="bags", kind=kind, quantity=1
    )
    bags = [Item.objects.create(tag=tag, kind=kind, depot=depot, fit_until=NO_LIMIT) for tag in ("B1", "B2")]
    for reference, load in (("J1", 4), ("J2", 9)):
        load_on, return_on = today + timedelta(days=load), today + timedelta(days=load + 1)
        job = Job.objects.create(
            reference=reference, depot=depot, load_on=load_on, return_on=return_on, arrangement=arrangement
        )
        ends = return_on + timedelta(days=3)
        Reservation.objects.create(job=job, line=line, item=bags[0], starts=load_on, ends=ends)
    found = readiness_of(arrangement, Main(BORE), today, 16, today=today).answer()
    # J1 rules out days 1 to 8, J2 days 6 to 13: together days 1 to 13.
    assert [day.stops for day in found] == [2, *[1] * 13, 2, 2]


def test_a_bag_has_to_reach_beyond_the_bore_by_the_margin_of_its_kind():
    today = timezone.localdate()
    depot = Depot.objects.create(code="NY")
    kind = Kind.objects.create(name="bag", has_bore=True)
    arrangement = Arrangement.objects.create(name="one bag")
    ArrangementLine.objects.create(
        arrangement=arrangement, position=1, name="bags", kind=kind, quantity=1, match="bore"
    )
    for tag, low, high in (("B1", 150, 166), ("B2", 164, 180), ("B3", 160, 170)):
        Item.objects.create(
            tag=tag, kind=kind, depot=depot, fit_until=NO_LIMIT, bore_min_mm=low, bore_max_mm=high
        )

    def stops(main: Main) -> int:
        [day] = readiness_of(arrangement, main, today, 1, today=today).answer()
        return day.stops

    assert stops(Main(BORE)) == 3
    for margin, number in (("0.8", 3), ("1", 2), ("2", 1), ("5.2", 0)):
        Kind.objects.update(bore_margin_mm=Decimal(margin))
        assert stops(Main(BORE)) == number, margin
    Kind.objects.update(bore_margin_mm=0, sized_by="outside")
    assert stops(Main(BORE)) == 0
    assert stops(Main(BORE, Decimal(168))) == 2
