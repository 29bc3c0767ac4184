"""How often the repeating tests repeat: one setting each, so that a machine with time can look harder."""

import os


def _from_environment(name: str, usual: int) -> int:
    text = os.environ.get(name, "")
    if not text:
        return usual
    if not text.isdecimal() or int(text) < 1:
        raise ValueError(f"{name} is {text!r}: write a whole number from 1 up, or leave it out for {usual}.")
    return int(text)


def cases(usual: int = 60) -> int:
    """How many examples a property test tries: FETTLEBOOK_CASES, else `usual`."""
    return _from_environment("FETTLEBOOK_CASES", usual)


def races(usual: int = 60) -> int:
    """How many rounds a race test runs: FETTLEBOOK_RACES, else `usual`."""
    return _from_environment("FETTLEBOOK_RACES", usual)


def bench_tests(usual: int = 2000) -> int:
    """How many bench tests the store has that is looked back on: FETTLEBOOK_BENCH_TESTS, else `usual`."""
    return _from_environment("FETTLEBOOK_BENCH_TESTS", usual)


def histories(usual: int = 200) -> int:
    """How many made-up histories are lived in the database: FETTLEBOOK_HISTORIES, else `usual`."""
    return _from_environment("FETTLEBOOK_HISTORIES", usual)


def labels(usual: int = 20) -> int:
    """How many labels of each symbology are read back from their PDF: FETTLEBOOK_LABELS, else `usual`."""
    return _from_environment("FETTLEBOOK_LABELS", usual)
