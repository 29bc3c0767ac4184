"""A kit of 28 pieces goes out by scanner and keyboard alone, in under a minute of a person's time.

The minute is not taken on a clock: it would measure this machine. What a person does is counted, and each action costs
what a model says. Keys and thinking are the operators of the keystroke-level model (Card, Moran and Newell, "The
keystroke-level model for user performance time with interactive systems", Communications of the ACM 23, 1980; figures
from memory): K, a key of a skilled typist, 0.2 s; M, a mental act such as reading an answer, 1.35 s. P, taken for
laying a refused piece aside, 1.1 s. A scan by hand (take the piece, aim, beep) is 1.5 s: common practice, no source.
The page must not add to that: right pieces are scanned one after another without waiting for an answer to any.
"""

from __future__ import annotations

from collections.abc import Callable

import pytest
from playwright.sync_api import Page, expect

from kit.models import Item, Job, JobState, Reservation, Standing
from kit.stores import issue_piece, prove_ledger
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db(transaction=True)

KEY, MENTAL, LAY_ASIDE, SCAN = 0.2, 1.35, 1.1, 1.5
PIECES = 28


class Person:
    """Has a scanner and a keyboard and no mouse; counts what is done and what it costs in seconds."""

    def __init__(self, page: Page) -> None:
        self.page, self.seconds, self.scans, self.keys = page, 0.0, 0, 0

    def scan(self, code: str) -> None:
        # A wedge scanner is a keyboard that types the code and Enter by itself: it costs no key.
        self.page.keyboard.type(code)
        self.page.keyboard.press("Enter")
        self.scans += 1
        self.seconds += SCAN

    def press(self, keys: str) -> None:
        self.page.keyboard.press(keys)
        self.keys += len(keys.split("+"))
        self.seconds += KEY * len(keys.split("+"))

    def think(self, acts: int = 1) -> None:
        self.seconds += MENTAL * acts

    def lay_aside(self) -> None:
        self.seconds += LAY_ASIDE


@pytest.fixture
def made(db) -> Yard:
    made = make_yard()
    for number in range(1, PIECES + 1):
        made.receive(f"HT-{number:02}", kind="hand tool", passed=False)
    made.receive("HT-99", kind="hand tool", passed=False)
    made.receive("P-1", kind="pump")
    job = made.plan("J-28", made.arrangement("kit of 28", [("tools", "hand tool", PIECES)]))
    made.reserve(job)
    return made


def test_a_kit_of_28_goes_out_in_a_minute_with_two_wrong_pieces_refused(
    made: Yard, page: Page, sign_in: Callable, assert_accessible: Callable
) -> None:
    promised = list(Reservation.objects.order_by("pk").values_list("item__tag", flat=True))
    assert len(promised) == PIECES
    [spare] = {"HT-99", *(f"HT-{n:02}" for n in range(1, PIECES + 1))} - set(promised)
    sign_in(page, made.people["sal"])
    # No mouse: anything that presses, moves or touches a pointer ends up here.
    page.add_init_script("window.pointed = 0; addEventListener('pointerdown', () => window.pointed++, true);")
    page.goto("/counter/")
    box = page.get_by_label("Scan a tag or a job")
    expect(box).to_be_focused()
    person = Person(page)
    refused = page.locator("#refused li")

    person.scan("J-28")
    page.wait_for_url("**/counter/issue/J-28/")
    expect(page.get_by_label("Scan what goes out")).to_be_focused()
    person.think()
    for number, tag in enumerate(promised):
        person.scan(tag)
        if number == 9:
            person.scan(spare)
            expect(refused).to_contain_text([f"{spare} is not on the load list of J-28"])
            person.think()
            person.lay_aside()
        if number == 19:
            person.scan("P-1")
            expect(refused).to_contain_text(["P-1 is a pump; J-28 needs none.", spare])
            person.think()
            person.lay_aside()
    person.think()
    person.press("Control+Enter")
    page.wait_for_url("**/jobs/J-28/")

    assert (person.scans, person.keys) == (1 + PIECES + 2, 2)
    assert person.seconds == pytest.approx(31 * SCAN + 2 * KEY + 4 * MENTAL + 2 * LAY_ASIDE)
    assert person.seconds < 60
    assert page.evaluate("window.pointed") == 0
    rows = Reservation.objects.filter(job__reference="J-28")
    assert set(rows.filter(standing=Standing.ISSUED).values_list("item__tag", flat=True)) == set(promised)
    assert Job.objects.get().state == JobState.OUT
    assert not Reservation.objects.filter(item__tag__in=[spare, "P-1"]).exists()
    assert prove_ledger().fault is None


def test_a_wrong_piece_is_told_at_arms_length_and_by_a_tone_that_can_be_off(
    made: Yard, each_page: Page, sign_in: Callable, assert_accessible: Callable
) -> None:
    page = each_page
    sign_in(page, made.people["sal"])
    page.add_init_script(
        "window.tones = [];"
        "document.addEventListener('kit:tone', e => window.tones.push([e.detail.kind, e.detail.heard]));"
    )
    page.goto("/counter/issue/J-28/")
    box = page.get_by_label("Scan what goes out")
    expect(box).to_be_focused()
    person = Person(page)
    answers = page.locator("#answers")
    person.scan("P-1")
    expect(answers.get_by_role("alert")).to_contain_text("P-1 is a pump; J-28 needs none.")
    size = answers.locator(".notice__text").evaluate("e => parseFloat(getComputedStyle(e).fontSize)")
    assert size >= 24, "large enough at arm's length: 24 px is 18 point, large text by WCAG"
    expect(box).to_be_focused()
    person.scan("HT-01")
    expect(answers.get_by_role("status")).to_contain_text("HT-01 goes out to J-28")
    expect(box).to_be_focused()
    person.scan("HT-01")
    expect(page.locator("[data-scan-double]")).to_contain_text(
        "HT-01 was scanned twice; the second is ignored."
    )
    assert page.evaluate("window.tones") == [["refused", True], ["done", True], ["note", True]]
    assert_accessible(page)
    sound = page.get_by_role("button", name="Sound is")
    expect(sound).to_have_text("Sound is on")
    sound.focus()
    expect(sound).to_be_focused()
    page.keyboard.press("Space")
    expect(sound).to_have_text("Sound is off")
    person.scan("P-1")
    expect(answers.get_by_role("alert")).to_contain_text("P-1 is a pump")
    page.wait_for_function("window.tones.length === 4")
    assert page.evaluate("window.tones[3]") == ["refused", False]
    expect(box).to_be_focused()
    page.keyboard.press("Control+z")
    expect(page.locator("#messages")).to_contain_text("Undone: HT-01 is in the store and not out on J-28.")
    assert Reservation.objects.get(item__tag="HT-01").standing == Standing.PROMISED


def test_enter_does_the_obvious_with_a_promised_piece(
    made: Yard, each_page: Page, sign_in: Callable, assert_accessible: Callable
) -> None:
    page = each_page
    sign_in(page, made.people["sal"])
    page.goto("/counter/")
    expect(page.get_by_label("Scan a tag or a job")).to_be_focused()
    Person(page).scan("HT-02")
    obvious = page.get_by_role("button", name="Issue to J-28")
    expect(obvious).to_be_focused()
    assert_accessible(page)
    page.keyboard.press("Enter")
    page.wait_for_url("**/counter/issue/J-28/")
    expect(page.locator("#messages")).to_contain_text("HT-02 goes out to J-28")


def test_taking_back_sounds_as_issuing_does_and_can_be_silenced(
    made: Yard, each_page: Page, sign_in: Callable, assert_accessible: Callable
) -> None:
    page = each_page
    job = Job.objects.get()
    for tag in ("HT-01", "HT-02"):
        made.do(issue_piece, job, Item.objects.get(tag=tag), who="sal")
    sign_in(page, made.people["sal"])
    page.add_init_script(
        "window.tones = [];"
        "document.addEventListener('kit:tone', e => window.tones.push([e.detail.kind, e.detail.heard]));"
    )
    page.goto("/counter/back/J-28/")
    expect(page.get_by_label("Scan what comes back")).to_be_focused()
    assert page.evaluate("window.tones") == [], "nothing was answered yet"
    person = Person(page)
    person.scan("P-1")
    expect(page.locator("#messages")).to_contain_text("P-1 is not out on any job")
    page.wait_for_load_state()
    assert page.evaluate("window.tones") == [["refused", True]]
    person.scan("HT-01")
    page.wait_for_url("**/counter/piece/HT-01/")
    page.get_by_role("button", name="Damaged").press("Enter")
    expect(page.get_by_role("alert")).to_be_visible()
    page.wait_for_load_state()
    assert page.evaluate("window.tones") == [["refused", True]], "a damage without a reason is not taken"
    page.get_by_role("button", name="Unused").press("Enter")
    page.wait_for_url("**/counter/back/J-28/**")
    expect(page.locator("#messages")).to_contain_text("HT-01 is back, unused.")
    page.wait_for_load_state()
    assert page.evaluate("window.tones") == [["done", True]]
    sound = page.get_by_role("button", name="Sound is")
    sound.focus()
    expect(sound).to_be_focused()
    page.keyboard.press("Space")
    expect(sound).to_have_text("Sound is off")
    assert_accessible(page)
    page.get_by_role("button", name="Used HT-02", exact=True).press("Enter")
    expect(page.locator("#messages")).to_contain_text("HT-02 is back, used.")
    page.wait_for_load_state()
    assert page.evaluate("window.tones") == [["done", False]]
