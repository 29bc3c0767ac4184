"""Take the pictures that the README shows: `python -m tests.browser.take_pictures` from the checkout.

Sets the demo up in a throw-away database, serves it, and photographs the main screens in Chromium at a desk's and a
phone's width, and the load list as it is printed. Named screens only: `... take_pictures item register`. With
`--every` every screen that any role can reach by links, at both widths, into a folder of their own, `every`.
`--into` names another folder than the README's. Needs the extra `test` and Chromium.
"""

from __future__ import annotations

import argparse
import io
import os
import re
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import django
import pypdfium2
from PIL import Image
from playwright.sync_api import Browser, Page, sync_playwright

from tests.browser import chromium
from tests.browser.pages import make_of, walk

TOP: Final = Path(__file__).resolve().parent.parent.parent
PICTURES: Final = TOP / "demo_fixtures" / "pictures"
DESK: Final = {"width": 1280, "height": 900}
PHONE: Final = {"width": 390, "height": 844}
MOST_HEIGHT: Final = 1800  # px: a picture shows what a screen is like, not all that stands on it
COLOURS: Final = 48  # enough for flat screens, and a third of the bytes


@dataclass(frozen=True, slots=True)
class Shot:
    name: str
    role: str
    path: str
    phone: bool = False
    # A link on that page to follow first, by a CSS selector.
    follow: str = ""
    # What must stand there before the picture is taken, by a CSS selector: long work ends with it.
    wait_for: str = ""


SHOTS: Final = (
    Shot("today-stores", "stores", "/"),
    Shot("counter-issue", "stores", "/counter/issue/QB-102/"),
    Shot("item", "stores", "/items/M-BG-0446/"),
    Shot("register", "stores", "/register/"),
    Shot("today-planner", "planner", "/"),
    Shot("job", "planner", "/jobs/OM-204/"),
    Shot("kit-list-short", "planner", "/jobs/QB-106/"),
    Shot("plan-board", "planner", "/plan/"),
    Shot("breaks", "planner", "/breaks/"),
    Shot("readiness", "planner", "/readiness/"),
    Shot("rearranged", "planner", "/rearranged/", follow="a:has-text('See the outcome')", wait_for="#worth"),
    Shot("what-if", "planner", "/what-if/"),
    Shot("transfers", "stores", "/transfers/"),
    Shot("mains", "planner", "/mains/"),
    Shot("today-examiner", "examiner", "/"),
    Shot("due-list", "compliance", "/inspections/due/"),
    Shot("quarantine", "compliance", "/inspections/quarantine/"),
    Shot("bench", "examiner", "/inspections/bench/"),
    Shot(
        "review",
        "examiner",
        "/inspections/reviews/?depot=all",
        follow="a[href*='/reviews/']:has-text('GA-0132')",
    ),
    Shot("case", "compliance", "/inspections/quarantine/", follow="a[href*='/cases/']"),
    Shot("concessions", "duty manager", "/inspections/concessions/"),
    Shot("bench-phone", "examiner", "/inspections/bench/hold/", phone=True),
    Shot("load-list-phone", "crew", "/load-list/QB-102/", phone=True),
    Shot(
        "rearranged-phone",
        "planner",
        "/rearranged/",
        phone=True,
        follow="a:has-text('See the outcome')",
        wait_for="#worth",
    ),
    Shot("van-phone", "crew", "/van/job/QB-101/", phone=True, wait_for="[data-van-kept]:visible"),
    Shot("today-compliance", "compliance", "/"),
    Shot("tour", "stores", "/tour/"),
    Shot("counter-phone", "stores", "/counter/issue/QB-102/", phone=True),
)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.browser.take_pictures")
    parser.add_argument(
        "names", nargs="*", metavar="NAME", help="of the README's pictures; none: all of them"
    )
    parser.add_argument("--every", action="store_true", help="also every screen, at both widths")
    parser.add_argument("--into", type=Path, default=PICTURES, metavar="FOLDER")
    asked = parser.parse_args()
    if unknown := set(asked.names) - {shot.name for shot in SHOTS}:
        parser.error(f"there is no picture {', '.join(sorted(unknown))}: write one of those in SHOTS.")
    path = chromium.executable()
    if not path:
        print(
            "Chromium is not on this machine: install it, or name it with FETTLEBOOK_CHROMIUM.",
            file=sys.stderr,
        )
        return 2
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "kit.settings")
    django.setup()  # who the demo's people are stands beside models
    folder_of_pictures: Path = asked.into
    folder_of_pictures.mkdir(parents=True, exist_ok=True)
    with served_demo() as base, sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=path, args=chromium.ARGUMENTS)
        for shot in SHOTS:
            if not asked.names or shot.name in asked.names:
                take(browser, base, shot, folder_of_pictures)
        if not asked.names:
            print_load_list(browser, base, folder_of_pictures)
        if asked.every:
            take_every(browser, base, folder_of_pictures / "every")
        browser.close()
    return 0


@contextmanager
def served_demo() -> Iterator[str]:
    """The demo in a database of its own, served as it is to people: its address, until the block ends."""
    with tempfile.TemporaryDirectory() as folder:
        port = free_port()
        served = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--port", str(port)],
            cwd=TOP,
            env={**os.environ, "DATABASE_URL": f"sqlite:///{folder}/demo.sqlite3"},
            stdout=subprocess.DEVNULL,
        )
        try:
            base = f"http://127.0.0.1:{port}"
            wait_for(base, served)
            yield base
        finally:
            served.terminate()
            served.wait(30)


def free_port() -> int:
    """A port that nobody uses at the moment."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_for(base: str, served: subprocess.Popen[bytes], seconds: int = 180) -> None:
    """Until the demo answers; RuntimeError if it ends before or takes too long."""
    for _ in range(seconds):
        if served.poll() is not None:
            raise RuntimeError(f"The demo ended with {served.returncode} before it answered.")
        try:
            with urllib.request.urlopen(f"{base}/sign-in/", timeout=5):
                return
        except OSError:
            time.sleep(1)
    raise RuntimeError(f"The demo did not answer within {seconds} s.")


def sign_in(browser: Browser, base: str, role: str, phone: bool = False):  # type: ignore[no-untyped-def]
    """A page of the demo's person of that role, at the bigger of the two depots."""
    from demo_fixtures.first_days import PASSWORD, PEOPLE

    person = next(one for one in PEOPLE if one.role == role)
    context = browser.new_context(viewport=PHONE if phone else DESK, base_url=base, locale="en-GB")
    page = context.new_page()
    page.goto("/sign-in/")
    page.fill("input[name=username]", person.username)
    page.fill("input[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(f"{base}/")
    page.locator("header summary").click()
    page.locator("#cover-depot").select_option("Quillby")
    page.get_by_role("button", name="Go to this depot").click()
    page.wait_for_load_state("networkidle")
    return page


def take(browser: Browser, base: str, shot: Shot, folder: Path) -> None:
    page = sign_in(browser, base, shot.role, shot.phone)
    answer = page.goto(shot.path)
    if answer is None or answer.status != 200:
        raise RuntimeError(f"{shot.path} answers {answer.status if answer else 'nothing'}")
    # Long work that was done already for an earlier picture shows its outcome at once.
    there = bool(shot.wait_for) and page.locator(shot.wait_for).count() > 0
    if shot.follow and not there:
        page.locator(shot.follow).first.click(timeout=120_000)
    if shot.wait_for:
        page.locator(shot.wait_for).first.wait_for(timeout=120_000)
    page.wait_for_load_state("networkidle")
    photograph(page, page.viewport_size["width"], folder / f"{shot.name}.png")
    page.context.close()
    print(f"{shot.name}.png")


def photograph(page: Page, width: int, path: Path) -> None:
    """The page from its top, of flat colours, so that a picture takes some tens of kB."""
    page.set_viewport_size({"width": width, "height": 900})
    height = min(page.evaluate("document.documentElement.scrollHeight"), MOST_HEIGHT)
    page.set_viewport_size({"width": width, "height": max(height, 400)})
    taken = Image.open(io.BytesIO(page.screenshot())).convert("RGB")
    taken.quantize(COLOURS, dither=Image.Dither.NONE).save(path, optimize=True)


def take_every(browser: Browser, base: str, folder: Path) -> None:
    """Each make of screen once, with the page of today of every role, at a desk's and a phone's width."""
    from demo_fixtures.first_days import PEOPLE

    folder.mkdir(exist_ok=True)
    seen: set[str] = set()
    for role in dict.fromkeys(person.role for person in PEOPLE):
        page = sign_in(browser, base, role)
        for path in walk(page):
            make = f"today of {role}" if path == "/" else make_of(path)
            if make in seen:
                continue
            seen.add(make)
            name = re.sub(r"[^a-z0-9]+", "-", make.lower()).strip("-")
            for width in (int(DESK["width"]), int(PHONE["width"])):
                photograph(page, width, folder / f"{name}-{width}.png")
            page.set_viewport_size(DESK)
            print(f"every/{name}")
        page.context.close()


def print_load_list(browser: Browser, base: str, folder: Path) -> None:
    """The first page of a load list as a printer would put it on A4."""
    page = sign_in(browser, base, "crew")
    paper = pypdfium2.PdfDocument(page.request.get("/load-list/QB-102.pdf").body())
    paper[0].render(scale=1.4).to_pil().convert("L").save(folder / "load-list-paper.png", optimize=True)
    page.context.close()
    print("load-list-paper.png")


if __name__ == "__main__":
    sys.exit(main())
