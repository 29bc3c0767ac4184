"""A check read into a form: answers judged, kept as typed, or refused field by field with nothing stored."""

from __future__ import annotations

import pytest

from inspections.actions import BadAnswers, NotEvidence, record_answers
from inspections.models import Inspection
from kit.models import LedgerEntry
from kit.stores import NotAllowed, prove_ledger
from tests.inspections.bench import bench, check, day, do, item


@pytest.fixture(autouse=True)
def _bench(db) -> None:
    bench()


def examine(texts: dict[str, str], ago: int = 0, **more) -> Inspection:
    return do(record_answers, item("C-1"), check("chain set", "examination"), texts, day(ago), **more)


def test_answers_verdict_and_figures_are_kept() -> None:
    made = examine({"length_mm": "998,5 mm", "marks": "Y"}, gauge=item("G-1"), certificate="R-3")
    stored = Inspection.objects.get(pk=made.pk)
    assert (stored.verdict, stored.figures, stored.gauge.tag) == ("pass", {"length_mm": 998.5}, "G-1")
    assert stored.readings == {"method": "form", "answers": {"length_mm": "998.5", "marks": "yes"}}
    assert stored.why == "All 2 requirements are met."
    assert item("C-1").fit_until is not None
    assert prove_ledger().fault is None


def test_a_requirement_that_is_not_met_fails_and_sets_aside() -> None:
    made = examine({"length_mm": "1001", "marks": "yes"})
    assert made.verdict == "fail"
    assert "1000 mm is the most" in made.why
    assert item("C-1").state == "quarantined"


def test_answers_that_cannot_be_taken_name_each_field_and_store_nothing() -> None:
    before = (Inspection.objects.count(), LedgerEntry.objects.count())
    with pytest.raises(BadAnswers) as caught:
        examine({"length_mm": "long", "colour": "red"})
    assert [fault.field for fault in caught.value.faults] == ["length_mm", "marks", "colour"]
    with pytest.raises(NotEvidence, match="out of calibration on that day"):
        examine({"length_mm": "998", "marks": "yes"}, gauge=item("G-OLD"))
    with pytest.raises(NotAllowed, match="which is in the future"):
        examine({"length_mm": "998", "marks": "yes"}, ago=-1)
    assert (Inspection.objects.count(), LedgerEntry.objects.count()) == before


def test_a_check_without_a_form_or_with_readings_of_its_own_takes_no_answers() -> None:
    with pytest.raises(NotAllowed, match="visual of base had no form on"):
        do(record_answers, item("S-1"), check("base", "visual"), {}, day())
    with pytest.raises(NotAllowed, match=r"was a hold test on .* not read into a form"):
        do(record_answers, item("B-1"), check("bag", "hold test"), {}, day())
