"""The disposal note: what was withdrawn for good, why, by whom, and room for who made it unusable."""

from datetime import datetime

import pytest

from inspections.actions.case_work import add_note
from inspections.case_papers import disposal_note_of
from inspections.models import QuarantineCase
from kit.papers.disposal_note import disposal_note_pdf
from kit.papers.from_store import defect_tag_of
from kit.stores import NotAllowed, Who, acting, quarantine, withdraw
from tests.kit.papers.examples import disposal_note, pages, qr_codes
from tests.kit.views.yard import STORES, yard

LEAD = Who("c.field", "test")


def test_it_says_what_why_and_who_and_leaves_room_to_sign() -> None:
    pdf = disposal_note_pdf(disposal_note())
    [text] = pages(pdf)
    for part in (
        "Disposal note",
        "WITHDRAWN FOR GOOD — NOT TO BE USED AGAIN",
        "Cause: skirt torn through, the maker does not mend it",
        "Withdrawn by C. Field",
        "Case 44",
        "Batch L-204",
        "Finding: torn over 40 mm (E. Marsh)",
        "How it was made unusable and where it went",
        "Disposed of by",
        "Seen by",
    ):
        assert part in text, part
    assert qr_codes(pdf) == [["NY-BAG-0041"]]


def test_a_piece_that_was_never_set_aside_has_no_empty_headings() -> None:
    [text] = pages(disposal_note_pdf(disposal_note(case="", set_aside="", job="", found=())))
    assert "Why it was set aside" not in text
    assert "What was found and done" not in text


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ({"tag": " "}, "tag is empty"),
        ({"cause": ""}, "cause is empty"),
        ({"withdrawn_at": datetime(2026, 10, 25, 1, 30)}, "names no time zone"),
    ],
)
def test_it_refuses_what_would_say_nothing(wrong: dict[str, object], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        disposal_note(**wrong)


@pytest.mark.django_db
def test_it_is_filled_from_the_register_and_the_case() -> None:
    made = yard()
    with pytest.raises(NotAllowed, match="NY-B1 is not withdrawn, so it has no disposal note"):
        disposal_note_of(made.item("NY-B1"))
    with acting(STORES) as act:
        quarantine(act, made.item("NY-B1"), "smells of oil")
    case = QuarantineCase.objects.get()
    assert defect_tag_of(made.item("NY-B1")).case == str(case.pk)
    with acting(LEAD) as act:
        add_note(act, case, "finding", "rubber swollen")
        withdraw(act, made.item("NY-B1"), "perished by oil")
    note = disposal_note_of(made.item("NY-B1"))
    assert (note.cause, note.withdrawn_by, note.case) == ("perished by oil", "c.field", str(case.pk))
    assert note.set_aside.startswith("smells of oil (w.hollis, ")
    assert note.found == ["Finding: rubber swollen (c.field)"]


@pytest.mark.django_db
def test_what_was_withdrawn_without_a_case_has_a_note_too() -> None:
    made = yard()
    with acting(LEAD) as act:
        withdraw(act, made.item("NY-B1"), "sold")
    note = disposal_note_of(made.item("NY-B1"))
    assert (note.cause, note.case, note.set_aside, note.found) == ("sold", "", "", [])
