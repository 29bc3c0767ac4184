"""What the papers print, as plain frozen values: no models, no clock, no look-ups.

Whoever prints fills these from the register and passes the printing time in. Lengths are in mm, dates are
calendar days, moments carry their time zone. Texts may hold any characters: see `kit.papers.printable`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from enum import Enum

from django.utils.translation import gettext_noop as _

from kit.papers.cautions import usual_cautions
from kit.papers.stamp import Stamp, needs_count, needs_text, needs_time_zone

Millimetres = float | int | Decimal


@dataclass(frozen=True, slots=True)
class JobHead:
    """The job that a paper belongs to. Both ends of the window, `load_on` and `return_on`, belong to it.

    `bore_mm` is the bore of the main the kit was chosen for, `far_bore_mm` that on the far side where it has one of
    its own, `mark` the mark that base and head share, `main`
    the main in words ("PE 180 SDR 17.6"). An unknown one is None or empty and is left out.
    """

    reference: str
    site: str
    depot: str
    load_on: date
    return_on: date
    arrangement: str
    bore_mm: Millimetres | None = None
    mark: str = ""
    main: str = ""
    far_bore_mm: Millimetres | None = None

    def __post_init__(self) -> None:
        needs_text(self.reference, "job reference")


@dataclass(frozen=True, slots=True)
class Piece:
    """One tagged piece. `place` is where it lies in the store; `fit_until` None means that no date limits it.

    `concession` says in words which concession lets it go out although its date runs out before the return;
    `goes_with` of which set or assembly it is, or that it stands in for another kind.
    """

    tag: str
    kind: str
    line: str
    place: str = ""
    maker: str = ""
    serial: str = ""
    bore_min_mm: Millimetres | None = None
    bore_max_mm: Millimetres | None = None
    mark: str = ""
    fit_until: date | None = None
    fit_reason: str = ""
    concession: str = ""
    goes_with: str = ""

    def __post_init__(self) -> None:
        needs_text(self.tag, "tag")


@dataclass(frozen=True, slots=True)
class CountedLot:
    """A quantity of something that is counted, not tagged."""

    line: str
    kind: str
    lot: str
    quantity: int
    place: str = ""
    use_by: date | None = None

    def __post_init__(self) -> None:
        needs_count(self.quantity, f"the quantity of lot {self.lot}")


@dataclass(frozen=True, slots=True)
class Short:
    """A line that the register cannot fill. `soonest` is the first later loading day on which it could be."""

    line: str
    kind: str
    needed: int
    short: int
    soonest: date | None = None
    remedy: str = ""
    counted: bool = False

    def __post_init__(self) -> None:
        needs_count(self.short, f"the number short on line {self.line}", 1)
        if self.short > self.needed:
            raise ValueError(f"Line {self.line} needs {self.needed} but is said to be {self.short} short.")


@dataclass(frozen=True, slots=True)
class LoadList:
    """What is to go on the van, `pieces` in loading order. `as_of` is the day asked about."""

    job: JobHead
    stamp: Stamp
    as_of: date
    pieces: Sequence[Piece]
    lots: Sequence[CountedLot] = ()
    shorts: Sequence[Short] = ()
    cautions: Sequence[str] = usual_cautions()
    crew: str = ""

    @property
    def pieces_short(self) -> int:
        """How many tagged pieces are short, over all lines."""
        return sum(short.short for short in self.shorts if not short.counted)

    @property
    def counted_short(self) -> int:
        """How much counted stock is short, over all lines."""
        return sum(short.short for short in self.shorts if short.counted)

    @property
    def running_out(self) -> list[Piece]:
        """The pieces whose date runs out before the return and that no concession covers."""
        return [piece for piece in self.pieces if self.runs_out(piece) and not piece.concession]

    def runs_out(self, piece: Piece) -> bool:
        """Whether the piece is out of date before the return. It is still in date on `fit_until` itself."""
        return piece.fit_until is not None and piece.fit_until < self.job.return_on

    def by_place(self) -> dict[str, list[Piece]]:
        """The pieces by place, places in the order in which loading first comes to them."""
        places: dict[str, list[Piece]] = {}
        for piece in self.pieces:
            places.setdefault(piece.place.strip(), []).append(piece)
        return places


@dataclass(frozen=True, slots=True)
class ShortIssue:
    """A line that went out short all the same: why, and who agreed to it."""

    line: str
    kind: str
    needed: int
    issued: int
    reason: str
    agreed_by: str = ""

    def __post_init__(self) -> None:
        needs_count(self.issued, f"the number issued on line {self.line}")
        if self.issued >= self.needed:
            raise ValueError(
                f"Line {self.line} needed {self.needed} and got {self.issued}: that is not short."
            )


@dataclass(frozen=True, slots=True)
class IssueNote:
    """What went out, to whom, by whom."""

    number: str
    job: JobHead
    stamp: Stamp
    issued_at: datetime
    issued_by: str
    received_by: str
    pieces: Sequence[Piece]
    lots: Sequence[CountedLot] = ()
    shorts: Sequence[ShortIssue] = ()
    note: str = ""

    def __post_init__(self) -> None:
        needs_text(self.number, "number of the issue note")
        needs_time_zone(self.issued_at, "The time of issue")


class Outcome(Enum):
    """How a piece came back; the value is what is printed, in English."""

    USED = _("used")
    UNUSED = _("unused")
    DAMAGED = _("damaged")
    MISSING = _("missing")


class NextStep(Enum):
    """Where a piece that came back goes; the value is what is printed, in English."""

    TO_STORE = _("back to store")
    AWAITING_CHECK = _("awaiting check")
    QUARANTINE = _("quarantine")
    LOOK_FOR = _("to be found")


@dataclass(frozen=True, slots=True)
class ReturnedPiece:
    """One piece at the counter. `next_detail` names the check, the quarantine case or the place in store."""

    tag: str
    kind: str
    line: str
    outcome: Outcome
    next_step: NextStep
    next_detail: str = ""
    maker: str = ""
    serial: str = ""
    note: str = ""
    goes_with: str = ""

    def __post_init__(self) -> None:
        needs_text(self.tag, "tag")


@dataclass(frozen=True, slots=True)
class ReturnedLot:
    """Counted stock: what went out less what came back is what was used."""

    line: str
    kind: str
    lot: str
    issued: int
    returned: int

    def __post_init__(self) -> None:
        needs_count(self.returned, f"the quantity returned of lot {self.lot}")
        if self.returned > self.issued:
            raise ValueError(
                f"Of lot {self.lot} {self.returned} came back but {self.issued} went out. Count again, or "
                "correct the issue first."
            )

    @property
    def used(self) -> int:
        return self.issued - self.returned


@dataclass(frozen=True, slots=True)
class StillOut:
    """A piece that stays on site after a partial return."""

    tag: str
    kind: str
    line: str


@dataclass(frozen=True, slots=True)
class ReturnNote:
    """What came back, in what state, and where each piece goes now."""

    number: str
    job: JobHead
    stamp: Stamp
    taken_back_at: datetime
    taken_back_by: str
    handed_in_by: str
    pieces: Sequence[ReturnedPiece]
    lots: Sequence[ReturnedLot] = ()
    still_out: Sequence[StillOut] = ()
    note: str = ""

    def __post_init__(self) -> None:
        needs_text(self.number, "number of the return note")
        needs_time_zone(self.taken_back_at, "The time of return")


class TagSheet(Enum):
    """What a defect tag is printed on."""

    A6 = "a6"
    A5_ON_A4 = "a5-on-a4"


@dataclass(frozen=True, slots=True)
class DefectTag:
    """The tag tied to a piece that is set aside: what it is, why, who, when, what was found."""

    tag: str
    kind: str
    stamp: Stamp
    why: str
    found: str
    set_aside_by: str
    set_aside_at: datetime
    depot: str
    maker: str = ""
    serial: str = ""
    job: str = ""
    case: str = ""
    place: str = ""

    def __post_init__(self) -> None:
        needs_text(self.tag, "tag")
        needs_text(self.why, "reason")
        needs_time_zone(self.set_aside_at, "The time of setting aside")
