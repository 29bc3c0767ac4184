"""The changes of a trial plan as data and back, and what no change may be."""

from __future__ import annotations

import json
from datetime import date
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kit.planning.what_if import (
    AddJob,
    Buy,
    CancelJob,
    CloseBench,
    MoveJob,
    SetBench,
    TransferPiece,
    WithdrawPiece,
    from_data,
    to_data,
)

texts = st.text(min_size=1, max_size=12).filter(str.strip)
days = st.dates(date(2000, 1, 1), date(2100, 1, 1))
pairs = st.tuples(days, days).map(sorted)
lengths = st.decimals("0.001", "4000", places=3)

changes = st.one_of(
    st.builds(
        lambda ends, **other: AddJob(load_on=ends[0], return_on=ends[1], **other),
        pairs,
        reference=texts,
        depot=texts,
        arrangement=texts,
        bore_mm=st.none() | lengths,
        base_mark=st.text(max_size=5),
        priority=st.integers(1, 9),
    ),
    st.builds(lambda job, ends: MoveJob(job, *ends), texts, pairs),
    st.builds(CancelJob, texts),
    st.builds(
        lambda ends, **other: Buy(bore_min_mm=ends and ends[0], bore_max_mm=ends and ends[1], **other),
        st.none() | st.tuples(lengths, lengths).map(sorted),
        kind=texts,
        pieces=st.integers(1, 1000),
        depot=texts,
        comes_on=days,
        mark=st.text(max_size=5),
        use_by=st.none() | days,
    ),
    st.builds(WithdrawPiece, texts),
    st.builds(TransferPiece, texts, texts, days),
    st.builds(lambda depot, ends: CloseBench(depot, *ends), texts, pairs),
    st.builds(SetBench, texts, st.integers(0, 1000)),
)


@given(changes)
def test_a_change_comes_back_from_json_as_it_was(change):
    assert from_data(json.loads(json.dumps(to_data(change)))) == change


@pytest.mark.parametrize(
    "wrong",
    [
        None,
        [],
        {},
        {"do": "fly"},
        {"do": "buy"},
        {"do": "cancel job", "job": "J1", "why": "rain"},
        {"do": "set bench", "depot": "NY", "a_day": "3"},
        {"do": "set bench", "depot": "NY", "a_day": True},
        {"do": "set bench", "depot": "NY", "a_day": -1},
        {"do": "move job", "job": "J1", "load_on": "2026-11-09", "return_on": "2026-11-08"},
        {"do": "move job", "job": "J1", "load_on": "9 November", "return_on": "2026-11-08"},
        {"do": "buy", "kind": "bag", "pieces": 0, "depot": "NY", "comes_on": "2026-11-09"},
        {
            "do": "buy",
            "kind": "bag",
            "pieces": 1,
            "depot": "NY",
            "comes_on": "2026-11-09",
            "bore_min_mm": "9",
        },
        {"do": "close bench", "depot": "NY", "first": "2026-11-09", "last": "2026-11-08"},
    ],
)
def test_what_is_no_change_is_refused_in_a_sentence(wrong):
    with pytest.raises(ValueError, match=r"[a-z]{2}"):
        from_data(wrong)


def test_a_length_keeps_its_digits():
    change = Buy("bag", 5, "NY", date(2026, 11, 9), Decimal("150.50"), Decimal("180"))
    assert to_data(change)["bore_min_mm"] == "150.50"
