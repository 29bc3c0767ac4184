"""Words of the trade and of this book, and the rules behind them, in words of our own; each says where it is from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext_lazy as _

COMMON = _("Common practice, no source: the network operator's procedure decides.")
BOOK = _("A word or rule of this book.")
FROM_MEMORY = _("From memory of the standard named: check the one you hold.")


@dataclass(frozen=True, slots=True)
class Word:
    """A word: its anchor on the page, what it means, where that is from, and the screen on which it is met."""

    slug: str
    name: Any
    means: Any
    source: Any
    screen: str

    def speaks_of(self, text: str) -> bool:
        """Whether each word of the text stands in its name or meaning, whatever the case."""
        said = f"{self.name} {self.means}".casefold()
        return all(part in said for part in text.casefold().split())


WORDS: Sequence[Word] = (
    Word(
        "kind",
        _("Kind"),
        _(
            "What sort of piece it is: bag, base, gauge. A kind says what its pieces carry, what has to "
            "match and how many days they need between jobs."
        ),
        BOOK,
        "kinds",
    ),
    Word(
        "tag",
        _("Tag"),
        _(
            "The name on the piece by which this book knows it. It is given once and never used for "
            "another piece."
        ),
        BOOK,
        "register",
    ),
    Word(
        "serial",
        _("Maker's serial"),
        _(
            "The maker's own number. It is unique only together with maker and kind: two makers may use "
            "the same."
        ),
        COMMON,
        "register",
    ),
    Word(
        "batch",
        _("Batch"),
        _(
            "Pieces made together by the maker. If one of them fails from a fault in the making, its "
            "batch is looked up."
        ),
        COMMON,
        "register",
    ),
    Word(
        "lot",
        _("Lot"),
        _("A quantity of something counted rather than tagged piece by piece: seals, caps, fluids."),
        BOOK,
        "register",
    ),
    Word(
        "bore",
        _("Bore"),
        _(
            "The inside diameter of the main. What was measured at the main wins over what a table says "
            "of its nominal size."
        ),
        COMMON,
        "mains",
    ),
    Word(
        "mark",
        _("Mark"),
        _("The maker's pattern of heads and bases. A head fits a base of the same mark only."),
        COMMON,
        "register",
    ),
    Word(
        "main",
        _("Main (the pipe)"),
        _("The pipe in the street that carries the gas and is to be stopped."),
        COMMON,
        "mains",
    ),
    Word(
        "bag",
        _("Bag"),
        _(
            "An inflatable stopper put into the live main through a hole and blown up to hold the gas "
            "back. Oil, heat and age harm it."
        ),
        COMMON,
        "register",
    ),
    Word(
        "bag-tube",
        _("Bag tube and control head"),
        _(
            "What carries a bag into the main and fills it. Tube, head and bag that worked together are "
            "looked at together when one fails."
        ),
        COMMON,
        "register",
    ),
    Word(
        "head-base-nose",
        _("Bagging head, base, nose"),
        _(
            "The base sits on the main, the head on the base, and the nose guides the bag for the main's "
            "size. Head and base share a mark."
        ),
        COMMON,
        "register",
    ),
    Word(
        "bypass",
        _("Bypass"),
        _(
            "Hoses that carry the gas round the stopped section. It is purged before use; the operator's "
            "procedure says how and until what reading."
        ),
        COMMON,
        "register",
    ),
    Word(
        "arrangement",
        _("Arrangement"),
        _(
            "The pattern of a flow stop: which kinds, how many, and what has to match. It has versions; a "
            "job keeps the one it was planned by."
        ),
        BOOK,
        "arrangements",
    ),
    Word(
        "spare",
        _("Spare"),
        _(
            "One bag more than the pattern mounts. It must fit every position, it serves one job, and "
            "once used on site there is none."
        ),
        COMMON,
        "arrangements",
    ),
    Word(
        "assembly",
        _("Assembly"),
        _(
            "Lines of an arrangement that are made up into units whose pieces share a mark: a head, its "
            "nose and its base."
        ),
        BOOK,
        "arrangements",
    ),
    Word(
        "set",
        _("Set"),
        _("Pieces of one depot that go out together or not at all, as a bag mounted on its tube."),
        BOOK,
        "register",
    ),
    Word(
        "job",
        _("Job"),
        _("One piece of work with its site, main, day of loading and day of return. Both days belong to it."),
        BOOK,
        "jobs",
    ),
    Word(
        "kit-list",
        _("Kit list"),
        _(
            "What a job needs and which pieces are chosen for it, with each other piece and all that "
            "speaks against it."
        ),
        BOOK,
        "jobs",
    ),
    Word(
        "load-list",
        _("Load list"),
        _("The kit list in the order of the walk round the store, to tick off while the van is loaded."),
        BOOK,
        "jobs",
    ),
    Word(
        "promise",
        _("Promise"),
        _(
            "A piece kept for one job. No piece is ever promised to two jobs whose days overlap; the "
            "database refuses it too."
        ),
        BOOK,
        "jobs",
    ),
    Word(
        "broken-promise",
        _("Promise that no longer holds"),
        _(
            "When a job is extended, a check fails or a piece is set aside, each promise is judged again. "
            "What fails is flagged with what could stand in, and never dropped in silence."
        ),
        BOOK,
        "jobs",
    ),
    Word(
        "turn-round",
        _("Turn-round"),
        _(
            "Days after its return until a piece may go to another job: for cleaning, checking, the "
            "journey back. Shipped as 0."
        ),
        COMMON,
        "kinds",
    ),
    Word(
        "margin",
        _("Margin"),
        _("Days beyond the return of its job until which a piece has to be in date. Shipped as 0."),
        COMMON,
        "kinds",
    ),
    Word(
        "in-date",
        _("In date"),
        _(
            "The day itself counts: a piece is in date on its use-by date and on its due date, and out of "
            "date the day after. A use-by of a month runs to its last day."
        ),
        BOOK,
        "register",
    ),
    Word(
        "use-by",
        _("Use-by date"),
        _(
            "The day after which the piece is not used, whatever its checks say. It is never extended by "
            "a concession."
        ),
        BOOK,
        "due",
    ),
    Word(
        "storage-life",
        _("Storage and service life"),
        _(
            "Two clocks: how long rubber may lie before first use, by its kind of rubber (ISO 2230), and "
            "how long a piece may be used. Ask the maker."
        ),
        FROM_MEMORY,
        "register",
    ),
    Word(
        "short-date",
        _("3/94 on a label"),
        _(
            "March or the third quarter: makers differ. It is a setting of the kind and of the maker; "
            "until it is set such a date is refused."
        ),
        COMMON,
        "kinds",
    ),
    Word(
        "check",
        _("Check"),
        _(
            "An inspection, test, calibration or thorough examination that falls due again. The intervals "
            "shipped are common practice: set your own."
        ),
        COMMON,
        "kinds",
    ),
    Word(
        "gate",
        _("Check that gates"),
        _("A check without which a piece does not go out: never done, failed or in doubt means not fit."),
        BOOK,
        "kinds",
    ),
    Word(
        "thorough-examination",
        _("Thorough examination"),
        _(
            "The periodic examination of lifting gear by a competent person, commonly every six months "
            "for chains that lift (LOLER regulation 9, United Kingdom). Local law decides."
        ),
        FROM_MEMORY,
        "due",
    ),
    Word(
        "fit",
        _("Fit until"),
        _(
            "The earliest of the use-by date and the due dates of the checks that gate. It says what is "
            "recorded; whoever is in charge on site decides."
        ),
        BOOK,
        "register",
    ),
    Word(
        "verdict",
        _("Pass, fail, doubt"),
        _(
            "What a check found. Doubt is a reading so near the limit that the gauge cannot tell: the "
            "piece does not go out."
        ),
        BOOK,
        "due",
    ),
    Word(
        "hold-test",
        _("Hold test"),
        _(
            "A bag is blown up, left for some minutes, and the drop of pressure is compared with a limit. "
            "Pressure, minutes and limit are settings."
        ),
        COMMON,
        "kinds",
    ),
    Word(
        "guard",
        _("Guard"),
        _(
            "A band on either side of a limit for what a gauge may read wrong. Inside it the verdict is "
            "doubt."
        ),
        COMMON,
        "kinds",
    ),
    Word(
        "calibration",
        _("Calibration"),
        _(
            "A gauge compared with a better one, point by point, up and down, as found and as left, "
            "against its class (EN 837-1)."
        ),
        FROM_MEMORY,
        "due",
    ),
    Word(
        "look-back",
        _("Look-back"),
        _(
            "A gauge found out of tolerance puts every test made with it since its last good calibration "
            "under review."
        ),
        BOOK,
        "reviews",
    ),
    Word(
        "quarantine",
        _("Quarantine, set aside"),
        _(
            "A piece set aside because something is or may be wrong. Nothing is promised of it. Whoever "
            "set it aside or failed it does not release it."
        ),
        BOOK,
        "quarantine",
    ),
    Word(
        "release",
        _("Release of a piece"),
        _("A second person returns a piece from quarantine, after the findings are written down."),
        BOOK,
        "quarantine",
    ),
    Word(
        "withdraw",
        _("Withdraw, dispose"),
        _("A piece goes out of the stock for good. Its story stays, and its tag is not used again."),
        BOOK,
        "register",
    ),
    Word(
        "concession",
        _("Concession"),
        _(
            "A due date extended within bounds, for a reason, by somebody who did not ask for it. A fail, "
            "a doubt, a quarantine and a use-by date are never conceded."
        ),
        BOOK,
        "concessions",
    ),
    Word(
        "transfer",
        _("Transfer, consignment"),
        _(
            "Kit that goes to another depot. One person sends, another at the other end signs for it; the "
            "same hand cannot do both."
        ),
        BOOK,
        "transfers",
    ),
    Word(
        "stock-take",
        _("Stock-take"),
        _(
            "A count of a place or a depot against the book. What does not agree is settled one by one, "
            "with a reason."
        ),
        BOOK,
        "stock_takes",
    ),
    Word(
        "ledger",
        _("Ledger"),
        _(
            "Every act with who, when and from where, in a chain. Nothing is edited away: a correction is "
            "a new entry that points at the old one."
        ),
        BOOK,
        "ledger",
    ),
    Word(
        "two-hands",
        _("Two pairs of hands"),
        _(
            "Nobody releases what they failed or set aside, grants what they asked for, signs for what "
            "they sent, or gives themselves a role."
        ),
        BOOK,
        "roles",
    ),
    Word(
        "old-rules",
        _("Rules of the day"),
        _(
            "The rules in force on a day judge that day. Changing an interval never rewrites the verdict "
            "on an old issue."
        ),
        BOOK,
        "kinds",
    ),
    Word(
        "readiness",
        _("Readiness"),
        _(
            "How many stops of a pattern and size could be mounted at once on a day, and which kind "
            "limits it."
        ),
        BOOK,
        "readiness",
    ),
    Word(
        "defect-tag",
        _("Defect tag"),
        _(
            "The paper tied to a piece that was set aside: who, why, when. A piece that is or could "
            "become dangerous is not used before it is mended."
        ),
        COMMON,
        "quarantine",
    ),
)
