"""Many pieces changed at once: shown piece by piece first, one reason, all that was shown or nothing."""

from __future__ import annotations

import pytest
from django.urls import reverse

from kit.models import Deed, Item, LedgerEntry, Place, Reservation, Standing, State
from kit.stores import change_many as many
from kit.stores import lose, withdraw
from kit.stores.act import Who, acting
from kit.stores.change_many import Change, What, foresee_change
from tests.kit.views.holm import Yard

pytestmark = pytest.mark.usefixtures("ledger_holds")
URL = "/lists/register/change/"


@pytest.fixture
def stocked(yard: Yard) -> Yard:
    """Gauges G-1 to G-4, G-3 withdrawn, G-4 lost; W-1 at Weir."""
    for number in range(1, 5):
        yard.receive(f"G-{number}", note="old dial." if number == 2 else "")
    yard.do(withdraw, Item.objects.get(tag="G-3"), "broken")
    yard.do(lose, Item.objects.get(tag="G-4"), "not on the rack")
    yard.receive("W-1", depot=yard.weir)
    return yard


def ids(*tags: str) -> str:
    return ",".join(str(Item.objects.get(tag=tag).pk) for tag in tags)


def send(yard: Yard, do: str, pieces: str, who: str = "sal", **said: str):
    sent = {"pieces": pieces, "do": do, "what": "place", "place": "Rack 9", "why": "new racks", **said}
    return yard.client(who).post(URL, sent)


def tags(rows) -> list[str]:
    return [told.tag for told in rows]


def test_what_is_shown_names_each_piece_with_why_it_is_refused_and_writes_nothing(stocked: Yard):
    before = LedgerEntry.objects.count()
    foretold = send(stocked, "preview", ids("G-1", "G-2", "G-3", "G-4")).context["foretold"]
    assert tags(foretold.changing) == ["G-1", "G-2", "G-4"]
    assert [(told.before, told.after) for told in foretold.changing] == [("", "Rack 9")] * 3
    [refused] = foretold.refused
    assert refused.tag == "G-3"
    assert "withdrawn" in refused.refused
    assert LedgerEntry.objects.count() == before
    assert not Place.objects.filter(name="Rack 9").exists()


def test_one_press_does_what_was_shown_and_what_was_refused_stays_chosen(stocked: Yard):
    pieces = ids("G-1", "G-2", "G-3")
    mark = send(stocked, "preview", pieces).context["mark"]
    client = stocked.client("sal")
    sent = {
        "pieces": pieces,
        "do": "do",
        "mark": mark,
        "what": "place",
        "place": "Rack 9",
        "why": "new racks",
    }
    answer = client.post(URL, sent)
    assert answer.url == URL
    placed = Item.objects.filter(place__name="Rack 9")
    assert sorted(placed.values_list("tag", flat=True)) == ["G-1", "G-2"]
    entries = LedgerEntry.objects.filter(mentions__about__in=["item:G-1", "item:G-2"], deed=Deed.CHANGED)
    assert {(entry.actor, '"note":"new racks"' in entry.body) for entry in entries} == {("sal", True)}
    page = client.get(answer.url)
    assert page.context["pieces"] == ids("G-3")
    assert "2 pieces are changed." in page.content.decode()


def test_a_press_on_what_is_no_longer_so_writes_nothing_and_shows_it_anew(stocked: Yard):
    pieces = ids("G-1", "G-2")
    mark = send(stocked, "preview", pieces).context["mark"]
    stocked.do(withdraw, Item.objects.get(tag="G-2"), "bent")
    before = LedgerEntry.objects.count()
    answer = send(stocked, "do", pieces, mark=mark)
    assert "nothing was written" in answer.content.decode()
    assert LedgerEntry.objects.count() == before
    assert Item.objects.get(tag="G-1").place is None


def test_a_fault_half_way_leaves_nothing_written(stocked: Yard, monkeypatch: pytest.MonkeyPatch):
    who, change = Who("sal", "test"), Change(What.REMARK, "why", "seen")
    pieces = [Item.objects.get(tag=tag).pk for tag in ("G-1", "G-2")]
    mark = foresee_change(who, pieces, change, lambda item: "").mark
    true = many._DO[What.REMARK]

    def fails(act, item, change):
        true(act, item, change)
        if item.tag == "G-2":
            raise RuntimeError("disk")

    monkeypatch.setitem(many._DO, What.REMARK, fails)
    before = LedgerEntry.objects.count()
    with pytest.raises(RuntimeError), acting(who) as act:
        many.change_many(act, pieces, change, lambda item: "", mark)
    assert LedgerEntry.objects.count() == before
    assert Item.objects.get(tag="G-1").note == ""


def test_a_remark_is_put_behind_the_note_and_one_too_long_is_refused(stocked: Yard):
    stocked.receive("G-5", note="x" * 490)
    said = {"what": "remark", "remark": "new glass fitted"}
    pieces = ids("G-1", "G-2", "G-5")
    shown = send(stocked, "preview", pieces, **said)
    assert tags(shown.context["foretold"].refused) == ["G-5"]
    send(stocked, "do", pieces, mark=shown.context["mark"], **said)
    notes = dict(Item.objects.values_list("tag", "note"))
    assert notes["G-1"] == "new glass fitted"
    assert notes["G-2"] == "old dial. new glass fitted"
    assert notes["G-5"] == "x" * 490


def test_setting_aside_says_which_promises_would_no_longer_hold(stocked: Yard):
    job = stocked.plan("J-1", stocked.arrangement(), load_in=1)
    stocked.reserve(job)
    said = {"what": "set-aside", "why": "doubtful batch"}
    pieces = ids("G-1", "G-2", "G-3", "G-4")
    shown = send(stocked, "preview", pieces, **said)
    foretold = shown.context["foretold"]
    assert tags(foretold.changing) == ["G-1", "G-2"]
    assert tags(foretold.refused) == ["G-3", "G-4"]
    assert [(job, tag) for job, tag, _why in foretold.breaks] == [("J-1", "G-1"), ("J-1", "G-2")]
    assert Reservation.objects.filter(standing=Standing.BROKEN).count() == 0
    send(stocked, "do", pieces, mark=shown.context["mark"], **said)
    assert Item.objects.filter(state=State.QUARANTINED, state_why="doubtful batch").count() == 2
    assert Reservation.objects.filter(standing=Standing.BROKEN).count() == 2
    again = send(stocked, "preview", ids("G-1"), **said).context["foretold"]
    assert tags(again.unchanged) == ["G-1"]


def test_all_of_the_list_is_all_that_its_address_narrows_to_and_not_only_a_page(stocked: Yard):
    for number in range(10, 40):
        stocked.receive(f"P-{number}", kind="pump", passed=False)
    answer = stocked.client("sal").post(f"{URL}?kind=pump&sort=-tag", {"all": "1", "chosen": "1"})
    assert answer.context["number"] == 30
    page = stocked.client("sal").get(reverse("register"), {"kind": "pump"}).content.decode()
    assert "All 30 of this list, not only this page" in page
    due = stocked.client("sal").post("/lists/due/change/?kind=pump", {"all": "1"})
    assert due.context["number"] == 30


def test_rows_of_the_due_list_stand_for_their_pieces(stocked: Yard):
    piece = Item.objects.get(tag="G-1")
    sent = {"chosen": [f"{piece.pk} calibration", f"{piece.pk} use-by", "nonsense", "9" * 30]}
    assert stocked.client("sal").post("/lists/due/change/", sent).context["pieces"] == str(piece.pk)


def test_nothing_of_another_depot_is_shown_or_changed(stocked: Yard):
    answer = stocked.client("sal").post(URL, {"pieces": ids("W-1"), "do": "preview"})
    assert answer.status_code == 302
    stocked.appoint("sal", stocked.weir, "crew")
    foretold = send(stocked, "preview", ids("G-1", "W-1")).context["foretold"]
    assert tags(foretold.changing) == ["G-1"]
    assert [(told.tag, "Your roles at" in told.refused) for told in foretold.refused] == [("W-1", True)]


def test_who_may_do_nothing_to_many_sees_no_boxes(stocked: Yard):
    assert stocked.client("pat").post(URL, {"pieces": ids("G-1")}).status_code == 403
    assert "ruled__choose" not in stocked.client("pat").get(reverse("register")).content.decode()
    assert "ruled__choose" in stocked.client("sal").get(reverse("register")).content.decode()
    assert send(stocked, "preview", ids("G-1"), who="cal").context["form"].errors


@pytest.mark.parametrize(
    ("said", "field"),
    [({"why": " "}, "why"), ({"what": "remark", "remark": ""}, "remark"), ({"what": "burn"}, "what")],
)
def test_what_is_missing_is_said_beside_its_field(stocked: Yard, said: dict[str, str], field: str):
    answer = send(stocked, "preview", ids("G-1"), **said)
    assert list(answer.context["form"].errors) == [field]
    assert "foretold" not in answer.context


def test_too_many_at_once_are_refused(stocked: Yard, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("kit.views.change_many.MOST_PIECES", 1)
    page = stocked.client("sal").post(URL, {"pieces": ids("G-1", "G-2")}).content.decode()
    assert "at most 1 can be changed at a time" in page
    monkeypatch.setattr("kit.views.change_many.MOST_PIECES", 500)
    monkeypatch.setattr(many, "MOST_MOVED", 1)
    answer = send(stocked, "preview", ids("G-1", "G-2"), what="set-aside")
    assert "at most 1 can be changed so at a time" in answer.content.decode()
    assert send(stocked, "preview", ids("G-1", "G-2")).context["foretold"].changing


def test_an_attempt_that_is_refused_leaves_the_act_as_it_was(stocked: Yard):
    item = Item.objects.get(tag="G-1")

    def half(act) -> None:
        with act.attempt():
            act.change(item, note="half")
            act.tell(Deed.CHANGED, [item])
            act.flush()
            raise RuntimeError

    with acting(Who("sal", "test")) as act:
        stood = act.head
        with pytest.raises(RuntimeError):
            half(act)
        assert act.head == stood
        assert not act.pending
    item.refresh_from_db()
    assert item.note == ""
