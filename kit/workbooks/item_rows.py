"""One row of the sheet Items as it was read."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any


@dataclass(slots=True)
class ItemRow:
    """Only columns that the sheet has are in `details`, so that an absent one changes nothing.

    None stands for a column that is not there (`place`, `set_name`), or a cell that says nothing (`state`, `quantity`).
    """

    row: int
    tag: str
    kind: str
    depot: str
    place: str | None
    state: str | None
    quantity: int | None
    details: dict[str, Any] = field(default_factory=dict)
    set_name: str | None = None
