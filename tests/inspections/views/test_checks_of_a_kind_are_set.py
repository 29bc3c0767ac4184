"""The compliance lead sets the checks of a kind: due dates and promises follow, past verdicts stay."""

from __future__ import annotations

import pytest
from django.urls import reverse

from inspections.models import Check, Inspection
from kit.models import Deed, LedgerEntry, Role
from kit.stores import acting, prove_ledger, reserve
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, in_days, kind, seat, yard

pytestmark = pytest.mark.django_db

HOLD = {"name": "hold test", "interval": "P6M", "basis": "done", "early_days": "", "gates": "on"}


@pytest.fixture
def place() -> Yard:
    return yard()


def address() -> str:
    return reverse("kind_checks", args=[kind("bag").pk])


def sent(*rows: dict[str, object]) -> dict[str, object]:
    data: dict[str, object] = {"check-TOTAL_FORMS": len(rows), "check-INITIAL_FORMS": 0}
    for index, row in enumerate(rows):
        data.update({f"check-{index}-{name}": value for name, value in row.items()})
    return data


def in_force() -> dict[str, tuple[object, ...]]:
    rows = Check.objects.in_force().filter(kind=kind("bag"))
    return {c.name: (c.interval, c.basis, c.early_days, c.gates, c.after_use, c.source) for c in rows}


def test_a_shorter_interval_moves_due_dates_and_says_what_broke(place):
    with acting(STORES) as act:
        reserve(act, place.job)
    client = seat(Role.COMPLIANCE, place.north)
    verdicts = list(Inspection.objects.values_list("pk", "verdict", "done_on"))
    answer = client.post(address(), sent({**HOLD, "interval": "p14d", "source": "procedure 12"}), follow=True)
    said = [str(message) for message in answer.context["messages"]]
    # Tested ten days ago and due every fortnight: in four days, before the return of the job.
    assert place.item("NY-B1").fit_until == in_days(4)
    assert sum("no longer holds for J/26-104" in text for text in said) == 4
    assert in_force() == {"hold test": ("P14D", "done", 0, True, False, "procedure 12")}
    assert list(Inspection.objects.values_list("pk", "verdict", "done_on")) == verdicts
    entry = LedgerEntry.objects.filter(deed=Deed.RULED).latest("number")
    assert entry.actor == "the.compliance"
    assert prove_ledger().fault is None


def test_a_new_gating_check_takes_items_out_of_fettle_and_says_how_many(place):
    answer = seat(Role.COMPLIANCE, place.north).post(
        address(),
        sent(HOLD, {"name": "visual", "interval": "P1Y", "gates": "on", "after_use": "on"}),
        follow=True,
    )
    said = [str(message) for message in answer.context["messages"]]
    assert "6 items are no longer in fettle because of it." in said
    assert in_force()["visual"] == ("P1Y", "done", 0, True, True, "")


def test_what_is_asked_for_no_more_keeps_its_records(place):
    client = seat(Role.COMPLIANCE, place.north)
    records = Inspection.objects.filter(check_done__name="hold test", check_done__kind=kind("bag")).count()
    text = client.post(address(), sent({**HOLD, "DELETE": "on"}), follow=True).content.decode()
    assert in_force() == {}
    assert "Asked for no more" in text
    assert (
        Inspection.objects.filter(check_done__name="hold test", check_done__kind=kind("bag")).count()
        == records
    )
    client.post(address(), sent(HOLD))
    assert Check.objects.filter(kind=kind("bag"), name="hold test").count() == 1
    assert place.item("NY-B1").fit_until is not None


def test_the_name_keeps_its_case_so_that_no_second_check_arises(place):
    seat(Role.COMPLIANCE, place.north).post(address(), sent({**HOLD, "name": "Hold Test", "interval": "P3M"}))
    assert list(in_force()) == ["hold test"]


@pytest.mark.parametrize(
    ("row", "words"),
    [
        ({**HOLD, "interval": "PT8H"}, "fall due by the day"),
        ({**HOLD, "interval": "6 months"}, "is not an interval"),
        ({**HOLD, "interval": "P0D"}, "every moment"),
        ({**HOLD, "interval": ""}, "Say how often it is due"),
        ({**HOLD, "name": ""}, "Name the check."),
        ({**HOLD, "name": "use-by"}, "is the name of the use-by date"),
        ({**HOLD, "early_days": "5"}, "nothing can be early"),
        ({**HOLD, "basis": "moon"}, "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_refused_in_a_sentence_and_kept(place, row, words):
    before = in_force()
    answer = seat(Role.COMPLIANCE, place.north).post(address(), sent({**row, "source": "typed words"}))
    assert answer.status_code == 200
    assert words in answer.content.decode()
    assert "typed words" in answer.content.decode()
    assert in_force() == before


def test_two_checks_of_one_name_are_refused(place):
    answer = seat(Role.COMPLIANCE, place.north).post(address(), sent(HOLD, {**HOLD, "name": "HOLD TEST"}))
    assert "Two checks are called hold test" in answer.content.decode()


def test_the_form_sent_back_as_it_came_changes_nothing(place):
    client = seat(Role.COMPLIANCE, place.north)
    before, entries = in_force(), LedgerEntry.objects.count()
    rows = client.get(address()).context["rows"]
    data = sent(*({f.name: f.value() for f in row if f.value() not in (None, False)} for row in rows))
    answer = client.post(address(), data, follow=True)
    assert "Nothing differs" in answer.content.decode()
    assert in_force() == before
    assert LedgerEntry.objects.count() == entries


@pytest.mark.parametrize("role", [role for role in EVERY_ROLE if role != Role.COMPLIANCE])
def test_others_read_the_checks_and_do_not_set_them(place, role):
    client = seat(role, place.north)
    text = client.get(address()).content.decode()
    assert "every 6 months" in text
    assert "Record the checks" not in text
    before = in_force()
    assert client.post(address(), sent({**HOLD, "interval": "P9M"})).status_code == 403
    assert in_force() == before
