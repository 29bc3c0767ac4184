"""The integer model of how many stops can be mounted, for arrangements where one mark has to be traded for another."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

Alike = tuple[str, bool, str]


class Share(NamedTuple):
    """So many pieces a stop (or unit, see `chooser`), to be had from pieces of these sorts."""

    pieces: int
    chooser: str | None
    sorts: tuple[Alike, ...]


def most_by_model(
    shares: Sequence[Share],
    units: Mapping[str, int],
    marks: Sequence[str],
    stock: Mapping[Alike, int],
    at_most: int,
) -> int:
    """The most stops, at most `at_most`: whole stops and units of each mark, pieces handed to what asks for them.

    With the stops and units of each mark fixed, what is left is a transport problem, whose corners are whole numbers:
    only those few variables need to be held to integers. Raises ArithmeticError where the solver gives no proven
    optimum, which it always does for models as small as these.
    """
    names: list[tuple[object, ...]] = [("stops",)]
    choosers = sorted({share.chooser for share in shares if share.chooser is not None})
    names += [("of mark", chooser, mark) for chooser in choosers for mark in marks]
    whole = len(names)
    names += [
        ("hand", index, alike)
        for index, share in enumerate(shares)
        for alike in share.sorts
        if share.chooser is None or alike[2] in marks
    ]
    place = {name: number for number, name in enumerate(names)}
    rows: list[tuple[dict[int, float], float, float]] = []
    for index, share in enumerate(shares):
        for mark in marks if share.chooser is not None else [None]:
            taker = place["stops",] if mark is None else place["of mark", share.chooser, mark]
            given = {
                place["hand", index, alike]: 1.0 for alike in share.sorts if mark is None or alike[2] == mark
            }
            rows.append(({**given, taker: -float(share.pieces)}, 0.0, 0.0))
    for alike, number in stock.items():
        given = {at: 1.0 for index in range(len(shares)) if (at := place.get(("hand", index, alike)))}
        rows.append((given, 0.0, float(number)))
    for chooser in choosers:
        each = {place["of mark", chooser, mark]: 1.0 for mark in marks}
        rows.append(({**each, place["stops",]: -float(units[chooser])}, 0.0, 0.0))
    return _solve(rows, len(names), whole, at_most)


def _solve(
    rows: Iterable[tuple[dict[int, float], float, float]], width: int, whole: int, at_most: int
) -> int:
    listed = [row for row in rows if row[0]]
    at = [(number, column, value) for number, row in enumerate(listed) for column, value in row[0].items()]
    matrix = csr_array(
        ([value for _n, _c, value in at], ([n for n, _c, _v in at], [c for _n, c, _v in at])),
        shape=(len(listed), width),
    )
    result = milp(
        [-1.0] + [0.0] * (width - 1),
        constraints=LinearConstraint(matrix, [row[1] for row in listed], [row[2] for row in listed]),
        integrality=[1] * whole + [0] * (width - whole),
        bounds=Bounds([0.0] * width, [float(at_most)] + [float("inf")] * (width - 1)),
        options={"mip_rel_gap": 0.0},
    )
    if result.status != 0 or result.x is None:
        raise ArithmeticError(f"the count of stops was not proven: {result.message}")
    return round(float(result.x[0]))
