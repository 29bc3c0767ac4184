"""Every page that each of the six can reach on the demo: no dead end, nothing found by axe (WCAG 2.2 A and AA),
nothing wider than the screen, light enough, and nothing that moves once it stands; in English at a desk and in German
on a phone, in daylight, dark, forced colours and with text twice as large. Tab comes to all that can be worked with and
shows where it is, and all of it is large enough for gloves.
"""

import gzip
import os
from collections.abc import Callable, Iterator

import pytest
from django.contrib.auth.models import User
from playwright.sync_api import Page

from tests.browser.conftest import DESK, PHONE
from tests.browser.looks import (
    MADE_OF,
    PARTED,
    TOO_WIDE,
    faults_as_it_is,
    faults_in_all_looks,
    faults_in_gloves_and_by_keyboard,
)
from tests.browser.pages import make_of, walk

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.long]

LEAST_PAGES = {"stores": 12, "crew": 5, "planner": 8, "examiner": 6, "compliance": 10, "duty manager": 5}
PAGE_BYTES = 40_000  # what a view after the first may weigh, compressed
SHIFT = 0.01  # Layout Instability API: the share of the screen that moved times how far; 0.1 counts as good

# Two of the four by default, since each takes minutes: every screen and language is in one of them.
EVERY = os.environ.get("FETTLEBOOK_LOOKS") == "every"
WALKS = ["desk-en", "phone-de", *(["desk-de", "phone-en"] if EVERY else [])]

WATCH_SHIFTS = """
    window.shifted = 0;
    window.moved = [];
    new PerformanceObserver(list => {
        for (const entry of list.getEntries()) {
            if (entry.hadRecentInput) continue;
            window.shifted += entry.value;
            for (const source of entry.sources) window.moved.push(source.node?.outerHTML?.slice(0, 80));
        }
    }).observe({ type: "layout-shift", buffered: true });
"""


@pytest.fixture(params=WALKS)
def walker(request: pytest.FixtureRequest, open_page: Callable[..., Page], live_server) -> Page:
    screen, language = request.param.split("-")
    page = open_page({"desk": DESK, "phone": PHONE}[screen])
    page.context.add_cookies([{"name": "django_language", "value": language, "url": live_server.url}])
    page.add_init_script(WATCH_SHIFTS)
    return page


def test_all_pages_of_all_six_people(walker: Page, demo, sign_in, assert_accessible) -> None:
    faults: list[str] = []
    # Each make of page is read in all looks. Another role sees more or fewer parts of the same page: axe reads it again
    # if anything on it is made of what it never read.
    seen_in_all_looks: set[str] = set()
    read: set[str] = set()
    language = [c for c in walker.context.cookies() if c["name"] == "django_language"]
    for role, least in LEAST_PAGES.items():
        walker.context.clear_cookies()
        walker.context.add_cookies(language)
        sign_in(walker, User.objects.filter(memberships__role=role).order_by("pk")[0])
        visited = 0
        for path in walk(walker):
            visited += 1
            first = path == "/" or make_of(path) not in seen_in_all_looks
            seen_in_all_looks.add(make_of(path))
            made_of = set(walker.evaluate(MADE_OF))
            again = not made_of <= read
            read |= made_of
            faults += [
                f"{role} {path}: {fault}" for fault in faults_of(walker, assert_accessible, first, again)
            ]
        assert visited >= least, f"{role} reached {visited} pages only"
    assert not faults, "\n".join(faults)


def faults_of(
    page: Page, assert_accessible: Callable[..., None], all_looks: bool, by_axe: bool
) -> Iterator[str]:
    """What is amiss on the page as it stands, as axe finds it if `by_axe`, and with `all_looks` in every look."""
    weight = len(gzip.compress(page.content().encode()))
    if weight > PAGE_BYTES:
        yield f"{weight} bytes compressed"
    if page.evaluate("window.shifted") > SHIFT:
        # A page that reaches a busy browser in pieces is laid out in pieces: what a script moves, it moves again.
        page.reload()
        page.wait_for_load_state("networkidle")
        if page.evaluate("window.shifted") > SHIFT:
            yield f"moved by {page.evaluate('window.shifted'):.3f}: {page.evaluate('window.moved')}"
    wide = page.evaluate(TOO_WIDE)
    if wide > 0:
        yield f"{wide} px wider than the screen"
    if parted := page.evaluate(PARTED):
        yield f"words parted: {', '.join(sorted(set(parted)))}"
    if not all_looks and not by_axe:
        return
    # axe takes a target half under the bar at the foot of a phone for a small one: show the whole page.
    size = page.viewport_size
    assert size
    page.set_viewport_size(
        {"width": size["width"], "height": page.evaluate("document.documentElement.scrollHeight")}
    )
    yield from (
        faults_in_all_looks(page, assert_accessible)
        if all_looks
        else faults_as_it_is(page, assert_accessible)
    )
    page.set_viewport_size(size)
    if all_looks:
        yield from faults_in_gloves_and_by_keyboard(page)
