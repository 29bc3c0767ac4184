"""When pieces run out, month by month: every piece is counted once, and in the month of its last day."""

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from kit.planning import NO_LIMIT
from kit.planning.run_out import month_after, run_out

TODAY = date(2026, 11, 27)


def test_months_by_hand():
    found = run_out(
        [
            (None, 2),
            (TODAY - timedelta(days=1), 1),
            (TODAY, 3),
            (date(2026, 11, 30), 1),
            (date(2026, 12, 1), 5),
            (date(2027, 2, 28), 7),
            (date(2027, 3, 1), 11),
            (NO_LIMIT, 13),
        ],
        TODAY,
        4,
    )
    assert found.not_fit == 3
    assert [(m.first, m.after, m.number) for m in found.months] == [
        (TODAY, date(2026, 12, 1), 4),
        (date(2026, 12, 1), date(2027, 1, 1), 5),
        (date(2027, 1, 1), date(2027, 2, 1), 0),
        (date(2027, 2, 1), date(2027, 3, 1), 7),
    ]
    assert (found.later.first, found.later.number) == (date(2027, 3, 1), 11)
    assert found.unlimited == 13
    assert found.number == 43


def test_a_month_after_december_is_january():
    assert month_after(date(2026, 12, 31), 1) == date(2027, 1, 1)
    assert month_after(date(2026, 1, 31), 25) == date(2028, 2, 1)


days = st.dates(date(2020, 1, 1), date(2040, 12, 31))


@given(
    st.lists(st.tuples(st.none() | days | st.just(NO_LIMIT), st.integers(0, 50))), days, st.integers(1, 30)
)
def test_each_lies_between_the_bounds_under_which_it_is_counted(counts, today, months):
    found = run_out(counts, today, months)
    assert found.number == sum(number for _until, number in counts)
    for month in (*found.months, found.later):
        inside = [n for until, n in counts if until and month.first <= until < month.after]
        assert sum(inside) == month.number
