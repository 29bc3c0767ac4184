"""Dates as labels and registers print them are read with their precision, and their print is kept."""

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.planning.printed_dates import PrintedDate, first_day, gs1_year, read_printed_date

TODAY = date(2026, 11, 25)


@pytest.mark.parametrize(
    ("value", "day", "precision"),
    [
        (date(2027, 3, 31), "2027-03-31", "day"),
        (datetime(2027, 3, 31), "2027-03-31", "day"),
        (datetime(2027, 3, 31, tzinfo=UTC), "2027-03-31", "day"),
        ("2027-03-31", "2027-03-31", "day"),
        ("2027-3-1", "2027-03-01", "day"),
        ("2027/03/31", "2027-03-31", "day"),
        ("2027-03-31 00:00:00", "2027-03-31", "day"),
        ("2027-03-31T00:00:00.000Z", "2027-03-31", "day"),
        ("20270331", "2027-03-31", "day"),
        (20270331, "2027-03-31", "day"),
        ("31/03/2027", "2027-03-31", "day"),
        ("01/02/2027", "2027-02-01", "day"),
        ("1/2/2027", "2027-02-01", "day"),
        ("29/02/2028", "2028-02-29", "day"),
        ("31.03.2027", "2027-03-31", "day"),
        ("01.02.2027", "2027-02-01", "day"),
        ("31-03-2027", "2027-03-31", "day"),
        ("03-03-2027", "2027-03-03", "day"),
        ("2027-03", "2027-03-31", "month"),
        ("2028-02", "2028-02-29", "month"),
        ("03/2027", "2027-03-31", "month"),
        ("3/2027", "2027-03-31", "month"),
        ("02.2027", "2027-02-28", "month"),
        ("270300", "2027-03-31", "month"),
        ("280200", "2028-02-29", "month"),
        ("270228", "2027-02-28", "day"),
        (270300, "2027-03-31", "month"),
        (270300.0, "2027-03-31", "month"),
        ("060101", "2006-01-01", "day"),
        ("760101", "2076-01-01", "day"),
        ("770101", "1977-01-01", "day"),
    ],
)
def test_reads_what_is_unambiguous(value: object, day: str, precision: str) -> None:
    read = read_printed_date(value, today=TODAY)
    assert (read.day.isoformat(), read.precision) == (day, precision)


@pytest.mark.parametrize(
    ("value", "text"),
    [
        ("03/2027", "03/2027"),
        ("270300", "270300"),
        (270300.0, "270300"),
        (date(2027, 3, 31), "2027-03-31"),
        (datetime(2027, 3, 31), "2027-03-31"),
        ("  31/03/2027\u00a0", "31/03/2027"),
    ],
)
def test_keeps_the_print(value: object, text: str) -> None:
    assert read_printed_date(value, today=TODAY).text == text


@pytest.mark.parametrize(
    "value",
    [
        " 2027-03-31 ",
        "\u00a02027-03-31\u00a0",
        "\u202f2027-03-31\t\n",
        "\ufeff2027-03-31",
        "2027\u200b-03\u200d-31",
        "２０２７-０３-３１",
        "２０２７－０３－３１",
        "2027\u201103\u201131",
        "2027\u201303\u201331",
        "31 / 03 / 2027",
        "31\u00a0/ 03/2027",
        "３１／０３／２０２７",
        "３１．０３．２０２７",
    ],
)
def test_spaces_unseen_characters_and_full_width_figures_are_forgiven(value: str) -> None:
    assert read_printed_date(value, today=TODAY).day == date(2027, 3, 31)


def test_all_ten_full_width_figures_are_forgiven() -> None:
    assert read_printed_date("１９／０８／２０３４", today=TODAY).day == date(2034, 8, 19)
    assert read_printed_date("２５／０７／２０６６", today=TODAY).day == date(2066, 7, 25)


@pytest.mark.parametrize(
    ("text", "convention", "day", "precision"),
    [
        ("3/94", "month", "1994-03-31", "month"),
        ("3/94", "quarter", "1994-09-30", "quarter"),  # July to September 1994
        ("1/27", "quarter", "2027-03-31", "quarter"),
        ("2/27", "quarter", "2027-06-30", "quarter"),
        ("4/27", "quarter", "2027-12-31", "quarter"),
        ("03/27", "month", "2027-03-31", "month"),
        ("12/27", "month", "2027-12-31", "month"),
        ("5/27", "", "2027-05-31", "month"),  # there is no fifth quarter
        ("12/27", "", "2027-12-31", "month"),
        ("3/76", "month", "2076-03-31", "month"),
        ("3/77", "month", "1977-03-31", "month"),
        ("03/2027", "quarter", "2027-03-31", "month"),
        ("270300", "quarter", "2027-03-31", "month"),
    ],
)
def test_a_number_and_a_short_year_is_what_the_labels_of_the_kind_mean(
    text: str, convention: str, day: str, precision: str
) -> None:
    read = read_printed_date(text, convention, today=TODAY)  # type: ignore[arg-type]
    assert (read.day.isoformat(), read.precision, read.text) == (day, precision, text)


@pytest.mark.parametrize(
    ("text", "convention", "first"),
    [
        ("31/03/2027", "", "2027-03-31"),
        ("02/2028", "", "2028-02-01"),
        ("280200", "", "2028-02-01"),
        ("1/27", "quarter", "2027-01-01"),
        ("3/94", "quarter", "1994-07-01"),
        ("4/27", "quarter", "2027-10-01"),
    ],
)
def test_first_day_of_what_is_printed(text: str, convention: str, first: str) -> None:
    read = read_printed_date(text, convention, today=TODAY)  # type: ignore[arg-type]
    assert first_day(read).isoformat() == first


def test_a_day_of_day_precision_is_taken_where_a_day_is_wanted() -> None:
    assert read_printed_date("270331", want="day", today=TODAY) == PrintedDate(
        date(2027, 3, 31), "day", "270331"
    )


@given(st.dates(date(1900, 1, 1), date(2199, 12, 31)))
def test_every_way_to_write_a_day_gives_that_day(day: date) -> None:
    for value in (day, day.isoformat(), f"{day:%d/%m/%Y}", f"{day:%d.%m.%Y}", f"{day:%Y%m%d}"):
        read = read_printed_date(value, today=TODAY)
        assert (read.day, read.precision) == (day, "day")
    month = read_printed_date(f"{day:%m/%Y}", today=TODAY)
    assert month == PrintedDate(read_printed_date(f"{day:%Y-%m}", today=TODAY).day, "month", f"{day:%m/%Y}")
    assert first_day(month) == day.replace(day=1)
    assert (month.day.replace(day=1), month.day >= day) == (day.replace(day=1), True)


@given(st.integers(0, 99), st.dates(date(2000, 1, 1), date(2099, 12, 31)))
def test_two_figures_of_a_year_mean_the_one_from_49_back_to_50_ahead(figures: int, today: date) -> None:
    year = gs1_year(figures, today)
    assert year % 100 == figures
    assert -49 <= year - today.year <= 50
