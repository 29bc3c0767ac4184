"""The bore of a main from what is written on it: material, size, and SDR, schedule, class or wall.

A nominal bore only helps to plan. The bore measured at the main wins, because walls vary within their
tolerance, old mains are lined or worn, and the wrong bag is found out at the excavation.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal

from kit.planning.pipe_tables_iron import (
    DI_CLASS_SOURCE,
    DI_OD_MM,
    DI_PRESSURE_WALL_MM,
    DI_SOURCE,
    cement_lining_mm,
    k_wall_mm,
)
from kit.planning.pipe_tables_pe import PE_SOURCE, PE_WALL_MM
from kit.planning.pipe_tables_steel import EN_OD_MM, NPS_OF_DN, STEEL_OD_MM, STEEL_SOURCE, STEEL_WALL_MM
from kit.planning.written_sizes import Size, folded_material, plain, read_size, read_wall_class

GIVEN_SOURCE = "outside diameter less twice the given wall"

_PE = re.compile(r"(pe|hdpe|mdpe|polyethylene)(80|100|100rc|hd)?")
_STEEL = re.compile(r"(carbon)?steel")
_DUCTILE = re.compile(r"di|ductileiron|sgiron")
_K_CLASSES = range(7, 15)
_SAME_PIPE_MM = 1
"""Outside diameters of one DN in two standards that differ by less are taken for the same pipe."""


@dataclass(frozen=True, slots=True)
class Bore:
    """A nominal bore in mm and the source of the figure; the outside diameter in mm, where it is known.

    `why` is a sentence: how it was reached, or what is missing. `bore_mm` is None and `source` empty where
    what is known gives no bore.
    """

    bore_mm: Decimal | None
    source: str
    why: str
    outside_mm: Decimal | None = None


def nominal_bore_mm(material: str, size: str, sdr: str | None = None, wall_mm: Decimal | None = None) -> Bore:
    """The bore of a main by its material, size, and class of wall ("SDR 11", "sch 40", "K9", "C40") or wall in mm.

    The size is text as it is written on site: "180", "180 mm", "DN150", "6 in", "1 1/2 in", "OD 168.3".
    A given wall wins over the class, and both over schedule 40. What is not in the tables gives no figure but a
    sentence, never an estimate.
    """
    if not size.strip():
        return _unknown("The size of the main is not given; enter it, or the bore measured at the main.")
    read = read_size(size)
    if read is None:
        return _unknown(f"The size {size!r} is not understood; write it like 180 mm, DN150 or 6 in.")
    if wall_mm is not None and wall_mm <= 0:
        return _unknown(f"A wall of {wall_mm} mm cannot be; enter the wall in mm, or leave it out.")
    named = (sdr or "").strip()
    family = folded_material(material)
    if _PE.fullmatch(family):
        return _pe(read, named, wall_mm)
    if _STEEL.fullmatch(family):
        return _steel(read, named, wall_mm)
    if _DUCTILE.fullmatch(family):
        return _ductile_iron(read, named, wall_mm)
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


def within(od_mm: Decimal, wall_mm: Decimal, source: str, note: str = "") -> Bore:
    """The bore that a wall leaves in an outside diameter; none, and a sentence, where it leaves nothing."""
    bore_mm = od_mm - 2 * wall_mm
    if bore_mm <= 0:
        return _unknown(
            f"A wall of {wall_mm} mm leaves no bore in an outside diameter of {od_mm} mm; check both."
        )
    why = f"Outside diameter {od_mm} mm less twice the wall of {wall_mm} mm{note}."
    return Bore(bore_mm, source, why, od_mm)


def _unknown(why: str, outside_mm: Decimal | None = None) -> Bore:
    return Bore(None, "", why, outside_mm)


def _pe(size: Size, sdr: str, wall_mm: Decimal | None) -> Bore:
    """PE pipe is named by its outside diameter in mm, with or without DN before it."""
    if size.system == "in":
        return _unknown(
            f"No table for PE pipe of {size.text}; enter the outside diameter in mm and the wall."
        )
    od_mm = size.number
    if wall_mm is not None:
        return within(od_mm, wall_mm, GIVEN_SOURCE)
    if not sdr:
        return _unknown(
            f"A PE main of {size.text} needs its SDR or its wall to give a bore; enter one of them.", od_mm
        )
    read = read_wall_class(sdr)
    if read is None or read.system not in ("", "SDR"):
        return _unknown(f"The SDR {sdr!r} is not understood; write it like 11 or SDR 17.6.", od_mm)
    walls = PE_WALL_MM.get(int(od_mm), {}) if od_mm == int(od_mm) else {}
    if read.value not in walls:
        listed = f"listed are SDR {_and(walls)}" if walls else "this size is not listed"
        why = f"No wall known for PE {size.text} SDR {read.value} ({listed}); enter the wall or measure the bore."
        return _unknown(why, od_mm)
    return within(od_mm, walls[read.value], PE_SOURCE, ", the least the standard allows")


def _steel(size: Size, named: str, wall_mm: Decimal | None) -> Bore:
    """Steel pipe is named by NPS or DN; without a wall or schedule, schedule 40 is taken and said."""
    read = read_wall_class(named) if named else None
    if wall_mm is None and named and (read is None or read.system not in ("", "schedule")):
        return _unknown(f"The schedule {named!r} is not understood; write it like sch 40, STD or XS.")
    nps = _nps_of(size)
    if nps is None and size.system in ("", "OD") and size.number not in NPS_OF_DN:
        if wall_mm is not None:
            return within(size.number, wall_mm, GIVEN_SOURCE)
        if size.system == "OD" or size.number in EN_OD_MM.values():
            why = f"No schedule is known for an outside diameter of {plain(size.number)} mm; enter the wall."
            return _unknown(why, size.number)
    if nps is None:
        return _unknown(
            f"No outside diameter known for steel of {size.text}; write its NPS or DN (6 in, DN150), "
            "or enter the outside diameter in mm and the wall."
        )
    od_mm, walls = STEEL_OD_MM[nps], STEEL_WALL_MM[nps]
    if wall_mm is None and read is not None:
        return _of_schedule(size, nps, read.value)
    if size.number in EN_OD_MM and _by_dn(size):
        en_mm = EN_OD_MM[int(size.number)]
        if abs(en_mm - od_mm) >= _SAME_PIPE_MM:
            return _unknown(
                f"Steel of {size.text} is {en_mm} mm outside by EN 10220 and {od_mm} mm by ASME B36.10M; "
                "write which: OD and the wall, or a schedule."
            )
    if wall_mm is not None:
        source = f"{STEEL_SOURCE} outside diameter and the given wall"
        return within(od_mm, wall_mm, source, f" (NPS {plain(nps)})")
    if "40" not in walls:
        return _of_schedule(size, nps, "40")
    note = f" (NPS {plain(nps)}; schedule 40 taken for granted, enter the wall if it differs)"
    return within(od_mm, walls["40"], f"{STEEL_SOURCE}, schedule 40", note)


def _nps_of(size: Size) -> Decimal | None:
    if size.system == "in":
        return size.number if size.number in STEEL_OD_MM else None
    if _by_dn(size):
        return NPS_OF_DN.get(int(size.number)) if size.number == int(size.number) else None
    return next((nps for nps, od_mm in STEEL_OD_MM.items() if od_mm == size.number), None)


def _by_dn(size: Size) -> bool:
    """Whether the size names a DN: it says so, or is a bare number that is one."""
    return size.system == "DN" or (size.system == "" and size.number in NPS_OF_DN)


def _of_schedule(size: Size, nps: Decimal, schedule: str) -> Bore:
    od_mm, walls = STEEL_OD_MM[nps], STEEL_WALL_MM[nps]
    if schedule not in walls:
        return _unknown(
            f"No wall known for steel of {size.text}, schedule {schedule} (listed are {_and(walls)}); "
            "enter the wall or measure the bore.",
            od_mm,
        )
    return within(od_mm, walls[schedule], f"{STEEL_SOURCE}, schedule {schedule}", f" (NPS {plain(nps)})")


def _ductile_iron(size: Size, named: str, wall_mm: Decimal | None) -> Bore:
    """Ductile iron is named by DN; its wall depends on the class."""
    if size.system == "in":
        return _unknown(
            f"No table for ductile iron of {size.text}; write its DN, or the outside diameter in mm."
        )
    is_dn = size.system == "DN" or (size.system == "" and size.number in DI_OD_MM)
    if is_dn and size.number not in DI_OD_MM:
        return _unknown(
            f"No outside diameter known for ductile iron {size.text}; enter it in mm with the wall."
        )
    od_mm = DI_OD_MM[int(size.number)] if is_dn else size.number
    if wall_mm is not None:
        if is_dn:
            return within(od_mm, wall_mm, DI_SOURCE, f" (DN{plain(size.number)})")
        return within(od_mm, wall_mm, GIVEN_SOURCE)
    dn = next((dn for dn, known_mm in DI_OD_MM.items() if known_mm == od_mm), None)
    if named and dn is not None:
        return _of_class(dn, od_mm, named)
    return _unknown(
        f"The wall of ductile iron {size.text} depends on its class; enter it or measure the bore.", od_mm
    )


def _of_class(dn: int, od_mm: Decimal, named: str) -> Bore:
    read = read_wall_class(named)
    if read is None or read.system not in ("K", "C"):
        return _unknown(
            f"The class {named!r} of ductile iron is not understood; write it like K9 or C40.", od_mm
        )
    name = f"{read.system}{read.value}"
    listed = DI_PRESSURE_WALL_MM.get(name, {})
    if read.system == "K" and read.value.isdigit() and int(read.value) in _K_CLASSES:
        wall_mm = k_wall_mm(dn, int(read.value))
    elif dn in listed:
        wall_mm = listed[dn]
    else:
        why = f"No wall known for ductile iron DN{dn} of class {name}; enter the wall or measure the bore."
        return _unknown(why, od_mm)
    note = (
        f", the nominal one of class {name} (DN{dn}); a cement lining, {cement_lining_mm(dn)} mm in water pipe, "
        "is not taken off: enter the lining if there is one"
    )
    return within(od_mm, wall_mm, DI_CLASS_SOURCE, note)


def _other(material: str, size: Size, wall_mm: Decimal | None) -> Bore:
    """Any other pipe, by what was written of it."""
    named = material or "a main of no named material"
    if size.system in ("DN", "in"):
        return _unknown(
            f"No table for {named} of {size.text}; enter the outside diameter in mm and the wall."
        )
    if wall_mm is None:
        return _unknown(
            f"No wall known for {named} of {size.text}; enter the wall in mm or measure the bore.",
            size.number if size.system == "OD" else None,
        )
    return within(size.number, wall_mm, GIVEN_SOURCE)


def _and(names: dict[str, Decimal]) -> str:
    *some, last = names
    return f"{', '.join(some)} and {last}" if some else last
