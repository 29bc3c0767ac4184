"""Outside diameters and walls of common mains, in mm, from memory: check them against the standards."""

from __future__ import annotations

from decimal import Decimal as D

PE_SOURCE = "EN 1555-2 / ISO 4437-2, minimum walls, from memory"
PE_WALL_MM: dict[int, dict[str, D]] = {
    63: {"11": D("5.8")},
    90: {"11": D("8.2"), "17.6": D("5.2")},
    110: {"11": D("10.0"), "17": D("6.6")},
    125: {"11": D("11.4"), "17": D("7.4")},
    160: {"11": D("14.6"), "17": D("9.5")},
    180: {"11": D("16.4"), "17": D("10.7")},
    200: {"11": D("18.2"), "17": D("11.9")},
    225: {"11": D("20.5"), "17": D("13.4")},
    250: {"11": D("22.7"), "17": D("14.8")},
    280: {"11": D("25.4"), "17": D("16.6")},
    315: {"11": D("28.6"), "17": D("18.7")},
    355: {"11": D("32.2"), "17": D("21.1")},
    400: {"11": D("36.3"), "17": D("23.7")},
    450: {"11": D("40.9"), "17": D("26.7")},
    500: {"11": D("45.4"), "17": D("29.7")},
    630: {"11": D("57.2"), "17": D("37.4")},
}
"""Outside diameter -> SDR -> minimum wall."""

DI_SOURCE = "EN 545 / EN 969 outside diameter, from memory, and the given wall"
DI_OD_MM: dict[int, D] = {
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
}
"""DN -> outside diameter."""

STEEL_SOURCE = "ASME B36.10M"
STEEL_40_MM: dict[int, tuple[D, D]] = {
    2: (D("60.3"), D("3.91")),
    3: (D("88.9"), D("5.49")),
    4: (D("114.3"), D("6.02")),
    6: (D("168.3"), D("7.11")),
    8: (D("219.1"), D("8.18")),
    10: (D("273.0"), D("9.27")),
    12: (D("323.8"), D("10.31")),
}
"""NPS in inches -> (outside diameter, schedule 40 wall)."""

NPS_OF_DN: dict[int, int] = {50: 2, 80: 3, 100: 4, 150: 6, 200: 8, 250: 10, 300: 12}
"""DN -> NPS of the same pipe."""
