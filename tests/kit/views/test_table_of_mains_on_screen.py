"""The table of mains on screen: listed, looked at before it is recorded, withdrawn; by whom."""

from __future__ import annotations

from decimal import Decimal as D

import pytest
from django.urls import reverse

from kit.models import Deed, Job, LedgerEntry, PipeSize, Role, Standing
from kit.stores import acting, plan_job, prove_ledger, reserve, set_kind, set_size
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, job_of, kind, record_as_seen, seat, yard

pytestmark = pytest.mark.django_db

IRON = {
    "material": "cast iron",
    "size": "6 in",
    "inside_mm": "149",
    "source": "pit 4",
    "outside_mm": "",
    "wall_mm": "",
}


@pytest.fixture
def place() -> Yard:
    """The yard with a job on cast iron of 6 in, of which the table says 160 mm, reserved; and one of another depot."""
    made = yard()
    with acting(STORES) as act:
        set_size(act, "cast iron", "6 in", inside_mm=D(160), source="survey of 1987")
        for depot, reference in ((made.north, "J-iron"), (made.mill, "J-mill")):
            job = job_of(depot, made.arrangement, reference, 20, 22)
            job.main_material, job.main_size, job.main_sdr, job.bore_mm = "cast iron", '6"', "", None
            reserve(act, plan_job(act, job))
    return made


def look(client, **other: str):
    return client.get(reverse("set_main"), {**IRON, "note": "", **other})


def seen_of(answer) -> str:
    return answer.context["foreseen"].seen


def bags() -> set[str]:
    rows = Job.objects.get(reference="J-iron").reservations.filter(item__kind__name="bag")
    return set(rows.values_list("standing", flat=True))


def test_the_list_says_what_each_size_gives_and_which_jobs_go_by_it(place):
    page = seat(Role.CREW, place.north).get(reverse("mains")).content.decode()
    assert "cast iron 6 in" in page
    assert "survey of 1987" in page
    assert reverse("job", args=["J-iron"]) in page
    # A job of a depot that the person does not see is named, and no link leads to it.
    assert "J-mill" in page
    assert reverse("job", args=["J-mill"]) not in page
    assert reverse("set_main") not in page


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_who_plans_may_set_the_table(place, role):
    client = seat(role, place.north)
    allowed = role in (Role.PLANNER, Role.STORES)
    row = PipeSize.objects.get()
    assert client.get(reverse("mains")).status_code == 200
    for address in (reverse("set_main"), reverse("withdraw_main", args=[row.pk])):
        assert client.get(address).status_code == (200 if allowed else 403)
        if not allowed:
            assert client.post(address, {**IRON, "why": "x", "seen": "x"}).status_code == 403
    assert PipeSize.objects.get() == row
    assert bags() == {Standing.PROMISED}


def test_looking_writes_nothing_and_tells_what_would_move_and_break(place):
    client = seat(Role.PLANNER, place.north)
    entries = LedgerEntry.objects.count()
    answer = look(client)
    foreseen = answer.context["foreseen"]
    told = [(each.job.reference, each.before_mm, each.after_mm) for each in foreseen.moved]
    assert told == [("J-iron", 160, 149), ("J-mill", 160, 149)]
    assert [each.job for each in foreseen.breaks] == ["J-iron"] * 4
    page = answer.content.decode()
    assert "4 promises break" in page
    assert "nominal bore is 149 mm" in page
    assert LedgerEntry.objects.count() == entries
    assert bags() == {Standing.PROMISED}


def test_what_was_looked_at_is_recorded_by_a_press_and_says_what_broke(place):
    client = seat(Role.PLANNER, place.north)
    answer = client.post(reverse("set_main"), {**IRON, "seen": seen_of(look(client))}, follow=True)
    said = [str(message) for message in answer.context["messages"]]
    assert "the mains of 2 open jobs are others by it" in said[0]
    assert sum("no longer holds for J-iron" in text for text in said) == 4
    assert PipeSize.objects.get().inside_mm == 149
    assert bags() == {Standing.BROKEN}
    entry = LedgerEntry.objects.filter(deed=Deed.SIZED).latest("number")
    assert (entry.actor, entry.source) == ("the.planner", "mains screen")
    assert prove_ledger().fault is None


def test_what_moves_otherwise_by_now_is_not_recorded(place):
    client = seat(Role.PLANNER, place.north)
    seen = seen_of(look(client))
    with acting(STORES) as act:
        set_kind(act, "bag", bore_margin_mm=D(20))
    answer = client.post(reverse("set_main"), {**IRON, "seen": seen})
    assert "Something else would move by now than was shown" in answer.content.decode()
    assert PipeSize.objects.get().inside_mm == 160


def test_figures_other_than_those_looked_at_are_not_recorded(place):
    client = seat(Role.PLANNER, place.north)
    seen = seen_of(look(client))
    answer = client.post(reverse("set_main"), {**IRON, "inside_mm": "148", "seen": seen})
    assert "Something else would move" in answer.content.decode()
    assert client.post(reverse("set_main"), IRON).status_code == 400
    assert PipeSize.objects.get().inside_mm == 160


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"source": ""}, "This field is required"),
        ({"inside_mm": "", "outside_mm": "177"}, "gives no bore"),
        ({"inside_mm": "", "outside_mm": "18", "wall_mm": "9"}, "leaves no bore"),
        ({"inside_mm": "wide"}, "Enter a number"),
        ({"inside_mm": "0"}, "greater than or equal to 0.001"),
    ],
)
def test_what_cannot_be_is_said_when_looked_at(place, wrong, said):
    answer = look(seat(Role.PLANNER, place.north), **wrong)
    assert said in answer.content.decode()
    assert answer.context["foreseen"] is None


def test_a_row_is_changed_from_what_it_has_and_withdrawn_with_a_reason(place):
    client = seat(Role.PLANNER, place.north)
    row = PipeSize.objects.get()
    form = client.get(reverse("set_main"), {"row": row.pk}).context["form"]
    assert (form.initial["material"], form.initial["inside_mm"]) == ("cast iron", "160")
    assert client.get(reverse("set_main"), {"row": "x"}).status_code == 200
    address = reverse("withdraw_main", args=[row.pk])
    seen = seen_of(client.get(address))
    assert client.post(address, {"why": "", "seen": seen}).status_code == 200
    assert PipeSize.objects.get().withdrawn is False
    client.post(address, {"why": "another pipe was dug up", "seen": seen})
    assert PipeSize.objects.get().withdrawn is True
    assert bags() == {Standing.BROKEN}
    assert "Set it again" in client.get(reverse("mains")).content.decode()
    answer = client.get(address, follow=True)
    assert "withdrawn from the table of mains already" in answer.content.decode()


def test_the_job_page_shows_how_its_bores_were_reached(place):
    with acting(STORES) as act:
        job = job_of(place.north, place.arrangement, "J-far", 30, 31)
        job.far_bore_mm, job.ovality_mm, job.lining_mm = D(158), D(2), D(3)
        job.crew, job.priority = "Crew 2", 4
        plan_job(act, job)
    page = seat(Role.PLANNER, place.north).get(reverse("job", args=["J-far"])).content.decode()
    for said in (
        "How this bore was reached",
        "Near side",
        "Far side",
        "Out of round by 2 mm",
        "takes nothing off",
    ):
        assert said in page
    assert "must suit the bore of 159.6 and 158 mm" in page
    assert "Crew 2" in page
    iron = seat(Role.PLANNER, place.north).get(reverse("job", args=["J-iron"])).content.decode()
    assert "No bore was measured" in iron
    assert "Near side" not in iron


def test_kinds_are_given_a_margin_and_the_diameter_they_are_sized_by(place):
    client = seat(Role.COMPLIANCE, place.north)
    address = reverse("kind", args=[kind("bag").pk])
    usual = {"turn_round_days": "0", "margin_days": "0", "has_bore": "on"}
    answer = record_as_seen(client, address, {**usual, "bore_margin_mm": "10.5", "sized_by": "inside"})
    said = [str(message) for message in answer.context["messages"]]
    assert sum("The margin decides" in text for text in said) == 4
    assert (kind("bag").bore_margin_mm, kind("bag").sized_by) == (D("10.5"), "inside")
    record_as_seen(client, address, {**usual, "bore_margin_mm": "", "sized_by": "outside"})
    assert (kind("bag").bore_margin_mm, kind("bag").sized_by) == (0, "outside")
    facts = seat(Role.CREW, place.north).get(address).content.decode()
    assert "Outside diameter" in facts
