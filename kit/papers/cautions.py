"""The usual cautions on a load list. Common practice, no source: the network operator's procedure decides."""

from __future__ import annotations


def usual_cautions(
    test_pressure_bar: float | None = None, hold_minutes: float | None = None
) -> tuple[str, ...]:
    """The cautions as sentences, with the recorded test pressure (bar) and hold (minutes) if known."""
    pressure = (
        "the recorded pressure"
        if test_pressure_bar is None
        else f"the recorded {test_pressure_bar:g} bar at most"
    )
    held = "for the recorded time" if hold_minutes is None else f"for the recorded {hold_minutes:g} minutes"
    return (
        "The network operator's procedure, local codes and licensed practice decide. "
        "This list only says what the register holds.",
        f"Bags, the spare too, are inflated on test to {pressure} and held {held} before use: "
        "common practice, the procedure decides.",
        "A piece in doubt does not go out, and does not go into the main. Set it aside with a defect tag: "
        "who, why, when.",
        "Bypass: purge until two consecutive readings are above 90 % gas in air, and write both down with "
        "their times: common practice, the procedure decides. Use a high-range detector; purge gas "
        "overwhelms an ordinary LEL sensor.",
        "Once the spare has been used there is no spare. Ask for another before going on.",
        "Pieces not on this list stay in the store until they are issued in the register.",
    )
