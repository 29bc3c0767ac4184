"""Set up a new register: the kinds and arrangements that are shipped (common practice, editable)."""

from __future__ import annotations

from typing import Any

from kit.models import Deed, Kind, LedgerEntry
from kit.planning import SHIPPED_ARRANGEMENTS
from kit.ports import ports
from kit.stores.act import Act
from kit.stores.arrange import LineSpec, set_arrangement

SHIPPED_KINDS: dict[str, dict[str, Any]] = {
    "bag": {"has_bore": True, "has_batch": True, "has_use_by": True, "check_after_use": True},
    "bag tube": {"has_use_by": False},
    "control head": {},
    "bagging head": {"has_mark": True},
    "nose": {"has_bore": True},
    "base": {"has_mark": True},
    "vent head": {},
    "vent stack": {},
    "bypass set": {},
    "gauge": {},
    "gas detector": {},
    "pump": {},
    "chain set": {},
    "hand tool": {"has_serial": False},
    "seal": {"counted": True, "has_serial": False, "has_batch": True, "has_use_by": True},
    "cap": {"counted": True, "has_serial": False, "has_batch": True},
    "leak-detection fluid": {"counted": True, "has_serial": False, "has_batch": True, "has_use_by": True},
    "lubricant": {"counted": True, "has_serial": False, "has_batch": True, "has_use_by": True},
}


def found_register(act: Act) -> bool:
    """Write what is shipped, once in the life of a register; True if it was done now.

    The ledger says whether it was done: depots and people may have been entered before, by whoever set it up.
    """
    if LedgerEntry.objects.filter(deed=Deed.FOUND).exists():
        return False
    kinds = {name: act.create(Kind(name=name, **settings)) for name, settings in SHIPPED_KINDS.items()}
    act.tell(Deed.FOUND, [f"kind:{name}" for name in kinds], note="kinds shipped with the register")
    for shipped in SHIPPED_ARRANGEMENTS:
        set_arrangement(
            act,
            shipped.name,
            [
                LineSpec(line.name, kinds[line.kind], line.quantity, line.match, line.note)
                for line in shipped.lines
            ],
            source="common practice, no source; the network operator's procedure decides",
            note=shipped.note,
        )
    for found in ports.founders:
        found(act)
    return True
