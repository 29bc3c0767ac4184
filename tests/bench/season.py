"""A season of made-up jobs and pieces, of the size a busy depot pair would have, the same on every run."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from random import Random

from kit.planning.rearranging import MovableJob, Season
from kit.planning.reasons import is_fit
from kit.planning.values import Candidate, Gate, Held, Line, Need

AS_OF = date(2026, 11, 2)
SIZES = ((80, 130), (100, 160), (150, 220), (200, 300))  # bore ranges, mm
BORES = ("102.2", "110.2", "154.3", "159.6", "205.8", "257.2")
MARKS = ("M3", "M7", "M9")
DEPOTS = ("NORTH", "SOUTH")

# (line, kind, pieces a job, match): about 28 pieces on 20 lines.
LINES = (
    ("bags near", "bag", 2, "bore"),
    ("bags far", "bag", 2, "bore"),
    ("spare bag", "bag", 1, "bore"),
    ("tubes", "bag tube", 4, "any"),
    ("control heads", "control head", 2, "any"),
    ("heads", "bagging head", 2, "mark"),
    ("noses", "nose", 2, "bore"),
    ("bases", "base", 2, "mark"),
    ("vent base", "base", 1, "mark"),
    ("vent head", "vent head", 1, "any"),
    ("vent stack", "vent stack", 1, "any"),
    ("bypass", "bypass set", 1, "any"),
    ("low gauge", "gauge", 1, "any"),
    ("high gauge", "gauge", 1, "any"),
    ("recorder", "recorder", 1, "any"),
    ("detector", "gas detector", 1, "any"),
    ("pump", "pump", 1, "any"),
    ("chains", "chain set", 1, "any"),
    ("tools", "hand tool", 1, "any"),
    ("seals", "seal", 6, "any"),
)
# How often pieces of a kind fall due, in days; None: no date limits them.
INTERVALS = {
    "bag": 180,
    "gauge": 365,
    "gas detector": 180,
    "chain set": 180,
    "hand tool": None,
    "recorder": 365,
}


def make_season(jobs: int, items: int, weeks: int = 12, seed: int = 1) -> Season:
    """A season of so many jobs over so many weeks, and so many tagged pieces shared out by what jobs ask."""
    draw = Random(seed)
    needs = sorted((_need(draw, number, weeks) for number in range(jobs)), key=lambda n: (n.load_on, n.job))
    candidates = _pieces(draw, items)
    candidates += [
        Candidate(
            f"LOT-{depot}-{n}", "seal", depot, quantity=jobs, use_by=AS_OF + timedelta(days=60 + 40 * n)
        )
        for depot in DEPOTS
        for n in range(5)
    ]
    return Season(tuple(promise_some(draw, needs, candidates)), tuple(candidates), AS_OF)


def _need(draw: Random, number: int, weeks: int) -> Need:
    load_on = AS_OF + timedelta(days=draw.randrange(1, weeks * 7 - 7))
    return Need(
        job=f"J{number:03}",
        depot=DEPOTS[draw.random() < 0.35],
        load_on=load_on,
        return_on=load_on + timedelta(days=draw.choice((2, 3, 4, 4, 5, 5, 8, 12))),
        bore_mm=Decimal(draw.choices(BORES, (1, 1, 3, 4, 2, 1))[0]),
        base_mark=draw.choice(("M3", "M3", "M7", "M9")),
        lines=tuple(
            Line(name, kind, quantity, match, kind == "seal", turn_round_days=1 if kind == "bag" else 0)  # type: ignore[arg-type]
            for name, kind, quantity, match in LINES
        ),
    )


def _pieces(draw: Random, items: int) -> list[Candidate]:
    shares = [kind for _, kind, quantity, _ in LINES if kind != "seal" for _ in range(quantity)]
    made = []
    for number in range(items):
        kind = shares[number % len(shares)]
        low, high = draw.choice(SIZES)
        sized = kind in ("bag", "nose")
        interval = INTERVALS.get(kind, 365)
        gates = ()
        if interval is not None:
            gates = (Gate("inspection", "dated", AS_OF + timedelta(days=draw.randrange(-15, interval))),)
        made.append(
            Candidate(
                tag=f"{kind[:2].upper()}-{draw.randrange(10**6):06}-{number}",
                kind=kind,
                depot=DEPOTS[draw.random() < 0.35],
                state="quarantined" if draw.random() < 0.04 else "available",
                use_by=AS_OF + timedelta(days=draw.randrange(20, 2000)) if kind == "bag" else None,
                gates=gates,
                bore_min_mm=Decimal(low) if sized else None,
                bore_max_mm=Decimal(high) if sized else None,
                mark=draw.choice(("M3", "M3", "M7", "M9")) if kind in ("bagging head", "base") else "",
            )
        )
    return made


def promise_some(draw: Random, needs: list[Need], candidates: list[Candidate]) -> list[MovableJob]:
    """A third of the jobs hold kit already, taken as it came to hand; some of it does not hold any more."""
    busy: dict[str, list[tuple[date, date]]] = {}
    made = []
    for need in needs:
        held: list[Held] = []
        if draw.random() < 0.33:
            for line in need.lines:
                if line.counted:
                    continue
                ends = need.return_on + timedelta(days=line.turn_round_days)
                left = line.quantity
                for piece in candidates:
                    free = all(ends < first or last < need.load_on for first, last in busy.get(piece.tag, ()))
                    mine = any(each.tag == piece.tag for each in held)
                    if not left or not free or mine or piece.kind != line.kind:
                        continue
                    if is_fit(piece, line, need, AS_OF) or draw.random() < 0.002:
                        busy.setdefault(piece.tag, []).append((need.load_on, ends))
                        held.append(Held(line.name, piece.tag))
                        left -= 1
        made.append(MovableJob(need, draw.choice((1, 1, 1, 2)), tuple(held)))
    return made
