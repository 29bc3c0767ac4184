"""The compliance lead sets the checks of a kind: first what a change brings is shown, then it is made."""

from __future__ import annotations

import io

import openpyxl
import pytest
from django.urls import reverse

from inspections.actions import CheckSpec, set_checks
from inspections.models import EVER, Check, CheckVersion, Inspection
from kit.models import Deed, LedgerEntry, Reservation, Role, Standing
from kit.stores import acting, prove_ledger, reserve
from tests.kit.views.yard import EVERY_ROLE, STORES, Yard, in_days, kind, seat, yard

pytestmark = pytest.mark.django_db

WHY = {"why": "two bags leaked"}


@pytest.fixture
def place() -> Yard:
    return yard()


def the_check(name: str = "hold test") -> Check:
    return Check.objects.get(kind=kind("bag"), name=name)


def page() -> str:
    return reverse("kind_checks", args=[kind("bag").pk])


def change_page(name: str = "hold test") -> str:
    return reverse("change_check", args=[kind("bag").pk, the_check(name).pk])


def new_page() -> str:
    return reverse("new_check", args=[kind("bag").pk])


def typed(client, address: str, do: str = "show", **other: object) -> dict[str, object]:
    """What the form sends as it opens, with these fields typed over; None leaves a tick box empty."""
    rule = client.get(address).context["rule"]
    data = {field.name: field.value() for field in rule if field.value() not in (None, False)}
    data |= {"what": "change", "do": do, **WHY, **other}
    return {name: value for name, value in data.items() if value is not None}


def lead(place: Yard):
    return seat(Role.COMPLIANCE, place.north)


def in_force() -> dict[str, tuple[object, ...]]:
    rows = Check.objects.in_force().filter(kind=kind("bag"))
    return {c.name: (c.interval, c.basis, c.early_days, c.gates, c.after_use, c.source) for c in rows}


def test_what_a_change_brings_is_shown_before_it_is_made(place):
    with acting(STORES) as act:
        reserve(act, place.job)
    client = lead(place)
    before, entries = in_force(), LedgerEntry.objects.count()
    answer = client.post(change_page(), typed(client, change_page(), interval="p7d"))
    counts = {words: number for number, words in answer.context["counts"]}
    assert counts["items no longer in fettle"] == 6
    assert counts["checks due at once"] == 6
    assert counts["promises that would break"] == 4
    text = answer.content.decode()
    assert "every 7 days from the day done" in text
    assert "instead of every 6 months" in text
    assert "NY-B1" in text
    assert "J/26-104" in text
    assert (in_force(), LedgerEntry.objects.count()) == (before, entries)


def test_it_is_made_from_what_was_shown_and_says_what_broke(place):
    with acting(STORES) as act:
        reserve(act, place.job)
    client = lead(place)
    verdicts = list(Inspection.objects.values_list("pk", "verdict", "done_on"))
    shown = client.post(change_page(), typed(client, change_page(), interval="P14D", source="procedure 12"))
    sent = dict(shown.context["typed"]) | {"do": "apply"}
    answer = client.post(change_page(), sent, follow=True)
    said = [str(message) for message in answer.context["messages"]]
    # Tested ten days ago and due every fortnight: in four days, before the return of the job.
    assert place.item("NY-B1").fit_until == in_days(4)
    assert sum("no longer holds for J/26-104" in text for text in said) == 4
    assert in_force() == {"hold test": ("P14D", "done", 0, True, True, "procedure 12")}
    assert list(Inspection.objects.values_list("pk", "verdict", "done_on")) == verdicts
    version = CheckVersion.objects.get(of=the_check(), number=2)
    assert (version.why, version.made_by) == ("two bags leaked", "the.compliance")
    entry = LedgerEntry.objects.filter(deed=Deed.RULED).latest("number")
    assert entry.actor == "the.compliance"
    assert prove_ledger().fault is None


def test_the_items_are_written_out_before_the_change_is_made(place):
    client = lead(place)
    answer = client.post(change_page(), typed(client, change_page(), do="sheet", interval="P7D"))
    book = openpyxl.load_workbook(io.BytesIO(answer.content))
    rows = list(book.worksheets[1].iter_rows(values_only=True))
    assert [row[0] for row in rows[1:]] == ["NY-B1", "NY-B2", "NY-B3", "NY-B4", "NY-B5", "NY-B9"]
    assert rows[1][4] == "no longer in fettle"
    assert in_force()["hold test"][0] == "P6M"


def test_back_to_the_rule_keeps_what_was_typed(place):
    client = lead(place)
    answer = client.post(change_page(), typed(client, change_page(), do="edit", interval="P7D"))
    assert answer.context["rule"]["interval"].value() == "P7D"
    assert answer.context["when"]["why"].value() == WHY["why"]


def test_a_change_from_a_later_day_waits_and_is_shown_as_to_come(place):
    client = lead(place)
    data = typed(client, change_page(), do="apply", interval="P14D", from_day=in_days(30).isoformat())
    text = client.post(change_page(), data, follow=True).content.decode()
    assert in_force()["hold test"][0] == "P6M"
    assert "version 2 holds, set by the.compliance. two bags leaked" in text
    assert "comes into force on" in client.get(change_page()).content.decode()


def test_a_new_gating_check_says_what_was_never_done(place):
    client = lead(place)
    data = typed(client, new_page(), name="visual", interval="P1Y")
    counts = {words: number for number, words in client.post(new_page(), data).context["counts"]}
    assert counts["checks never done so far"] == 6
    client.post(new_page(), data | {"do": "apply", "after_use": "on"})
    assert in_force()["visual"] == ("P1Y", "done", 0, True, True, "")
    assert in_force()["hold test"][0] == "P6M", "what is not named stays"


def test_what_is_asked_for_no_more_keeps_its_records_and_may_be_asked_for_again(place):
    client = lead(place)
    records = Inspection.objects.filter(check_done=the_check()).count()
    drop = {"what": "drop", "do": "show", **WHY}
    shown = client.post(change_page(), drop)
    assert "no more" in shown.content.decode()
    text = client.post(change_page(), drop | {"do": "apply"}, follow=True).content.decode()
    assert in_force() == {}
    assert "Asked for no more" in text
    assert Inspection.objects.filter(check_done=the_check()).count() == records
    client.post(change_page(), typed(client, change_page(), do="apply"))
    assert in_force()["hold test"][0] == "P6M"
    assert place.item("NY-B1").fit_until is not None
    assert prove_ledger().fault is None


def test_dropping_a_check_needs_a_reason(place):
    answer = lead(place).post(change_page(), {"what": "drop", "do": "apply", "why": ""})
    assert answer.context["drop"].errors["why"]
    assert "hold test" in in_force()


def test_all_of_a_rule_is_set_and_stands_in_words(place):
    client = lead(place)
    data = typed(
        client,
        change_page(),
        do="apply",
        after_uses="5",
        after_repair="on",
        after_storage="P3M",
        method="hold test",
        unit="bar",
        max_pressure="0,2",
        max_drop="0.0100",
        hold_minutes="5",
        guard="0.001",
        psi_max_pressure="3",
        psi_max_drop="0.15",
        maker="Anvil & Sons",
        done_by=Role.EXAMINER,
        concession_days="7",
        procedure="HT 4 issue 2",
    )
    client.post(change_page(), data)
    check = the_check()
    assert (check.after_uses, check.after_repair, check.after_storage) == (5, True, "P3M")
    assert str(check.max_pressure.normalize()) == "0.2"
    assert check.other_limits == {"psi": {"max_pressure": "3", "max_drop": "0.15"}}
    text = client.get(page()).content.decode()
    for words in (
        "5 uses, a repair, 3 months in store without use",
        "hold test: at most 0.2 bar, held 5 minutes, drop at most 0.01 bar, guard 0.001 bar: within it is a doubt",
        "at most 3 psi, drop at most 0.15 psi",
        "maker Anvil &amp; Sons",
        "Examiner",
        "HT 4 issue 2",
        "7 days",
    ):
        assert words in text, words
    # The form shows the rule as it is, so sent back it changes nothing.
    answer = client.post(change_page(), typed(client, change_page(), do="apply"), follow=True)
    assert "Nothing differs" in answer.content.decode()


@pytest.mark.parametrize(
    ("field", "value", "words"),
    [
        ("interval", "PT8H", "fall due by the day"),
        ("interval", "6 months", "is not an interval"),
        ("interval", "P0D", "every moment"),
        ("interval", "", "Say how often it is due"),
        ("after_storage", "soon", "is not an interval"),
        ("early_days", "5", "nothing can be early"),
        ("grace_days", "5", "past its gate does not go out"),
        ("basis", "moon", "not one of the available choices"),
        ("method", "hold test", "The verdict is computed from it"),
        ("max_drop", "-1", "0 or more"),
        ("max_drop", "0.0000001", "decimal places"),
        ("span", "0", "judged against 0"),
        ("unit", "psi", "in this unit already"),
        ("from_day", "2020-01-01", "This day is past"),
        ("why", "", "This field is required"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field_and_kept(place, field, value, words):
    client = lead(place)
    before = in_force()
    data = typed(
        client, change_page(), do="apply", source="typed words", **{"psi_guard": "0.1", field: value}
    )
    text = client.post(change_page(), data).content.decode()
    assert words in text
    assert "typed words" in text
    assert in_force() == before


@pytest.mark.parametrize(
    ("name", "words"),
    [("", "This field is required"), ("Use-By", "name of the use-by date"), ("HOLD TEST", "already: change")],
)
def test_a_new_check_needs_a_name_of_its_own(place, name, words):
    client = lead(place)
    text = client.post(new_page(), typed(client, new_page(), do="apply", name=name, interval="P1Y")).content
    assert words in text.decode()
    assert list(in_force()) == ["hold test"]


def test_the_form_sent_back_as_it_came_changes_nothing(place):
    client = lead(place)
    before, entries = in_force(), LedgerEntry.objects.count()
    assert "Nothing differs" in client.post(change_page(), typed(client, change_page())).content.decode()
    answer = client.post(change_page(), typed(client, change_page(), do="apply"), follow=True)
    assert "Nothing differs" in answer.content.decode()
    assert (in_force(), LedgerEntry.objects.count()) == (before, entries)


def test_versions_say_from_when_by_whom_and_what_differs(place):
    with acting(STORES) as act:
        set_checks(act, kind("bag"), [CheckSpec("hold test", "P3M")], why="hot summer")
    versions = lead(place).get(page()).context["in_force"][0].versions
    assert [(row.version.number, row.since) for row in versions][1] == (1, "ever")
    assert versions[1].version.in_force_from == EVER
    assert versions[0].differs == [
        ("Due", "every 6 months from the day done", "every 3 months from the day done")
    ]


@pytest.mark.parametrize("role", [role for role in EVERY_ROLE if role != Role.COMPLIANCE])
def test_others_read_the_checks_and_do_not_set_them(place, role):
    client = seat(role, place.north)
    text = client.get(page()).content.decode()
    assert "every 6 months" in text
    assert "Change the rule" not in text
    assert client.get(change_page()).status_code == 403
    assert client.post(change_page(), {"what": "drop", "do": "apply", **WHY}).status_code == 403
    assert "hold test" in in_force()
    assert not Reservation.objects.filter(standing=Standing.BROKEN).exists()
