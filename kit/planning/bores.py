"""The bore of a main from what is written on it: material, size, and SDR or wall.

A nominal bore only helps to plan. The bore measured at the main wins, because walls vary within their
tolerance, old mains are lined or worn, and the wrong bag is found out at the excavation.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from kit.planning.pipe_tables import (
    DI_OD_MM,
    DI_SOURCE,
    NPS_OF_DN,
    PE_SOURCE,
    PE_WALL_MM,
    STEEL_40_MM,
    STEEL_SOURCE,
)

GIVEN_SOURCE = "outside diameter less twice the given wall"

_SIZE = re.compile(
    r"(?P<prefix>dn|nps|od|de|d|ø)?\s*(?P<number>\d+(?:[.,]\d+)?)\s*(?P<unit>mm|inches|inch|in|\"|″)?",
    re.IGNORECASE,
)
_SDR = re.compile(r"(?:sdr)?\s*(?P<number>\d+(?:[.,]\d+)?)", re.IGNORECASE)
_PE = re.compile(r"(pe|hdpe|mdpe|polyethylene)(80|100|100rc|hd)?")
_STEEL = re.compile(r"(carbon)?steel")
_DUCTILE = re.compile(r"di|ductileiron|sgiron")


@dataclass(frozen=True, slots=True)
class Bore:
    """A nominal bore in mm and the source of the figure.

    `why` is a sentence: how it was reached, or what is missing. `bore_mm` is None and `source` empty where
    what is known gives no bore.
    """

    bore_mm: Decimal | None
    source: str
    why: str


@dataclass(frozen=True, slots=True)
class _Size:
    """A size as written: `system` is "DN", "in" or "OD", or "" for a bare number that might be any."""

    text: str
    system: str
    number: Decimal


def nominal_bore_mm(material: str, size: str, sdr: str | None = None, wall_mm: Decimal | None = None) -> Bore:
    """The bore of a main by its material, size, and SDR or wall in mm.

    The size is text as it is written on site: "180", "180 mm", "DN150", "6 in", "OD 168.3".
    A given wall wins over the SDR and over schedule 40. What is not in the tables gives no figure but a
    sentence, never an estimate.
    """
    if not size.strip():
        return _unknown("The size of the main is not given; enter it, or the bore measured at the main.")
    read = _read_size(size)
    if read is None:
        return _unknown(f"The size {size!r} is not understood; write it like 180 mm, DN150 or 6 in.")
    if wall_mm is not None and wall_mm <= 0:
        return _unknown(f"A wall of {wall_mm} mm cannot be; enter the wall in mm, or leave it out.")
    family = "".join(filter(str.isalnum, material.casefold()))
    if _PE.fullmatch(family):
        return _pe(read, sdr, wall_mm)
    if _STEEL.fullmatch(family):
        return _steel(read, wall_mm)
    if _DUCTILE.fullmatch(family):
        return _ductile_iron(read, wall_mm)
    return _other(material.strip(), read, wall_mm)


def effective_bore(
    measured_mm: Decimal | None, nominal: Bore, warn_mm: Decimal | int
) -> tuple[Decimal | None, str, str | None]:
    """(bore in mm, where it comes from, a warning or None): the measured bore wins over the nominal one.

    Warns where they differ by more than `warn_mm`, and where there is neither. Raises ValueError for a
    measured bore that is not above zero.
    """
    if measured_mm is None:
        return nominal.bore_mm, nominal.source, nominal.why if nominal.bore_mm is None else None
    if measured_mm <= 0:
        raise ValueError(f"A measured bore of {measured_mm} mm cannot be; enter what was measured, in mm.")
    if nominal.bore_mm is None or abs(measured_mm - nominal.bore_mm) <= warn_mm:
        return measured_mm, "measured", None
    warning = (
        f"The measured bore is {measured_mm} mm and the nominal one {nominal.bore_mm} mm ({nominal.source}), "
        f"more than {warn_mm} mm apart; the measured one is used. Measure again, or correct the size or wall."
    )
    return measured_mm, "measured", warning


def _unknown(why: str) -> Bore:
    return Bore(None, "", why)


def _read_size(size: str) -> _Size | None:
    found = _SIZE.fullmatch(size.replace("\N{NO-BREAK SPACE}", " ").strip())
    if found is None:
        return None
    prefix, unit = (found["prefix"] or "").casefold(), (found["unit"] or "").casefold()
    number = _number(found["number"])
    inches = bool(unit) and unit != "mm"
    if number == 0 or (inches and prefix not in ("", "nps")) or (unit == "mm" and prefix == "nps"):
        return None
    if inches or prefix == "nps":
        return _Size(size.strip(), "in", number)
    return _Size(size.strip(), {"dn": "DN", "": ""}.get(prefix, "OD"), number)


def _number(text: str) -> Decimal:
    return Decimal(text.replace(",", "."))


def _plain(number: Decimal) -> str:
    return f"{number.normalize():f}"


def _within(od_mm: Decimal, wall_mm: Decimal, source: str, note: str = "") -> Bore:
    bore_mm = od_mm - 2 * wall_mm
    if bore_mm <= 0:
        return _unknown(
            f"A wall of {wall_mm} mm leaves no bore in an outside diameter of {od_mm} mm; check both."
        )
    why = f"Outside diameter {od_mm} mm less twice the wall of {wall_mm} mm{note}."
    return Bore(bore_mm, source, why)


def _pe(size: _Size, sdr: str | None, wall_mm: Decimal | None) -> Bore:
    """PE pipe is named by its outside diameter in mm, with or without DN before it."""
    if size.system == "in":
        return _unknown(
            f"No table for PE pipe of {size.text}; enter the outside diameter in mm and the wall."
        )
    if wall_mm is not None:
        return _within(size.number, wall_mm, GIVEN_SOURCE)
    if sdr is None or not sdr.strip():
        return _unknown(
            f"A PE main of {size.text} needs its SDR or its wall to give a bore; enter one of them."
        )
    found = _SDR.fullmatch(sdr.strip())
    if found is None:
        return _unknown(f"The SDR {sdr!r} is not understood; write it like 11 or SDR 17.6.")
    ratio = _plain(_number(found["number"]))
    walls = PE_WALL_MM.get(int(size.number), {}) if size.number == int(size.number) else {}
    if ratio not in walls:
        listed = f"listed are SDR {' and '.join(walls)}" if walls else "this size is not listed"
        return _unknown(
            f"No wall known for PE {size.text} SDR {ratio} ({listed}); enter the wall or measure the bore."
        )
    return _within(size.number, walls[ratio], PE_SOURCE, ", the least the standard allows")


def _steel(size: _Size, wall_mm: Decimal | None) -> Bore:
    """Steel pipe is named by NPS or DN; without a wall, schedule 40 is taken and said."""
    by_od = {od_mm: nps for nps, (od_mm, _) in STEEL_40_MM.items()}
    nps: int | None = None
    if size.system == "in":
        nps = int(size.number) if size.number in STEEL_40_MM else None
    elif size.system != "OD" and size.number in NPS_OF_DN:
        nps = NPS_OF_DN[int(size.number)]
    elif size.system != "DN":
        nps = by_od.get(size.number)
        if nps is None and wall_mm is not None:
            return _within(size.number, wall_mm, GIVEN_SOURCE)
    if nps is None:
        return _unknown(
            f"No outside diameter known for steel of {size.text}; write its NPS or DN (6 in, DN150), "
            "or enter the outside diameter in mm and the wall."
        )
    od_mm, wall_40_mm = STEEL_40_MM[nps]
    if wall_mm is not None:
        return _within(od_mm, wall_mm, f"{STEEL_SOURCE} outside diameter and the given wall", f" (NPS {nps})")
    note = f" (NPS {nps}; schedule 40 taken for granted, enter the wall if it differs)"
    return _within(od_mm, wall_40_mm, f"{STEEL_SOURCE}, schedule 40", note)


def _ductile_iron(size: _Size, wall_mm: Decimal | None) -> Bore:
    """Ductile iron is named by DN; its wall depends on the class, so it has to be given."""
    if size.system == "in":
        return _unknown(
            f"No table for ductile iron of {size.text}; write its DN, or the outside diameter in mm."
        )
    is_dn = size.system == "DN" or (size.system == "" and size.number in DI_OD_MM)
    if is_dn and size.number not in DI_OD_MM:
        return _unknown(
            f"No outside diameter known for ductile iron {size.text}; enter it in mm with the wall."
        )
    if wall_mm is None:
        return _unknown(
            f"The wall of ductile iron {size.text} depends on its class; enter it or measure the bore."
        )
    if is_dn:
        return _within(DI_OD_MM[int(size.number)], wall_mm, DI_SOURCE, f" (DN{_plain(size.number)})")
    return _within(size.number, wall_mm, GIVEN_SOURCE)


def _other(material: str, size: _Size, wall_mm: Decimal | None) -> Bore:
    """Any other pipe, by what was written of it."""
    named = material or "a main of no named material"
    if size.system in ("DN", "in"):
        return _unknown(
            f"No table for {named} of {size.text}; enter the outside diameter in mm and the wall."
        )
    if wall_mm is None:
        return _unknown(
            f"No wall known for {named} of {size.text}; enter the wall in mm or measure the bore."
        )
    return _within(size.number, wall_mm, GIVEN_SOURCE)
