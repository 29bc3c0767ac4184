"""Tags that differ only in case or in letters that look alike share a key; other tags do not."""

from __future__ import annotations

import pytest

from kit.workbooks import look_alike_key


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ("bag-0017", "BAG-OO17"),
        ("BAG-0017", "BAG 0017"),
        ("BAG-0017", "bag\u20130017"),
        ("B1", "BI"),
        ("B1", "Bl"),
        ("S5", "55"),
        ("B8", "88"),
        ("Z2", "22"),
    ],
)
def test_alike(one: str, other: str) -> None:
    assert look_alike_key(one) == look_alike_key(other)


@pytest.mark.parametrize(("one", "other"), [("BAG-0017", "BAG-0018"), ("A1", "B1"), ("BAG-17", "BAG-017")])
def test_not_alike(one: str, other: str) -> None:
    assert look_alike_key(one) != look_alike_key(other)
