"""Two people undo the same issue at once, or scan the same piece in the same count."""

from typing import Any

from kit.models import Deed, Item, LedgerEntry, StockTake, StockTakeLine
from kit.stores import COUNTER, NotAllowed, Who, acting, begin_stock_take, issue_piece, see, undo
from tests.kit.stores.race_depot import SETTER, job, one_piece, piece, racer, said


def set_up(round_number: int) -> dict[str, Any]:
    given = one_piece(round_number)
    if round_number % 2:
        with acting(SETTER) as deed:
            take = begin_stock_take(deed, piece(given["tag"]).depot)
        return {**given, "take": take.number}
    with acting(Who("setter", COUNTER)) as deed:
        issue_piece(deed, job(given["jobs"][0]), piece(given["tag"]))
    entry = LedgerEntry.objects.filter(deed=Deed.ISSUED).order_by("-number")[0]
    return {**given, "entry": entry.number}


def act(process: int, given: dict[str, Any]) -> dict[str, Any]:
    try:
        with acting(racer(process)) as deed:
            if "take" in given:
                _, new = see(deed, StockTake.objects.get(number=given["take"]), piece(given["tag"]))
                return {"did": "seen first" if new else "seen already"}
            undo(deed, given["entry"])
    except NotAllowed as refusal:
        return said(refusal)
    return {"did": "undone"}


def look(given: dict[str, Any]) -> dict[str, Any]:
    if "take" in given:
        return {"lines": StockTakeLine.objects.filter(item__tag=given["tag"], seen_at__isnull=False).count()}
    undone = LedgerEntry.objects.filter(deed=Deed.UNDONE, corrects=given["entry"]).count()
    return {"undone": undone, "custody": Item.objects.get(tag=given["tag"]).custody}
