"""Steel mains in mm: outside diameters by size, walls by schedule, from memory; the tests compare them with a library.

The usual schedules of mains. Heavier ones (100 and above, XXS) are of plant, not of mains: enter the wall.
"""

from __future__ import annotations

from decimal import Decimal

STEEL_SOURCE = "ASME B36.10M"

_SCHEDULES = ("10", "20", "30", "STD", "40", "60", "XS", "80")

# NPS, DN, outside diameter by ASME B36.10M, outside diameter by EN 10220 series 1 (a dash: it has none of that DN),
# then one wall a schedule in the order above; a dash is a wall that is not listed.
_SIZES = """
0.5   15   21.3   21.3   2.11    -    2.41   2.77   2.77    -    3.73   3.73
0.75  20   26.7   26.9   2.11    -    2.41   2.87   2.87    -    3.91   3.91
1     25   33.4   33.7   2.77    -    2.90   3.38   3.38    -    4.55   4.55
1.25  32   42.2   42.4   2.77    -    2.97   3.56   3.56    -    4.85   4.85
1.5   40   48.3   48.3   2.77    -    3.18   3.68   3.68    -    5.08   5.08
2     50   60.3   60.3   2.77    -    3.18   3.91   3.91    -    5.54   5.54
2.5   65   73.0   76.1   3.05    -    4.78   5.16   5.16    -    7.01   7.01
3     80   88.9   88.9   3.05    -    4.78   5.49   5.49    -    7.62   7.62
3.5   90  101.6     -    3.05    -    4.78   5.74   5.74    -    8.08   8.08
4    100  114.3  114.3   3.05    -    4.78   6.02   6.02    -    8.56   8.56
5    125  141.3  139.7   3.40    -      -    6.55   6.55    -    9.53   9.53
6    150  168.3  168.3   3.40    -      -    7.11   7.11    -   10.97  10.97
8    200  219.1  219.1   3.76   6.35  7.04   8.18   8.18  10.31 12.70  12.70
10   250  273.0  273.0   4.19   6.35  7.80   9.27   9.27  12.70 12.70  15.09
12   300  323.8  323.9   4.57   6.35  8.38   9.53  10.31  14.27 12.70  17.48
14   350  355.6  355.6   6.35   7.92  9.53   9.53  11.13  15.09 12.70  19.05
16   400  406.4  406.4   6.35   7.92  9.53   9.53  12.70  16.66 12.70  21.44
18   450  457    457     6.35   7.92 11.13   9.53  14.27  19.05 12.70  23.83
20   500  508    508     6.35   9.53 12.70   9.53  15.09  20.62 12.70  26.19
22   550  559      -     6.35   9.53 12.70   9.53    -    22.23 12.70  28.58
24   600  610    610     6.35   9.53 14.27   9.53  17.48  24.61 12.70  30.96
"""

STEEL_OD_MM: dict[Decimal, Decimal] = {}
"""NPS in inches -> outside diameter by ASME B36.10M."""

STEEL_WALL_MM: dict[Decimal, dict[str, Decimal]] = {}
"""NPS in inches -> schedule -> wall."""

NPS_OF_DN: dict[int, Decimal] = {}
"""DN -> NPS of the same pipe."""

EN_OD_MM: dict[int, Decimal] = {}
"""DN -> outside diameter by EN 10220, series 1."""


def _read(table: str) -> None:
    for line in table.strip().splitlines():
        size, dn, od, en, *walls = line.split()
        nps = Decimal(size)
        NPS_OF_DN[int(dn)] = nps
        STEEL_OD_MM[nps] = Decimal(od)
        if en != "-":
            EN_OD_MM[int(dn)] = Decimal(en)
        pairs = zip(_SCHEDULES, walls, strict=True)
        STEEL_WALL_MM[nps] = {schedule: Decimal(wall) for schedule, wall in pairs if wall != "-"}


_read(_SIZES)
