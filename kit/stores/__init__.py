"""The stores' actions, one module each: the only writers. Each runs in an Act, which is one transaction."""

from kit.stores.act import Act, NotAllowed, Who, acting
from kit.stores.appoint import appoint
from kit.stores.current import fresh
from kit.stores.found import found_register
from kit.stores.issue import finish_issue, issue_piece, short_lines
from kit.stores.knowledge import (
    bore_of,
    candidates,
    chunked,
    conceded_texts,
    held_by,
    items_of_kinds,
    kit_list_of,
    need_of,
)
from kit.stores.plan_job import LineSpec, cancel_job, change_job, plan_job, set_arrangement
from kit.stores.prove import Proof, prove_ledger
from kit.stores.quarantine import find_again, lose, quarantine, withdraw
from kit.stores.receive import (
    change_details,
    count_stock,
    depot_named,
    place_named,
    receive,
    record_details,
    set_kind,
    set_maker_label,
)
from kit.stores.refit import differences, refit
from kit.stores.rejudge import rejudge
from kit.stores.reserve import let_go, let_go_all, reserve, substitute
from kit.stores.set_aside import SetAside, set_aside
from kit.stores.take_back import out_reservation, take_back
from kit.stores.transfer import arrive, send

__all__ = [
    "Act",
    "LineSpec",
    "NotAllowed",
    "Proof",
    "SetAside",
    "Who",
    "acting",
    "appoint",
    "arrive",
    "bore_of",
    "cancel_job",
    "candidates",
    "change_details",
    "change_job",
    "chunked",
    "conceded_texts",
    "count_stock",
    "depot_named",
    "differences",
    "find_again",
    "finish_issue",
    "found_register",
    "fresh",
    "held_by",
    "issue_piece",
    "items_of_kinds",
    "kit_list_of",
    "let_go",
    "let_go_all",
    "lose",
    "need_of",
    "out_reservation",
    "place_named",
    "plan_job",
    "prove_ledger",
    "quarantine",
    "receive",
    "record_details",
    "refit",
    "rejudge",
    "reserve",
    "send",
    "set_arrangement",
    "set_aside",
    "set_kind",
    "set_maker_label",
    "short_lines",
    "substitute",
    "take_back",
    "withdraw",
]
