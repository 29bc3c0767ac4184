"""A date that is impossible, ambiguous or none at all is refused, with what to write instead."""

from datetime import date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.planning.printed_dates import DateFault, read_printed_date

TODAY = date(2026, 11, 25)


def refusal(value: object, convention: str = "", want: str = "any") -> DateFault:
    with pytest.raises(DateFault) as refused:
        read_printed_date(value, convention, want, today=TODAY)  # type: ignore[arg-type]
    return refused.value


@pytest.mark.parametrize(
    ("value", "why", "instead"),
    [
        ("31/02/2027", "no day 31 in February 2027", "from 1 to 28"),
        ("2027-02-29", "no day 29 in February 2027", "from 1 to 28"),
        ("00/03/2027", "no day 0 in March 2027", "from 1 to 31"),
        ("270230", "no day 30 in February 2027", "from 1 to 28"),
        (270230, "no day 30 in February 2027", "from 1 to 28"),
        ("13/25/2027", "no month 25", "31/03/2027"),
        ("2027-13", "no month 13", "from 01 to 12"),
        ("2027-00-10", "no month 0", "2027-03-31"),
        ("13/2027", "no month 13", "from 01 to 12"),
        ("15/27", "no month 15", "from 01 to 12"),
        ("0/27", "no month 0", "from 01 to 12"),
        ("271331", "no such month as 13", "YYMMDD"),
        ("202703", "no such month as 27", "2027-03"),
        ("0027-03-31", "The year 27", "1900 to 2199"),
        ("31/12/9999", "The year 9999", "leave it empty"),
        ("12/9999", "The year 9999", "leave it empty"),
        (date(9999, 12, 31), "The year 9999", "leave it empty"),
        (date(1899, 12, 31), "The year 1899", "leave it empty"),
    ],
)
def test_impossible_dates(value: object, why: str, instead: str) -> None:
    fault = refusal(value)
    assert why in fault.why
    assert instead in fault.instead


@pytest.mark.parametrize(
    ("value", "why", "instead"),
    [
        ("12/31/2027", "month first", "31/12/2027"),
        ("03-31-2027", "month first", "31/03/2027"),
        ("31032027", "day first without strokes", "31/03/2027"),
        ("03-04-2027", "either number may be the day", "03/04/2027"),
        ("03/04/27", "year of two digits", "31/03/2027"),
        ("31/03/27", "year of two digits", "31/03/2027"),
        ("27-03-31", "year of two digits", "31/03/2027"),
        ("03-27", "ambiguous", "03/2027"),
        ("3.94", "ambiguous", "03/2027"),
        ("2027", "a year alone", "03/2027"),
        (2027, "a year alone", "03/2027"),
        ("31/03-2027", "cannot be read", "31/03/2027"),
        ("31 03 2027", "cannot be read", "31/03/2027"),
        ("31 March 2027", "cannot be read", "31/03/2027"),
        ("2027-03-31x", "cannot be read", "31/03/2027"),
        ("٣١/٠٣/٢٠٢٧", "cannot be read", "31/03/2027"),
        ("2027-03-31 14:30", "time of day", "31/03/2027"),
        ("2027-03-31T14:30:00", "time of day", "31/03/2027"),
        (datetime(2027, 3, 31, 14, 30), "31/03/2027 14:30 carries a time of day", "31/03/2027"),
        ("#VALUE!", "cannot be read", "31/03/2027"),
        ("soon", "cannot be read", "31/03/2027"),
        ("1234567", "six digits", "31/03/2027"),
    ],
)
def test_what_is_ambiguous_or_no_date(value: object, why: str, instead: str) -> None:
    fault = refusal(value)
    assert why in fault.why
    assert instead in fault.instead


@pytest.mark.parametrize("text", ["1/94", "2/94", "3/94", "4/94", "03/27"])
def test_a_month_or_a_quarter_must_be_settled_for_the_kind_and_maker(text: str) -> None:
    fault = refusal(text)
    assert "ambiguous" in fault.why
    assert "kind and maker" in fault.instead


def test_both_readings_of_a_short_label_are_offered() -> None:
    fault = refusal("3/94")
    assert fault.why == "3/94 is ambiguous: month 3 or quarter 3 of 1994?"
    assert "03/1994 for the month" in fault.instead
    assert "30/09/1994 for the end of the quarter" in fault.instead


def test_a_fifth_quarter_is_refused_where_labels_print_quarters() -> None:
    fault = refusal("5/27", "quarter")
    assert "no quarter 5" in fault.why
    assert "05/2027" in fault.instead


def test_one_figure_and_a_full_year_is_ambiguous_where_labels_print_quarters() -> None:
    fault = refusal("3/2027", "quarter")
    assert "print quarters" in fault.why
    assert "03/2027 for the month, or 3/27 for the quarter" in fault.instead


@pytest.mark.parametrize(
    ("value", "why", "instead"),
    [
        (46357, "it would mean 01/12/2026", "Format the column as a date"),
        (46357.0, "it would mean 01/12/2026", "Format the column as a date"),
        ("46357", "it would mean 01/12/2026", "Format the column as a date"),
        (46357.5, "it would mean 01/12/2026", "Format the column as a date"),
        (61, "it would mean 01/03/1900", "Format the column as a date"),
        (60101, "18/07/2064, as a GS1 date that lost its zero 01/01/2006", "GS1 date 060101"),
        (60, "60 is a bare number, not a date", "31/03/2027"),
        (0, "0 is a bare number, not a date", "31/03/2027"),
        (3.94, "3.94 is a bare number, not a date", "31/03/2027"),
    ],
)
def test_a_bare_number_is_refused_with_the_day_it_would_mean(value: object, why: str, instead: str) -> None:
    fault = refusal(value)
    assert why in fault.why
    assert instead in fault.instead


@pytest.mark.parametrize(
    "value",
    [
        None,
        "",
        "  ",
        "\u200b",
        True,
        False,
        -1,
        -270300,
        float("nan"),
        float("inf"),
        b"2027-03-31",
        [],
        {},
        object(),
    ],
)
def test_what_is_no_date_at_all(value: object) -> None:
    fault = refusal(value)
    assert "31/03/2027" in fault.instead


@pytest.mark.parametrize("value", ["2027-03", "03/2027", "270300", 270300])
def test_a_whole_month_is_refused_where_a_day_is_wanted(value: object) -> None:
    fault = refusal(value, want="day")
    assert "names a whole month, and a day is needed here" in fault.why
    assert "31/03/2027" in fault.instead


def test_a_quarter_is_refused_where_a_day_is_wanted() -> None:
    assert "names a whole quarter" in refusal("3/94", "quarter", "day").why


def test_yes_and_no_are_not_taken_for_one_and_nought() -> None:
    assert [refusal(value).why for value in (True, False)] == ["True is not a date.", "False is not a date."]


def test_a_fault_reads_as_one_message() -> None:
    fault = refusal("31/02/2027")
    assert str(fault) == f"{fault.why} {fault.instead}"


@given(st.text(max_size=400) | st.text("0123456789/-. ", max_size=12) | st.integers() | st.floats())
def test_anything_is_read_or_refused_in_two_sentences(value: object) -> None:
    fault = None
    try:
        read = read_printed_date(value, today=TODAY)
    except DateFault as refused:
        fault = refused
    if fault is None:
        assert read.text
        assert 1900 <= read.day.year <= 2199
    else:
        assert fault.why.endswith((".", "?"))
        assert fault.instead.endswith(".")
        assert len(str(fault)) < 400
