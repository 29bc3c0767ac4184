"""A season as the question of the exact core: slots, pieces, and what each piece costs where it may go."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import replace
from datetime import date

from kit.planning.as_slots import kinds_of, lot_kinds, option_of, piece_of, places_of_width, slots_of
from kit.planning.exact import Job, Option, Problem, Promised, Slot
from kit.planning.rearranging.season import Season
from kit.planning.reasons import is_fit
from kit.planning.values import Candidate, Line, Need


def question(season: Season) -> Problem:
    """The season as the core is asked it. Without works: what may go today's way, and nothing else."""
    width_places = places_of_width(season.candidates)
    slots: list[Slot] = []
    options: list[Option] = []
    promised: list[Promised] = []
    by_kind = _by_kind_and_depot(season.candidates)
    for place, movable in enumerate(season.jobs):
        need = movable.need
        first = len(slots)
        slots.extend(slots_of(place, need))
        # What may go on a line is looked up once for all lines that differ in name and number only.
        alike: dict[Line, list[Option]] = {}
        for number, line in enumerate(need.lines):
            kind_of_line = replace(line, name="", quantity=0, assembly="")
            if kind_of_line in alike:
                options.extend(_on(first + number, option) for option in alike[kind_of_line])
                continue
            found = list(_options(first + number, line, need, by_kind, season.as_of, width_places))
            alike[kind_of_line] = found
            options.extend(found)
        lines = {line.name: first + number for number, line in enumerate(need.lines)}
        for held in movable.promised:
            if held.line not in lines:
                raise ValueError(
                    f"{need.job} is promised {held.tag} for the line {held.line!r}, and its arrangement has none; "
                    f"let {held.tag} go first"
                )
            promised.append(Promised(held.tag, lines[held.line], held.quantity))
    lots = lot_kinds(line for job in season.jobs for line in job.need.lines)
    return Problem(
        jobs=tuple(Job(job.need.job, job.priority) for job in season.jobs),
        slots=tuple(slots),
        pieces=tuple(piece_of(candidate, candidate.kind in lots) for candidate in season.candidates),
        options=tuple(options),
        promised=tuple(promised),
    )


def _by_kind_and_depot(candidates: Iterable[Candidate]) -> dict[tuple[str, str], list[Candidate]]:
    found: dict[tuple[str, str], list[Candidate]] = defaultdict(list)
    for candidate in candidates:
        for depot in {candidate.depot, candidate.transit_to or candidate.depot}:
            found[candidate.kind, depot].append(candidate)
    return found


def _options(
    slot: int,
    line: Line,
    need: Need,
    by_kind: dict[tuple[str, str], list[Candidate]],
    as_of: date,
    width_places: int,
) -> Iterator[Option]:
    for rank, seen in kinds_of(line):
        for candidate in by_kind.get((seen.kind, need.depot), ()):
            if is_fit(candidate, seen, need, as_of):
                yield option_of(candidate, slot, seen, rank, need, width_places)


def _on(slot: int, option: Option) -> Option:
    """The same on another slot; `dataclasses.replace` takes three times as long, and there are many."""
    return Option(
        option.piece,
        slot,
        option.days,
        option.width,
        option.rank,
        option.starts,
        option.ends,
        option.works,
        option.barred_by,
    )
