"""What pages weigh and how soon they answer a press: `python -m tests.bench.pages`.

The demo, served as it is to people, in Chromium: bytes over the wire of a first view (nothing kept) and of a second,
how far what stands is pushed about (Layout Instability API), and the worst interaction to next paint of some presses
that people make there (Event Timing API, in steps of 8 ms). The floor of a press is the same press on a bare page that
shows and hides one line.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

import django
from playwright.sync_api import Browser, CDPSession, Page, sync_playwright

from tests.browser import chromium
from tests.browser.take_pictures import served_demo, sign_in

PRESSES: Final = 8
WATCH: Final = """
    window.pressed = [];
    window.shifted = 0;
    new PerformanceObserver(list => {
        for (const entry of list.getEntries()) if (entry.interactionId) window.pressed.push(entry.duration);
    }).observe({ type: "event", durationThreshold: 16, buffered: true });
    new PerformanceObserver(list => {
        for (const entry of list.getEntries()) if (!entry.hadRecentInput) window.shifted += entry.value;
    }).observe({ type: "layout-shift", buffered: true });
"""
BARE: Final = """<!doctype html><title>bare</title><button>press</button><p hidden>a line</p>
<script>
document.querySelector("button").onclick = () => document.querySelector("p").toggleAttribute("hidden");
</script>"""


def unfold(page: Page) -> None:
    """The first part of the page that unfolds, opened and closed."""
    page.locator("main summary:visible").first.click()


def sort(page: Page) -> None:
    """By the first column: the list alone is fetched and swapped."""
    page.locator(".ruled__sort:visible").first.click()
    page.wait_for_load_state("networkidle")


def scan(page: Page) -> None:
    """A tag of another depot scanned: refused at arm's length."""
    page.locator("[data-scan] .scan__box").fill("M-BG-0446")
    page.keyboard.press("Enter")
    page.wait_for_load_state("networkidle")


def along_the_plan(page: Page) -> None:
    page.locator("main button.pipe:visible").first.focus()
    page.keyboard.press("ArrowRight")


def tick(page: Page) -> None:
    page.locator("main .tick:visible").first.click()


@dataclass(frozen=True, slots=True)
class Screen:
    role: str
    path: str
    what: str = ""
    press: Callable[[Page], None] | None = None


SCREENS: Final = (
    Screen("stores", "/"),
    Screen("stores", "/register/", "a column sorted", sort),
    Screen("stores", "/register/?", "a piece ticked", tick),
    Screen("stores", "/items/M-BG-0446/"),
    Screen("stores", "/counter/issue/QB-102/", "a wrong tag scanned", scan),
    Screen("planner", "/jobs/QB-106/", "a part unfolded", unfold),
    Screen("planner", "/plan/", "a job moved by a day", along_the_plan),
    Screen("compliance", "/inspections/due/", "a column sorted", sort),
    Screen("examiner", "/inspections/bench/"),
)


def main() -> int:
    path = chromium.executable()
    if not path:
        print(
            "Chromium is not on this machine: install it, or name it with FETTLEBOOK_CHROMIUM.",
            file=sys.stderr,
        )
        return 2
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    django.setup()
    with served_demo() as base, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=chromium.ARGUMENTS)
        tell(browser, base)
        browser.close()
    return 0


def tell(browser: Browser, base: str) -> None:
    floor = worst_press(bare_page(browser), lambda page: page.locator("button").click())
    print(f"bare page: worst of {PRESSES} presses {floor:.0f} ms")
    print(f"{'screen':44} {'first view':>11} {'second':>9} {'moved':>7}  interaction to next paint")
    for screen in SCREENS:
        page = sign_in(browser, base, screen.role)
        page.add_init_script(WATCH)
        first, second = weights(page, screen.path)
        moved = page.evaluate("window.shifted")
        said = ""
        if screen.press:
            worst = worst_press(page, screen.press)
            said = f"{worst:4.0f} ms, {worst / floor:.1f} x bare: {screen.what}"
        name = f"{screen.role} {screen.path}"
        print(f"{name:44} {first / 1000:8.1f} kB {second / 1000:6.1f} kB {moved:7.3f}  {said}")
        page.context.close()


def bare_page(browser: Browser) -> Page:
    page = browser.new_context().new_page()
    page.add_init_script(WATCH)
    page.goto("about:blank")
    page.set_content(BARE)
    page.evaluate(WATCH)
    return page


def weights(page: Page, path: str) -> tuple[int, int]:
    """Bytes over the wire, headers included, with nothing kept and then with what the browser kept."""
    session = page.context.new_cdp_session(page)
    session.send("Network.enable")
    session.send("Network.clearBrowserCache")
    return viewed(page, session, path), viewed(page, session, path)


def viewed(page: Page, session: CDPSession, path: str) -> int:
    total = 0

    def finished(event: dict[str, Any]) -> None:
        nonlocal total
        total += int(event["encodedDataLength"])

    session.on("Network.loadingFinished", finished)
    page.goto(path)
    page.wait_for_load_state("networkidle")
    session.remove_listener("Network.loadingFinished", finished)
    return total


def worst_press(page: Page, press: Callable[[Page], None]) -> float:
    """Milliseconds of the slowest of some presses; 16 where all were faster than the browser tells."""
    for _ in range(PRESSES):
        press(page)
        page.wait_for_timeout(120)
    page.wait_for_timeout(300)
    return max([16.0, *page.evaluate("window.pressed || []")])


if __name__ == "__main__":
    sys.exit(main())
