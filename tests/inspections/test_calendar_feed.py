"""The calendar of due dates as a calendar program reads it: by its key, valid against RFC 5545, and complete."""

from __future__ import annotations

import re
from datetime import date, timedelta
from hashlib import sha256

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from inspections import wishes
from inspections.due_list import USE_BY, due_list
from inspections.feed import AHEAD_DAYS, BACK_DAYS
from inspections.models import FeedKey
from kit.models import Depot, Item, Membership
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db

LONG = "Prüfdruck nach Anstückeln, Rückgabe; Wechsel der Kappe und Überprüfung \\ Bögen, ausführlich"

ODD = "Ü-7; a, \\b:c"


@pytest.fixture
def yard() -> Yard:
    """Four gauges and a pump, one with a use-by date, and one never checked."""
    made = make_yard()
    for n in range(1, 5):
        made.receive(f"G-{n}", serial=str(n))
    made.receive("P-1", kind="pump", serial="1", use_by=made.today + timedelta(days=30))
    made.receive("P-2", kind="pump", serial="2", passed=False)
    return made


def key_of(yard: Yard, name: str = "cal") -> str:
    return wishes.make_key(yard.people[name], yard.holm, timezone.now())


def read(key: str, **headers: str):
    return Client(headers=headers).get(reverse("calendar", args=[key]))


def events(answer) -> list:
    assert answer.status_code == 200
    return Calendar.from_ical(answer.content).walk("VEVENT")


def told(found: list) -> set[tuple[str, str, date]]:
    """(tag, check, day) of all dated events, as a reader takes them from the summary and the description."""
    told = set()
    for event in found:
        summary = str(event["summary"])
        if "never done" in summary:
            continue
        check = (
            USE_BY if "use-by" in summary else re.fullmatch(r"(?:.*: )?(.+?) due(?:, \d+ items)?", summary)[1]
        )
        for line in str(event["description"]).split("\n\n")[0].splitlines():
            told.add((line.partition(": ")[0], check, event.decoded("dtstart")))
    return told


def listed(yard: Yard) -> set[tuple[str, str, date]]:
    first = yard.today - timedelta(days=BACK_DAYS)
    entries = due_list(yard.today, AHEAD_DAYS, [yard.holm.pk])
    return {(e.tag, e.check, e.due_on) for e in entries if e.due_on and e.due_on >= first}


def test_what_it_tells_is_the_due_list(yard):
    late = yard.receive("P-3", kind="pump", serial="3", passed=False)
    yard.inspect(late, "inspection", days_ago=365 + 40)
    found = events(read(key_of(yard)))
    assert len(listed(yard)) == 7
    assert told(found) == listed(yard)
    [never] = [event for event in found if "never done" in event["summary"]]
    assert never["summary"] == "1 check never done"
    assert never.decoded("dtstart") == yard.today
    assert str(never["description"]).startswith("P-2: pump, inspection\n")


def test_where_many_fall_due_of_one_check_on_one_day_one_event_tells_of_all(yard):
    for n in range(5, 12):
        yard.receive(f"G-{n}", serial=str(n))
    found = events(read(key_of(yard)))
    [many] = [event for event in found if "items" in event["summary"]]
    assert many["summary"] == "calibration due, 11 items"
    assert told(found) == listed(yard)
    assert "check=calibration" in many["url"]


def test_ten_of_one_check_on_one_day_are_ten_events(yard):
    for n in range(5, 11):
        yard.receive(f"G-{n}", serial=str(n))
    summaries = [str(event["summary"]) for event in events(read(key_of(yard)))]
    assert sorted(s for s in summaries if "calibration" in s) == sorted(
        f"G-{n}: calibration due" for n in range(1, 11)
    )


@pytest.mark.parametrize(("days_ago", "shown"), [(90, True), (91, False)])
def test_it_looks_ninety_days_back(yard, days_ago, shown):
    yard.receive("P-9", kind="pump", serial="9", use_by=yard.today - timedelta(days=days_ago))
    assert (
        any(tag == "P-9" and check == USE_BY for tag, check, _day in told(events(read(key_of(yard)))))
        is shown
    )


@pytest.mark.parametrize(("ahead", "shown"), [(400, True), (401, False)])
def test_it_looks_four_hundred_days_ahead(yard, ahead, shown):
    yard.receive("P-9", kind="pump", serial="9", use_by=yard.today + timedelta(days=ahead))
    assert (
        any(tag == "P-9" and check == USE_BY for tag, check, _day in told(events(read(key_of(yard)))))
        is shown
    )


def test_each_event_is_one_whole_day_whose_end_is_the_next(yard):
    """RFC 5545, 3.6.1: DTEND is not part of the event; 3.3.4: a DATE has no time."""
    raw = read(key_of(yard)).content
    assert (
        raw.count(b"DTSTART;VALUE=DATE:") == raw.count(b"DTEND;VALUE=DATE:") == raw.count(b"BEGIN:VEVENT") > 0
    )
    for event in Calendar.from_ical(raw).walk("VEVENT"):
        assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(days=1)
        assert event["transp"] == "TRANSPARENT"


def test_it_holds_what_rfc_5545_demands(yard):
    """3.1: CRLF ends each line, which has at most 75 octets and is folded between characters; 3.6, 3.6.1: what must
    be there, once."""
    yard.receive("P-7", kind="pump", serial="7", use_by=yard.today)
    Depot.objects.filter(pk=yard.holm.pk).update(name=LONG)
    answer = read(key_of(yard))
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    raw = answer.content
    assert raw.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    assert b"\r" not in raw.replace(b"\r\n", b"")
    lines = raw.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode("utf-8")
    calendar = Calendar.from_ical(raw)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    for event in calendar.walk("VEVENT"):
        for name in ("uid", "dtstamp", "dtstart", "summary"):
            assert not isinstance(event[name], list)
        assert not event.errors
        assert event.decoded("dtstamp").utcoffset() == timedelta(0)


def test_text_is_escaped_and_comes_back_as_it_was(yard):
    """RFC 5545, 3.3.11: backslash, semicolon, comma and the end of a line are escaped in TEXT."""
    yard.receive(ODD, kind="pump", serial="odd")
    Depot.objects.filter(pk=yard.holm.pk).update(name=LONG)
    raw = read(key_of(yard)).content
    unfolded = raw.decode().replace("\r\n ", "")
    [name] = [line for line in unfolded.split("\r\n") if line.startswith("NAME:")]
    escaped = LONG.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,")
    assert name == f"NAME:Due dates\\, {escaped}"
    assert "\\n\\nAs recorded." in unfolded
    [event] = [event for event in Calendar.from_ical(raw).walk("VEVENT") if ODD in event["summary"]]
    assert str(event["summary"]) == f"{ODD}: inspection due"
    assert str(event["description"]).startswith(f"{ODD}: pump, last done ")


def test_read_twice_it_is_the_same_and_each_event_has_its_own_lasting_name(yard):
    key = key_of(yard)
    first, second = read(key), read(key)
    assert first.content == second.content
    uids = [str(event["uid"]) for event in events(first)]
    assert len(set(uids)) == len(uids)
    # Another person's calendar of the same depot has the same events.
    assert [str(event["uid"]) for event in events(read(key_of(yard, "sal")))] == uids


def test_when_a_due_date_moves_the_same_event_moves(yard):
    def of_p2() -> dict[str, tuple[str, date]]:
        found = events(read(key))
        return {
            str(e["uid"]): (str(e["summary"]), e.decoded("dtstart")) for e in found if "P-2" in e["summary"]
        }

    key = key_of(yard)
    yard.inspect(Item.objects.get(tag="P-2"), "inspection", days_ago=300)
    before = of_p2()
    yard.inspect(Item.objects.get(tag="P-2"), "inspection", days_ago=0)
    after = of_p2()
    assert before.keys() == after.keys()
    [(_name, old)], [(_name, new)] = before.values(), after.values()
    assert new > old


def test_a_program_that_has_it_already_is_told_so(yard):
    key = key_of(yard)
    first = read(key)
    assert "private" in first["Cache-Control"]
    for headers in (
        {"If-None-Match": first["ETag"]},
        {"If-Modified-Since": first["Last-Modified"]},
    ):
        again = read(key, **headers)
        assert again.status_code == 304
        assert not again.content
        assert again["ETag"] == first["ETag"]
    yard.inspect(Item.objects.get(tag="P-2"), "inspection")
    anew = read(key, **{"If-None-Match": first["ETag"]})
    assert anew.status_code == 200
    assert anew["ETag"] != first["ETag"]


def test_only_the_hash_of_a_key_is_kept(yard):
    key = key_of(yard)
    assert len(key) == 43  # 32 bytes in base64url without padding (RFC 4648, 5)
    found = FeedKey.objects.get()
    assert found.key_hash == sha256(key.encode()).hexdigest()
    assert key not in {str(value) for value in vars(found).values()}


def test_a_wrong_or_revoked_key_finds_nothing(yard):
    key = key_of(yard)
    assert read(key[:-1] + ("A" if key[-1] != "A" else "B")).status_code == 404
    assert read(FeedKey.objects.get().key_hash).status_code == 404
    newer = key_of(yard)
    assert read(key).status_code == 404
    assert read(newer).status_code == 200
    wishes.revoke_key(yard.people["cal"], yard.holm)
    assert read(newer).status_code == 404


def test_who_has_no_role_there_any_more_or_has_left_reads_nothing(yard):
    key = key_of(yard)
    person = yard.people["cal"]
    person.is_active = False
    person.save()
    assert read(key).status_code == 404
    person.is_active = True
    person.save()
    assert read(key).status_code == 200
    Membership.objects.filter(user=person).delete()
    assert read(key).status_code == 404


def test_it_tells_of_its_own_depot_only(yard):
    yard.receive("W-1", kind="pump", serial="w", depot=yard.weir)
    assert "W-1" not in {tag for tag, _check, _day in told(events(read(key_of(yard))))}


def test_it_is_read_without_signing_in_and_never_written_to(yard):
    key = key_of(yard)
    assert read(key).status_code == 200
    assert not read(key).cookies
    assert Client().head(reverse("calendar", args=[key])).status_code == 200
    assert Client().post(reverse("calendar", args=[key])).status_code == 405


def test_the_last_reading_is_noted_at_most_hourly(yard):
    key = key_of(yard)
    assert FeedKey.objects.get().last_read_at is None
    read(key)
    first = FeedKey.objects.get().last_read_at
    assert first is not None
    read(key)
    assert FeedKey.objects.get().last_read_at == first
    FeedKey.objects.update(last_read_at=first - timedelta(minutes=61))
    read(key)
    assert FeedKey.objects.get().last_read_at >= first


def test_each_event_leads_to_its_page_with_a_full_address(yard):
    urls = {str(event["summary"]): str(event["url"]) for event in events(read(key_of(yard)))}
    assert urls["G-1: calibration due"] == "http://testserver/items/G-1/"
