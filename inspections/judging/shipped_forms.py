"""The forms shipped with a new register: a starting point that a depot changes as its procedure asks.

Each says where it comes from. What says `PRACTICE` has no source, and its limits are settings.
"""

from __future__ import annotations

from decimal import Decimal
from typing import Final, NamedTuple

from inspections.judging.form_fields import Field
from inspections.judging.forms import Form
from inspections.judging.shipped_chain_form import CHAIN_EXAMINATION

PRACTICE: Final = "common practice, no source"
_SAME_UNIT: Final = "In the unit chosen above."
SETTING: Final = "common practice, no source: a setting, put in what your procedure asks"


class ShippedForm(NamedTuple):
    """The form of one check of a shipped kind of item."""

    kind: str
    check: str
    form: Form


def _must(name: str, label: str, help: str = "") -> Field:
    """A yes-no that passes with yes."""
    return Field(name, label, "yes-no", wanted=("yes",), help=help)


def _state(name: str, label: str, sound: str, doubtful: str, bad: str, help: str = "") -> Field:
    """A choice of three: one that passes, one that casts doubt, one that fails."""
    return Field(
        name,
        label,
        "choice",
        choices=(sound, doubtful, bad),
        wanted=(sound,),
        doubtful=(doubtful,),
        help=help,
    )


def _if_fitted(name: str, label: str) -> Field:
    """A part that not every piece has."""
    choices = ("works", "not fitted", "does not work")
    return Field(name, label, "choice", choices=choices, wanted=choices[:2])


def _remarks() -> Field:
    return Field("remarks", "Remarks", "text", needed=False)


def _mark_readable() -> Field:
    return _must("identity_readable", "Serial and size can be read on it")


def _form(*lines: Field) -> Form:
    return Form((*lines, _remarks()), PRACTICE)


BAG_VISUAL: Final = _form(
    _mark_readable(),
    _must("use_by_readable", "The use-by date on the bag can be read, and is the one in the register"),
    _must("clean_and_dry", "Clean and dry, free of oil and grease", "Oil attacks the rubber."),
    _state("cover", "Cover and seams", "sound", "scuffed", "cut, cracked or swollen"),
    _state("valve_and_hose", "Valve and inflation hose", "sound", "worn", "damaged"),
    _must("holds_shape", "Inflated free, it comes up evenly, without a bulge"),
)

TUBE: Final = _form(
    _mark_readable(),
    _must("straight", "Straight, without dents"),
    _state("seals", "Seals", "sound", "worn", "damaged or missing"),
    _must("threads", "Threads and couplings are whole and run freely"),
    _must("passage_clear", "The passage is clear and clean"),
    _must("marks_readable", "The depth marks can be read"),
)

_WEAR_GAUGE: Final = (
    _must("wear_gauge_passes", "The wear gauge passes at every place that the maker names"),
    _state("seals", "Seals", "sound", "worn", "damaged or missing"),
    _must("lock_holds", "The lock engages fully and holds"),
    _must("threads", "Threads are whole and run freely"),
)

CONTROL_HEAD: Final = _form(
    _mark_readable(),
    *_WEAR_GAUGE,
    _must("valves_shut", "Each valve opens, shuts and stays shut"),
    _if_fitted("pressure_relief", "Pressure relief: lifts and closes again"),
)

BAGGING_HEAD: Final = _form(
    _mark_readable(),
    _must("mark_readable", "The mark that pairs it with its base can be read"),
    *_WEAR_GAUGE,
    _state("body", "Body", "sound", "scored", "cracked or bent"),
)

BASE: Final = _form(
    _mark_readable(),
    _must("mark_readable", "The mark that pairs it with its head can be read"),
    *_WEAR_GAUGE,
    _state("saddle", "Face and saddle", "sound", "scored", "cracked or distorted"),
    _must("clamps", "Clamps, bolts or straps are whole and complete"),
)

NOSE: Final = _form(
    _mark_readable(),
    _must("size_readable", "The size of main that it suits can be read"),
    _state("edge", "Guiding edge", "smooth", "scratched", "burred or cracked", "A burr cuts the bag."),
    _must("fixing_holds", "Its fixing holds it fast"),
)

VENT_HEAD: Final = _form(
    _mark_readable(),
    *_WEAR_GAUGE,
    _must("valve_shuts", "The valve opens, shuts and stays shut"),
)

VENT_STACK: Final = _form(
    _mark_readable(),
    _must("bore_clear", "Clear from end to end"),
    _state("joints", "Joints and couplings", "sound", "worn", "damaged"),
    _must("stands_firm", "Stay or stand is complete and holds it upright"),
    _if_fitted("flame_trap", "Flame trap: in place and clean"),
)

BYPASS: Final = _form(
    _mark_readable(),
    _state("hose", "Hoses, over their whole length", "sound", "scuffed", "cut, kinked or cracked"),
    _state("couplings", "Couplings and their seals", "sound", "worn", "damaged or missing"),
    _must("valves_shut", "Each valve opens, shuts and stays shut"),
    Field(
        "test_pressure_mbar", "Leak test pressure", "number", unit="mbar", least=Decimal(100), source=SETTING
    ),
    Field("held_minutes", "Held for", "number", unit="min", least=Decimal(5), source=SETTING),
    Field(
        "drop_mbar",
        "Drop of pressure over that time",
        "number",
        unit="mbar",
        most=Decimal(2),
        guard=Decimal(1),
        source=SETTING,
    ),
    _must("no_bubbles", "No bubbles at any joint with leak-detection fluid"),
)

PUMP: Final = _form(
    _mark_readable(),
    _state("case", "Case, hose and gauge glass", "sound", "worn", "damaged"),
    _must("delivers", "Delivers to its working pressure"),
    _must("no_return", "Holds that pressure when it is stopped"),
    _if_fitted("pressure_relief", "Pressure relief: lifts at its setting"),
    _if_fitted("lead", "Lead and plug: whole"),
)

HAND_TOOL: Final = _form(
    _state("wear", "Wear", "none to speak of", "worn", "worn out or damaged"),
    _must("handle_fast", "Handle and fixings are fast"),
    _must("right_sort", "Of the non-sparking sort, where the procedure asks for it"),
)

GAUGE_ZERO: Final = _form(
    _mark_readable(),
    _state("glass_and_case", "Glass, case and connection", "sound", "scratched", "broken or bent"),
    _state(
        "zero",
        "With no pressure on it, it reads",
        "within the zero mark",
        "at the edge of the mark",
        "outside the mark",
        "Upright, vented, tapped lightly. A gauge off zero is not put right by turning the pointer: calibrate it.",
    ),
    _must("moves_freely", "The pointer or figure rises and falls without sticking"),
)


def _gas_test(response_percent: int, *more: Field) -> Form:
    """Zero, alarm, and the reading in a test gas, which may be off by so many per cent of that gas."""
    return _form(
        _must("reads_zero", "Reads zero in clean air"),
        Field("gas_unit", "Concentrations are in", "choice", choices=("% gas in air", "% LEL", "ppm")),
        Field("gas_concentration", "Test gas, as its certificate says", "number", help=_SAME_UNIT),
        Field("gas_certificate", "Number of the test gas certificate", "text"),
        Field(
            "gas_expiry",
            "Test gas expires on",
            "date",
            not_before_test=True,
            breach="doubt",
            help="In date on its last day. Past it the test says nothing about the detector: it is in doubt.",
        ),
        Field("reading", "Reading in the test gas", "number", help=_SAME_UNIT),
        Field(
            "response_error",
            "Reading against the test gas",
            "ratio",
            least=Decimal(-response_percent),
            most=Decimal(response_percent),
            measured="reading",
            against="gas_concentration",
            help="In % of the test gas.",
            source="from memory: makers ask for 10 to 20 % of the test gas; a setting, the maker's range decides",
        ),
        _must("alarm_works", "Alarms by light and sound"),
        *more,
    )


DETECTOR_TEST: Final = _gas_test(20)
DETECTOR_CALIBRATION: Final = _gas_test(
    10,
    _must("clears", "Goes back to zero in clean air"),
    _must("pump_and_filter", "Sample line, filter and pump draw freely"),
)

SHIPPED_FORMS: Final = (
    ShippedForm("bag", "hold test and visual", BAG_VISUAL),
    ShippedForm("bag tube", "inspection", TUBE),
    ShippedForm("control head", "inspection", CONTROL_HEAD),
    ShippedForm("bagging head", "inspection", BAGGING_HEAD),
    ShippedForm("nose", "inspection", NOSE),
    ShippedForm("base", "inspection", BASE),
    ShippedForm("vent head", "inspection", VENT_HEAD),
    ShippedForm("vent stack", "visual", VENT_STACK),
    ShippedForm("bypass set", "visual and leak test", BYPASS),
    ShippedForm("gauge", "zero check", GAUGE_ZERO),
    ShippedForm("gas detector", "test before use", DETECTOR_TEST),
    ShippedForm("gas detector", "calibration", DETECTOR_CALIBRATION),
    ShippedForm("pump", "inspection", PUMP),
    ShippedForm("chain set", "thorough examination", CHAIN_EXAMINATION),
    ShippedForm("hand tool", "visual", HAND_TOOL),
)


def shipped_form(kind: str, check: str) -> Form | None:
    """The form shipped for that check of that kind of item; None if there is none."""
    return next((one.form for one in SHIPPED_FORMS if (one.kind, one.check) == (kind, check)), None)
