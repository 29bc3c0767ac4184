"""Words that this book means something of its own by, and the rules that it holds."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext_lazy as _

from kit.glossary.word import Word

BOOK = _("A word or rule of this book.")

WORDS_OF_THIS_BOOK: Sequence[Word] = (
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
        "lot",
        _("Lot"),
        _("A quantity of something counted rather than tagged piece by piece: seals, caps, fluids."),
        BOOK,
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
        "gate",
        _("Check that gates"),
        _("A check without which a piece does not go out: never done, failed or in doubt means not fit."),
        BOOK,
        "kinds",
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
)
