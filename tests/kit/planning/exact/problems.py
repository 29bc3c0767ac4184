"""Small made-up problems, few values each, so that ties, clashes and shortages are common."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from kit.planning.exact import Job, Option, Piece, Problem, Promised, Slot, Work

MARKS = ("ii", "ii", "iii", "")


def problem(seed: int, jobs: int | None = None, coupled: bool = True, works: bool = False) -> Problem:
    """A random problem. `coupled`: with sets, assemblies, substitutes; `works`: some options need a work."""
    draw = Random(seed)
    count = jobs or draw.randint(2, 3)
    slots = [slot for job in range(count) for slot in _slots(draw, job, coupled, 3 if count == 1 else 2)]
    windows = []
    for _ in range(count):
        starts = draw.randint(0, 6)
        windows.append((starts, starts + draw.randint(0, 3)))
    pieces = _pieces(draw, coupled, 6 if count == 1 else 5)
    options = []
    lot_slots = {place for place in range(len(slots)) if not slots[place].assembly and draw.random() < 0.2}
    work_list = [Work(f"w{n}", draw.choice(("", "g")), draw.choice(("", "bench"))) for n in range(2)]
    for piece in pieces:
        days, width = draw.choice((3, 3, 5, 9)), draw.choice((0, 1000, 1000, 2500))
        turn = draw.choice((0, 0, 1))
        for place, slot in enumerate(slots):
            if (place in lot_slots) != piece.lot or draw.random() < 0.3:
                continue
            starts, ends = windows[slot.job]
            needs = barred = ()
            if works and draw.random() < 0.4:
                needs = draw.choice(((("w0",),), (("w1",),), (("w0", "w1"),), (("w0",), ("w1",))))
            elif works and draw.random() < 0.2:
                barred = (draw.choice(work_list).key,)
            rank = draw.choice((0, 0, 0, 1, 2)) if coupled else 0
            options.append(
                Option(piece.tag, place, days + 10 - ends, width, rank, starts, ends + turn, needs, barred)
            )
    draw.shuffle(options)
    return Problem(
        jobs=tuple(Job(f"J{n}", draw.choice((1, 1, 2))) for n in range(count)),
        slots=tuple(slots),
        pieces=pieces,
        options=tuple(options),
        promised=_promised(draw, pieces, slots) if count > 1 else (),
        works=tuple(work_list) if works else (),
        pools=(("bench", 1),) if works else (),
    )


def _slots(draw: Random, job: int, coupled: bool, most: int) -> list[Slot]:
    made = []
    if coupled and draw.random() < 0.4:
        units = draw.randint(1, 2)
        held = (("ii", 1),) if draw.random() < 0.2 else ()
        for name, per_unit in (("heads", 1), ("bases", draw.choice((1, 1, 2)))):
            made.append(Slot(job, name, units * per_unit, "head", per_unit, units, held))
        return made
    for line in range(draw.randint(1, most)):
        made.append(Slot(job, f"line {line}", draw.randint(1, 2)))
    return made


def _pieces(draw: Random, coupled: bool, most: int) -> tuple[Piece, ...]:
    tags = [f"T{n}" for n in range(draw.randint(2, most))]
    draw.shuffle(tags)
    made = []
    for tag in tags:
        if draw.random() < 0.15:
            made.append(Piece(tag, draw.randint(1, 3), lot=True))
            continue
        name = draw.choice(("", "", "", "pair")) if coupled else ""
        made.append(Piece(tag, set_name=name, mark=draw.choice(MARKS)))
    return tuple(made)


def _promised(draw: Random, pieces: tuple[Piece, ...], slots: list[Slot]) -> tuple[Promised, ...]:
    made = []
    for piece in pieces:
        if draw.random() < 0.4:
            place = draw.randrange(len(slots))
            quantity = min(piece.quantity, slots[place].quantity) if piece.lot else 1
            made.append(Promised(piece.tag, place, quantity))
    return tuple(made)


def with_twins(plain: Problem, seed: int) -> Problem:
    """The same with one line of each job twice, as near and far bags are, and promises on either of the two."""
    draw = Random(seed)
    twinned = {
        draw.choice(here)
        for job in range(len(plain.jobs))
        if (here := [n for n, slot in enumerate(plain.slots) if slot.job == job and not slot.assembly])
    }
    slots: list[Slot] = []
    at: dict[int, list[int]] = {}
    for place, slot in enumerate(plain.slots):
        at[place] = [len(slots)]
        slots.append(slot)
        if place in twinned:
            at[place].append(len(slots))
            slots.append(replace(slot, line=f"{slot.line} again", quantity=draw.randint(1, 2)))
    return replace(
        plain,
        slots=tuple(slots),
        options=tuple(replace(option, slot=place) for option in plain.options for place in at[option.slot]),
        promised=tuple(
            replace(
                promise,
                slot=place,
                quantity=min(promise.quantity, slots[place].quantity),
            )
            for promise in plain.promised
            for place in [draw.choice(at[promise.slot])]
        ),
    )


def promised_more(plain: Problem, seed: int) -> Problem:
    """The same with about a third of all that may go promised where it may go, so that promises clash."""
    draw = Random(seed)
    lots = {piece.tag for piece in plain.pieces if piece.lot}
    offered = sorted({(option.piece, option.slot) for option in plain.options})
    return replace(
        plain,
        promised=tuple(Promised(*each) for each in offered if each[0] not in lots and draw.random() < 0.35),
    )
