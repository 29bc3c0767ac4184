"""A maker's code or serial leads to the piece like its tag does, and where it may be several, the person chooses."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Item, Reservation, Standing
from tests.kit.views.holm import Yard

GS = "\x1d"


@pytest.fixture
def gauges(yard: Yard) -> None:
    yard.receive("G-1", serial="4711", batch="B7")
    yard.receive("G-2", serial="4712", batch="B7")
    yard.receive("4712", serial="99")


def counter(yard: Yard, code: str):
    return yard.client("sal").get(reverse("counter"), {"code": code})


@pytest.mark.parametrize(
    "code",
    [
        "4711",
        f"0104012345678901214711{GS}10B7",
        "0104012345678901214711<GS>10B7",
        "https://id.gs1.org/01/04012345678901/21/4711",
        "(01)04012345678901(21)4711",
        "8004401234G-1",
        "]C0G-1",
    ],
)
def test_the_piece_is_found_by_what_its_maker_or_owner_printed(yard: Yard, gauges: None, code: str) -> None:
    assert counter(yard, code)["Location"] == reverse("item", args=["G-1"])


def test_a_tag_is_a_tag_before_it_is_a_serial(yard: Yard, gauges: None) -> None:
    assert counter(yard, "4712")["Location"] == reverse("item", args=["4712"])
    assert counter(yard, "(01)04012345678901(21)4712")["Location"] == reverse("item", args=["G-2"])


def test_one_serial_of_two_makers_is_asked_about_unless_the_batch_tells_them_apart(
    yard: Yard, gauges: None
) -> None:
    yard.receive("G-9", serial="4711", batch="C1", maker="Another")
    page = counter(yard, "4711").content.decode()
    assert "names more than one thing" in page
    assert reverse("item", args=["G-1"]) in page
    assert reverse("item", args=["G-9"]) in page
    assert counter(yard, f"0104012345678901214711{GS}10C1")["Location"] == reverse("item", args=["G-9"])


def test_a_code_that_names_no_piece_says_what_it_read(yard: Yard, gauges: None) -> None:
    page = counter(yard, f"0104012345678901214799{GS}10B7").content.decode()
    assert "(01) 04012345678901 (21) 4799 (10) B7" in page


def test_it_issues_at_the_counter_like_the_tag(yard: Yard, gauges: None) -> None:
    job = yard.plan("J-1", yard.arrangement())
    yard.reserve(job)
    promised = Item.objects.filter(reservations__job=job).order_by("tag").first()
    assert promised is not None
    answer = yard.htmx("sal").post(reverse("issue_scan", args=["J-1"]), {"code": f"(21){promised.serial}"})
    assert answer.status_code == 200
    assert Reservation.objects.get(item=promised).standing == Standing.ISSUED
