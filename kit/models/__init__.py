"""The store: depots, kinds, items, arrangements, jobs, reservations and the ledger."""

from kit.models.depot import Depot, DepotLink, Membership, Place, Role
from kit.models.item import (
    Custody,
    Item,
    Kind,
    MakerLabel,
    Precision,
    ShortDate,
    SizedBy,
    State,
    gate_from_json,
    gate_to_json,
)
from kit.models.job import (
    Arrangement,
    ArrangementLine,
    Job,
    JobState,
    LineSubstitute,
    Match,
    PipeSize,
    Side,
)
from kit.models.label_paper import LabelPaper
from kit.models.ledger import Deed, LedgerEntry, LedgerMention
from kit.models.planning import CrewCalendarKey, TrialPlan
from kit.models.reservation import HOLDING, OPEN, Outcome, Reservation, Standing
from kit.models.saved_view import SavedView, UsualView
from kit.models.stock_take import Settled, StockTake, StockTakeLine
from kit.models.tour import TourStep
from kit.models.transfer import Arrival, Transfer, TransferLine
from kit.models.van import Taken, VanDeed, VanEntry

__all__ = [
    "HOLDING",
    "OPEN",
    "Arrangement",
    "ArrangementLine",
    "Arrival",
    "CrewCalendarKey",
    "Custody",
    "Deed",
    "Depot",
    "DepotLink",
    "Item",
    "Job",
    "JobState",
    "Kind",
    "LabelPaper",
    "LedgerEntry",
    "LedgerMention",
    "LineSubstitute",
    "MakerLabel",
    "Match",
    "Membership",
    "Outcome",
    "PipeSize",
    "Place",
    "Precision",
    "Reservation",
    "Role",
    "SavedView",
    "Settled",
    "ShortDate",
    "Side",
    "SizedBy",
    "Standing",
    "State",
    "StockTake",
    "StockTakeLine",
    "Taken",
    "TourStep",
    "Transfer",
    "TransferLine",
    "TrialPlan",
    "UsualView",
    "VanDeed",
    "VanEntry",
    "gate_from_json",
    "gate_to_json",
]
