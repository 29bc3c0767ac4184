"""Calibrations and forms: fields from the check's data, the verdict from what was read; the record and its paper."""

from __future__ import annotations

import io
from decimal import Decimal

import pypdf
import pytest
from django.urls import reverse

from inspections.actions import CheckSpec, set_checks
from inspections.actions.attach import attach
from inspections.models import Inspection
from inspections.papers import bench_record_of, entry_of
from kit.models import Item, Kind, State
from kit.stores import prove_ledger
from tests.inspections.views.hold_kit import bag, gauge, pass_time
from tests.inspections.views.test_hold_test_bench import end, start
from tests.kit.views.holm import Yard

CALIBRATION = CheckSpec(
    "calibration", "P1Y", method="calibration", unit="bar", accuracy_class=Decimal("1.6"), span=Decimal("0.6")
)


@pytest.fixture
def dial(yard: Yard) -> Item:
    yard.do(set_checks, Kind.objects.get(name="gauge"), [CALIBRATION])
    return yard.receive("G-1", passed=False, maker="Anvil & Sons", serial="77")


def grid(**cells: str) -> dict[str, str]:
    """The usual points as found, up and down, all true but for `cells`."""
    values = {"unit": "bar", "reference_instrument": "deadweight 4", "certificate": "C-9"}
    for row, reference in enumerate(("0", "0.15", "0.3", "0.45", "0.6")):
        values |= {
            f"reference_{row}": reference,
            f"up_as_found_{row}": reference,
            f"down_as_found_{row}": reference,
        }
    return {**values, **cells}


def text_of(pdf: bytes) -> str:
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    return "\n".join(page.extract_text() for page in reader.pages)


def paper(yard: Yard, record: Inspection, who: str = "eve") -> str:
    answer = yard.client(who).get(reverse("test_record", args=[record.pk]))
    assert answer["Content-Type"] == "application/pdf"
    return text_of(answer.content)


def test_the_grid_stands_at_quarters_of_the_span(yard: Yard, dial: Item):
    form = yard.client("eve").get(reverse("calibrate", args=["G-1"])).context["form"]
    assert [form[f"reference_{row}"].value() for row in range(6)] == ["0", "0.15", "0.3", "0.45", "0.6", ""]


@pytest.mark.parametrize(
    ("cells", "verdict", "as_left", "state"),
    [
        ({}, "pass", "", State.AVAILABLE),
        # 1.6 % of 0.6 bar is 0.0096 bar (EN 837-1, as the design page has it).
        (
            {"up_as_found_2": "0.3096"},
            "fail",
            "",
            State.QUARANTINED,
        ),  # up and down differ by 0.0096 and are within
        ({"up_as_found_2": "0.31", "down_as_found_2": "0.31"}, "fail", "", State.QUARANTINED),
        (
            {"up_as_found_2": "0.31", "down_as_found_2": "0.31", "up_as_left_2": "0.301"},
            "fail",
            "pass",
            State.AVAILABLE,
        ),
    ],
)
def test_as_found_decides_the_verdict(
    yard: Yard, dial: Item, cells: dict, verdict: str, as_left: str, state: str
):
    if cells.get("up_as_found_2") == "0.3096":
        verdict, state = "pass", State.AVAILABLE
    values = {**grid(**cells), "done_on": yard.today.isoformat()}
    page = yard.client("eve").post(reverse("calibrate", args=["G-1"]), values, follow=True).content.decode()
    made = Inspection.objects.get()
    assert (made.verdict, made.as_left, made.certificate) == (verdict, as_left, "C-9")
    assert "deadweight 4" in made.note
    assert len(made.readings["calibration"]["points"]) == 10
    assert f"verdict--{verdict}" in page
    assert Item.objects.get().state == state
    assert prove_ledger().fault is None


def test_the_verdict_is_shown_before_anything_is_recorded(yard: Yard, dial: Item):
    address = reverse("calibrate", args=["G-1"])
    page = yard.htmx("eve").post(address, grid(up_as_found_1="0.2")).content.decode()
    assert "not recorded yet" in page
    assert "fail" in page
    assert "Greatest error as found 0.05 bar high at 0.15 bar going up" in page
    assert "No verdict yet" in yard.htmx("eve").post(address, {"unit": "bar"}).content.decode()
    without = yard.client("eve").post(address, {**grid(), "preview": "on"}).content.decode()
    assert "not recorded yet" in without
    assert not Inspection.objects.exists()


def test_a_fault_stands_at_its_cell(yard: Yard, dial: Item):
    values = {**grid(reference_4="0.7", up_as_found_5="0.1", down_as_found_1="high"), "done_on": "2026-01-01"}
    form = yard.client("eve").post(reverse("calibrate", args=["G-1"]), values).context["form"]
    assert "is not a number" in str(form.errors["down_as_found_1"])
    assert "no reference pressure" in str(form.errors["reference_5"])
    values = {**grid(reference_4="0.7"), "done_on": "2026-01-01"}
    form = yard.client("eve").post(reverse("calibrate", args=["G-1"]), values).context["form"]
    assert "beyond the span" in str(form.errors["reference_4"])
    assert not Inspection.objects.exists()


def test_a_form_is_rendered_from_its_data_and_judges_itself(yard: Yard):
    yard.receive("D-1", kind="gas detector", passed=False)
    client, address = yard.client("eve"), reverse("form_check", args=["D-1"])
    page = client.get(address).content.decode()
    assert "Test gas expires on" in page
    answers = {
        "a_reads_zero": "yes",
        "a_gas_unit": "% LEL",
        "a_gas_concentration": "50",
        "a_gas_certificate": "TG-1",
        "a_gas_expiry": yard.today.isoformat(),
        "a_reading": "58",
        "a_alarm_works": "yes",
        "a_clears": "yes",
        "a_pump_and_filter": "yes",
        "done_on": yard.today.isoformat(),
    }
    page = client.post(address, {**answers, "a_reading": "high", "a_clears": ""}).content.decode()
    assert "is not a number for Reading in the test gas" in page.replace("&#x27;", "'")
    assert "Goes back to zero in clean air is not answered" in page
    client.post(address, answers)
    made = Inspection.objects.get()
    assert made.verdict == "fail"
    assert made.figures["response_error"] == 16
    printed = paper(yard, made)
    for words in ("Reading in the test gas", "58", "16 %", "FAIL", "TG-1"):
        assert words in printed
    assert prove_ledger().fault is None


def test_the_paper_of_a_hold_test_says_all_that_is_recorded(yard: Yard):
    gauge(yard)
    bag(yard, "B-1")
    start(yard, start_c="18")
    pass_time("B-1")
    end(yard, "0.195", end_c="18")
    made = Inspection.objects.get(item__tag="B-1")
    photo = yard.do(attach, made.item, "cover.jpg", b"\xff\xd8\xff\xe0" + b"0" * 50, inspection=made)
    printed = paper(yard, made, "sal")
    entry = entry_of(made)
    assert entry is not None
    for words in (
        "B-1",
        "S-B-1",
        "hold test and visual",
        "PASS",
        "0.2 bar",
        "0.195 bar",
        "0.005 bar",
        "0.01 bar",
        "18 °C",
        "G-1",
        "in calibration",
        "eve",
        "version 1",
        "cover.jpg",
        f"{entry.number} · {entry.hash[:12]}",
    ):
        assert words in printed, f"{words} is not in {printed}"
    assert photo.sha256 in printed.replace("\n", "").replace("\u200b", "")


def test_the_paper_of_a_calibration_has_its_points_and_that_of_a_plain_record_its_note(
    yard: Yard, dial: Item
):
    values = {**grid(up_as_found_2="0.302"), "done_on": yard.today.isoformat()}
    yard.client("eve").post(reverse("calibrate", args=["G-1"]), values)
    printed = paper(yard, Inspection.objects.get())
    assert "+0.002" in printed
    assert "0.0096 bar" in printed
    nose = yard.receive("N-1", kind="nose", passed=False)
    yard.inspect(nose, "inspection", "doubt", by="max")
    printed = paper(yard, Inspection.objects.get(item=nose))
    assert "DOUBT" in printed
    assert "doubt found" in printed


def test_one_page_a_record_and_other_depots_do_not_see_it(yard: Yard, dial: Item):
    values = {**grid(), "done_on": yard.today.isoformat()}
    yard.client("eve").post(reverse("calibrate", args=["G-1"]), values)
    made = Inspection.objects.get()
    pdf = yard.client("cal").get(reverse("test_record", args=[made.pk])).content
    assert len(pypdf.PdfReader(io.BytesIO(pdf)).pages) == 1
    for name in ("test_record", "inspection"):
        assert yard.client("wyn").get(reverse(name, args=[made.pk])).status_code == 404
    assert bench_record_of(made).standing == ""


def test_the_record_screen_leads_to_the_screen_of_the_check(yard: Yard, dial: Item):
    client = yard.client("eve")
    asked = reverse("record", args=["G-1"])
    assert client.get(asked)["Location"].startswith(reverse("calibrate", args=["G-1"]))
    assert client.get(asked, {"plain": "on"}).status_code == 200
