"""Planning: which item goes on which job, and why another does not. Pure: no Django, no clock, no file."""

from kit.planning.arrangements import SHIPPED_ARRANGEMENTS, ShippedArrangement, ShippedLine
from kit.planning.bores import Bore, effective_bore, nominal_bore_mm
from kit.planning.fitness import NO_LIMIT, Fitness, judge_fitness
from kit.planning.kit_list import AlsoFit, KitLine, KitList, Refused, draw_up
from kit.planning.kit_list_json import to_json
from kit.planning.mains import Main, Mains, OwnSize, Written, mains_of
from kit.planning.reasons import REASON_CODES, is_fit, reasons_for
from kit.planning.values import Candidate, Gate, Held, Line, Need, Promise, Reason, Substitute

__all__ = [
    "NO_LIMIT",
    "REASON_CODES",
    "SHIPPED_ARRANGEMENTS",
    "AlsoFit",
    "Bore",
    "Candidate",
    "Fitness",
    "Gate",
    "Held",
    "KitLine",
    "KitList",
    "Line",
    "Main",
    "Mains",
    "Need",
    "OwnSize",
    "Promise",
    "Reason",
    "Refused",
    "ShippedArrangement",
    "ShippedLine",
    "Substitute",
    "Written",
    "draw_up",
    "effective_bore",
    "is_fit",
    "judge_fitness",
    "mains_of",
    "nominal_bore_mm",
    "reasons_for",
    "to_json",
]
