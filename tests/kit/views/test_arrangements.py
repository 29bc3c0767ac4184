"""Arrangements: shown as common practice where shipped, changed by new versions, a depot's own ones."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Arrangement, LedgerEntry, Role
from kit.stores import acting, cancel_job, plan_job, specs_of
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, job_of, record_as_seen, seat, yard

pytestmark = pytest.mark.django_db

SETTERS = {Role.PLANNER, Role.STORES, Role.COMPLIANCE}


@pytest.fixture
def place() -> Yard:
    return yard()


def sent(lines: list[dict[str, object]], name: str = "small flow stop", **other: object) -> dict[str, object]:
    data: dict[str, object] = {
        "name": name,
        "source": "",
        "note": "",
        "line-TOTAL_FORMS": len(lines),
        **other,
    }
    data["line-INITIAL_FORMS"] = 0
    for index, line in enumerate(lines):
        data.update({f"line-{index}-{field}": value for field, value in line.items()})
    return data


BAGS = {"name": "bags", "kind": "bag", "quantity": 5, "match": "bore"}
PUMP = {"name": "pump", "kind": "pump", "quantity": 1, "match": "any", "note": "foot pump will do"}


def test_shipped_ones_are_shown_as_common_practice_and_the_operator_decides(place):
    client = seat(Role.CREW, place.north)
    text = client.get(reverse("arrangements")).content.decode()
    assert "procedure decides" in text
    shipped = Arrangement.objects.filter(source__contains="common practice").first()
    text = client.get(reverse("arrangement", args=[shipped.pk])).content.decode()
    assert "Shipped as common practice, without a source" in text
    text = client.get(reverse("arrangement", args=[place.arrangement.pk])).content.decode()
    assert "Shipped as common practice" not in text


def test_a_changed_list_makes_the_next_version_and_jobs_keep_theirs(place):
    client = seat(Role.PLANNER, place.north)
    url = reverse("next_arrangement", args=[place.arrangement.pk])
    answer = record_as_seen(client, url, sent([BAGS, PUMP], source="procedure 12, issue 3"))
    made = Arrangement.objects.get(name="small flow stop", current=True)
    assert made.version == 2
    assert made.source == "procedure 12, issue 3"
    assert [
        (line.name, line.kind.name, line.quantity, line.match, line.note) for line in made.lines.all()
    ] == [
        ("bags", "bag", 5, "bore", ""),
        ("pump", "pump", 1, "any", "foot pump will do"),
    ]
    place.job.refresh_from_db()
    assert place.job.arrangement.version == 1
    text = answer.content.decode()
    assert "keep the version they have" in text
    older = client.get(reverse("arrangement", args=[place.arrangement.pk])).content.decode()
    assert "This is an older version" in older


def test_a_depots_own_one_stands_beside_the_shipped_one(place):
    client = seat(Role.COMPLIANCE, place.north)
    url = reverse("next_arrangement", args=[place.arrangement.pk])
    form = client.get(url, {"own": "1"}).context["form"]
    assert form["name"].value() == ""
    record_as_seen(client, f"{url}?own=1", sent([BAGS], name="North yard, small main"))
    assert Arrangement.objects.get(name="North yard, small main").version == 1
    assert Arrangement.objects.get(name="small flow stop").version == 1


def test_what_the_next_version_touches_is_shown_and_nothing_is_written(place):
    client = seat(Role.PLANNER, place.north)
    url = reverse("next_arrangement", args=[place.arrangement.pk])
    with acting(STORES) as act:
        plan_job(act, job_of(place.mill, place.arrangement, "J-mill", 20, 22))
        gone = plan_job(act, job_of(place.north, place.arrangement, "J-gone", 20, 22))
        cancel_job(act, gone, "not needed")
    entries = LedgerEntry.objects.count()
    lines = [{**BAGS, "quantity": 9}, PUMP]
    answer = client.post(url, sent(lines))
    foreseen = answer.context["foreseen"]
    # The yard has 5 bags that suit and no pump; Mill bank has nothing at all.
    told = [(each.job.reference, each.short_now, each.short_then) for each in foreseen.jobs]
    assert told == [("J/26-104", 0, 5), ("J-mill", 12, 10)]
    assert ([line.name for line in foreseen.come], [line.name for line in foreseen.go]) == (
        ["pump"],
        ["bases", "seals"],
    )
    text = answer.content.decode()
    assert "Line bags: 4 of bag now, 9 of bag then" in text
    assert reverse("job", args=["J/26-104"]) in text
    assert reverse("job", args=["J-mill"]) not in text
    assert LedgerEntry.objects.count() == entries
    assert Arrangement.objects.filter(name="small flow stop").count() == 1


def test_a_version_that_touches_something_else_by_now_is_not_recorded(place):
    client = seat(Role.PLANNER, place.north)
    url = reverse("next_arrangement", args=[place.arrangement.pk])
    seen = client.post(url, sent([BAGS])).context["foreseen"].seen
    answer = client.post(url, sent([PUMP], seen=seen))
    assert "Something else would change by now than was shown" in answer.content.decode()
    with acting(STORES) as act:
        plan_job(act, job_of(place.north, place.arrangement, "J-new", 20, 22))
    answer = client.post(url, sent([BAGS], seen=seen))
    assert "Something else would change by now than was shown" in answer.content.decode()
    assert Arrangement.objects.filter(name="small flow stop").count() == 1


def test_the_same_lines_make_no_version(place):
    client = seat(Role.PLANNER, place.north)
    same = [
        {"name": "bags", "kind": "bag", "quantity": 4, "match": "bore"},
        {"name": "bases", "kind": "base", "quantity": 2, "match": "mark"},
        {"name": "seals", "kind": "seal", "quantity": 6, "match": "any"},
    ]
    answer = client.post(reverse("next_arrangement", args=[place.arrangement.pk]), sent(same))
    assert "no new version would be made" in answer.content.decode()
    assert 'name="seen"' not in answer.content.decode()
    assert Arrangement.objects.filter(name="small flow stop").count() == 1


def test_lines_are_put_in_order_and_taken_out(place):
    lines = [
        {**BAGS, "ORDER": 2},
        {**PUMP, "ORDER": 1},
        {"name": "gone", "kind": "gauge", "quantity": 1, "DELETE": "on"},
        {"name": "", "kind": "", "quantity": "", "match": "any"},
    ]
    client = seat(Role.PLANNER, place.north)
    record_as_seen(client, reverse("new_arrangement"), sent(lines, name="own"))
    made = Arrangement.objects.get(name="own")
    assert list(made.lines.order_by("position").values_list("name", flat=True)) == ["pump", "bags"]


def test_more_lines_keep_what_was_typed_and_record_nothing(place):
    answer = seat(Role.PLANNER, place.north).post(
        reverse("new_arrangement"), sent([BAGS, {"name": "half", "quantity": 2}], name="own", more="1")
    )
    text = answer.content.decode()
    assert len(answer.context["lines"].forms) == 2 + 5
    assert 'value="half"' in text
    assert 'value="own"' in text
    assert "Not recorded" not in text
    assert not Arrangement.objects.filter(name="own").exists()


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([], "needs at least one line"),
        ([BAGS, {**PUMP, "name": "Bags"}], "Two lines are called bags"),
        ([{"name": "bags", "quantity": 2}], "Say of which kind."),
        ([{"name": "bags", "kind": "bag"}], "Say how many."),
        ([{"kind": "bag", "quantity": 2}], "Name the line"),
        ([{**BAGS, "quantity": 0}], "greater than or equal to 1"),
        ([{**BAGS, "match": "colour"}], "not one of the available choices"),
    ],
)
def test_half_a_line_is_refused_with_what_is_missing(place, lines, words):
    answer = seat(Role.PLANNER, place.north).post(reverse("new_arrangement"), sent(lines, name="own"))
    assert answer.status_code == 200
    assert words in answer.content.decode()
    assert not Arrangement.objects.filter(name="own").exists()


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_planners_and_the_compliance_lead_set_arrangements(place, role):
    client = seat(role, place.north)
    answer = client.post(reverse("new_arrangement"), sent([BAGS], name="own"))
    assert answer.status_code == (200 if role in SETTERS else 403)
    if role in SETTERS:
        record_as_seen(client, reverse("new_arrangement"), sent([BAGS], name="own"))
    else:
        seen = {"seen": "a mark"}
        assert client.post(reverse("new_arrangement"), sent([BAGS], name="own", **seen)).status_code == 403
    assert Arrangement.objects.filter(name="own").exists() == (role in SETTERS)
    shown = client.get(reverse("arrangement", args=[place.arrangement.pk])).content.decode()
    assert ("Make the next version" in shown) == (role in SETTERS)


HEADS = {"name": "heads", "kind": "bagging head", "quantity": 2, "assembly": "Head unit"}
BASES = {"name": "bases", "kind": "base", "quantity": 4, "match": "mark", "assembly": "Head unit"}
WIDER = {
    **BAGS,
    "side": "far",
    "instead_1": "nose",
    "instead_note_1": "with a sleeve",
    "instead_3": "pump",
}


def test_side_assembly_and_what_may_stand_in_are_set_and_told_in_words(place):
    client = seat(Role.PLANNER, place.north)
    answer = record_as_seen(client, reverse("new_arrangement"), sent([WIDER, HEADS, BASES], name="own"))
    bags, heads, bases = specs_of(Arrangement.objects.get(name="own"))
    assert (bags.side, heads.assembly, bases.assembly) == ("far", "Head unit", "Head unit")
    assert [(other.kind.name, other.note) for other in bags.instead] == [
        ("nose", "with a sleeve"),
        ("pump", ""),
    ]
    text = answer.content.decode()
    for words in (
        "For the main on the far side.",
        "May stand in: nose (with a sleeve), then pump.",
        "Assembly Head unit: 1 to each of 2 units, whose pieces share a mark.",
        "Assembly Head unit: 2 to each of 2 units, whose pieces share a mark.",
    ):
        assert words in text
    plain = client.get(reverse("arrangement", args=[place.arrangement.pk])).content.decode()
    assert "what may stand in" not in plain
    story = seat(Role.COMPLIANCE, place.north).get(reverse("ledger")).content.decode()
    assert "may stand in: bags nose, then pump" in story
    assert "Made up into units that share a mark: Head unit heads + bases" in story


def test_the_form_shows_what_is_there_and_the_same_again_makes_no_version(place):
    client = seat(Role.PLANNER, place.north)
    record_as_seen(client, reverse("new_arrangement"), sent([WIDER, HEADS, BASES], name="own"))
    number = Arrangement.objects.get(name="own").pk
    answer = client.get(reverse("next_arrangement", args=[number]))
    rows = answer.context["lines"].forms
    assert [row.goes_further for row in rows] == [True, True, True, False, False, False]
    typed = [{field.name: field.value() for field in row if field.value() is not None} for row in rows]
    answer = client.post(reverse("next_arrangement", args=[number]), sent(typed, name="own"))
    assert "no new version would be made" in answer.content.decode()
    more = client.post(reverse("next_arrangement", args=[number]), sent(typed, name="own", more="1"))
    assert 'value="with a sleeve"' in more.content.decode()
    assert more.context["lines"].forms[0]["instead_2"].value() == "pump"


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([HEADS], "heads is the only line of the assembly Head unit"),
        ([HEADS, {**BASES, "quantity": 3}], "make up no number of like units"),
        ([{**BAGS, "instead_1": "bag"}], "bags asks for a bag already"),
        ([{**BAGS, "instead_2": "seal"}], "only a kind that is counted alike may stand in"),
        ([{**BAGS, "instead_note_1": "with a sleeve"}], "Say of which kind, or leave the note on it empty."),
        ([{**BAGS, "side": "left"}], "not one of the available choices"),
        ([{**BAGS, "instead_4": "no such"}], "not one of the available choices"),
    ],
)
def test_what_cannot_be_is_said_at_its_field(place, lines, words):
    answer = seat(Role.PLANNER, place.north).post(reverse("new_arrangement"), sent(lines, name="own"))
    assert answer.status_code == 200
    assert words in answer.content.decode()
    assert any(row.goes_further for row in answer.context["lines"].forms)
    assert not Arrangement.objects.filter(name="own").exists()
