"""The form of a thorough examination of a chain, in our own words.

What a report must hold: Lifting Operations and Lifting Equipment Regulations 1998 (SI 1998/2307), Schedule 1.
Its paragraphs 1 to 8(c) were read in the text as made; 8(d) to 11 are from memory. The day of the
examination is that of the record. What the regulations call the load of the equipment is the working
load limit here. Whether they apply to a chain at all, a person decides. The limits of stretch and wear
are not in them.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final

from inspections.judging.form_fields import Field
from inspections.judging.forms import Form

_DISCARD: Final = (
    "leaflet UBT 3072 of the German accident insurance of the building trade: a round steel chain is laid "
    "aside when links are over 5 % longer or over 10 % thinner; a setting, the maker's figures decide"
)
_LIKELY: Final = "it could become a danger"
_DANGER: Final = "it is a danger"
_DEFECT_FOUND: Final = ("defect", (_LIKELY, _DANGER))
_FIRST: Final = "first, after it was installed"

_REPORT: Final = (
    Field("employer", "Made for: name and address", "text"),
    Field("premises", "Examined at: address", "text"),
    Field("identification", "The chain: what it is, its marks and serial", "text"),
    Field("made_on", "Made on", "date", not_after_test=True, needed=False, help="If known."),
    Field("last_examined", "Last thorough examination", "date", not_after_test=True, needed=False),
    Field("wll_kg", "Working load limit shown", "number", unit="kg", help="As it was set up when examined."),
    Field(
        "occasion",
        "Why it is examined",
        "choice",
        choices=(
            _FIRST,
            "within 6 months",
            "within 12 months",
            "as the examination scheme says",
            "after exceptional circumstances",
        ),
    ),
    Field(
        "installed_correctly",
        "Installed correctly",
        "yes-no",
        wanted=("yes",),
        needed_if=("occasion", (_FIRST,)),
    ),
)

_CONDITION: Final = (
    Field("wll_readable", "Working load limit and serial can be read on it", "yes-no", wanted=("yes",)),
    Field(
        "links_sound",
        "No crack, bend, twist, cut, corrosion or heat mark over its whole length",
        "yes-no",
        wanted=("yes",),
    ),
    Field("fittings_sound", "Rings, hooks and catches are sound", "yes-no", wanted=("yes",)),
    Field("length_new_mm", "Length when new", "number", unit="mm", needed=False, help="Over the same links."),
    Field("length_mm", "Length now", "number", unit="mm", needed=False),
    Field(
        "stretch",
        "Stretch",
        "ratio",
        least=Decimal(-2),
        most=Decimal(5),
        measured="length_mm",
        against="length_new_mm",
        needed=False,
        help="A chain that has grown shorter was measured wrongly.",
        source=_DISCARD,
    ),
    Field("diameter_new_mm", "Nominal diameter of a link", "number", unit="mm", needed=False),
    Field(
        "diameter_mm",
        "Diameter of the thinnest link",
        "number",
        unit="mm",
        needed=False,
        help="The mean of two readings at a right angle.",
    ),
    Field(
        "diameter_change",
        "Change of diameter",
        "ratio",
        least=Decimal(-10),
        measured="diameter_mm",
        against="diameter_new_mm",
        needed=False,
        source=_DISCARD,
    ),
)

_DEFECT: Final = (
    Field(
        "defect",
        "Defect",
        "choice",
        choices=("none", _LIKELY, _DANGER),
        wanted=("none",),
        doubtful=(_LIKELY,),
        help="One that could become a danger is shipped as a doubt, so that the chain stays in: stricter "
        "than the regulations, which give it until the day named.",
    ),
    Field("defect_part", "Which part, and what is wrong with it", "text", needed_if=_DEFECT_FOUND),
    Field("repair", "What must be mended, renewed or altered", "text", needed_if=_DEFECT_FOUND),
    Field(
        "danger_by",
        "It could be a danger by",
        "date",
        needed_if=("defect", (_LIKELY,)),
        help="The repair is needed by this day.",
    ),
    Field("tests", "What was tested, and how", "text", needed=False, help="If the examination had tests."),
    Field("may_stay_in_use", "In the examiner's judgement it may stay in use", "yes-no", wanted=("yes",)),
    Field("next_due", "Next examination due by", "date", not_before_test=True, breach="doubt"),
    Field("examiner", "Examined by: name, address, qualifications", "text"),
    Field("examiner_employer", "Examiner's employer: name and address", "text", needed=False),
    Field("signed_by", "Report signed by: name and address", "text"),
    Field("reported_on", "Date of the report", "date"),
    Field("remarks", "Remarks", "text", needed=False),
)

CHAIN_EXAMINATION: Final = Form(
    (*_REPORT, *_CONDITION, *_DEFECT),
    "LOLER 1998, Schedule 1, in our own words (paragraphs 8(d) to 11 from memory); what is looked at on the "
    "chain: common practice, no source",
)
