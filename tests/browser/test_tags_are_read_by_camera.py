"""A tag is read by camera where the browser has no reader of its own: Chromium is shown a film of a printed label."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser import camera, chromium
from tests.browser.camera import HIGH, WIDE, label_before_the_camera
from tests.browser.conftest import PHONE
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def made(db) -> Yard:
    made = make_yard()
    made.receive("HT-01", kind="hand tool", passed=False)
    return made


@pytest.fixture
def phone(browser: Browser, live_server, tmp_path: Path) -> Iterator[Callable[[Image.Image], BrowserContext]]:
    """A browser of its own, whose camera shows the picture."""
    started: list[Browser] = []

    def showing(picture: Image.Image) -> BrowserContext:
        film = camera.film(picture, tmp_path / "label.y4m")
        one = browser.browser_type.launch(
            executable_path=chromium.executable(), args=[*chromium.ARGUMENTS, *camera.arguments(film)]
        )
        started.append(one)
        return one.new_context(**PHONE, base_url=live_server.url, locale="en-GB", permissions=["camera"])

    yield showing
    for one in started:
        one.close()


def counter(made: Yard, context: BrowserContext, sign_in: Callable, faults: list[str]) -> Page:
    context.set_default_timeout(20_000)
    page = context.new_page()
    chromium.listen(page, faults)
    sign_in(page, made.people["sal"])
    page.goto("/counter/")
    assert page.evaluate("'BarcodeDetector' in window") is False, "this browser reads codes itself"
    return page


def test_a_printed_label_is_read_and_entered(made: Yard, phone: Callable, sign_in: Callable) -> None:
    faults: list[str] = []
    page = counter(made, phone(label_before_the_camera("HT-01")), sign_in, faults)
    assert page.evaluate("'jsQR' in window") is False, "the decoder is fetched only when it is needed"
    page.get_by_role("button", name="Camera").click()
    page.wait_for_url("**/items/HT-01/")
    expect(page.get_by_role("heading", level=1)).to_contain_text("HT-01")
    assert faults == []


def test_a_bench_without_a_label_reads_nothing_and_is_left_again(
    made: Yard, phone: Callable, sign_in: Callable, assert_accessible: Callable
) -> None:
    faults: list[str] = []
    page = counter(made, phone(Image.new("RGB", (WIDE, HIGH), (120, 120, 120))), sign_in, faults)
    button = page.get_by_role("button", name="Camera")
    button.click()
    view, looking = page.locator("[data-scan-view]"), page.locator("[data-scan-looking]")
    expect(view).to_be_visible()
    expect(looking).to_be_visible()
    page.wait_for_timeout(1500)
    assert page.locator("#scan-code").input_value() == ""
    assert_accessible(page)
    button.click()
    expect(view).to_be_hidden()
    expect(looking).to_be_hidden()
    assert faults == []
