"""Ductile iron mains in mm, from memory: check them against EN 545. Cast and spun iron: a depot's own table.

Not listed, because memory is not sure of them: class C30 of DN350, class C25, classes of other sizes.
"""

from __future__ import annotations

from decimal import ROUND_HALF_UP
from decimal import Decimal as D

DI_SOURCE = "EN 545 / EN 969 outside diameter, from memory, and the given wall"
DI_CLASS_SOURCE = "EN 545 outside diameter and nominal wall of its class, from memory"

DI_OD_MM: dict[int, D] = {
    40: D(56),
    50: D(66),
    60: D(77),
    65: D(82),
    80: D(98),
    100: D(118),
    125: D(144),
    150: D(170),
    200: D(222),
    250: D(274),
    300: D(326),
    350: D(378),
    400: D(429),
    450: D(480),
    500: D(532),
    600: D(635),
    700: D(738),
    800: D(842),
    900: D(945),
    1000: D(1048),
}
"""DN -> outside diameter."""

DI_PRESSURE_WALL_MM: dict[str, dict[int, D]] = {
    "C40": {
        80: D("4.4"),
        100: D("4.4"),
        125: D("4.5"),
        150: D("4.5"),
        200: D("4.7"),
        250: D("5.5"),
        300: D("6.2"),
    },
    "C30": {400: D("6.5"), 450: D("6.9"), 500: D("7.5"), 600: D("8.7")},
}
"""Preferred pressure class -> DN -> nominal wall (EN 545:2010)."""

_LEAST_K_WALL_MM = D(6)


def k_wall_mm(dn: int, k: int) -> D:
    """The nominal wall of a K class: K (0.5 + 0.001 DN), to 0.1 mm, 6 mm at least (EN 545:2002)."""
    wall_mm = (k * (D("0.5") + D(dn) / 1000)).quantize(D("0.1"), ROUND_HALF_UP)
    return max(_LEAST_K_WALL_MM, wall_mm)


def cement_lining_mm(dn: int) -> D:
    """The nominal thickness of the cement mortar lining of water pipe, DN40 to DN1000 (EN 545)."""
    return D(4) if dn <= 300 else D(5) if dn <= 600 else D(6)
