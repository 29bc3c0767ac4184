"""The interval of a share that failed, against another implementation of it and the equation that defines it."""

from __future__ import annotations

from math import isclose

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from inspections.judging.failure_share import FEW, failure_share

Z = 1.959963984540054


@pytest.mark.parametrize(
    ("failed", "tested", "low", "high"),
    # By hand with z = 1.96: 0 of 10: z²/(n + z²); 1 of 1 and 5 of 10 from the formula written out.
    [(0, 10, 0.0, 0.27754), (1, 1, 0.20654, 1.0), (5, 10, 0.23659, 0.76341)],
)
def test_worked_by_hand(failed, tested, low, high):
    found = failure_share(failed, tested)
    assert (found.low, found.high) == (pytest.approx(low, abs=2e-5), pytest.approx(high, abs=2e-5))


@given(
    st.integers(1, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))),
    st.sampled_from([0.9, 0.95, 0.99]),
)
def test_equals_another_implementation(counts, confidence):
    failed, tested = counts
    found = failure_share(failed, tested, confidence)
    other = binomtest(failed, tested).proportion_ci(confidence, method="wilson")
    assert isclose(found.low, other.low, abs_tol=1e-9)
    assert isclose(found.high, other.high, abs_tol=1e-9)


@given(st.integers(2, 3000).flatmap(lambda n: st.tuples(st.integers(1, n - 1), st.just(n))))
def test_each_end_lies_just_z_standard_errors_of_its_own_away(counts):
    """What defines the interval: its ends p solve |share - p| = z sqrt(p (1 - p) / n)."""
    failed, tested = counts
    found = failure_share(failed, tested)
    for end in (found.low, found.high):
        assert isclose(abs(failed / tested - end), Z * (end * (1 - end) / tested) ** 0.5, rel_tol=1e-7)


def test_of_nothing_tested_nothing_is_known():
    found = failure_share(0, 0)
    assert (found.share, found.low, found.high) == (None, 0.0, 1.0)
    assert not found.above(0.0)


def test_few_pieces_never_stand_out():
    assert not failure_share(FEW - 1, FEW - 1).above(0.01)
    assert failure_share(FEW, FEW).above(0.01)
    assert not failure_share(2, 20).above(0.1), "an interval that holds the share of the kind"


@pytest.mark.parametrize("counts", [(3, 2), (-1, 2), (1, 0)])
def test_counts_that_cannot_be_are_refused(counts):
    with pytest.raises(ValueError, match="cannot have failed"):
        failure_share(*counts)
