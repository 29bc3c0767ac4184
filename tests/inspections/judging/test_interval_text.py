"""An interval is read from its ISO 8601 text, refused in a sentence, and prints as it came."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.judging import Interval, IntervalFault


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("P6M", (0, 6, 0, 0)),
        ("P90D", (0, 0, 0, 90)),
        ("P1Y6M", (1, 6, 0, 0)),
        ("P2W", (0, 0, 2, 0)),
        ("P12M", (0, 12, 0, 0)),
        ("P1Y2M3W4D", (1, 2, 3, 4)),
        ("P0Y3M", (0, 3, 0, 0)),
        ("P006M", (0, 6, 0, 0)),
        (" p6m\u00a0", (0, 6, 0, 0)),
    ],
)
def test_reads_years_months_weeks_and_days(text: str, parts: tuple[int, int, int, int]) -> None:
    assert Interval.parse(text) == Interval(*parts)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "is empty"),
        ("   ", "is empty"),
        ("PT8H", "fall due by the day"),
        ("P1DT12H", "fall due by the day"),
        ("P0D", "no time"),
        ("P0Y0M", "no time"),
        ("-P6M", "sign"),
        ("P-6M", "sign"),
        ("+P6M", "sign"),
        ("P0.5Y", "fraction"),
        ("P1,5M", "fraction"),
        ("P", "is not an interval"),
        ("6M", "is not an interval"),
        ("6 months", "is not an interval"),
        ("P6", "is not an interval"),
        ("PM", "is not an interval"),
        ("P6D1M", "is not an interval"),
        ("P1M1M", "is not an interval"),
        ("P 6M", "is not an interval"),
        ("P٦M", "is not an interval"),
        ("P6M\x00", "is not an interval"),
        ("yearly", "is not an interval"),
        ("P101Y", "more than 100 years"),
        ("P" + "9" * 5000 + "D", "more than 100 years"),
    ],
)
def test_refuses_in_a_sentence_that_says_what_to_write(text: str, why: str) -> None:
    with pytest.raises(IntervalFault) as refused:
        Interval.parse(text)
    sentence = str(refused.value)
    assert why in sentence
    assert "P6M" in sentence or "P18M" in sentence
    assert sentence.endswith(".")


@pytest.mark.parametrize("parts", [(0, 0, 0, 0), (-1, 0, 0, 0), (1, -6, 0, 0), (0, 0, 0, -1)])
def test_cannot_be_made_of_nothing_or_less(parts: tuple[int, int, int, int]) -> None:
    with pytest.raises(IntervalFault):
        Interval(*parts)


@given(st.integers(0, 20), st.integers(0, 240), st.integers(0, 500), st.integers(0, 3650))
def test_text_round_trips(years: int, months: int, weeks: int, days: int) -> None:
    if not any((years, months, weeks, days)):
        return
    interval = Interval(years, months, weeks, days)
    assert Interval.parse(str(interval)) == interval


def test_prints_what_was_written() -> None:
    assert [str(Interval.parse(text)) for text in ("P12M", "P1Y", "P2W", "P14D")] == [
        "P12M",
        "P1Y",
        "P2W",
        "P14D",
    ]


def test_times_multiplies_each_part() -> None:
    assert Interval.parse("P1Y2M3W4D").times(3) == Interval(3, 6, 9, 12)
    with pytest.raises(IntervalFault):
        Interval.parse("P6M").times(0)
