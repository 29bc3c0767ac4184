"""The fewest changes, by the exact core: pieces and changes as its columns, and sums made least one after another.

What makes pieces of one use is the same for both: only as many of each use are kept as the lines want at most, the
first in order of tags, beside those that the kit list has chosen. Whoever takes a later one instead of an earlier does
no better by any sum, and worse by the order of tags.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from kit.planning.as_slots import as_compared, lot_kinds, piece_of, slots_of
from kit.planning.exact import Job, Limits, Option, Piece, Problem, Work
from kit.planning.refusal.changes import Change
from kit.planning.refusal.mendable import RANKS, Takes, moves_in
from kit.planning.refusal.moving import Move, Moves
from kit.planning.values import Candidate, Need

LIMITS = Limits(seconds_a_solve=20.0)

_AT_ONCE = 16

Place = tuple[str, int]
"""A tag, and the place of a line in the job."""


@dataclass(frozen=True, slots=True)
class Stock:
    """What there is for a job: free pieces, what each takes on each line with its rank there, and what lies there.

    `sets`: by tag, the name of the set that it goes with. `chosen`: for each line, tag -> quantity as the kit list
    has it beside what the job holds; `held`: for each line, mark -> pieces that it holds.
    """

    need: Need
    pieces: Mapping[str, Candidate]
    takes: Mapping[Place, tuple[int, Takes]]
    sets: Mapping[str, str]
    chosen: tuple[Counter[str], ...]
    held: tuple[Counter[str], ...]

    @property
    def wanted(self) -> tuple[int, ...]:
        """How many each line wants beside what is held."""
        return tuple(
            max(line.quantity - held.total(), 0)
            for line, held in zip(self.need.lines, self.held, strict=True)
        )


@dataclass(frozen=True, slots=True)
class Found:
    """What is to be done: changes of pieces, jobs moved, and how many each line must still be bought."""

    works: tuple[Change, ...]
    moves: tuple[Move, ...]
    bought: Mapping[int, int]
    placed: tuple[Mapping[str, int], ...]
    proven: bool


def fewest(stock: Stock, fill: Sequence[int], moves: Moves) -> Found:
    """The fewest changes that fill these lines (places in the job), every other line staying as full as it is."""
    # Only once it is asked: the solver takes longer to load than most kit lists take.
    from kit.planning.exact.levels import Descent
    from kit.planning.exact.model import Model
    from kit.planning.exact.parts import Part

    problem, changes, moved = _question(stock)
    if not problem.options:
        bought = {line: stock.wanted[line] for line in fill if stock.wanted[line]}
        return Found((), (), bought, tuple({} for _ in problem.slots), True)
    part = Part(tuple(range(len(problem.slots))), tuple(range(len(problem.options))))
    model = Model(problem, part)
    places = {(option.piece, option.slot): place for place, option in enumerate(problem.options)}
    start: dict[int, dict[int, int]] = {}
    for line, chosen in enumerate(stock.chosen):
        start[line] = {places[tag, line]: count for tag, count in chosen.items()}
        if line in model.slot_row:
            model.rows.low[model.slot_row[line]] = chosen.total()
    for one, others in _collisions(moved.values(), moves):
        columns = [model.work_columns[move.key] for move in (one, *others)]
        model.rows.add([(column, 1) for column in columns], high=1)
    descent = Descent(model, model.point(start), LIMITS)
    descent.least(-model.cost(model.pieces_placed(fill)))
    for line in fill[:-1]:
        descent.least(-model.cost(model.pieces_placed([line])))
    works = model.work_columns
    descent.least(model.cost((column, 1) for column in works.values()))
    for rank in sorted(set(RANKS.values()) - {0}, reverse=True):
        sort = [(key, column) for key, column in works.items() if key[0] == str(rank)]
        if sort:
            descent.least(model.cost((column, 1) for _, column in sort))
        if sort and rank == RANKS["move"]:
            descent.least(model.cost((column, moved[key].far) for key, column in sort))
            descent.least(model.cost((column, int(moved[key].earlier)) for key, column in sort))
    for keys in _chunks(sorted(works)):
        # Powers of two: the sum is least where the first is done if it can be, then the second, and so on.
        descent.least(-model.cost((works[key], 2 ** (_AT_ONCE - n)) for n, key in enumerate(keys)))
    done = sorted(model.works_done(descent.point))
    placing = model.placing(descent.point)
    placed = tuple(
        {problem.options[place].piece: count for place, count in placing.get(line, {}).items()}
        for line in range(len(problem.slots))
    )
    return Found(
        works=tuple(changes[key] for key in done if key in changes),
        moves=tuple(moved[key] for key in done if key in moved),
        bought={
            line: lacking for line in fill if (lacking := stock.wanted[line] - sum(placed[line].values())) > 0
        },
        placed=placed,
        proven=descent.proven,
    )


def _chunks(keys: Sequence[str]) -> Iterator[Sequence[str]]:
    for start in range(0, len(keys), _AT_ONCE):
        yield keys[start : start + _AT_ONCE]


def _question(stock: Stock) -> tuple[Problem, dict[str, Change], dict[str, Move]]:
    """The question, and what each key of a work stands for."""
    need = stock.need
    lots = lot_kinds(need.lines)
    kept = _worth_keeping(stock, lots)
    taken = {place: takes for place, (_, takes) in stock.takes.items() if place[0] in kept}
    moved = {move.key: move for move in sorted(moves_in(taken.values()))}
    changes: dict[str, Change] = {}
    options: list[Option] = []
    for (tag, line), takes in sorted(taken.items(), key=lambda each: (each[0][1], each[0][0])):
        changes.update(takes.works)
        options.append(
            Option(
                piece=tag,
                slot=line,
                rank=stock.takes[tag, line][0],
                works=(
                    *((key,) for key, _ in takes.works),
                    *(tuple(move.key for move in group) for group in takes.moves),
                ),
                barred_by=tuple(move.key for move in takes.barred_by if move.key in moved),
            )
        )
    works = [Work(key) for key in changes]
    works += [Work(key, group=f"move {move.job}") for key, move in moved.items()]
    problem = Problem(
        jobs=(Job(need.job),),
        slots=tuple(slots_of(0, need, stock.held)),
        pieces=tuple(_piece(stock, tag, stock.pieces[tag].kind in lots) for tag in sorted(kept)),
        options=tuple(options),
        works=tuple(sorted(works, key=lambda work: work.key)),
    )
    return problem, changes, moved


def _piece(stock: Stock, tag: str, lot: bool) -> Piece:
    """The piece in the core's words; it goes with its set only where the stock has one: what is held of it is gone."""
    return replace(piece_of(stock.pieces[tag], lot), set_name=stock.sets.get(tag, ""))


def _worth_keeping(stock: Stock, lots: Iterable[str]) -> set[str]:
    """Tags of the pieces that some answer may need, the members of their sets with them."""
    lot = set(lots)
    marked = any(line.assembly for line in stock.need.lines)
    of_tag: dict[str, list[tuple[int, int, tuple[str, ...]]]] = defaultdict(list)
    kept: set[str] = {tag for chosen in stock.chosen for tag in chosen}
    for (tag, line), (rank, takes) in stock.takes.items():
        of_tag[tag].append((line, rank, tuple(key[0] for key, _ in takes.works)))
        if takes.moves or takes.barred_by:
            kept.add(tag)
    room: Counter[object] = Counter()
    wanted = stock.wanted
    for tag in sorted(of_tag):
        piece = stock.pieces[tag]
        if piece.kind in lot or tag in stock.sets:
            kept.add(tag)
            continue
        lines = tuple(sorted(of_tag[tag]))
        use = (lines, as_compared(piece.mark) if marked else "")
        if room[use] < sum(wanted[line] for line, _, _ in lines):
            room[use] += 1
            kept.add(tag)
    names = {stock.sets[tag] for tag in kept if tag in stock.sets}
    return kept | {tag for tag, name in stock.sets.items() if name in names and tag in stock.pieces}


def _collisions(moved: Iterable[Move], moves: Moves) -> Iterable[tuple[Move, list[Move]]]:
    """(a move, moves of one other job) of which at most one may be made."""
    by_job: dict[str, list[Move]] = defaultdict(list)
    for move in moved:
        by_job[move.job].append(move)
    jobs = sorted(by_job)
    for number, job in enumerate(jobs):
        for other in jobs[number + 1 :]:
            for one in by_job[job]:
                against = [move for move in by_job[other] if moves.collide(one, move)]
                if against:
                    yield one, against


def without_lines(stock: Stock, lines: Iterable[int]) -> Stock:
    """The same for a job of which these lines are left as they are chosen and take nothing."""
    gone = set(lines)
    return replace(
        stock,
        takes={place: takes for place, takes in stock.takes.items() if place[1] not in gone},
        chosen=tuple(Counter() if line in gone else each for line, each in enumerate(stock.chosen)),
    )
