"""A depot sets up what is read at a check, row by row, without code, and sees it as the bench will show it."""

from __future__ import annotations

import pytest
from django.urls import reverse

from inspections.actions import CheckSpec, set_checks
from inspections.judging import shipped_form
from inspections.models import Check, CheckVersion
from kit.models import Role
from kit.stores import acting, prove_ledger
from tests.kit.views.yard import STORES, Yard, in_days, kind, seat, yard

pytestmark = pytest.mark.django_db


@pytest.fixture
def place() -> Yard:
    """With a check of bases of which nothing is read yet."""
    made = yard()
    with acting(STORES) as act:
        set_checks(act, kind("base"), [CheckSpec("wear", "P12M")], dropped=())
    return made


def the_check() -> Check:
    return Check.objects.get(kind=kind("base"), name="wear")


def address() -> str:
    return reverse("check_readings", args=[kind("base").pk, the_check().pk])


def lead(place: Yard):
    return seat(Role.COMPLIANCE, place.north)


def sent(*rows: dict[str, str], do: str, **more: str) -> dict[str, str]:
    data = {"reading-TOTAL_FORMS": str(len(rows)), "reading-INITIAL_FORMS": "0", "do": do, **more}
    for index, row in enumerate(rows):
        data |= {f"reading-{index}-{name}": value for name, value in row.items()}
    return data


WEAR = {
    "label": "Wear of the thread",
    "kind": "number",
    "unit": "mm",
    "most": "0,5",
    "guard": "0.05",
    "needed": "on",
    "help": "at the <third> turn",
}
STATE = {
    "label": "Face",
    "kind": "choice",
    "choices": "sound; scored; cracked",
    "wanted": "sound",
    "doubtful": "scored",
    "needed": "on",
}


def labels(answer) -> list[str]:
    return [row["label"].value() for row in answer.context["rows"]]


def test_rows_become_the_form_of_the_check_as_a_new_version(place):
    client = lead(place)
    answer = client.post(address(), sent(WEAR, STATE, do="record", why="issue 3"), follow=True)
    assert "recorded as a new version" in answer.content.decode()
    assert the_check().form == {
        "fields": [
            {
                "name": "wear_of_the_thread",
                "label": "Wear of the thread",
                "kind": "number",
                "unit": "mm",
                "most": "0.5",
                "guard": "0.05",
                "help": "at the <third> turn",
            },
            {
                "name": "face",
                "label": "Face",
                "kind": "choice",
                "choices": ["sound", "scored", "cracked"],
                "wanted": ["sound"],
                "doubtful": ["scored"],
            },
        ]
    }
    assert (the_check().version, the_check().interval) == (2, "P12M")
    assert CheckVersion.objects.get(of=the_check(), number=2).why == "issue 3"
    assert prove_ledger().fault is None
    # As it opens, the form says what is recorded; sent back it changes nothing.
    rows = client.get(address()).context["rows"]
    data = [{f.name: f.value() for f in row if f.value() not in (None, "", False)} for row in rows]
    again = client.post(address(), sent(*data, do="record", why="none"), follow=True)
    assert "Nothing differs" in again.content.decode()


def test_a_later_day_leaves_what_is_read_until_then(place):
    lead(place).post(address(), sent(WEAR, do="record", why="x", from_day=in_days(9).isoformat()))
    assert the_check().form == {}
    assert CheckVersion.objects.get(of=the_check(), number=2).form


def test_rows_are_added_moved_and_taken_out_by_buttons_and_nothing_typed_is_lost(place):
    client = lead(place)
    assert labels(client.post(address(), sent(WEAR, STATE, do="down-0"))) == ["Face", "Wear of the thread"]
    assert labels(client.post(address(), sent(WEAR, STATE, do="up-1"))) == ["Face", "Wear of the thread"]
    assert labels(client.post(address(), sent(WEAR, STATE, do="up-0"))) == ["Wear of the thread", "Face"]
    assert labels(client.post(address(), sent(WEAR, STATE, do="out-0"))) == ["Face"]
    answer = client.post(address(), sent(WEAR, do="add", why="typed"))
    assert labels(answer) == ["Wear of the thread", None]
    assert answer.context["when"]["why"].value() == "typed"
    assert the_check().form == {}


def test_a_shipped_form_is_taken_to_start_from_and_kept_to_the_letter(place):
    client = lead(place)
    answer = client.post(address(), sent(do="start", shipped="gas detector|calibration"))
    data = [
        {f.name: f.value() for f in row if f.value() not in (None, "", False)}
        for row in answer.context["rows"]
    ]
    client.post(address(), sent(*data, do="record", why="as shipped"))
    assert the_check().form["fields"] == shipped_form("gas detector", "calibration").as_json()["fields"]


def test_it_is_shown_as_the_bench_will_show_it(place):
    client = lead(place)
    text = client.post(address(), sent(WEAR, STATE, do="show")).content.decode()
    assert "Wear of the thread, mm" in text
    assert text.count('type="radio"') == 3
    assert "at the &lt;third&gt; turn" in text
    live = client.post(address(), sent(WEAR, do="show"), headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in live
    assert "Wear of the thread, mm" in live


@pytest.mark.parametrize(
    ("row", "field", "words"),
    [
        ({**WEAR, "label": ""}, "label", "no label"),
        ({**WEAR, "most": "much"}, "most", "is not a number"),
        ({**WEAR, "guard": "-1"}, "guard", "write 0 or more"),
        ({**WEAR, "wanted": "yes"}, "wanted", "means nothing for the kind number"),
        ({**STATE, "wanted": "whole"}, "wanted", "which it does not take"),
        ({**STATE, "choices": "sound"}, "choices", "fewer than two choices"),
        ({**STATE, "needed_if": "nothing"}, "needed_if", "names no answer"),
        ({**STATE, "needed_if": "other = yes"}, "needed_if", "stands before it"),
        ({**WEAR, "name": "Wear!"}, "name", "cannot name a field"),
        ({"label": "Ratio", "kind": "ratio"}, "measured", "needs two different numbers"),
    ],
)
def test_what_is_no_reading_is_said_at_its_field(place, row, field, words):
    answer = lead(place).post(address(), sent(row, do="record", why="x"))
    assert answer.status_code == 200
    errors = answer.context["rows"].forms[0].errors
    assert list(errors) == [field]
    assert words in errors[field][0]
    assert the_check().form == {}


def test_two_readings_of_one_name_are_said_at_the_second(place):
    answer = lead(place).post(
        address(), sent({**WEAR, "name": "a"}, {**STATE, "name": "a"}, do="record", why="x")
    )
    assert "Two fields are named" in answer.context["rows"].forms[1].errors["name"][0]


def test_taking_all_rows_out_leaves_a_plain_verdict(place):
    client = lead(place)
    client.post(address(), sent(WEAR, do="record", why="x"))
    client.post(address(), sent(do="record", why="y"))
    assert the_check().form == {}
    assert the_check().version == 3


def test_why_is_needed_and_others_may_not(place):
    answer = lead(place).post(address(), sent(WEAR, do="record"))
    assert answer.context["when"].errors["why"]
    assert seat(Role.EXAMINER, place.north).get(address()).status_code == 403
