"""What calls for a check again, as a row that is not written yet."""

from __future__ import annotations

from inspections.judge import last_record
from inspections.models import Cause, Check, RetestCall
from kit.models import Item
from kit.stores import Act


def call_for(
    act: Act, item: Item, cause: Cause, why: str = "", check: Check | None = None, after: int | None = None
) -> RetestCall:
    """A call made today: records entered after `after` answer it (the last entered by now, unless it is given)."""
    return RetestCall(
        item=item,
        check_called=check,
        cause=cause,
        called_on=act.today,
        after_record=last_record() if after is None else after,
        why=why[:400],
        called_by=act.who.actor,
    )
