"""Sign for what became of a consignment, piece by piece or all at once: arrived, not in it, or back where it left.

It is always another person's signature than the one for sending.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any

from kit.models import Arrival, Custody, Deed, Item, State, Transfer, TransferLine
from kit.stores.act import Act, NotAllowed
from kit.stores.current import fresh, renew
from kit.stores.late import happened_on
from kit.stores.quarantine import find_again, lose
from kit.stores.rejudge import rejudge

SIGNED = (Arrival.ARRIVED, Arrival.BACK)


def sign_for(
    act: Act,
    line: TransferLine,
    quantity: int | None = None,
    arrived_on: date | None = None,
    note: str = "",
) -> TransferLine:
    """Take one piece in where it was sent to. `quantity`: how many of a lot were counted, all if None.

    What was noted as missing may turn up after all: it is found again, and so set aside. `arrived_on` an earlier day:
    a late entry. Raises NotAllowed with why.
    """
    _renew(line)
    _refuse_sender(act, line.transfer, line.item, "that it arrived")
    return _take_in(act, line, quantity, arrived_on, note)


def sign_for_all(act: Act, transfer: Transfer, arrived_on: date | None = None) -> list[TransferLine]:
    """Take in all that is still on the way, in full, with one signature."""
    renew(transfer, "from_depot", "to_depot")
    _refuse_sender(act, transfer, transfer, "that it arrived")
    listed = list(_lines(transfer).filter(outcome=Arrival.ON_THE_WAY))
    if not listed:
        raise NotAllowed(f"Nothing of {transfer} is on the way any more: all of it is signed for.")
    return [_take_in(act, line, None, arrived_on, "") for line in listed]


def note_missing(act: Act, line: TransferLine, why: str) -> TransferLine:
    """Record that the piece was not in the consignment when it was unpacked.

    Nobody has it in hand, so it is noted as lost at once and no promise counts on it; it stays in transit, because
    nobody has signed for it, until it is found at either end.
    """
    _renew(line)
    item = fresh(line.item)
    _refuse_sender(act, line.transfer, item, "that it is missing")
    if line.outcome != Arrival.ON_THE_WAY:
        raise NotAllowed(f"{item.tag} is not on the way any more: {_said(line)}.")
    if not why.strip():
        raise NotAllowed(f"{item.tag} is missing: say where it was looked for and who was told.")
    _sign(act, line, Arrival.MISSING, act.today, why)
    act.tell(Deed.NOT_ARRIVED, _subjects(line), note=why.strip())
    if item.state in (State.AVAILABLE, State.QUARANTINED):
        lose(act, item, f"not in consignment {line.transfer}: {why.strip()}")
    return line


def bring_back(act: Act, line: TransferLine, why: str, on: date | None = None) -> TransferLine:
    """Sign that the piece is at the depot that sent it: the van turned round, or it had been left behind."""
    _renew(line)
    item = fresh(line.item)
    leaves = line.transfer.from_depot
    _refuse_sender(act, line.transfer, item, "that it is back")
    if line.outcome in SIGNED:
        raise NotAllowed(f"{item.tag} is not on the way any more: {_said(line)}.")
    if not why.strip():
        raise NotAllowed(f"Say why {item.tag} is back at {leaves}.")
    moment = happened_on(act, item, on, "come back")
    _put_in_store(act, item)
    _sign(act, line, Arrival.BACK, on or act.today, why)
    note = f"back at {leaves} from {line.transfer}: {why.strip()}"
    act.tell(Deed.TAKEN_BACK, _subjects(line), note=note, happened_at=moment)
    _judge(act, item, note)
    return line


def expect_on(act: Act, transfer: Transfer, day: date, why: str) -> bool:
    """Move the expected arrival of what is still on the way; promises that lean on it are judged again."""
    renew(transfer, "from_depot", "to_depot")
    if transfer.closed:
        raise NotAllowed(f"{transfer} is closed: nothing of it is on the way.")
    if day < act.today:
        raise NotAllowed(
            f"{day} is past: give the day on which {transfer} is expected at {transfer.to_depot}."
        )
    if not why.strip():
        raise NotAllowed(f"Say why {transfer} is expected on another day, and who says so.")
    before = transfer.arrives_on
    if not act.change(transfer, arrives_on=day):
        return False
    items = [line.item for line in _lines(transfer).filter(outcome=Arrival.ON_THE_WAY)]
    for item in items:
        act.change(item, arrives_on=day)
    facts = {"arrives_on": day, "before": before}
    act.tell(Deed.CHANGED, [*items, transfer, transfer.to_depot], note=why.strip(), facts=facts)
    rejudge(act, [item.pk for item in items])
    return True


def line_for(transfer: Transfer, item: Item) -> TransferLine:
    """The line that this scanned piece is; NotAllowed with why it is the wrong one, and what to do with it."""
    line: TransferLine | None = _lines(transfer).filter(item=item).first()
    if line is not None:
        return line
    way = on_the_way(item)
    if way is not None:
        raise NotAllowed(
            f"{item.tag} is not on {transfer} but on {way.transfer}, from {way.transfer.from_depot} to "
            f"{way.transfer.to_depot}: sign for it there."
        )
    if item.depot_id == transfer.to_depot_id:
        raise NotAllowed(f"{item.tag} is not on {transfer}: it belongs to {item.depot} already.")
    raise NotAllowed(
        f"{item.tag} is not on {transfer}: the book has it at {item.depot}. Put it aside; {item.depot} enters it as "
        "sent, then sign for it."
    )


def on_the_way(item: Item) -> TransferLine | None:
    """The line under which the item is in transit, noted as missing or not; None if it is not."""
    if item.custody != Custody.IN_TRANSIT:
        return None
    lines = TransferLine.objects.filter(item=item).exclude(outcome__in=SIGNED)
    return lines.select_related("transfer__from_depot", "transfer__to_depot").order_by("-pk").first()


def _take_in(
    act: Act, line: TransferLine, quantity: int | None, arrived_on: date | None, note: str
) -> TransferLine:
    item = fresh(line.item)
    if line.outcome in SIGNED:
        raise NotAllowed(f"{item.tag} is not on the way any more: {_said(line)}.")
    came = line.quantity if quantity is None or not item.counted else quantity
    if not 1 <= came <= line.quantity:
        raise NotAllowed(
            f"{line.quantity} of {item.tag} were sent: between 1 and {line.quantity} can arrive. If none came, note "
            "it as missing; if more came, sign for these and count the lot afterwards."
        )
    if came < line.quantity and not note.strip():
        raise NotAllowed(f"{line.quantity - came} of {item.tag} are missing: say what is known of them.")
    moment = happened_on(act, item, arrived_on, "arrived")
    _put_in_store(act, item, depot=line.transfer.to_depot, **({"quantity": came} if item.counted else {}))
    _sign(act, line, Arrival.ARRIVED, arrived_on or act.today, note, came)
    subjects = _subjects(line)
    act.tell(Deed.ARRIVED, subjects, note=f"on {line.transfer}", facts={"quantity": came}, happened_at=moment)
    if came < line.quantity:
        facts = {"sent": line.quantity, "arrived": came, "missing": line.quantity - came}
        act.tell(Deed.NOT_ARRIVED, subjects, note=note.strip(), facts=facts, happened_at=moment)
    _judge(act, item, f"arrived at {item.depot}")
    return line


def take_in_unlisted(act: Act, item: Item, arrived_on: date | None) -> None:
    """Take in a piece that is in transit on no consignment: it was sent before those were kept."""
    if item.sent_by == act.who.actor:
        raise NotAllowed(f"You sent {item.tag}: somebody else must sign that it arrived.")
    moment = happened_on(act, item, arrived_on, "arrived")
    _put_in_store(act, item, depot=item.transit_to)
    act.tell(Deed.ARRIVED, [item, item.depot], happened_at=moment)
    _judge(act, item, f"arrived at {item.depot}")


def _put_in_store(act: Act, item: Item, **more: Any) -> None:
    act.change(item, custody=Custody.STORE, place=None, transit_to=None, arrives_on=None, sent_by="", **more)


def _sign(
    act: Act, line: TransferLine, outcome: Arrival, day: date, note: str, quantity: int | None = None
) -> None:
    """Both the line and, with the last of them, the consignment."""
    act.change(
        line,
        outcome=outcome,
        arrived_on=day,
        arrived_by=act.who.actor,
        arrived_quantity=quantity,
        note=note.strip()[:300],
    )
    if not _lines(line.transfer).filter(outcome=Arrival.ON_THE_WAY).exists():
        act.change(line.transfer, closed=True)


def _judge(act: Act, item: Item, why: str) -> None:
    if item.state == State.LOST:
        find_again(act, item, why=why)
    else:
        rejudge(act, [item.pk])


def _refuse_sender(act: Act, transfer: Transfer, sent: Item | Transfer, what: str) -> None:
    if transfer.sent_by == act.who.actor:
        raise NotAllowed(f"You sent {sent}: somebody else must sign {what}.")


def _said(line: TransferLine) -> str:
    return f"{line.get_outcome_display().lower()}, signed for by {line.arrived_by} on {line.arrived_on}"


def _subjects(line: TransferLine) -> Iterable[Any]:
    return [line.item, line.transfer.from_depot, line.transfer.to_depot, line.transfer]


def _renew(line: TransferLine) -> None:
    renew(line, "transfer__from_depot", "transfer__to_depot", "item")


def _lines(transfer: Transfer) -> Any:
    return transfer.lines.select_related("transfer__from_depot", "transfer__to_depot", "item__kind")
