"""The calendar of a crew as a diary reads it: by its key, valid against RFC 5545, one lasting event a job."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import vobject
from django.contrib.auth.models import User
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from kit import calendar_keys
from kit.crew_feed import AHEAD_DAYS, BACK_DAYS
from kit.models import CrewCalendarKey, Depot, Job, LedgerEntry, Membership, Role
from kit.stores import acting, cancel_job, change_job, plan_job, reserve
from tests.kit.views.yard import STORES, Yard, in_days, job_of, person, seat, yard

pytestmark = pytest.mark.django_db

ODD = "Prüfstelle; Bögen, Ecke \\ Mühle, hinter dem Lager am Wasserwerk und dann noch ein ganzes Stück weiter"


@pytest.fixture
def place() -> Yard:
    """The yard's job without a crew, and two of Crew Breck; one has all its kit reserved, of the other nothing is."""
    made = yard(bags=5)
    with acting(STORES) as act:
        for reference, load, back in (("J-a", 3, 5), ("J-b", 30, 30)):
            job = job_of(made.north, made.arrangement, reference, load, back)
            job.crew = "Crew Breck"
            plan_job(act, job)
        reserve(act, Job.objects.get(reference="J-a"))
    return made


def key_for(place: Yard, crew: str = "Crew Breck", role: str = Role.CREW) -> str:
    return calendar_keys.make_key(person(role, place.north), place.north, crew, timezone.now())


def read(key: str, **headers: str):
    return Client(headers=headers).get(reverse("crew_calendar", args=[key]))


def events(key: str) -> dict[str, object]:
    answer = read(key)
    assert answer.status_code == 200
    found = Calendar.from_ical(answer.content).walk("VEVENT")
    return {str(event["summary"]).partition(":")[0]: event for event in found}


def fresh(reference: str) -> Job:
    return Job.objects.select_related("depot", "arrangement").get(reference=reference)


def test_a_crew_has_its_own_jobs_and_the_key_of_all_crews_has_all(place):
    assert set(events(key_for(place))) == {"J-a", "J-b"}
    assert set(events(key_for(place, crew=""))) == {"J-a", "J-b", "J/26-104"}


def test_an_event_runs_from_loading_to_return_and_its_end_is_the_day_after(place):
    """RFC 5545, 3.6.1: DTEND is not part of the event; 3.3.4: a DATE has no time."""
    found = events(key_for(place))
    first = found["J-a"]
    assert first.decoded("dtstart") == in_days(3)
    assert first.decoded("dtend") == in_days(5) + timedelta(days=1)
    one_day = found["J-b"]
    assert one_day.decoded("dtend") - one_day.decoded("dtstart") == timedelta(days=1)
    raw = read(key_for(place)).content
    assert raw.count(b"DTSTART;VALUE=DATE:") == raw.count(b"DTEND;VALUE=DATE:") == 2


def test_the_state_of_the_kit_a_link_and_no_person(place):
    found = events(key_for(place))
    told = str(found["J-a"]["description"])
    assert "Kit: complete, 12 promised." in told
    assert "network operator's procedure" in told
    assert "Kit: short of 12 in 12." in str(found["J-b"]["description"])
    assert str(found["J-a"]["url"]).endswith(reverse("job", args=["J-a"]))
    everything = read(key_for(place)).content.decode()
    for user in User.objects.all():
        assert user.username not in everything
    assert "ORGANIZER" not in everything
    assert "ATTENDEE" not in everything


def test_a_job_that_moves_is_the_same_event_with_a_higher_sequence(place):
    key = key_for(place)
    before = events(key)["J-a"]
    with acting(STORES) as act:
        change_job(act, fresh("J-a"), load_on=in_days(4), return_on=in_days(6))
    after = events(key)["J-a"]
    assert str(after["uid"]) == str(before["uid"])
    assert after["sequence"] > before["sequence"]
    assert after["sequence"] == fresh("J-a").revision
    assert after.decoded("dtstart") == in_days(4)
    uids = [str(event["uid"]) for event in events(key_for(place, crew="")).values()]
    assert len(set(uids)) == 3


@pytest.mark.parametrize("reference", ["J-a", "J-b"])
def test_a_cancelled_job_is_struck_out_and_counts_as_a_change(place, reference):
    """RFC 5545, 3.8.1.11 and 3.8.7.4."""
    key = key_for(place)
    before = events(key)[reference]
    assert str(before["status"]) == "CONFIRMED"
    with acting(STORES) as act:
        cancel_job(act, fresh(reference), "the main was renewed")
    after = events(key)[reference]
    assert str(after["status"]) == "CANCELLED"
    assert after["sequence"] > before["sequence"]
    assert str(after["uid"]) == str(before["uid"])


@pytest.mark.parametrize(
    ("load", "back", "shown"),
    [
        (-BACK_DAYS - 5, -BACK_DAYS, True),
        (-BACK_DAYS - 5, -BACK_DAYS - 1, False),
        (AHEAD_DAYS, AHEAD_DAYS + 3, True),
        (AHEAD_DAYS + 1, AHEAD_DAYS + 3, False),
    ],
)
def test_it_looks_so_far_back_and_ahead(place, load, back, shown):
    with acting(STORES) as act:
        job = job_of(place.north, place.arrangement, "J-edge", load, back)
        job.crew = "Crew Breck"
        plan_job(act, job)
    assert ("J-edge" in events(key_for(place))) is shown


def test_it_holds_what_rfc_5545_demands(place):
    """3.1: CRLF ends each line of at most 75 octets, folded between characters; 3.6, 3.6.1: what has to be there."""
    with acting(STORES) as act:
        change_job(act, fresh("J-a"), site=ODD)
    answer = read(key_for(place))
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    raw = answer.content
    assert raw.endswith(b"END:VCALENDAR\r\n")
    assert b"\n" not in raw.replace(b"\r\n", b"")
    lines = raw.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert any(line.startswith(b" ") for line in lines)
    for line in lines:
        line.decode("utf-8")
    calendar = Calendar.from_ical(raw)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    for event in calendar.walk("VEVENT"):
        for name in ("uid", "dtstamp", "dtstart", "dtend", "summary", "sequence", "status"):
            assert not isinstance(event[name], list)
        assert not event.errors
        assert event.decoded("dtstamp").utcoffset() == timedelta(0)


def test_a_second_parser_reads_the_same(place):
    """vobject is an implementation of RFC 5545 of its own; `validate` asks for what a component must have."""
    with acting(STORES) as act:
        change_job(act, fresh("J-a"), site=ODD)
        cancel_job(act, fresh("J-b"), "the main was renewed")
    calendar = vobject.readOne(read(key_for(place)).content.decode())
    assert calendar.validate(raiseException=True)
    found = {event.summary.value.partition(":")[0]: event for event in calendar.vevent_list}
    assert set(found) == {"J-a", "J-b"}
    for event in found.values():
        assert event.validate(raiseException=True)
    assert found["J-a"].location.value == ODD
    assert found["J-a"].dtstart.value == in_days(3)
    assert found["J-a"].dtend.value == in_days(6)
    assert found["J-b"].status.value == "CANCELLED"
    assert int(found["J-a"].sequence.value) == fresh("J-a").revision


def test_read_twice_it_is_the_same_and_unchanged_is_not_sent_again(place):
    key = key_for(place)
    first, second = read(key), read(key)
    assert first.content == second.content
    again = read(key, **{"If-None-Match": first["ETag"]})
    assert again.status_code == 304
    assert first["Cache-Control"] == "private, no-cache"


def test_only_the_hash_is_kept_and_a_new_key_ends_the_old(place):
    first = key_for(place)
    kept = CrewCalendarKey.objects.get()
    assert first not in (kept.key_hash, str(kept))
    assert kept.key_hash == calendar_keys.hash_of(first)
    second = key_for(place)
    assert read(first).status_code == 404
    assert read(second).status_code == 200
    assert CrewCalendarKey.objects.count() == 1


def test_a_key_of_nobody_or_of_somebody_who_left_opens_nothing(place):
    key = key_for(place)
    assert read("x" * 43).status_code == 404
    User.objects.filter(username="the.crew").update(is_active=False)
    assert read(key).status_code == 404
    User.objects.filter(username="the.crew").update(is_active=True)
    assert read(key).status_code == 200
    Membership.objects.filter(user__username="the.crew").delete()
    assert read(key).status_code == 404


def test_reading_is_noted_once_an_hour_and_the_ledger_tells_of_none_of_it(place):
    key = key_for(place)
    entries = LedgerEntry.objects.count()
    assert CrewCalendarKey.objects.get().last_read_at is None
    read(key)
    first = CrewCalendarKey.objects.get().last_read_at
    assert first is not None
    read(key)
    assert CrewCalendarKey.objects.get().last_read_at == first
    CrewCalendarKey.objects.update(last_read_at=first - timedelta(hours=2))
    read(key)
    assert CrewCalendarKey.objects.get().last_read_at > first - timedelta(hours=1)
    assert LedgerEntry.objects.count() == entries


def test_keys_are_made_and_revoked_on_screen(place):
    client = seat(Role.CREW, place.north)
    page = client.post(reverse("crew_calendars"), {"do": "make", "crew": "Crew Breck"}).content.decode()
    [address] = re.findall(r'value="http://testserver(/crews/[^"]+\.ics)"', page)
    assert Client().get(address).status_code == 200
    page = client.get(reverse("crew_calendars"))
    assert address not in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert "last read" in page.content.decode()
    client.post(reverse("crew_calendars"), {"do": "revoke", "crew": "Crew Breck"})
    assert Client().get(address).status_code == 404
    assert not CrewCalendarKey.objects.exists()


def test_no_crew_that_is_not_there_and_no_key_of_another_depot(place):
    client = seat(Role.CREW, place.north)
    assert client.post(reverse("crew_calendars"), {"do": "make", "crew": "Nobody"}).status_code == 404
    assert client.post(reverse("crew_calendars"), {"do": "dance", "crew": ""}).status_code == 404
    other = Depot.objects.get(code="MB")
    calendar_keys.make_key(User.objects.get(username="the.crew"), other, "Crew Breck", timezone.now())
    key = CrewCalendarKey.objects.get()
    client.post(reverse("crew_calendars"), {"do": "revoke", "crew": "Crew Breck"})
    assert CrewCalendarKey.objects.get() == key


def test_the_list_of_jobs_is_narrowed_to_a_crew(place):
    client = seat(Role.PLANNER, place.north)
    page = client.get(reverse("jobs"), {"crew": "Crew Breck"}).content.decode()
    assert "J-a" in page
    assert "J/26-104" not in page
