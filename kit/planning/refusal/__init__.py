"""The helpful refusal: the fewest changes that would fill a line that is short, or the whole job.

    refusal = ways_out(kit, register, held, known)
    refusal.lines["bags"]      the fewest changes that fill that line
    refusal.whole              the fewest that fill all lines together
    refusal.soonest            the soonest later loading day on which the whole job would be full

`changes.py` says what a change is and what is known; `mendable.py` what it takes for a piece to go; `moving.py` which
other jobs could load on other days; `fewest.py` finds the fewest; `buying.py` what to ask for; `whole.py` the soonest
day; `telling.py` says it in sentences.

What counts as fewest, in this order: (1) fewest pieces to buy or borrow, for what the register can bring need not be
bought; of several short lines the later one is bought for; (2) fewest changes, a piece that must be inspected and
brought counting two; (3) among equally few, inspections are liked best, then what is brought by a recorded way, brought
by a way that is not recorded, hurried, released, and jobs that are moved least: the fewest of what is liked least come
first; of moves then the fewest days in sum, and later rather than earlier; (4) the first in order of tags. So the
answer is the same on every run.
"""

from kit.planning.refusal.changes import (
    MOST_DAYS_MOVED,
    Change,
    Known,
    OtherJob,
    Purchase,
    Refusal,
    WayOut,
)
from kit.planning.refusal.finding import ways_out
from kit.planning.refusal.telling import change_text, purchase_text, way_text, with_remedies
from kit.planning.refusal.whole import soonest_whole

__all__ = [
    "MOST_DAYS_MOVED",
    "Change",
    "Known",
    "OtherJob",
    "Purchase",
    "Refusal",
    "WayOut",
    "change_text",
    "purchase_text",
    "soonest_whole",
    "way_text",
    "ways_out",
    "with_remedies",
]
