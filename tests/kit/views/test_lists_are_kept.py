"""Long lists as people keep them: columns and order in the address, views under a name, the usual one."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import LedgerEntry, SavedView, UsualView
from kit.tables.marks import USUAL_WORDS
from tests.kit.views.holm import Yard

LISTS = ("register", "jobs", "due", "quarantine")


@pytest.fixture
def stocked(yard: Yard) -> Yard:
    yard.receive("G-1", maker="Pell", serial="b")
    yard.receive("G-2", maker="Orm", serial="a")
    yard.receive("P-1", kind="pump", serial="c")
    yard.plan("J-1", yard.arrangement())
    return yard


def shown(yard: Yard, address: str, who: str = "sal", name: str = "register"):
    answer = yard.client(who).get(f"{reverse(name)}?{address}")
    assert answer.status_code == 200
    return answer


def columns(answer) -> list[str]:
    return [column.name for column in answer.context["table"].columns]


def keep(yard: Yard, name: str, query: str, who: str = "sal", listing: str = "register", **more: str):
    sent = {"name": name, "query": query, **more}
    return yard.client(who).post(reverse("keep_view", args=[listing]), sent, follow=True)


def test_the_address_says_which_columns_and_in_what_order(stocked: Yard):
    answer = shown(stocked, "columns=maker,tag&columns=kind&sort=maker")
    assert columns(answer) == ["maker", "tag", "kind"]
    assert [row.record.tag for row in answer.context["table"].paginated_rows] == ["P-1", "G-2", "G-1"]


def test_the_column_that_heads_a_row_is_always_there_and_unknown_ones_are_passed_over(stocked: Yard):
    assert columns(shown(stocked, "columns=maker,nonsense,maker")) == ["tag", "maker"]
    assert columns(shown(stocked, "columns=nonsense")) == columns(shown(stocked, "columns="))


def test_columns_and_order_go_along_when_the_list_is_narrowed(stocked: Yard):
    page = shown(stocked, "columns=tag,maker&sort=-maker").content.decode()
    form = page[page.index('class="filters"') : page.index('class="tools"')]
    assert '<input type="hidden" name="columns" value="tag,maker">' in form
    assert '<input type="hidden" name="sort" value="-maker">' in form


def test_a_column_is_moved_to_the_front_by_its_address(stocked: Yard):
    answer = shown(stocked, "columns=tag,kind,maker&q=G&page=1")
    moved = {one["name"]: one["earlier"] for one in answer.context["tools"]["columns"]}
    assert columns(shown(stocked, moved["maker"][1:])) == ["tag", "maker", "kind"]
    assert "q=G" in moved["maker"]
    assert moved["tag"] == ""


@pytest.mark.parametrize("name", LISTS)
def test_each_list_can_show_every_column_it_knows(stocked: Yard, name: str):
    table = type(shown(stocked, "", "lee", name).context["table"])
    every = list(table.base_columns)
    assert columns(shown(stocked, f"columns={','.join(every)}", "lee", name)) == every
    for column in every:
        shown(stocked, f"columns={column}&sort=-{column}", "lee", name)


def test_a_view_is_kept_and_opened_by_its_name(stocked: Yard):
    before = LedgerEntry.objects.count()
    answer = keep(stocked, " Makers ", "columns=tag,maker&sort=maker&page=3&q=G")
    assert "The view Makers is kept." in answer.content.decode()
    [one] = answer.context["tools"]["views"]
    assert one["current"]
    assert "page" not in one["url"]
    again = stocked.client("sal").get(one["url"])
    assert columns(again) == ["tag", "maker"]
    assert [row.record.tag for row in again.context["table"].paginated_rows] == ["G-2", "G-1"]
    assert LedgerEntry.objects.count() == before


def test_the_same_name_again_stands_for_the_later_view(stocked: Yard):
    keep(stocked, "Mine", "q=G")
    keep(stocked, "Mine", "q=P")
    assert [view.query for view in SavedView.objects.all()] == ["q=P"]


def test_a_view_without_a_name_is_refused(stocked: Yard):
    assert "Give the view a name" in keep(stocked, "  ", "q=G").content.decode()
    assert "Give the view a name" in keep(stocked, "x" * 61, "q=G").content.decode()
    assert not SavedView.objects.exists()


def test_a_list_opens_with_the_usual_view_unless_the_address_asks_for_something(stocked: Yard):
    keep(stocked, "Pumps", "kind=pump&columns=tag,serial", usual="1")
    opened = stocked.client("sal").get(reverse("register"))
    assert opened.status_code == 302
    assert opened.url.endswith("?kind=pump&columns=tag%2Cserial")
    assert stocked.client("sal").get(reverse("register"), {"depot": ""}).status_code == 200
    assert stocked.client("lee").get(reverse("register")).status_code == 200
    view = SavedView.objects.get()
    change = reverse("change_view", args=["register", view.pk])
    stocked.client("sal").post(change, {"do": "no-usual"})
    assert stocked.client("sal").get(reverse("register")).status_code == 200


@pytest.mark.parametrize("name", [*LISTS, "ledger"])
def test_the_list_as_it_is_for_everybody_stays_one_press_away(stocked: Yard, name: str):
    """No link of a list asks for nothing: that would lead to the usual view again."""
    keep(stocked, "Usual", "columns=&x=1", "lee", name, usual="1")
    assert stocked.client("lee").get(reverse(name)).status_code == 302
    page = shown(stocked, "x=1", "lee", name).content.decode()
    assert 'href="?"' not in page
    assert any(link in page for link in ('href="?depot="', 'href="?state="', 'href="?about="'))


def test_a_shared_view_is_seen_and_made_usual_by_others_of_the_depot_and_changed_by_its_owner_alone(
    stocked: Yard,
):
    keep(stocked, "Everybody's", "q=G", share="1")
    keep(stocked, "My own", "q=P")
    view = SavedView.objects.get(shared_with=stocked.holm)
    seen = shown(stocked, "", "lee").context["tools"]["views"]
    assert [(one["view"].name, one["own"]) for one in seen] == [("Everybody's", False)]
    assert shown(stocked, "", "wyn").context["tools"]["views"] == []
    change = reverse("change_view", args=["register", view.pk])
    assert stocked.client("lee").post(change, {"do": "throw-away"}).status_code == 404
    assert stocked.client("wyn").post(change, {"do": "usual"}).status_code == 404
    stocked.client("lee").post(change, {"do": "usual"})
    assert stocked.client("lee").get(reverse("register")).url.endswith("?q=G")
    stocked.client("sal").post(change, {"do": "throw-away"})
    assert not UsualView.objects.exists()
    assert stocked.client("lee").get(reverse("register")).status_code == 200


def test_a_list_that_one_may_not_see_keeps_no_views(stocked: Yard):
    assert keep(stocked, "x", "", listing="nothing").status_code == 404


def test_a_kept_view_leads_nowhere_but_to_its_list(stocked: Yard):
    answer = stocked.client("sal").post(
        reverse("keep_view", args=["register"]), {"name": "x", "query": "//elsewhere.example/?q=1\x00"}
    )
    assert answer.url.startswith(reverse("register") + "?")


@pytest.mark.parametrize("state", USUAL_WORDS)
def test_a_file_says_of_a_state_what_the_screen_says(state: str):
    from django.template.loader import render_to_string
    from django.utils.html import strip_tags

    said = strip_tags(render_to_string("components/mark.html", {"state": state})).strip()
    assert said == str(USUAL_WORDS[state])
