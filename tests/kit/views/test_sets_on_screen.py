"""Sets on screen: made up and taken apart from an item's page, seen in the register, on a job and its load list."""

from __future__ import annotations

import io

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from inspections.actions import set_checks
from kit.models import Item, Kind, Role
from kit.papers import load_list_pdf
from kit.papers.from_store import load_list_of
from kit.stores import (
    Instead,
    LineSpec,
    acting,
    bind_set,
    kit_list_of,
    lose,
    plan_job,
    prove_ledger,
    receive,
    reserve,
    set_arrangement,
    set_kind,
)
from kit.workbooks.loading import load_register
from tests.kit.papers.examples import pages, run_together
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, bag, job_of, kind, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    return yard()


def sets() -> dict[str, str]:
    return dict(Item.objects.exclude(set_name="").order_by("tag").values_list("tag", "set_name"))


def offered(client, tag: str) -> set[str]:
    return {act.name for act in client.get(reverse("item", args=[tag])).context["acts"]}


def bind(place: Yard, *tags: str, name: str = "Weir set") -> None:
    with acting(STORES) as act:
        bind_set(act, name, [place.item(tag) for tag in tags], "mounted together")


def test_tags_are_scanned_one_after_the_other_into_a_box(place: Yard) -> None:
    client = seat(Role.STORES, place.north)
    url = reverse("item_act", args=["bind", "NY-B1"])
    assert "a line each" in client.get(url).content.decode()
    sent = {"name": "Weir set", "tags": "ny-b2\r\nNY-S1\r\n\r\nNY-B2\r\n", "why": "mounted together"}
    answer = client.post(url, sent, follow=True)
    assert sets() == dict.fromkeys(["NY-B1", "NY-B2", "NY-S1"], "Weir set")
    text = answer.content.decode()
    assert "NY-B1 and what was scanned with it are a set now." in text
    assert "Its set: Weir set" in text
    assert [mate["item"].tag for mate in answer.context["mates"]] == ["NY-B2", "NY-S1"]
    assert "Set made up or taken apart" in text
    assert "Set Weir set made up of NY-B1, NY-B2, NY-S1: mounted together." in text
    assert prove_ledger().fault is None


def test_a_refusal_keeps_what_was_typed(place: Yard) -> None:
    client = seat(Role.STORES, place.north)
    url = reverse("item_act", args=["bind", "NY-B1"])
    for sent, words in (
        (
            {"name": "Weir", "tags": "NY-B7\nNY-XX", "why": "m"},
            "No piece at North yard has the tag NY-B7, NY-XX",
        ),
        ({"name": "Weir", "tags": "LOT-7", "why": "m"}, "LOT-7 is a lot and is counted"),
        ({"name": "Weir", "tags": "NY-B1", "why": "m"}, "A set holds two pieces or more"),
    ):
        text = client.post(url, sent).content.decode()
        assert words in text
        assert sent["tags"] in text
        assert sets() == {}


def test_it_is_added_to_and_taken_apart(place: Yard) -> None:
    client = seat(Role.STORES, place.north)
    bind(place, "NY-B1", "NY-B2")
    assert {"bind-more", "part-set"} <= offered(client, "NY-B1")
    assert not {"bind", "leave-set"} & offered(client, "NY-B1")
    form = client.get(reverse("item_act", args=["bind-more", "NY-B1"])).context["form"]
    assert (form["name"].value(), form["tags"].value()) == ("Weir set", "NY-B2\n")
    client.post(
        reverse("item_act", args=["bind-more", "NY-B1"]),
        {"name": "Weir set", "tags": "NY-B2\nNY-B3", "why": "third"},
    )
    assert list(sets()) == ["NY-B1", "NY-B2", "NY-B3"]
    answer = client.post(reverse("item_act", args=["leave-set", "NY-B1"]), {"why": "worn"}, follow=True)
    assert "NY-B1 is of no set any more" in answer.content.decode()
    assert list(sets()) == ["NY-B2", "NY-B3"]
    client.post(reverse("item_act", args=["part-set", "NY-B3"]), {"why": "done with"})
    assert sets() == {}
    assert prove_ledger().fault is None


@pytest.mark.parametrize("role", EVERY_ROLE)
def test_the_stores_make_up_sets(place: Yard, role: str) -> None:
    client = seat(role, place.north)
    assert ("bind" in offered(client, "NY-B1")) == (role == Role.STORES)
    sent = {"name": "Weir", "tags": "NY-B2", "why": "m"}
    answer = client.post(reverse("item_act", args=["bind", "NY-B1"]), sent)
    assert answer.status_code == (302 if role == Role.STORES else 403)
    assert bool(sets()) == (role == Role.STORES)


def test_what_cannot_be_of_a_set_is_not_offered_one(place: Yard) -> None:
    client = seat(Role.STORES, place.north)
    assert not {"bind", "bind-more", "part-set"} & offered(client, "LOT-7")
    bind(place, "NY-B1", "NY-B2")
    with acting(STORES) as act:
        lose(act, place.item("NY-B1"), "not on its rack")
    assert "bind-more" not in offered(client, "NY-B1")
    assert "part-set" in offered(client, "NY-B1")
    [mate] = client.get(reverse("item", args=["NY-B2"])).context["mates"]
    assert (mate["item"].tag, mate["mark"].state) == ("NY-B1", "lost")


def test_the_register_is_narrowed_and_searched_by_set(place: Yard) -> None:
    client = seat(Role.STORES, place.north)
    url = reverse("register")
    assert "set_name" not in [column.name for column in client.get(url).context["table"].columns]
    bind(place, "NY-B1", "NY-S1")
    for asked in ({"set": "Weir set"}, {"q": "weir set"}):
        answer = client.get(url, asked)
        assert [row.record.tag for row in answer.context["table"].paginated_rows] == ["NY-B1", "NY-S1"]
        assert "set_name" in [column.name for column in answer.context["table"].columns]


def test_the_register_written_out_holds_sets_and_loads_again_unchanged(place: Yard, tmp_path) -> None:
    bind(place, "NY-B1", "NY-S1")
    answer = seat(Role.STORES, place.north).get(reverse("register_export"))
    content = b"".join(answer.streaming_content)
    sheet = load_workbook(io.BytesIO(content))["Items"]
    head = [cell.value for cell in sheet[1]]
    rows = {row[0]: row[head.index("set")] for row in sheet.iter_rows(min_row=2, values_only=True)}
    assert (rows["NY-B1"], rows["NY-S1"], rows["NY-B2"]) == ("Weir set", "Weir set", None)
    file = tmp_path / "register.xlsx"
    file.write_bytes(content)
    report = load_register(file, STORES)
    assert report.loaded
    assert [row for row in report.rows if "set" in row.what.split(", ")] == []
    assert sets() == {"NY-B1": "Weir set", "NY-S1": "Weir set"}


def test_job_page_and_load_list_say_what_is_of_a_set(place: Yard) -> None:
    bind(place, "NY-B1", "NY-S1")
    with acting(STORES) as act:
        reserve(act, place.job)
    client = seat(Role.STORES, place.north)
    held = set(place.job.reservations.values_list("item__tag", flat=True))
    assert {"NY-B1", "NY-S1"} <= held
    assert (
        client.get(reverse("job", args=[place.job.reference])).content.decode().count("Of the set Weir set")
        == 2
    )
    assert (
        client.get(reverse("load_list", args=[place.job.reference]))
        .content.decode()
        .count("Of the set Weir set")
        == 2
    )


def test_job_page_and_load_list_say_what_is_of_an_assembly_and_what_stands_in(place: Yard) -> None:
    with acting(STORES) as act:
        wide = set_kind(act, "wide bag", has_bore=True, has_use_by=True)
        set_checks(act, wide, [])
        receive(act, [_wide(place, wide)])
        heads = [
            Item(tag=f"NY-H{n}", kind=kind("bagging head"), depot=place.north, serial=f"h{n}", mark="M3")
            for n in (1, 2)
        ]
        set_checks(act, kind("bagging head"), [])
        receive(act, heads)
        lines = [
            LineSpec("bags", kind("bag"), 6, "bore", instead=(Instead(wide),)),
            LineSpec("heads", kind("bagging head"), 2, assembly="Head unit"),
            LineSpec("bases", kind("base"), 2, "mark", assembly="Head unit"),
        ]
        arrangement, _new = set_arrangement(act, "coupled stop", lines)
        job = plan_job(act, job_of(place.north, arrangement, "J-coupled"))
        reserve(act, job)
    assert job.reservations.filter(item__tag="NY-W1").exists()
    client = seat(Role.STORES, place.north)
    text = client.get(reverse("job", args=["J-coupled"])).content.decode()
    assert "May stand in: wide bag." in text
    assert "Assembly Head unit: 1 to each of 2 units, whose pieces share a mark." in text
    loading = client.get(reverse("load_list", args=["J-coupled"])).content.decode()
    for page in (text, loading):
        assert page.count("Stands in for a bag") == 1
        assert page.count("Of the assembly Head unit, mark M3") == 4
    paper = load_list_pdf(load_list_of(job, kit_list_of(job)))
    printed = run_together(" ".join(pages(paper)))
    assert printed.count(run_together("stands in for a bag")) == 1
    assert printed.count(run_together("of the assembly Head unit, mark M3")) == 4


def _wide(place: Yard, wide: Kind) -> Item:
    made = bag(place.north, "NY-W1", serial="w1")
    made.kind = wide
    return made


def test_the_kit_list_as_a_spreadsheet_says_it_too(place: Yard) -> None:
    bind(place, "NY-B1", "NY-S1")
    answer = seat(Role.PLANNER, place.north).get(reverse("kit_list_workbook", args=[place.job.reference]))
    [sheet] = [each for each in load_workbook(io.BytesIO(answer.content)) if each["A1"].value == "what"]
    rows = sheet.iter_rows(min_row=2, values_only=True)
    said = {row[3]: row[7] for row in rows if row[0] in ("chosen", "also fit")}
    assert (said["NY-B1"], said["NY-S1"], said["NY-S2"]) == (
        "of the set Weir set",
        "of the set Weir set",
        None,
    )
