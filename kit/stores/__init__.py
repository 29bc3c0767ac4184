"""The stores' actions, one module each: the only writers. Each runs in an Act, which is one transaction."""

from kit.stores.act import Act, NotAllowed, Who, acting
from kit.stores.appoint import appoint
from kit.stores.arrange import Instead, LineFault, LineSpec, faults_of, set_arrangement, specs_of
from kit.stores.arrival import (
    bring_back,
    expect_on,
    line_for,
    note_missing,
    on_the_way,
    sign_for,
    sign_for_all,
)
from kit.stores.consignment import ConsignmentRefused, Load, bars_of, send_all
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
from kit.stores.links import name_depot, set_bench, set_link, usual_arrival, withdraw_link
from kit.stores.mains import MovedBore, set_size, withdraw_size
from kit.stores.morning import broken_by_the_day
from kit.stores.plan_job import cancel_job, change_job, plan_job
from kit.stores.prove import Proof, prove_ledger
from kit.stores.quarantine import find_again, lose, quarantine, withdraw
from kit.stores.rearrange import Moves, ProposedPlan, apply_plan, propose_plan
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
from kit.stores.sets import bind_set, mates_of, unbind_set
from kit.stores.stock_lines import LineNow, lines_now
from kit.stores.stock_take import begin_stock_take, close_stock_take, see, settle
from kit.stores.take_back import out_reservation, take_back
from kit.stores.transfer import arrive, send
from kit.stores.undo import COUNTER, LastAct, last_acts, undo
from kit.stores.van import Said, clock_is_trusted, settle_van_entry, take_in

__all__ = [
    "COUNTER",
    "Act",
    "ConsignmentRefused",
    "Instead",
    "LastAct",
    "LineFault",
    "LineNow",
    "LineSpec",
    "Load",
    "MovedBore",
    "Moves",
    "NotAllowed",
    "Proof",
    "ProposedPlan",
    "Said",
    "SetAside",
    "Who",
    "acting",
    "apply_plan",
    "appoint",
    "arrive",
    "bars_of",
    "begin_stock_take",
    "bind_set",
    "bore_of",
    "bring_back",
    "broken_by_the_day",
    "cancel_job",
    "candidates",
    "change_details",
    "change_job",
    "chunked",
    "clock_is_trusted",
    "close_stock_take",
    "conceded_texts",
    "count_stock",
    "depot_named",
    "differences",
    "expect_on",
    "faults_of",
    "find_again",
    "finish_issue",
    "found_register",
    "fresh",
    "held_by",
    "issue_piece",
    "items_of_kinds",
    "kit_list_of",
    "last_acts",
    "let_go",
    "let_go_all",
    "line_for",
    "lines_now",
    "lose",
    "mates_of",
    "name_depot",
    "need_of",
    "note_missing",
    "on_the_way",
    "out_reservation",
    "place_named",
    "plan_job",
    "propose_plan",
    "prove_ledger",
    "quarantine",
    "receive",
    "record_details",
    "refit",
    "rejudge",
    "reserve",
    "see",
    "send",
    "send_all",
    "set_arrangement",
    "set_aside",
    "set_bench",
    "set_kind",
    "set_link",
    "set_maker_label",
    "set_size",
    "settle",
    "settle_van_entry",
    "short_lines",
    "sign_for",
    "sign_for_all",
    "specs_of",
    "substitute",
    "take_back",
    "take_in",
    "unbind_set",
    "undo",
    "usual_arrival",
    "withdraw",
    "withdraw_link",
    "withdraw_size",
]
