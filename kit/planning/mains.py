"""The main as kit has to suit it: from the nominal or the measured bore, with lining and ovality, and why.

Lengths are in mm. A depot's own table of sizes wins over the shipped ones where it names the material and the size.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Literal

from kit.planning.bores import Bore, effective_bore, nominal_bore_mm, within
from kit.planning.written_sizes import folded_material, plain, same_class, size_key, split_size

SizedBy = Literal["inside", "outside"]

NOT_KNOWN = "not known"
MEASURED = "measured"
NOMINAL = "nominal"


@dataclass(frozen=True, slots=True)
class OwnSize:
    """A row of a depot's own table of mains: what a size as written stands for. Either the inside diameter is known,
    or the outside diameter and the wall are.
    """

    material: str
    size: str
    inside_mm: Decimal | None
    outside_mm: Decimal | None
    wall_mm: Decimal | None
    source: str


@dataclass(frozen=True, slots=True)
class Main:
    """One main as kit has to suit it.

    `bore_mm` is the bore that counts and `outside_mm` the outside diameter; None where it is not known. Being out of
    round by `ovality_mm` (greatest less least diameter) moves each diameter by half of it either way. `lining_mm` is
    the thickness that was taken off a nominal bore on both sides. `origin`: "measured", "nominal", "not known", or ""
    where nobody said. `steps` are the sentences that lead to the bore.
    """

    bore_mm: Decimal | None
    outside_mm: Decimal | None = None
    ovality_mm: Decimal = Decimal(0)
    lining_mm: Decimal = Decimal(0)
    origin: str = ""
    steps: tuple[str, ...] = ()

    @property
    def least_mm(self) -> Decimal | None:
        """The least inside diameter that is reckoned with."""
        span = self.span("inside")
        return span[0] if span else None

    @property
    def most_mm(self) -> Decimal | None:
        """The greatest inside diameter that is reckoned with."""
        span = self.span("inside")
        return span[1] if span else None

    def size_mm(self, by: SizedBy) -> Decimal | None:
        """The diameter that a piece sized by it has to suit."""
        return self.bore_mm if by == "inside" else self.outside_mm

    def span(self, by: SizedBy) -> tuple[Decimal, Decimal] | None:
        """(least, greatest) diameter inside or outside; None where it is not known."""
        size_mm = self.size_mm(by)
        return None if size_mm is None else (size_mm - self.ovality_mm / 2, size_mm + self.ovality_mm / 2)

    def suits(self, low_mm: Decimal | None, high_mm: Decimal | None, margin_mm: Decimal, by: SizedBy) -> bool:
        """Whether a piece of that range covers the main, and a margin beyond it at either end.

        A piece without a range suits no main, and none suits a main of which that diameter is not known.
        """
        span = self.span(by)
        if span is None or low_mm is None or high_mm is None:
            return False
        return low_mm <= span[0] - margin_mm and span[1] + margin_mm <= high_mm


@dataclass(frozen=True, slots=True)
class Written:
    """What is written of a job's main: size and wall as text, and what was measured of it, in mm."""

    material: str = ""
    size: str = ""
    wall_class: str = ""
    wall_mm: Decimal | None = None
    bore_mm: Decimal | None = None
    far_bore_mm: Decimal | None = None
    ovality_mm: Decimal | None = None
    lining_mm: Decimal | None = None


@dataclass(frozen=True, slots=True)
class Mains:
    """The main of a job on its near side, and on its far side where a bore of its own was measured there.

    `warning` is a sentence where measured and nominal bore are far apart, or nothing gives a bore; `nominal` is what
    the size gives.
    """

    near: Main
    far: Main | None
    nominal: Bore
    source: str
    warning: str | None


def mains_of(written: Written, own: Sequence[OwnSize], warn_mm: Decimal | int) -> Mains:
    """The bores that count, near and far, by what is written and measured of a main."""
    nominal = nominal_of(written, own)
    lining_mm, lined = written.lining_mm or Decimal(0), nominal
    if lining_mm and nominal.bore_mm is not None:
        lined = _lined(nominal, lining_mm)
    bore_mm, source, warning = effective_bore(written.bore_mm, lined, warn_mm)
    near = _main(bore_mm, written.bore_mm is not None, nominal, lined, written)
    far, far_mm = None, written.far_bore_mm
    if far_mm is not None:
        effective_bore(far_mm, lined, warn_mm)  # refuses what is not above zero
        far = _main(far_mm, True, nominal, lined, written)
    if warning is None and near.bore_mm is None:
        warning = near.steps[-1]
    return Mains(near, far, lined, source if near.bore_mm is not None else "", warning)


def nominal_of(written: Written, own: Sequence[OwnSize]) -> Bore:
    """What the depot's own table gives for the size, or else the shipped tables."""
    row = own_size(written, own)
    if row is None:
        return nominal_bore_mm(written.material, written.size, written.wall_class or None, written.wall_mm)
    source = f"the depot's own table: {row.source}"
    if row.outside_mm is not None and written.wall_mm is not None and written.wall_mm > 0:
        return within(row.outside_mm, written.wall_mm, f"{source}, and the given wall")
    if row.inside_mm is not None:
        why = f"Inside diameter {plain(row.inside_mm)} mm of {row.material} {row.size}."
        return Bore(row.inside_mm, source, why, row.outside_mm)
    if row.outside_mm is None or row.wall_mm is None:
        return Bore(
            None, "", f"The depot's own table gives no bore of {row.material} {row.size}; correct it."
        )
    return within(row.outside_mm, row.wall_mm, source)


def own_size(written: Written, own: Sequence[OwnSize]) -> OwnSize | None:
    """The row of the own table that names this material and size, rather one that names the class of wall too."""
    material, size = folded_material(written.material), size_key(written.size)
    without: OwnSize | None = None
    for row in own:
        if folded_material(row.material) != material:
            continue
        row_size, row_class = split_size(row.size)
        if size_key(row_size) != size:
            continue
        if not row_class:
            without = row
        elif written.wall_class and same_class(row_class, written.wall_class):
            return row
    return without


def same_row(one: tuple[str, str], other: tuple[str, str]) -> bool:
    """Whether two (material, size) name one row of the own table, however they are written."""
    (size, wall), (other_size, other_wall) = split_size(one[1]), split_size(other[1])
    return (
        folded_material(one[0]) == folded_material(other[0])
        and size_key(size) == size_key(other_size)
        and (same_class(wall, other_wall) if wall and other_wall else wall == other_wall)
    )


def _lined(nominal: Bore, lining_mm: Decimal) -> Bore:
    assert nominal.bore_mm is not None
    bore_mm = nominal.bore_mm - 2 * lining_mm
    if bore_mm <= 0:
        why = f"A lining of {lining_mm} mm leaves nothing of a nominal bore of {nominal.bore_mm} mm; check both."
        return Bore(None, "", why, nominal.outside_mm)
    source = f"{nominal.source}, less twice the lining of {lining_mm} mm"
    return Bore(bore_mm, source, nominal.why, nominal.outside_mm)


def _main(bore_mm: Decimal | None, measured: bool, nominal: Bore, lined: Bore, written: Written) -> Main:
    """One side's main with the steps that lead to it."""
    steps: list[str] = []
    lining_mm, ovality_mm = written.lining_mm or Decimal(0), written.ovality_mm or Decimal(0)
    if measured:
        steps.append(f"The bore was measured: {bore_mm} mm. What is measured wins over what the size gives.")
        if lining_mm:
            steps.append(
                f"The lining of {lining_mm} mm takes nothing off: it was there when the bore was measured."
            )
    elif nominal.bore_mm is None:
        steps.append(nominal.why)
    else:
        steps.append(f"No bore was measured. {nominal.why} Source: {nominal.source}.")
        if lining_mm and bore_mm is not None:
            steps.append(f"The lining of {lining_mm} mm is taken off twice: a bore of {bore_mm} mm.")
        elif lining_mm:
            steps.append(lined.why)
    outside_mm = nominal.outside_mm
    if outside_mm is not None and bore_mm is not None and bore_mm >= outside_mm:
        steps.append(
            f"An outside diameter of {outside_mm} mm does not go with it: the main is of another size there."
        )
        outside_mm = None
    elif outside_mm is not None and measured:
        steps.append(f"The outside diameter is {outside_mm} mm by its size.")
    if ovality_mm and bore_mm is not None:
        if ovality_mm >= bore_mm:
            steps.append(f"An ovality of {ovality_mm} mm leaves no bore of {bore_mm} mm; check both.")
            return Main(None, outside_mm, Decimal(0), origin=NOT_KNOWN, steps=tuple(steps))
        half = ovality_mm / 2
        steps.append(
            f"Out of round by {ovality_mm} mm, half of it either way: from {plain(bore_mm - half)} to "
            f"{plain(bore_mm + half)} mm."
        )
    origin = NOT_KNOWN if bore_mm is None else MEASURED if measured else NOMINAL
    taken_off = lining_mm if origin == NOMINAL else Decimal(0)
    return Main(bore_mm, outside_mm, ovality_mm, taken_off, origin, tuple(steps))
