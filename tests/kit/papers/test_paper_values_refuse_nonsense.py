"""A paper's values say in a sentence what is wrong with them before anything is printed; how they read."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from kit.papers import CountedLot, JobHead, LedgerMark, Piece, ReturnedLot, Short, ShortIssue, Stamp
from kit.papers.wording import day, millimetres, moment, pieces, size_range
from tests.kit.papers.examples import defect_tag, issue_note

MARK = LedgerMark(1, "0123456789abcdef")
BARE = datetime(2026, 10, 25, 1, 30)


@pytest.mark.parametrize(
    ("make", "why"),
    [
        (lambda: Stamp(BARE, 1, MARK), "names no time zone"),
        (lambda: Stamp(datetime(2026, 1, 1, tzinfo=UTC), -1, MARK), "the revision is -1"),
        (lambda: LedgerMark(0, "0123456789abcdef"), "the number of the ledger entry is 0"),
        (lambda: LedgerMark(7, "0123"), "first 12 hexadecimal digits"),
        (lambda: LedgerMark(7, "not hexadecimal"), "first 12 hexadecimal digits"),
        (lambda: Piece(" ", "bag", "bags"), "tag is empty"),
        (lambda: JobHead("", "s", "d", date(2026, 1, 1), date(2026, 1, 2), "a"), "job reference is empty"),
        (lambda: CountedLot("seals", "seal", "L1", -1), "the quantity of lot L1 is -1"),
        (lambda: Short("bags", "bag", 5, 0), "the number short on line bags is 0"),
        (lambda: Short("bags", "bag", 5, 6), "needs 5 but is said to be 6 short"),
        (lambda: ShortIssue("bags", "bag", 5, 5, "why"), "that is not short"),
        (lambda: ReturnedLot("seals", "seal", "L1", 3, 5), "5 came back but 3 went out"),
        (lambda: defect_tag(why=""), "reason is empty"),
        (lambda: defect_tag(set_aside_at=BARE), "The time of setting aside is 2026-10-25T01:30:00"),
        (lambda: issue_note().__class__("", *[None] * 6), "number of the issue note is empty"),
    ],
)
def test_nonsense_is_refused_with_why(make: Callable[[], object], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        make()


def test_the_hour_that_comes_twice_is_told_apart_by_its_zone() -> None:
    london = ZoneInfo("Europe/London")
    first, second = (datetime(2026, 10, 25, 1, 30, fold=fold, tzinfo=london) for fold in (0, 1))
    assert moment(first).replace("\u00a0", " ") == "Sun 25 Oct 2026 01:30 BST"
    assert moment(second).replace("\u00a0", " ") == "Sun 25 Oct 2026 01:30 GMT"


def test_a_zone_without_a_name_is_printed_as_its_offset() -> None:
    when = datetime(2026, 5, 1, 6, 5, tzinfo=timezone(timedelta(hours=2)))
    assert moment(when).endswith("UTC+02:00")


def test_days_are_written_so_that_no_order_is_to_be_guessed() -> None:
    assert day(date(2027, 4, 3)).replace("\u00a0", " ") == "3 Apr 2027"


@pytest.mark.parametrize(
    ("length", "text"),
    [(165.2, "165.2"), (180.0, "180"), (100, "100"), (Decimal("150.50"), "150.5"), (Decimal("1E+2"), "100")],
)
def test_lengths_have_no_trailing_zeros_and_no_exponent(length: float | int | Decimal, text: str) -> None:
    assert millimetres(length) == text


@pytest.mark.parametrize(
    ("least", "most", "text"),
    [
        (150, 182.5, "150–182.5 mm"),
        (180, 180, "180 mm"),
        (None, 90, "to 90 mm"),
        (75, None, "from 75 mm"),
        (None, None, ""),
    ],
)
def test_a_size_range_says_what_is_known_of_it(least: int | None, most: float | None, text: str) -> None:
    assert size_range(least, most).replace("\u00a0", " ") == text


def test_one_is_not_many() -> None:
    assert [pieces(number) for number in (0, 1, 2)] == ["0 pieces", "1 piece", "2 pieces"]
