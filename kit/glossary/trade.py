"""Words that the trade has, and what is usual where the network operator's procedure says nothing else."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext_lazy as _

from kit.glossary.word import Word

COMMON = _("Common practice, no source: the network operator's procedure decides.")
FROM_MEMORY = _("From memory of the standard named: check the one you hold.")

WORDS_OF_THE_TRADE: Sequence[Word] = (
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
