"""From a kit list that is short to the fewest changes for each short line, and for all of them together."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING

from kit.planning.as_slots import kinds_of
from kit.planning.coupled import groups_of, marks_held
from kit.planning.refusal.buying import Buying
from kit.planning.refusal.changes import Change, Known, Refusal, WayOut
from kit.planning.refusal.fewest import Found, Place, Stock, fewest, without_lines
from kit.planning.refusal.mendable import Mending, Takes
from kit.planning.refusal.moving import Move, Moves
from kit.planning.refusal.whole import soonest_whole
from kit.planning.sets import sets_of
from kit.planning.values import Candidate, Held

if TYPE_CHECKING:
    from kit.planning.kit_list import KitList


def ways_out(
    kit: KitList, register: Iterable[Candidate], held: Iterable[Held] = (), known: Known | None = None
) -> Refusal:
    """The fewest changes for each short line of the kit list, for all of them, and the soonest whole day.

    `register`: every piece that the kit list was drawn up from, those of other depots and of other kinds in their sets
    included; `held`: what the job held then. For one line the others stay as full as they are.
    """
    return _Finding(kit, register, held, known or Known()).refusal()


class _Finding:
    def __init__(
        self, kit: KitList, register: Iterable[Candidate], held: Iterable[Held], known: Known
    ) -> None:
        self.kit, self.need, self.held = kit, kit.need, tuple(held)
        self.register = {piece.tag: piece for piece in register}
        self.moves = Moves(self.need, kit.as_of, self.register, known)
        self.buying = Buying(self.need, self.register.values())
        self.known = known

    def refusal(self) -> Refusal:
        short = [place for place, line in enumerate(self.kit.lines) if line.short]
        if not short:
            return Refusal({}, WayOut(), None)
        enter = {place: said for place in short if (said := self.buying.to_enter(self.need.lines[place]))}
        fill = [place for place in short if place not in enter]
        stock = self._stock(fill)
        lines = {
            self.need.lines[place].name: WayOut(enter=(enter[place],))
            if place in enter
            else self._way_out(stock, [place])
            for place in short
        }
        whole = self._way_out(stock, fill) if len(fill) > 1 or enter else lines[self.need.lines[fill[0]].name]
        entered = tuple(dict.fromkeys(enter.values()))
        return Refusal(lines, replace(whole, enter=entered), self._soonest(bool(enter)))

    def _soonest(self, to_enter: bool) -> date | None:
        return None if to_enter else soonest_whole(self.need, self.register.values(), self.kit.as_of)

    def _way_out(self, stock: Stock, fill: Sequence[int]) -> WayOut:
        if not fill:
            return WayOut()
        found = fewest(self._narrowed(stock, fill), fill, self.moves)
        lines = self.need.lines
        return WayOut(
            changes=(*found.works, *(self._moved(move, found) for move in found.moves)),
            buy=tuple(self.buying.purchase(lines[place], n) for place, n in found.bought.items()),
            instead=tuple(self.buying.purchase(lines[place], self.kit.lines[place].short) for place in fill),
            proven=found.proven,
        )

    def _narrowed(self, stock: Stock, fill: Sequence[int]) -> Stock:
        """The stock without the lines that have nothing to do with these, nor with the jobs moved for them."""
        taken = {tag for tag, _ in stock.takes}
        sets = [
            members
            for members in sets_of(stock.pieces[tag] for tag in stock.sets if tag in stock.pieces).values()
            if all(member.tag in taken for member in members)
        ]
        left = [group.lines for group in groups_of(self.need, sets)]
        kept: set[int] = set(fill)
        jobs: set[str] = set()
        while True:
            for (_, line), (_, takes) in stock.takes.items():
                if line in kept:
                    jobs.update(move.job for moves in takes.moves for move in moves)
            barred = {
                line
                for (_, line), (_, takes) in stock.takes.items()
                if any(move.job in jobs for move in takes.barred_by)
            }
            wider = {line for lines in left if (kept | barred) & set(lines) for line in lines}
            if wider <= kept:
                return without_lines(stock, set(range(len(self.need.lines))) - kept)
            kept |= wider

    def _moved(self, move: Move, found: Found) -> Change:
        load_on, return_on = self.moves.window(move)
        used = {tag for placed in found.placed for tag in placed}
        ends = self.need.return_on
        frees = sorted(
            tag
            for tag in used
            for promise in self.register[tag].promises
            if promise.job == move.job and promise.starts <= ends and promise.ends >= self.need.load_on
        )
        return Change(
            "move", move.job, days=move.days, load_on=load_on, return_on=return_on, frees=tuple(frees)
        )

    def _stock(self, fill: Sequence[int]) -> Stock:
        """What there is for these lines and for what has to do with them; the others take nothing."""
        need = self.need
        held_on = [Counter[str]() for _ in need.lines]
        places = {line.name: place for place, line in enumerate(need.lines)}
        for each in self.held:
            held_on[places[each.line]][each.tag] += each.quantity
        taken = sum(held_on, Counter[str]())
        free = {
            tag: replace(piece, quantity=piece.quantity - taken[tag]) if taken[tag] else piece
            for tag, piece in self.register.items()
            if piece.quantity > taken[tag]
        }
        sets = sets_of(self.register.values(), taken)
        depots: dict[str, set[str]] = defaultdict(set)
        for tag, piece in self.register.items():
            if piece.set_name and not taken[tag]:
                depots[piece.set_name].add("on its way" if piece.custody == "in-transit" else piece.depot)
        parted = {name for name, where in depots.items() if len(where) > 1}
        mending = Mending(need, self.kit.as_of, self.known, self.moves, parted)
        by_kind: dict[str, list[Candidate]] = defaultdict(list)
        for piece in free.values():
            by_kind[piece.kind].append(piece)
        takes: dict[Place, tuple[int, Takes]] = {}

        def look_at(places: Iterable[int]) -> None:
            for place in places:
                for rank, seen in kinds_of(need.lines[place]):
                    for piece in by_kind[seen.kind]:
                        if (found := mending.takes(piece, seen)) is not None:
                            takes[piece.tag, place] = rank, found

        groups = [group.lines for group in groups_of(need, sets.values())]
        near = {place for lines in groups if not set(fill).isdisjoint(lines) for place in lines}
        look_at(sorted(near))
        if any(found.moves for _, found in takes.values()):
            # A job that is moved for one line may come to stand in the way of another.
            look_at(place for place in range(len(need.lines)) if place not in near)
            near = set(range(len(need.lines)))
        chosen = tuple(
            Counter(dict(line.lots) if line.line.counted else dict.fromkeys(line.tags, 1)) - held
            if place in near
            else Counter[str]()
            for place, (line, held) in enumerate(zip(self.kit.lines, held_on, strict=True))
        )
        return Stock(
            need=need,
            pieces=free,
            takes=takes,
            sets={piece.tag: "/".join(key) for key, members in sets.items() for piece in members},
            chosen=chosen,
            held=tuple(marks_held(on_line, self.register) for on_line in held_on),
        )
