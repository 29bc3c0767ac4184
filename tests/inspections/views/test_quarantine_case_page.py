"""The page of a quarantine case, the list of cases by age and decision, and their spreadsheet."""

from __future__ import annotations

import io
from datetime import timedelta

import pytest
from django.http import HttpResponse
from django.urls import reverse
from django.utils import timezone
from python_calamine import CalamineWorkbook

from inspections.case_list import BANDS, band_of, cases_at
from inspections.models import CaseCompanion, QuarantineCase
from kit.models import Deed, Item, Job, Role, State
from kit.stores import acting, issue_piece, prove_ledger, quarantine, take_back, withdraw
from tests.kit.views.holm import CLERK, Yard


@pytest.fixture
def job(yard: Yard) -> Job:
    """G-1 and G-2 were out together; G-1 came back damaged, taken back by Sal."""
    for tag in ("G-1", "G-2"):
        yard.receive(tag, serial=tag, batch="L-9" if tag == "G-1" else "")
    planned = yard.plan("J-1", yard.arrangement())
    yard.reserve(planned)
    for tag in ("G-1", "G-2"):
        yard.do(issue_piece, planned, Item.objects.get(tag=tag))
    out = planned.reservations.get(item__tag="G-1")
    yard.do(take_back, out, "damaged", who="sal", why="glass broken")
    return planned


@pytest.fixture
def case(job: Job) -> QuarantineCase:
    return QuarantineCase.objects.get(item__tag="G-1")


def page(yard: Yard, case: QuarantineCase, who: str = "lee") -> str:
    answer = yard.client(who).get(reverse("case", args=[case.pk]))
    assert answer.status_code == 200
    return answer.content.decode()


def send(yard: Yard, case: QuarantineCase, who: str, do: str, **data: str) -> HttpResponse:
    return yard.client(who).post(f"{reverse('case', args=[case.pk])}?do={do}", data, follow=True)


def aged(case: QuarantineCase, days: int) -> None:
    with acting(CLERK) as act:
        act.change(case, opened_at=timezone.now() - timedelta(days=days))
        act.tell(Deed.CORRECTED, [case.item], note="a case of long ago, for this test")


def test_the_page_says_why_who_when_the_job_and_what_was_used_with_it(yard: Yard, case: QuarantineCase):
    text = page(yard, case)
    for part in (
        f"Case {case.pk}:",
        "damaged on J-1: glass broken",
        "by sal",
        "open up to 7 days",
        reverse("job", args=["J-1"]),
        reverse("item", args=["G-2"]),
        "gauge, still out",
        reverse("defect_tag", args=["G-1"]),
        reverse("item_act", args=["withdraw", "G-1"]),
        "It failed on a job: it may have to be reported to the network operator.",
        "Other pieces of its batch may have the same fault",
        "No file is attached.",
    ):
        assert part in text, part


def test_what_keeps_me_from_releasing_is_said_and_nothing_else(yard: Yard, case: QuarantineCase):
    yard.appoint("sal", yard.holm, Role.COMPLIANCE)
    own = page(yard, case, "sal")
    assert "You set G-1 aside: somebody else must release it." in own
    other = page(yard, case, "lee")
    assert "You set G-1 aside" not in other
    assert "Not looked at yet, though used with G-1: G-2." in other
    assert reverse("release", args=["G-1"]) not in other
    assert "What keeps you from releasing" not in page(yard, case, "cal")


def test_a_companion_is_left_in_use_with_one_press(yard: Yard, case: QuarantineCase):
    row = CaseCompanion.objects.get(case=case)
    answer = send(yard, case, "sal", "look", companion=str(row.pk), looked="left", text="")
    assert "G-2 was looked at and stays in use." in answer.content.decode()
    assert "Looked at and left in use" in answer.content.decode()
    assert Item.objects.get(tag="G-2").state == State.AVAILABLE


def test_a_companion_is_set_aside_with_one_press(yard: Yard, case: QuarantineCase):
    row = CaseCompanion.objects.get(case=case)
    answer = send(yard, case, "sal", "look", companion=str(row.pk), looked="set aside", text="bent needle")
    assert "G-2 is set aside. Tie a defect tag to it." in answer.content.decode()
    assert QuarantineCase.objects.get(item__tag="G-2").why == f"used with G-1 (case {case.pk}): bent needle"
    again = send(yard, case, "sal", "look", companion=str(row.pk), looked="left")
    assert "G-2 was dealt with by sal: set aside as well." in again.content.decode()
    assert prove_ledger().fault is None


def test_a_note_and_a_refused_note(yard: Yard, case: QuarantineCase):
    answer = send(yard, case, "eve", "note", **{"note-kind": "finding", "note-text": "needle bent"})
    assert "needle bent" in answer.content.decode()
    empty = send(yard, case, "eve", "note", **{"note-kind": "action", "note-text": ""})
    assert "This field is required" in empty.content.decode()
    yard.do(withdraw, case.item, "glass cannot be had", who="lee")
    late = send(yard, case, "eve", "note", **{"note-kind": "action", "note-text": "kept text"})
    assert "Nothing is added to it any more." in late.content.decode()
    assert "kept text" in late.content.decode()
    gone = send(yard, case, "lee", "retest&about=no", **{"retest-text": "reads true"})
    assert "Nothing is added to it any more." in gone.content.decode()
    assert case.notes.count() == 1


def test_from_looking_to_release_on_screen(yard: Yard, case: QuarantineCase):
    refused = yard.client("lee").post(
        reverse("release", args=["G-1"]), {"findings": "glass renewed"}, follow=True
    )
    assert "Not looked at yet, though used with G-1: G-2." in refused.content.decode()
    send(yard, case, "sal", "rest", **{"rest-text": "glass was hit by a shovel"})
    for key in ("authority", "operator", "maker", "batch"):
        send(yard, case, "lee", f"notice&about={key}", **{f"notice-{key}-text": f"{key}: not needed"})
    text = page(yard, case)
    assert text.count("<b>Considered</b>, lee") == 4
    assert "Nothing recorded keeps you from releasing it." in text
    assert "A release asks for a re-test of: calibration." in " ".join(text.split())
    yard.client("lee").post(reverse("release", args=["G-1"]), {"findings": "glass renewed"})
    case.refresh_from_db()
    assert (case.decision, case.findings) == ("released", "glass renewed")
    assert "Decided on" in page(yard, case)
    assert Item.objects.get(tag="G-1").fit_until is None  # its calibration is asked for again
    assert prove_ledger().fault is None


def test_a_release_without_a_re_test_says_why(yard: Yard, case: QuarantineCase):
    no = send(yard, case, "lee", "retest&about=no", **{"retest-text": ""})
    assert "Write why no re-test is needed" in no.content.decode()
    yes = send(yard, case, "lee", "retest&about=no", **{"retest-text": "reads true on the master"})
    assert "No re-test is asked for on release." in yes.content.decode()


@pytest.mark.parametrize(
    ("who", "do", "status"),
    [
        ("pat", "note", 403),
        ("pat", "look", 403),
        ("sal", "notice&about=maker", 403),
        ("sal", "retest&about=no", 403),
    ],
)
def test_who_may_work_on_a_case(yard: Yard, case: QuarantineCase, who: str, do: str, status: int):
    assert send(yard, case, who, do).status_code == status


def test_a_case_of_another_depot_is_not_in_sight(yard: Yard):
    yard.do(quarantine, yard.receive("W-1", depot=yard.weir), "bent", who="wyn")
    case = QuarantineCase.objects.get()
    assert yard.client("lee").get(reverse("case", args=[case.pk])).status_code == 404
    assert yard.client("lee").get(reverse("case", args=[case.pk + 1])).status_code == 404


# The list


def test_age_bands_have_neither_gap_nor_overlap():
    assert [band_of(days).key for days in (0, 7, 8, 30, 31, 90, 91, 4000)] == [
        key for key in ("week", "month", "quarter", "longer") for _ in range(2)
    ]
    assert all(sum(band.holds(days) for band in BANDS) == 1 for days in range(200))


@pytest.mark.parametrize("days", [0, 7, 8, 30, 31, 90, 91, 400])
def test_the_list_is_narrowed_to_the_band_it_counts_under(yard: Yard, days: int):
    yard.do(quarantine, yard.receive("G-1"), "bent", who="sal")
    case = QuarantineCase.objects.get()
    aged(case, days)
    within = [band.key for band in BANDS if cases_at([yard.holm.pk], band=band.key).exists()]
    assert within == [band_of(days).key]
    answer = yard.client("lee").get(reverse("quarantine"), {"age": within[0]})
    assert [row.record.pk for row in answer.context["table"].rows] == [case.pk]


def test_the_list_is_filtered_by_decision(yard: Yard, case: QuarantineCase):
    yard.do(withdraw, case.item, "glass cannot be had", who="lee")
    client = yard.client("lee")

    def tags(**query: str) -> list[str]:
        rows = client.get(reverse("quarantine"), query).context["table"].rows
        return [row.record.item.tag for row in rows]

    assert tags() == []
    assert tags(decision="withdrawn") == tags(decision="all") == ["G-1"]
    assert tags(decision="released") == []
    assert tags(decision="nonsense", age="nonsense") == []
    text = client.get(reverse("quarantine"), {"decision": "withdrawn"}).content.decode()
    assert "1 of 1 not looked at" in text  # its companion still waits


def test_what_was_set_aside_before_cases_were_kept_is_offered_one(yard: Yard):
    item = yard.receive("G-1")
    with acting(CLERK) as act:
        act.change(item, state=State.QUARANTINED, state_why="old", state_by="o.past", state_since=act.now)
        act.tell(Deed.QUARANTINED, [item], note="as an older program did it")
    client = yard.client("lee")
    assert (
        "1 item was set aside before cases were kept." in client.get(reverse("quarantine")).content.decode()
    )
    answer = client.post(reverse("quarantine"), follow=True)
    assert "1 case is opened." in answer.content.decode()
    assert "before cases were kept" not in answer.content.decode()
    assert QuarantineCase.objects.get().opened_by == "o.past"


# On other pages


def test_the_item_page_shows_its_open_and_former_cases(yard: Yard, case: QuarantineCase):
    text = yard.client("cal").get(reverse("item", args=["G-1"])).content.decode()
    assert reverse("case", args=[case.pk]) in text
    assert "nothing yet" in text
    yard.do(withdraw, case.item, "glass cannot be had", who="lee")
    text = yard.client("cal").get(reverse("item", args=["G-1"])).content.decode()
    assert "glass cannot be had (lee)" in text
    assert "Quarantine cases" not in yard.client("cal").get(reverse("item", args=["G-2"])).content.decode()


def test_the_day_of_the_compliance_lead_shows_cases_by_age(yard: Yard, case: QuarantineCase):
    aged(case, 40)
    text = yard.client("lee").get(reverse("today")).content.decode()
    assert "Quarantine: 1 open case" in text
    assert "open 31 to 90 days" in text
    assert f"{reverse('quarantine')}?age=quarter" in text
    assert "1 piece that was used with them was not looked at yet." in text
    assert "Quarantine: 1 open case" not in yard.client("sal").get(reverse("today")).content.decode()


# The spreadsheet


def sheets(answer: HttpResponse) -> tuple[dict[str, object], list[dict[str, object]]]:
    book = CalamineWorkbook.from_filelike(io.BytesIO(answer.content))
    facts = {str(row[0]): row[1] for row in book.get_sheet_by_name("Summary").to_python() if len(row) > 1}
    head, *rows = book.get_sheet_by_name("Quarantine cases").to_python()
    return facts, [dict(zip(map(str, head), row, strict=True)) for row in rows]


def test_the_spreadsheet_read_back_has_ages_causes_and_what_waits(yard: Yard, case: QuarantineCase):
    aged(case, 40)
    other = yard.receive("G-3", serial="3")
    yard.do(quarantine, other, "=bent", who="sal")
    yard.do(withdraw, other, "bent beyond mending", who="lee")
    answer = yard.client("lee").get(reverse("case_workbook"), {"decision": "all"})
    facts, rows = sheets(answer)
    assert facts["as of"] == yard.today
    assert (facts["cases"], facts["open"], facts["open 31 to 90 days"]) == (2, 1, 1)
    assert facts["withdrawn for good"] == 1
    first, second = rows
    assert (first["tag"], first["days"], first["age"], first["job"]) == (
        "G-1",
        40,
        "open 31 to 90 days",
        "J-1",
    )
    assert (first["used with it"], first["not looked at"], first["decision"]) == (1, 1, "open")
    assert first["batch"] == "L-9"
    assert (second["tag"], second["why"], second["cause"]) == ("G-3", "=bent", "bent beyond mending")
    assert (second["decision"], second["decided by"], second["age"]) == ("Withdrawn for good", "lee", "")


def test_the_spreadsheet_is_for_those_who_may_export(yard: Yard, case: QuarantineCase):
    assert yard.client("cal").get(reverse("case_workbook")).status_code == 403
    assert yard.client("eve").get(reverse("case_workbook")).status_code == 200


# Papers


def test_the_disposal_note_is_offered_once_it_is_withdrawn(yard: Yard, case: QuarantineCase):
    client, note = yard.client("lee"), reverse("disposal_note", args=["G-1"])
    refused = client.get(note, follow=True).content.decode()
    assert "G-1 is not withdrawn, so it has no disposal note" in refused
    yard.do(withdraw, case.item, "glass cannot be had", who="lee")
    answer = client.get(note)
    assert (answer.headers["Content-Type"], answer.content[:5]) == ("application/pdf", b"%PDF-")
    assert note in page(yard, case)
    assert note in client.get(reverse("item", args=["G-1"])).content.decode()
