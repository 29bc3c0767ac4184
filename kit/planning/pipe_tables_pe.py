"""PE mains: nominal outside diameters and least walls in mm, from memory: check them against the standard.

A wall is outside diameter / SDR rounded up to 0.1 mm, where the SDR is that of the pipe series (SDR 11: 11.02). Not
listed, because memory is not sure of them: 16 to 25 mm (gas pipe is thicker than the rule), SDR 17.6
of 400 and 560 mm.
"""

from __future__ import annotations

from decimal import Decimal

PE_SOURCE = "EN 1555-2 / ISO 4437-2, minimum walls, from memory"

_SDRS = ("9", "11", "13.6", "17", "17.6", "21", "26", "33")

# One row an outside diameter, one wall an SDR in the order above; a dash is a wall that is not listed.
_WALLS = """
 32   3.6   3.0   2.4    -     -     -     -     -
 40   4.5   3.7   3.0   2.4    -     -     -     -
 50   5.6   4.6   3.7   3.0   2.9   2.4    -     -
 63   7.1   5.8   4.7   3.8   3.6   3.0   2.5    -
 75   8.4   6.8   5.6   4.5   4.3   3.6   2.9    -
 90  10.1   8.2   6.7   5.4   5.2   4.3   3.5    -
110  12.3  10.0   8.1   6.6   6.3   5.3   4.2    -
125  14.0  11.4   9.2   7.4   7.1   6.0   4.8    -
140  15.7  12.7  10.3   8.3   8.0   6.7   5.4    -
160  17.9  14.6  11.8   9.5   9.1   7.7   6.2    -
180  20.1  16.4  13.3  10.7  10.3   8.6   6.9    -
200  22.4  18.2  14.7  11.9  11.4   9.6   7.7    -
225  25.2  20.5  16.6  13.4  12.8  10.8   8.6    -
250  27.9  22.7  18.4  14.8  14.2  11.9   9.6    -
280  31.3  25.4  20.6  16.6  15.9  13.4  10.7    -
315  35.2  28.6  23.2  18.7  17.9  15.0  12.1   9.7
355  39.7  32.2  26.1  21.1  20.2  16.9  13.6  10.9
400  44.7  36.3  29.4  23.7    -   19.1  15.3  12.3
450  50.3  40.9  33.1  26.7  25.6  21.5  17.2  13.8
500  55.8  45.4  36.8  29.7  28.4  23.9  19.1  15.3
560  62.5  50.8  41.2  33.2    -   26.7  21.4  17.2
630  70.3  57.2  46.3  37.4  35.8  30.0  24.1  19.3
"""


def _read(table: str) -> dict[int, dict[str, Decimal]]:
    rows = (line.split() for line in table.strip().splitlines())
    return {
        int(od): {sdr: Decimal(wall) for sdr, wall in zip(_SDRS, walls, strict=True) if wall != "-"}
        for od, *walls in rows
    }


PE_WALL_MM: dict[int, dict[str, Decimal]] = _read(_WALLS)
"""Outside diameter -> SDR -> least wall."""
