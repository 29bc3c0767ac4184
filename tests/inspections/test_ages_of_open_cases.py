"""How old open cases are: the oldest, the middle one, and how many in each week of age."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

import pytest

from inspections.case_list import WEEKS_OF_AGE, ages_of
from inspections.models import QuarantineCase

TODAY = date(2026, 11, 2)


def case(days: int) -> QuarantineCase:
    return QuarantineCase(opened_at=datetime(2026, 11, 2, 12, tzinfo=UTC) - timedelta(days=days))


def test_of_no_open_case_there_is_no_age():
    assert ages_of([], TODAY) is None


@pytest.mark.parametrize(
    ("days", "oldest", "middle"), [([5], 5, 5), ([0, 9], 9, 9), ([30, 1, 2], 30, 2), ([4, 3, 2, 1], 4, 3)]
)
def test_half_of_them_are_as_old_as_the_middle_one_or_older(days, oldest, middle):
    ages = ages_of([case(each) for each in days], TODAY)
    assert (ages.oldest, ages.middle) == (oldest, middle)
    assert sum(each >= middle for each in days) * 2 >= len(days)


def test_each_case_stands_in_its_week_and_the_last_holds_all_that_are_older():
    last = 7 * (WEEKS_OF_AGE - 1)
    ages = ages_of([case(each) for each in (0, 6, 7, 13, 14, last - 1, last, 4000)], TODAY)
    assert len(ages.weeks) == WEEKS_OF_AGE
    assert ages.weeks[:3] == (2, 2, 1)
    assert ages.weeks[-2:] == (1, 2)
    assert sum(ages.weeks) == 8


def test_the_picture_stands_on_the_page_of_open_cases_alone(yard_with_case):
    client, url = yard_with_case
    assert 'id="case-ages-title"' in client.get(url).content.decode()
    assert 'id="case-ages-title"' not in client.get(url, {"decision": "all"}).content.decode()


@pytest.fixture
def yard_with_case(db):
    from django.urls import reverse

    from kit.stores import quarantine
    from tests.kit.views.holm import make_yard

    yard = make_yard()
    yard.do(quarantine, yard.receive("G-1"), "bent")
    return yard.client("sal"), reverse("quarantine")
