"""Pages of Chromium against a live server, at a desk's and a phone's width, and axe to read them.

    def test_today_names_the_depot(page, sign_in, stores_person):
        sign_in(page, stores_person)
        page.goto("/")

A page fails its test at the end if the browser reported an error of its own meanwhile: a script that threw,
or something that the content security policy refused.
"""

import os
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import pytest
from django.conf import settings
from django.contrib.auth.models import AbstractBaseUser
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from tests.browser import chromium

if TYPE_CHECKING:
    from tests.browser.served_store import Store

# Playwright's synchronous calls run inside an event loop, where Django would refuse to speak to the database.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "1"

DESK = {"viewport": {"width": 1280, "height": 900}}
PHONE = {
    "viewport": {"width": 390, "height": 844},
    "has_touch": True,
    "is_mobile": True,
    "device_scale_factor": 2,
}
AXE = Path(__file__).parent / "vendor" / "axe.min.js"
WCAG_22_AA = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    path = chromium.executable()
    if not path:
        pytest.skip("Chromium is not on this machine: install it, or name it with FETTLEBOOK_CHROMIUM.")
    with sync_playwright() as playwright:
        started = playwright.chromium.launch(executable_path=path, args=chromium.ARGUMENTS)
        yield started
        started.close()


@pytest.fixture
def open_page(browser: Browser, live_server) -> Iterator[Callable[..., Page]]:
    """Open a page for one person, with cookies of its own; takes DESK or PHONE, and settings of a context."""
    contexts: list[BrowserContext] = []
    faults: list[str] = []

    def opened(screen: dict[str, object] = DESK, **more: object) -> Page:
        usual = {"base_url": live_server.url, "locale": "en-GB", "timezone_id": settings.TIME_ZONE}
        context = browser.new_context(**{**usual, **screen, **more})
        context.set_default_timeout(10_000)
        contexts.append(context)
        page = context.new_page()
        chromium.listen(page, faults)
        return page

    yield opened
    for context in contexts:
        context.close()
    assert not faults, "The browser reported:\n" + "\n".join(faults)


@pytest.fixture
def page(open_page: Callable[..., Page]) -> Page:
    """A page as at the depot's desk, 1280 px wide."""
    return open_page(DESK)


@pytest.fixture
def phone_page(open_page: Callable[..., Page]) -> Page:
    """A page as on a phone in the yard, 390 px wide."""
    return open_page(PHONE)


@pytest.fixture(params=[DESK, PHONE], ids=["1280px", "390px"])
def screen(request: pytest.FixtureRequest) -> dict[str, object]:
    """The test runs twice, at the desk's width and at the phone's."""
    return request.param


@pytest.fixture
def each_page(screen: dict[str, object], open_page: Callable[..., Page]) -> Page:
    """A page at the desk's width, and in a second run at the phone's."""
    return open_page(screen)


@pytest.fixture
def sign_in(live_server) -> Callable[[Page, AbstractBaseUser], None]:
    """Give the page the session of a user, without filling in the form every time."""

    def signed(page: Page, user: AbstractBaseUser) -> None:
        client = Client()
        client.force_login(user, backend="django.contrib.auth.backends.ModelBackend")
        name = settings.SESSION_COOKIE_NAME
        page.context.add_cookies(
            [{"name": name, "value": client.cookies[name].value, "url": live_server.url}]
        )

    return signed


@pytest.fixture
def assert_accessible() -> Callable[..., None]:
    """Fail with a line for each thing that axe finds against WCAG 2.2 A and AA on the page as it stands; with `rules`,
    against those alone.
    """
    source = AXE.read_text(encoding="utf-8")
    # The bar at the foot of a narrow screen lies over whatever is scrolled behind it, and one scroll uncovers
    # it: axe would call that a small target, at some scroll positions and not at others.
    run = """async options => {
        const bar = document.querySelector(".thumb");
        if (bar) bar.style.position = "static";
        try { return await axe.run(document, options); }
        finally { if (bar) bar.style.position = ""; }
    }"""

    def checked(page: Page, rules: tuple[str, ...] | None = None) -> None:
        page.wait_for_load_state()
        if not page.evaluate("typeof axe !== 'undefined'"):
            page.evaluate(source)
        asked = {"type": "rule", "values": rules} if rules else {"type": "tag", "values": WCAG_22_AA}
        found = page.evaluate(run, {"runOnly": asked})
        assert found["passes"] or rules, f"axe looked at nothing on {page.url}"
        lines = [
            f"{rule['id']} ({rule['impact']}): {rule['help']}: {node['target']} {node['html'][:200]}"
            for rule in found["violations"]
            for node in rule["nodes"]
        ]
        assert not lines, f"axe found on {page.url}:\n" + "\n".join(lines)

    return checked


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of the demo, set up once for all that copy it."""
    from tests.browser.served_store import Store

    made = Store(tmp_path_factory.mktemp("demo"))
    made.set_up()
    return made.file


@pytest.fixture
def store(tmp_path: Path, demo_file: Path) -> Iterator["Store"]:
    """The program as it is served to people, with the demo, to be killed and started again."""
    from tests.browser.served_store import Store

    made = Store(tmp_path)
    shutil.copy(demo_file, made.file)
    made.start()
    yield made
    made.kill()
