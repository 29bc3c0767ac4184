"""The browser harness itself: both widths, axe finds what is wrong, and errors of a page are heard."""

import pytest

from tests.browser import chromium
from tests.browser.looks import faults_in_gloves_and_by_keyboard

BAD = "<html lang=en><title>x</title><main><h1>x</h1><img src='data:,'></main></html>"
GOOD = "<html lang=en><title>x</title><main><h1>Kit list</h1><p>Five bags.</p></main></html>"


def test_each_page_has_its_width(page, phone_page):
    page.set_content(GOOD)
    phone_page.set_content("<meta name=viewport content='width=device-width'>" + GOOD)
    assert [page.evaluate("innerWidth"), phone_page.evaluate("innerWidth")] == [1280, 390]


def test_axe_finds_a_picture_without_words_and_passes_a_plain_page(each_page, assert_accessible):
    each_page.set_content(GOOD)
    assert_accessible(each_page)
    each_page.set_content(BAD)
    with pytest.raises(AssertionError, match="image-alt"):
        assert_accessible(each_page)


def test_what_gloves_or_the_keyboard_cannot_use_is_found(each_page):
    sizes = "display:block;width:80px;height:48px"
    ring = "<style>:focus { outline: 3px solid }</style>"
    each_page.set_content(
        f"{ring}<main><button style='{sizes}'>Load</button><a href='/' style='{sizes}'>Job</a></main>"
    )
    assert faults_in_gloves_and_by_keyboard(each_page) == []
    each_page.set_content(
        f"{ring}<main><button id=flat style='{sizes};outline:0'>Load</button><button id=small>x</button>"
        f"<input id=trap style='{sizes}'><a id=after href='/' style='{sizes}'>Job</a></main>"
        "<script>trap.onkeydown = event => event.preventDefault()</script>"
    )
    found = faults_in_gloves_and_by_keyboard(each_page)
    assert [fault.partition("<")[0].strip() for fault in found] == [
        "smaller than 44 px:",
        "Tab does not come to",
        "no ring round",
    ]
    for fault, name in zip(found, ("small", "after", "flat"), strict=True):
        assert f'id="{name}"' in fault


def test_errors_of_a_page_are_heard(browser):
    faults: list[str] = []
    page = browser.new_page()
    chromium.listen(page, faults)
    page.set_content("<script>throw new Error('no scan box')</script>")
    policy = "<meta http-equiv=Content-Security-Policy content=\"script-src 'none'\">"
    page.set_content(f"{policy}<button onclick='go()'>x</button>")
    page.close()
    assert "no scan box" in faults[0]
    assert "Content Security Policy" in faults[1]
