"""Intervals of thorough examination under the lifting regulations, as rules of the due engine.

Source: Lifting Operations and Lifting Equipment Regulations 1998 (SI 1998/2307), regulation 9(3)(a)(i)
and (ii): at least every 6 months for equipment that lifts persons and for accessories, at least every 12
months for other lifting equipment, or as an examination scheme says (iii). values.json has the numbers
from memory; the 6 months of (i) were also read in a reprint of the regulation, the 12 months in
summaries of it. Whether a chain lifts anything, and so whether the regulations apply to it at all, a
person decides.
"""

import json
from datetime import date, timedelta
from pathlib import Path

import pytest

from inspections.judging import Interval, Record, Rule, gates_of, next_due
from kit.planning import judge_fitness

VALUES = json.loads((Path(__file__).parent / "values.json").read_text())
(LOLER,) = [value["inputs"] for value in VALUES if value["id"] == "loler"]
ACCESSORY = Interval(months=LOLER["lifting accessory or lifting people"])
OTHER = Interval(months=LOLER["other lifting equipment"])


def test_six_months_for_an_accessory_twelve_for_other_equipment() -> None:
    assert (str(ACCESSORY), str(OTHER)) == ("P6M", "P12M")


@pytest.mark.parametrize(
    ("interval", "examined", "due"),
    [
        (ACCESSORY, "2026-03-15", "2026-09-15"),
        (ACCESSORY, "2026-08-31", "2027-02-28"),
        (ACCESSORY, "2027-08-31", "2028-02-29"),
        (OTHER, "2026-03-15", "2027-03-15"),
        (OTHER, "2028-02-29", "2029-02-28"),
    ],
)
def test_the_next_examination_is_due_so_many_months_on(interval: Interval, examined: str, due: str) -> None:
    rule = Rule("thorough examination", interval)
    records = [Record(date.fromisoformat(examined), "pass", 1)]
    assert str(next_due(rule, records).due_on) == due


@pytest.mark.parametrize("interval", [ACCESSORY, OTHER], ids=str)
@pytest.mark.parametrize("basis", ["done", "anchor"])
@pytest.mark.parametrize("early_days", [0, 14])
def test_no_two_examinations_kept_in_date_lie_further_apart(
    interval: Interval, basis: str, early_days: int
) -> None:
    """Source: regulation 9(3)(a), "at least every". Counted from the day done, no gap passes the interval.

    On an anchor the next gap may be longer: by the early days of the rule, and by the days that a month end
    clips. Whoever must keep to the letter of the regulation counts from the day done.
    """
    rule = Rule("thorough examination", interval, basis=basis, early_days=early_days)  # type: ignore[arg-type]
    done = [date(2025, 8, 31)]
    for turn in range(12):
        records = [Record(day, "pass", order) for order, day in enumerate(done)]
        due_on = next_due(rule, records).due_on
        assert due_on is not None
        allowed = timedelta(days=early_days if basis == "anchor" else 0)
        # Month ends clip, so a grid day (the 31st again) may lie up to three days past the clipped month.
        clipped = timedelta(days=3 if basis == "anchor" else 0)
        assert due_on <= interval.add_to(done[-1]) + allowed + clipped
        done.append(due_on - timedelta(days=turn % 5))


def test_in_date_on_the_due_day_and_out_of_date_the_day_after() -> None:
    gates = gates_of(
        [Rule("thorough examination", ACCESSORY)],
        {"thorough examination": [Record(date(2026, 3, 15), "pass", 1)]},
    )
    assert judge_fitness(None, gates).fit_until == date(2026, 9, 15)


def test_a_chain_never_examined_does_not_go_out() -> None:
    assert judge_fitness(None, gates_of([Rule("thorough examination", ACCESSORY)], {})).fit_until is None
