"""The last acts of the counter are undone by a further entry: by whom, for how long, and when they stand."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from kit.models import Custody, Deed, Item, Job, JobState, LedgerEntry, Reservation, Role, Standing
from kit.papers.store_notes import issue_note_of
from kit.stores import COUNTER, NotAllowed, Who, acting, quarantine, undo
from tests.kit.views.holm import Yard

pytestmark = pytest.mark.usefixtures("ledger_holds")


@pytest.fixture
def job(yard: Yard) -> Job:
    """J-1 wants two gauges and four seals; G-1, G-2 and SEAL-7 are promised."""
    for tag in ("G-1", "G-2"):
        yard.receive(tag)
    yard.receive("SEAL-7", kind="seal", quantity=10)
    job = yard.plan("J-1", yard.arrangement("small", [("gauges", "gauge", 2), ("seals", "seal", 4)]))
    yard.reserve(job)
    return job


def scan(yard: Yard, *codes: str) -> None:
    for code in codes:
        page = yard.htmx("sal").post(reverse("issue_scan", args=["J-1"]), {"code": code}).content.decode()
        assert "notice--done" in page


def leave(yard: Yard, why: str = "") -> None:
    yard.client("sal").post(reverse("issue_finish", args=["J-1"]), {"why_short": why})


def come_back(yard: Yard, tag: str, outcome: str, **more: str) -> None:
    row = Reservation.objects.get(item__tag=tag, standing=Standing.ISSUED)
    yard.client("sal").post(reverse("take_back_one", args=[row.pk]), {"outcome": outcome, **more})


def last(deed: Deed) -> LedgerEntry:
    return LedgerEntry.objects.filter(deed=deed).order_by("-number")[0]


def press(yard: Yard, entry: LedgerEntry, who: str = "sal") -> str:
    answer = yard.client(who).post(reverse("counter_undo", args=[entry.number]), follow=True)
    return answer.content.decode()


def state_of(tag: str) -> tuple[str, str, int]:
    row = Reservation.objects.filter(item__tag=tag).order_by("-pk")[0]
    item = Item.objects.get(tag=tag)
    return row.standing, item.custody, item.quantity


def test_an_issue_is_put_back_by_an_entry_that_points_at_it(yard: Yard, job: Job):
    before = {tag: state_of(tag) for tag in ("G-1", "SEAL-7")}
    scan(yard, "G-1", "SEAL-7")
    assert state_of("SEAL-7") == (Standing.ISSUED, Custody.STORE, 6)
    entries = list(LedgerEntry.objects.filter(deed=Deed.ISSUED).order_by("number"))
    for entry in reversed(entries):
        assert "Undone:" in press(yard, entry)
    assert {tag: state_of(tag) for tag in before} == before
    assert [undone.corrects_id for undone in LedgerEntry.objects.filter(deed=Deed.UNDONE)] == [
        entry.number for entry in reversed(entries)
    ]
    assert "undone already" in press(yard, entries[0])
    scan(yard, "G-1")


def test_the_issue_note_does_not_tell_of_what_was_undone(yard: Yard, job: Job):
    scan(yard, "G-1", "G-2")
    press(yard, last(Deed.ISSUED))
    assert [piece.tag for piece in issue_note_of(job).pieces] == ["G-1"]


def test_a_piece_that_nobody_had_promised_is_nobodys_again(yard: Yard):
    job = yard.plan("J-1", yard.arrangement("small", [("gauges", "gauge", 2)]))
    yard.receive("G-9")
    scan(yard, "G-9")
    press(yard, last(Deed.ISSUED))
    assert state_of("G-9") == (Standing.RELEASED, Custody.STORE, 1)
    assert not job.reservations.holding().exists()


def test_a_van_that_has_not_left_after_all_and_then_its_piece(yard: Yard, job: Job):
    scan(yard, "G-1", "G-2", "SEAL-7")
    piece = last(Deed.ISSUED)
    leave(yard)
    assert "Undo that first if the van is still here" in press(yard, piece)
    assert "is open again" in press(yard, last(Deed.ISSUED))
    assert Job.objects.get().state == JobState.PLANNED
    assert "Undone:" in press(yard, piece)
    assert state_of("SEAL-7") == (Standing.PROMISED, Custody.STORE, 10)


def test_a_return_is_put_back_and_its_job_with_it(yard: Yard, job: Job):
    scan(yard, "G-1", "SEAL-7")
    leave(yard, "one side only, says Pat")
    come_back(yard, "SEAL-7", "unused", quantity="3")
    come_back(yard, "G-1", "unused")
    assert Job.objects.get().state == JobState.CLOSED
    gauge = next(
        e for e in LedgerEntry.objects.filter(deed=Deed.TAKEN_BACK).order_by("-number") if "G-1" in e.body
    )
    assert "G-1 is still out on J-1" in press(yard, gauge)
    assert Job.objects.get().state == JobState.OUT
    assert state_of("G-1") == (Standing.ISSUED, Custody.ON_SITE, 1)
    lot = LedgerEntry.objects.filter(deed=Deed.TAKEN_BACK, mentions__about="item:SEAL-7").get()
    press(yard, lot)
    assert state_of("SEAL-7") == (Standing.ISSUED, Custody.STORE, 6)


@pytest.mark.parametrize(
    ("outcome", "said"),
    [("used", "only a check answers it"), ("damaged", "looked at and released"), ("missing", "found again")],
)
def test_what_others_rely_on_at_once_stands(yard: Yard, job: Job, outcome: str, said: str):
    scan(yard, "G-1", "G-2")
    leave(yard, "no seals, says Pat")
    come_back(yard, "G-1", outcome, why="needle bent")
    entry = LedgerEntry.objects.filter(deed=Deed.TAKEN_BACK, mentions__about="item:G-1").get()
    assert said in press(yard, entry)
    assert state_of("G-1")[0] == Standing.RETURNED
    assert not LedgerEntry.objects.filter(deed=Deed.UNDONE).exists()


def test_it_stands_once_something_else_has_become_of_the_piece(yard: Yard, job: Job):
    scan(yard, "G-1")
    entry = last(Deed.ISSUED)
    yard.do(quarantine, Item.objects.get(tag="G-1"), "reported from site", who="cal")
    page = press(yard, entry)
    assert "Something else has become of G-1 since: quarantined, by cal" in page
    assert state_of("G-1")[:2] == (Standing.ISSUED, Custody.ON_SITE)


def test_it_stands_after_some_minutes(yard: Yard, job: Job, settings, monkeypatch):
    scan(yard, "G-1")
    entry = last(Deed.ISSUED)
    later = timezone.now() + timedelta(minutes=settings.COUNTER_UNDO_MINUTES, seconds=1)
    with acting(Who("sal", COUNTER)) as act:
        act.now = later
        with pytest.raises(NotAllowed, match="more than 10 minutes ago"):
            undo(act, entry.number)
        act.now = later - timedelta(seconds=2)
        undo(act, entry.number)


def test_whoever_did_it_or_a_stores_person_of_the_depot_undoes_it(yard: Yard, job: Job):
    scan(yard, "G-1", "G-2")
    entry = last(Deed.ISSUED)
    for name in ("cal", "pat", "eve", "lee"):
        assert yard.client(name).post(reverse("counter_undo", args=[entry.number])).status_code == 403
    assert yard.client("wyn").post(reverse("counter_undo", args=[entry.number])).status_code == 404
    assert yard.client("sal").get(reverse("counter_undo", args=[entry.number])).status_code == 405
    yard.appoint("kit", yard.holm, Role.STORES)
    assert "Undone:" in press(yard, entry, who="kit")


def test_no_other_entry_is_undone(yard: Yard, job: Job):
    received = last(Deed.RECEIVED)
    assert yard.client("sal").post(reverse("counter_undo", args=[received.number])).status_code == 404


def test_the_counter_lists_what_may_be_undone(yard: Yard, job: Job, settings):
    scan(yard, "G-1")
    url = reverse("counter_undo", args=[last(Deed.ISSUED).number])
    for page in (reverse("counter"), reverse("issue", args=["J-1"])):
        assert url in yard.client("sal").get(page).content.decode()
    settings.COUNTER_UNDO_MINUTES = 0
    assert url not in yard.client("sal").get(reverse("counter")).content.decode()
