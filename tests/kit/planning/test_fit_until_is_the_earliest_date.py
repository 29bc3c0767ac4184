"""An item is fit until the earliest of its use-by date and its gating due dates, and it is said which decides."""

from __future__ import annotations

from datetime import date

import pytest

from kit.planning import NO_LIMIT, Candidate, Fitness, Gate, judge_fitness

MARCH, JANUARY = date(2027, 3, 31), date(2027, 1, 2)
DONE = date(2026, 7, 2)
HOLD = Gate("hold test", "dated", JANUARY, DONE)


@pytest.mark.parametrize(
    ("use_by", "gates", "fit_until", "reason"),
    [
        (None, (), NO_LIMIT, "no date limits it"),
        (MARCH, (), MARCH, "use-by 2027-03-31"),
        (None, (HOLD,), JANUARY, "hold test due 2027-01-02"),
        (MARCH, (HOLD,), JANUARY, "hold test due 2027-01-02"),
        (date(2026, 12, 1), (HOLD,), date(2026, 12, 1), "use-by 2026-12-01"),
        (JANUARY, (HOLD,), JANUARY, "use-by 2027-01-02"),
        (None, (HOLD, Gate("cleaning", "dated", JANUARY)), JANUARY, "cleaning due 2027-01-02"),
        (MARCH, (HOLD, Gate("visual", "dated", DONE, note="used on J0")), None, "visual: used on J0"),
        (MARCH, (HOLD, Gate("visual", "never")), None, "visual never done"),
        (
            MARCH,
            (Gate("a", "never"), Gate("hold test", "failed", DONE, DONE)),
            None,
            "hold test failed on 2026-07-02",
        ),
        (MARCH, (Gate("hold test", "failed"),), None, "hold test failed"),
    ],
)
def test_what_decides(use_by: date | None, gates: tuple, fit_until: date | None, reason: str) -> None:
    assert judge_fitness(use_by, gates) == Fitness(fit_until, reason)
    assert judge_fitness(use_by, reversed(gates)) == Fitness(fit_until, reason)
    assert Candidate("BAG-1", "bag", "NORTH", use_by=use_by, gates=gates).fit_until == fit_until
