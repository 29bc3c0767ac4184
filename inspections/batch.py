"""A batch while it is being scanned: kept in the person's session, so that it survives a reload. Reads only."""

from __future__ import annotations

from collections.abc import Iterable, MutableMapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal, Self

from django.utils.translation import gettext as _

from inspections.judge import last_record
from inspections.models import Check, Due, Inspection, Verdict
from kit.models import Custody, Item, State

KEY = "bench_batch"
MOST_PIECES = 200
"""How many pieces one batch takes; a cage holds fewer (common practice, no source)."""


@dataclass
class Scan:
    """One piece in the batch, as it stands."""

    item: int
    tag: str
    verdict: str = Verdict.PASS.value
    note: str = ""
    bar: str = ""


@dataclass
class Batch:
    """The check, what was scanned (the latest last), what was typed of the shared values."""

    check: int
    pieces: list[Scan] = field(default_factory=list)
    shared: dict[str, str] = field(default_factory=dict)
    # The number of the record made last before the batch was begun.
    after_record: int = field(default_factory=last_record)

    @classmethod
    def of(cls, session: MutableMapping[str, Any], check: Check) -> Self:
        """The batch of that check in this session, empty if there is none."""
        kept = session.get(KEY, {}).get(str(check.pk))
        if kept is None:
            return cls(check.pk)
        pieces = [Scan(**piece) for piece in kept["pieces"]]
        return cls(check.pk, pieces, kept["shared"], kept["after_record"])

    def keep(self, session: MutableMapping[str, Any]) -> None:
        session[KEY] = {**session.get(KEY, {}), str(self.check): asdict(self)}

    def drop(self, session: MutableMapping[str, Any]) -> None:
        session[KEY] = {name: kept for name, kept in session.get(KEY, {}).items() if name != str(self.check)}

    def named(self, tag: str) -> Scan | None:
        """The piece of that tag; the latest if no tag is given."""
        if not tag:
            return self.pieces[-1] if self.pieces else None
        return next((piece for piece in self.pieces if piece.tag == tag), None)

    def take_out(self, tag: str) -> None:
        self.pieces = [piece for piece in self.pieces if piece.tag != tag]

    @property
    def exceptions(self) -> list[Scan]:
        return [piece for piece in self.pieces if piece.verdict != Verdict.PASS]


@dataclass(frozen=True, slots=True)
class ScanAnswer:
    """What is said at once of a scanned tag: taken, taken with a caution, or not."""

    kind: Literal["done", "caution", "refused"]
    text: str

    @property
    def taken(self) -> bool:
        return self.kind != "refused"


def add(batch: Batch, item: Item, check: Check, may: bool, today: Any) -> ScanAnswer:
    """Put a scanned piece into the batch, or say why not. `may`: the person may inspect at its depot."""
    told = {"tag": item.tag, "kind": item.kind.name, "check": check.name, "of": check.kind.name}
    refused = ""
    if batch.named(item.tag) and batch.pieces:
        refused = _("%(tag)s is in the batch already; scanned twice, taken once.")
    elif item.kind_id != check.kind_id:
        refused = _("%(tag)s is a %(kind)s; %(check)s here is that of a %(of)s.")
    elif not check.is_asked_of(item):
        refused = _("%(check)s is not asked of %(tag)s: its mark, maker or batch is another.")
    elif item.state in (State.WITHDRAWN, State.LOST):
        told["state"] = item.get_state_display().lower()
        refused = _("%(tag)s is %(state)s: there is nothing to record.")
    elif not may:
        refused = _("%(tag)s belongs to a depot where your roles do not include inspecting.")
    elif len(batch.pieces) >= MOST_PIECES:
        told["most"] = str(MOST_PIECES)
        refused = _("The batch has %(most)s pieces, which is the most: record it, then scan %(tag)s.")
    if refused:
        return ScanAnswer("refused", refused % told)
    batch.pieces.append(Scan(item.pk, item.tag))
    told["n"] = str(len(batch.pieces))
    caution = _caution(item, check, today)
    if caution:
        return ScanAnswer("caution", caution % told)
    return ScanAnswer("done", _("%(tag)s is taken: %(n)s in the batch.") % told)


def _caution(item: Item, check: Check, today: Any) -> str:
    if item.state == State.QUARANTINED:
        return _("%(tag)s is taken, and is set aside: a pass does not release it.")
    if item.custody == Custody.ON_SITE:
        return _("%(tag)s is taken, though the register has it on site.")
    if item.custody == Custody.IN_TRANSIT:
        return _("%(tag)s is taken, though the register has it in transit.")
    if Inspection.objects.filter(item=item, check_done=check, done_on=today, struck=False).exists():
        return _("%(tag)s is taken, though %(check)s of it is recorded today already.")
    return ""


def rows(batch: Batch) -> list[dict[str, Any]]:
    """The pieces as a screen lists them, the latest first, with when each is due."""
    ids = [piece.item for piece in batch.pieces]
    dues = dict(Due.objects.filter(item__in=ids, check_due=batch.check).values_list("item_id", "due_on"))
    items = Item.objects.in_bulk(ids)
    numbered: Iterable[tuple[int, Scan]] = enumerate(batch.pieces, 1)
    return [
        {"number": number, "piece": piece, "item": items.get(piece.item), "due_on": dues.get(piece.item)}
        for number, piece in reversed(list(numbered))
    ]
