"""The kit list of a job as its page shows it: a line's pieces, what speaks against others, what else fits."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from kit.models import Item, Job, Kind, Reservation, SizedBy, Standing
from kit.papers.wording import goes_with, millimetres
from kit.planning import NO_LIMIT, Candidate, KitLine, KitList, Line, Main, Need, judge_fitness
from kit.planning.as_slots import units_of
from kit.sentences import said
from kit.stores import candidates
from kit.tables.items import bore_text
from kit.tables.marks import Mark, conceded, short_day, standing_of
from kit.tables.reasons_said import reason_said
from kit.views.line_words import coupled_words

MOST_SHOWN = 100
"""Pieces refused or also fit that a line shows at once; the spreadsheet and ?every=1 give all."""


@dataclass(frozen=True, slots=True)
class ShownPiece:
    """A piece or lot on a line. `reservation` is None where it is the best choice and not promised yet."""

    item: Item
    quantity: int
    mark: Mark
    until: str
    detail: str
    reservation: Reservation | None = None
    conceded: Sequence[Mark] = ()
    goes_with: str = ""

    @property
    def may_change(self) -> bool:
        """Whether it can be let go or another put in its place."""
        return self.reservation is not None and self.reservation.standing == Standing.PROMISED


@dataclass
class ShownLine:
    """A line with what is chosen for it, what is refused (fewest reasons first) and what would also do."""

    line: KitLine
    match: str
    further: Sequence[str] = ()
    pieces: list[ShownPiece] = field(default_factory=list)
    refused: list[dict[str, Any]] = field(default_factory=list)
    refused_left_out: int = 0
    also_fit: list[Item] = field(default_factory=list)
    also_fit_left_out: int = 0

    @property
    def refused_in_all(self) -> int:
        return len(self.refused) + self.refused_left_out

    @property
    def also_fit_in_all(self) -> int:
        return len(self.also_fit) + self.also_fit_left_out


def match_text(line: Line, kit: KitList, outside: bool) -> str:
    """What a piece of the line must match, in words with the job's figures; `outside`: its kind sits on the pipe."""
    bore = _size_text(line, kit.need, outside)
    mark = _("the mark %(mark)s") % {"mark": kit.need.base_mark} if kit.need.base_mark else _("the mark")
    return {
        "any": "",
        "bore": _("must suit %(bore)s") % {"bore": bore},
        "mark": _("must have %(mark)s") % {"mark": mark},
        "bore+mark": _("must suit %(bore)s and have %(mark)s") % {"bore": bore, "mark": mark},
    }[line.match]


def _size_text(line: Line, need: Need, outside: bool) -> str:
    """The diameters of the line's side or sides."""
    sides = {"near": [need.near], "far": [need.far]}.get(line.side, [need.near, need.far])
    mains = [main for main in sides if main is not None] if need.far else [need.near or Main(need.bore_mm)]
    sizes = [size for main in mains if (size := main.size_mm("outside" if outside else "inside"))]
    words = _(" and ").join(dict.fromkeys(millimetres(size) for size in sizes))
    if outside:
        return _("the outside of %(size)s mm") % {"size": words} if words else _("the outside of the pipe")
    return _("the bore of %(bore)s mm") % {"bore": words} if words else _("the bore")


def shown_lines(job: Job, kit: KitList, every: bool = False) -> list[ShownLine]:
    """The lines of the kit list in the arrangement's order."""
    most = None if every else MOST_SHOWN
    outside = set(Kind.objects.filter(sized_by=SizedBy.OUTSIDE).values_list("name", flat=True))
    units = units_of(kit.need.lines)
    lines = {
        each.line.name: ShownLine(
            each, match_text(each.line, kit, each.line.kind in outside), _further(each.line, units)
        )
        for each in kit.lines
    }
    held = _held(job)
    also: dict[str, list[str]] = {}
    for fit in kit.also_fit:
        also.setdefault(fit.line, []).append(fit.tag)
    wanted = {tag for each in kit.lines for tag in (*each.tags, *(lot for lot, _ in each.lots))}
    wanted |= {tag for tags in also.values() for tag in tags[:most]}
    items = Item.objects.select_related("kind", "place", "depot", "transit_to").in_bulk(
        sorted(wanted), field_name="tag"
    )
    known = {c.tag: c for c in candidates(items.values(), kit.as_of, job)}
    for name, shown in lines.items():
        shown.pieces = list(_pieces(shown.line, held, items, known))
        tags = also.get(name, [])
        shown.also_fit = [items[tag] for tag in tags[:most]]
        shown.also_fit_left_out = len(tags) - len(shown.also_fit)
        # The nearest to being fit first: which one piece would unblock the kit is what is looked for.
        refused = sorted((r for r in kit.refused if r.line == name), key=lambda r: (len(r.reasons), r.tag))
        shown.refused = [
            {"tag": r.tag, "reasons": r.reasons, "url": reverse("item", args=[r.tag])} for r in refused[:most]
        ]
        shown.refused_left_out = len(refused) - len(shown.refused)
    return list(lines.values())


def _further(line: Line, units: dict[str, int]) -> list[str]:
    instead = [other.kind for other in sorted(line.substitutes, key=lambda other: other.rank)]
    return list(coupled_words(line.assembly, line.quantity, units.get(line.assembly, 1), instead))


def _held(job: Job) -> dict[tuple[str, str], list[Reservation]]:
    rows = job.reservations.filter(standing__in=[Standing.PROMISED, Standing.ISSUED, Standing.RETURNED])
    held: dict[tuple[str, str], list[Reservation]] = {}
    for reservation in rows.select_related("line", "item"):
        held.setdefault((reservation.line.name, reservation.item.tag), []).append(reservation)
    return held


def _pieces(
    each: KitLine,
    held: dict[tuple[str, str], list[Reservation]],
    items: dict[str, Item],
    known: dict[str, Candidate],
) -> Any:
    """What is promised, out or back first, then what the best choice would add."""
    chosen = []
    for tag, quantity in [*((tag, 1) for tag in each.tags), *each.lots]:
        for reservation in held.get((each.line.name, tag), []):
            quantity -= reservation.quantity
            standing = standing_of(reservation)
            yield _piece(items[tag], known[tag], each.line, reservation.quantity, standing, reservation)
        if quantity > 0:
            best = Mark("available", word=_("best choice"))
            chosen.append(_piece(items[tag], known[tag], each.line, quantity, best, None))
    yield from chosen


def _piece(
    item: Item, known: Candidate, line: Line, quantity: int, mark: Mark, reservation: Reservation | None
) -> ShownPiece:
    facts = (
        item.place.name if item.place else "",
        _("%(bore)s mm") % {"bore": bore_text(item)} if bore_text(item) else "",
        _("mark %(mark)s") % {"mark": item.mark} if item.mark else "",
        _("serial %(serial)s") % {"serial": item.serial} if item.serial else "",
    )
    return ShownPiece(
        item=item,
        quantity=quantity,
        mark=mark,
        until=until_text(known),
        detail=", ".join(fact for fact in facts if fact),
        reservation=reservation,
        conceded=conceded(known.gates),
        goes_with=goes_with(item.set_name, item.kind.name, item.mark, line.kind, line.assembly),
    )


def until_text(known: Candidate) -> str:
    """Until when a piece is fit and what limits it, as known on the kit list's day."""
    fitness = judge_fitness(known.use_by, known.gates)
    day: date | None = fitness.fit_until
    if day is None:
        return _("not fit: %(reason)s") % {"reason": reason_said(fitness.reason)}
    if day == NO_LIMIT:
        return _("no date limits it")
    check, due, more = fitness.reason.partition(f" due {day.isoformat()}")
    if more:
        return reason_said(fitness.reason)
    what = _("%(check)s due") % {"check": said(check)} if due else _("use-by date")
    return _("%(day)s, %(what)s") % {"day": short_day(day), "what": what}
