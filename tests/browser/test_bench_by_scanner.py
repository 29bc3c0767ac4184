"""The bench as an examiner works it: scanner and keyboard only, every stroke counted.

A scanner is a keyboard: it types the code and sends Enter. One scan counts as one, a key typed by hand as one each.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from decimal import Decimal

import pytest
from playwright.sync_api import Page, expect

from inspections.actions import CheckSpec, Finding, record, set_checks
from inspections.models import Check, HoldRun, Inspection
from kit.models import Depot, Item, Kind, LedgerEntry, Role, State
from kit.stores import Who, acting, depot_named, found_register, receive
from tests.browser.conftest import PHONE
from tests.kit.views.yard import person

pytestmark = pytest.mark.django_db(transaction=True)

PUMPS = 44
MOST_STROKES = 8
WHO = Who("set.up", "test")


@pytest.fixture
def depot() -> Depot:
    """One depot with six bags never tested, a gauge in calibration, and a cage full of pumps of a plain check."""
    with acting(WHO) as act:
        found_register(act)
        made = depot_named(act, "North yard")
        kinds = {kind.name: kind for kind in Kind.objects.all()}
        set_checks(act, kinds["pump"], [CheckSpec("inspection", "P1Y", form={})])
        sizes = {"bore_min_mm": Decimal(150), "bore_max_mm": Decimal(180)}
        items = [Item(tag=f"NY-B{n}", kind=kinds["bag"], depot=made, **sizes) for n in range(1, 7)]
        items += [Item(tag=f"NY-P{n:02}", kind=kinds["pump"], depot=made) for n in range(1, PUMPS + 1)]
        receive(act, [*items, Item(tag="NY-G1", kind=kinds["gauge"], depot=made, serial="77")])
        calibration = Check.objects.get(kind=kinds["gauge"])
        gauge = Item.objects.get(tag="NY-G1")
        record(act, Finding(gauge, calibration, act.today - timedelta(days=9), "pass", by="lab"))
    return made


@pytest.fixture
def bench(open_page: Callable[..., Page], sign_in: Callable, depot: Depot) -> Callable[..., Page]:
    def seated(screen: dict[str, object] | None = None) -> Page:
        page = open_page(screen) if screen else open_page()
        sign_in(page, person(Role.EXAMINER, depot))
        return page

    return seated


class Hands:
    """Keys typed and scans made, counted."""

    def __init__(self, page: Page) -> None:
        self.page, self.strokes = page, 0

    def scan(self, code: str) -> None:
        self.page.keyboard.type(code)
        self.page.keyboard.press("Enter")
        self.strokes += 1

    def keys(self, text: str) -> None:
        for key in text:
            self.page.keyboard.press(key)
            self.strokes += 1

    def press(self, key: str) -> None:
        self.page.keyboard.press(key)
        self.strokes += 1


def put_clock_back(tag: str, minutes: float) -> None:
    run = HoldRun.objects.get(item__tag=tag)
    run.started_at -= timedelta(minutes=minutes)
    run.save()


def test_a_hold_test_takes_at_most_eight_strokes_after_the_bag_is_scanned(bench, assert_accessible) -> None:
    page = bench()
    page.goto("/inspections/bench/hold/")
    expect(page.locator("#scan-code")).to_be_focused()
    assert_accessible(page)
    Hands(page).scan("NY-B1")
    hands = Hands(page)  # counted from here
    expect(page.locator("#id_start_pressure")).to_be_focused()
    expect(page.locator("#id_start_pressure")).to_have_value("0.2")
    assert_accessible(page)
    hands.press("Enter")
    expect(page.get_by_role("timer")).to_contain_text("4:5")
    expect(page.locator("#scan-code")).to_be_focused()

    # The clock is the server's: after a reload, and five minutes later, it knows.
    page.reload()
    expect(page.get_by_role("timer")).to_contain_text("4:5")
    put_clock_back("NY-B1", 5)
    page.reload()
    expect(page.get_by_role("timer")).to_contain_text("Time is up")
    assert_accessible(page)
    # The only bag whose time is up has the focus already; a scan finds it in any case, and is counted.
    hands.scan("NY-B1")
    expect(page.get_by_label("End pressure")).to_be_focused()
    hands.keys("0.195")
    hands.press("Enter")
    expect(page.get_by_role("heading", name="pass NY-B1")).to_be_visible()
    assert_accessible(page)
    assert hands.strokes <= MOST_STROKES, f"{hands.strokes} strokes and scans"
    made = Inspection.objects.get(item__tag="NY-B1")
    assert (made.verdict, made.figures["drop"], made.gauge.tag) == ("pass", 0.005, "NY-G1")


def test_a_fail_offers_the_defect_tag_and_too_early_says_how_long(bench, assert_accessible) -> None:
    page = bench(PHONE)
    page.goto("/inspections/bench/hold/?code=NY-B2")
    expect(page.locator("#id_start_pressure")).to_be_focused()
    hands = Hands(page)
    hands.press("Enter")
    expect(page.get_by_role("timer")).to_be_visible()
    put_clock_back("NY-B2", 0.5)
    page.get_by_label("End pressure").fill("0.2")
    hands.press("Enter")
    expect(page.locator(".slot .field__errors")).to_contain_text("Wait another 4 min")
    assert_accessible(page)
    put_clock_back("NY-B2", 5)
    page.goto("/inspections/bench/hold/?code=NY-B2")
    expect(page.get_by_label("End pressure")).to_be_focused()
    hands.keys(".18")
    hands.press("Enter")
    expect(page.locator(".verdict")).to_contain_text("Tie a defect tag to it")
    expect(page.get_by_role("link", name="Defect tag")).to_be_visible()
    assert_accessible(page)
    assert Item.objects.get(tag="NY-B2").state == State.QUARANTINED


def test_the_clock_ends_on_the_screen_by_itself(bench) -> None:
    page = bench()
    page.goto("/inspections/bench/hold/?code=NY-B3")
    expect(page.locator("#id_start_pressure")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.get_by_role("timer")).to_be_visible()
    put_clock_back("NY-B3", 4 + 58 / 60)
    page.reload()
    expect(page.get_by_role("timer")).to_contain_text("Time is up: read the gauge")
    expect(page.locator("#announce")).to_contain_text("NY-B3: time is up")
    expect(page.get_by_label("End pressure")).to_be_focused()


def test_five_bags_side_by_side_by_scanner_alone(bench, assert_accessible) -> None:
    page = bench()
    page.goto("/inspections/bench/hold/")
    hands = Hands(page)
    for n in range(1, 6):
        hands.scan(f"NY-B{n}")
        expect(page.locator("#id_start_pressure")).to_be_focused()
        hands.press("Enter")
        expect(page.locator("[data-hold-left]")).to_have_count(n)
    assert_accessible(page)
    # The next bag is scanned while the field of a pressure has the focus: it is a scan all the same.
    put_clock_back("NY-B1", 6)
    page.goto("/inspections/bench/hold/?code=NY-B1")
    expect(page.get_by_label("End pressure").first).to_be_focused()
    hands.scan("NY-B4")
    expect(
        page.locator("#slot-" + str(HoldRun.objects.get(item__tag="NY-B4").pk)).get_by_label("End pressure")
    ).to_be_focused()
    assert not Inspection.objects.filter(item__tag="NY-B1").exists()


def test_forty_pieces_in_one_batch_without_a_mouse(bench, assert_accessible) -> None:
    page = bench()
    number = Check.objects.get(kind__name="pump").pk
    page.goto(f"/inspections/bench/batch/{number}/")
    hands = Hands(page)
    for n in range(1, PUMPS + 1):
        expect(page.locator("#scan-code")).to_be_focused()
        hands.scan(f"NY-P{n:02}")
        if n == 7:
            hands.scan("NY-B1")  # a bag among the pumps
        if n == 12:
            # The twelfth fails: the letter, then what was found, then on with the scanner.
            expect(page.locator("[data-batch-tag]")).to_have_count(12)
            hands.keys("f")
            hands.press("Enter")
            expect(page.get_by_label("What was found of NY-P12")).to_be_focused()
            page.keyboard.type("handle cracked")
            page.keyboard.press("Enter")
            expect(page.locator("#answers")).to_contain_text("handle cracked")
    expect(page.locator("[data-batch-tag]")).to_have_count(PUMPS)
    expect(page.locator("#refused")).to_contain_text("NY-B1 is a bag")
    assert_accessible(page)

    # One in the middle of the list by the arrow keys; it survives a reload.
    hands.press("ArrowDown")
    hands.keys("d")
    hands.press("Enter")
    expect(page.get_by_label(f"What was found of NY-P{PUMPS - 1}")).to_be_focused()
    page.keyboard.type("belt worn")
    page.keyboard.press("Enter")
    expect(page.locator("#answers")).to_contain_text("belt worn")
    page.reload()
    expect(page.locator("[data-batch-tag]")).to_have_count(PUMPS)
    before = LedgerEntry.objects.count()
    page.keyboard.press("Control+Enter")
    expect(page.locator("#messages")).to_contain_text(f"recorded of {PUMPS} pieces")
    expect(page.locator("#messages")).to_contain_text("Set aside: NY-P12")
    verdicts = dict(Inspection.objects.filter(check_done=number).values_list("item__tag", "verdict"))
    assert len(verdicts) == PUMPS
    assert {tag: verdict for tag, verdict in verdicts.items() if verdict != "pass"} == {
        "NY-P12": "fail",
        f"NY-P{PUMPS - 1}": "doubt",
    }
    moments = set(LedgerEntry.objects.filter(number__gt=before).values_list("recorded_at", flat=True))
    assert len(moments) == 1, "more than one act"
    assert_accessible(page)


def test_every_page_of_the_bench_at_both_widths(bench, screen, assert_accessible) -> None:
    page = bench(screen)
    with acting(WHO) as act:
        kind = Kind.objects.get(name="gas detector")
        gauges = Kind.objects.get(name="gauge")
        spec = CheckSpec(
            "calibration",
            "P1Y",
            method="calibration",
            unit="bar",
            accuracy_class=Decimal("1.6"),
            span=Decimal("0.6"),
            form={},
        )
        set_checks(act, gauges, [spec])
        receive(act, [Item(tag="NY-D1", kind=kind, depot=Depot.objects.get())])
    record_of_gauge = Inspection.objects.get(item__tag="NY-G1").pk
    batch = Check.objects.get(kind__name="pump").pk
    faults = []
    for path in (
        "/inspections/bench/",
        "/inspections/bench/?code=nix",
        "/inspections/bench/hold/?code=NY-B1",
        f"/inspections/bench/batch/{batch}/",
        "/inspections/calibration/NY-G1/",
        "/inspections/form/NY-D1/",
        "/inspections/hold-test/NY-B1/",
        f"/inspections/records/{record_of_gauge}/",
        "/inspections/attach/NY-B1/",
    ):
        answer = page.goto(path)
        assert answer is not None
        assert answer.status == 200, path
        wide = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        if wide > 0:
            faults.append(f"{path}: {wide} px wider than the screen")
        size = page.viewport_size
        height = page.evaluate("document.documentElement.scrollHeight")
        page.set_viewport_size({"width": size["width"], "height": height})
        try:
            assert_accessible(page)
        except AssertionError as found:
            faults.append(f"{path}: {found}")
        page.set_viewport_size(size)
    assert not faults, "\n".join(faults)
