"""Who and what the invented depot pair consists of. Every maker, person, street and test house is made up."""

from __future__ import annotations

from typing import Final

from demo_fixtures.dates import Style

QUILLBY: Final = "Quillby"
OSTERMERE: Final = "Ostermere"
LETTER: Final = {QUILLBY: "Q", OSTERMERE: "M"}

# How many inspections a day each bench does, and how many days the van between the two takes.
DEPOT_COLUMNS: Final = ("depot", "name", "bench_a_day")
DEPOT_ROWS: Final = ((QUILLBY, None, 6), (OSTERMERE, None, 4))
WAY_COLUMNS: Final = ("from", "to", "lead_days")
WAY_ROWS: Final = ((QUILLBY, OSTERMERE, 1), (OSTERMERE, QUILLBY, 1))

# Two letters of a tag for each kind. Numbers run through both depots, so no tag is easily taken for another.
CODE: Final = {
    "bag": "BG",
    "bag tube": "TB",
    "control head": "CH",
    "bagging head": "BH",
    "nose": "NS",
    "base": "BS",
    "vent head": "VH",
    "vent stack": "VS",
    "bypass set": "BY",
    "gauge": "GA",
    "pressure recorder": "PR",
    "gas detector": "GD",
    "pump": "PU",
    "chain set": "CS",
    "hand tool": "HT",
    "seal": "SL",
    "cap": "CP",
    "leak-detection fluid": "LF",
    "lubricant": "LU",
}

MAKERS: Final = {
    "bag": (
        "Puffin & Sprocket",
        "Bellows of Nowhere",
        "Quagmire Rubber",
        "Tumbledown & Daughters",
        "Hobnail Rubberworks",
    ),
    "bag tube": ("Marmalade Tube Works", "Puffin & Sprocket"),
    "control head": ("Marmalade Tube Works", "Wobbleton Gauges"),
    "bagging head": ("Grumbold Castings",),
    "nose": ("Grumbold Castings", "Puffin & Sprocket"),
    "base": ("Grumbold Castings",),
    "vent head": ("Grumbold Castings",),
    "vent stack": ("Larkspur & Thistle",),
    "bypass set": ("Larkspur & Thistle", "Marmalade Tube Works"),
    "gauge": ("Wobbleton Gauges", "Hedgepig Instruments"),
    "pressure recorder": ("Hedgepig Instruments",),
    "gas detector": ("Hedgepig Instruments",),
    "pump": ("Thimblerig Pumps",),
    "chain set": ("Dapplewick Chain",),
    "hand tool": ("Nettlebed Tool Company",),
    "seal": ("Quagmire Rubber",),
    "cap": ("Grumbold Castings",),
    "leak-detection fluid": ("Bubble & Squint",),
    "lubricant": ("Bubble & Squint",),
}

# How each maker's labels print a use-by date; what is not a day runs to the end of its month or quarter.
DAY_MAKER: Final = "Tumbledown & Daughters"
MONTH_MAKER: Final = "Puffin & Sprocket"
QUARTER_MAKER: Final = "Quagmire Rubber"
PRINTS: Final[dict[str, Style]] = {
    MONTH_MAKER: "month text",
    "Bellows of Nowhere": "gs1 text",
    QUARTER_MAKER: "quarter",
    DAY_MAKER: "date",
    "Hobnail Rubberworks": "iso month text",
    "Bubble & Squint": "gs1 number",
}

# How each depot types a day.
TYPES: Final[dict[str, Style]] = {QUILLBY: "date", OSTERMERE: "day text"}

EXAMINER: Final = "tobias.wren"
BENCH: Final = (EXAMINER, EXAMINER, "h.sallow")
TEST_HOUSE: Final = "Farrow & Ludd Test House"
SENT_AWAY: Final = frozenset({"gauge", "pressure recorder", "gas detector"})

# Places by depot and kind, named so that their order is the walk round the store.
_AISLES: Final = (
    ("bag", "A{} bag cage", "1{} bag room"),
    ("bag tube", "B1 tube rack", "2a long rack"),
    ("control head", "B2 control head shelf", "2b long rack, upper"),
    ("bagging head", "C1 casting bay", "3a iron bay"),
    ("base", "C2 base pallets", "3b iron bay, floor"),
    ("nose", "C3 nose pegs", "3c iron bay, pegs"),
    ("vent head", "D1 vent bay", "4 vents and bypass"),
    ("vent stack", "D1 vent bay", "4 vents and bypass"),
    ("bypass set", "D2 hose hooks", "4 vents and bypass"),
    ("gauge", "E1 instrument cupboard", "5 locked cupboard"),
    ("pressure recorder", "E1 instrument cupboard", "5 locked cupboard"),
    ("gas detector", "E2 detector chargers", "5 locked cupboard"),
    ("pump", "F1 pump bench", "6 engine bay"),
    ("chain set", "F2 chain rail", "6 engine bay"),
    ("hand tool", "G1 tool crates", "7 tool crates"),
    ("seal", "H1 stores counter", "8 counter drawers"),
    ("cap", "H1 stores counter", "8 counter drawers"),
    ("leak-detection fluid", "H2 fluids locker", "9 fluids locker"),
    ("lubricant", "H2 fluids locker", "9 fluids locker"),
)
_PLACES: Final = {QUILLBY: {k: q for k, q, _ in _AISLES}, OSTERMERE: {k: m for k, _, m in _AISLES}}


def place_of(depot: str, kind: str, bore_min_mm: int | None = None) -> str:
    """Where a depot keeps a kind; bags lie in three cages by size."""
    cage = 1 if (bore_min_mm or 0) < 120 else 2 if (bore_min_mm or 0) < 200 else 3
    return _PLACES[depot][kind].format(cage if depot == QUILLBY else "abc"[cage - 1])
