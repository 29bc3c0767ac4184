"""The store: depots, kinds, items, arrangements, jobs, reservations and the ledger."""

from kit.models.depot import Depot, Membership, Place, Role
from kit.models.item import (
    Custody,
    Item,
    Kind,
    MakerLabel,
    Precision,
    ShortDate,
    State,
    gate_from_json,
    gate_to_json,
)
from kit.models.job import Arrangement, ArrangementLine, Job, JobState, Match
from kit.models.ledger import Deed, LedgerEntry, LedgerMention
from kit.models.reservation import HOLDING, OPEN, Outcome, Reservation, Standing

__all__ = [
    "HOLDING",
    "OPEN",
    "Arrangement",
    "ArrangementLine",
    "Custody",
    "Deed",
    "Depot",
    "Item",
    "Job",
    "JobState",
    "Kind",
    "LedgerEntry",
    "LedgerMention",
    "MakerLabel",
    "Match",
    "Membership",
    "Outcome",
    "Place",
    "Precision",
    "Reservation",
    "Role",
    "ShortDate",
    "Standing",
    "State",
    "gate_from_json",
    "gate_to_json",
]
