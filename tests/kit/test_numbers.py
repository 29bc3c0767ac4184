"""Decimals as the language writes them: the comma of German, in numbers and in nothing else."""

import pytest
from django.utils.translation import override

from kit.numbers import with_separator


@pytest.mark.parametrize(
    ("text", "german"),
    [
        ("0.005 bar", "0,005 bar"),
        ("+0.002", "+0,002"),
        ("−273.15 °C", "−273,15 °C"),
        ("150–182.5 mm", "150–182,5 mm"),
        ("0.2 to 0.25", "0,2 to 0,25"),
        ("held for 5.", "held for 5."),
        ("12.11.2026", "12.11.2026"),
        ("version 2.0.1", "version 2.0.1"),
        ("A1.5", "A1.5"),
        ("1.5b-7", "1.5b-7"),
        ("10.0.0.1", "10.0.0.1"),
    ],
)
def test_a_decimal_has_the_separator_of_the_language(text: str, german: str) -> None:
    with override("de"):
        assert with_separator(text) == german
    with override("en"):
        assert with_separator(text) == text
