"""A page in the looks that a person may have set: dark, colours of their own, text twice as large.

axe is asked again only what such a look can change. Chromium paints forced colours as it does on a desk with a
contrast theme; text at 200 % is the root's size doubled, so that whatever is sized by it grows.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from playwright.sync_api import Page

COLOUR_RULES: Final = ("color-contrast", "link-in-text-block")
# Width of the sheet in front of the person, in px of the screen: nothing may need to be pushed sideways to be read.
TOO_WIDE: Final = "document.documentElement.scrollWidth - window.innerWidth"

# A job's bar on the plan is as long as its days: its words stand in full in its name and under the plan.
CUT_OFF: Final = """() => [...document.querySelectorAll("main button, main a, main label, main h1, main h2, main td")]
    .filter(part => {
        if (part.matches(".pipe, .visually-hidden") || !part.checkVisibility()) return false;
        const hidden = getComputedStyle(part).overflowX === "hidden";
        return hidden && part.clientWidth > 1 && part.scrollWidth > part.clientWidth + 1;
    })
    .map(part => part.outerHTML.slice(0, 120))"""

# A word of a usual length on two lines without a hyphen of its own: that of the other language may be longer.
PARTED: Final = """() => [
    ...document.querySelectorAll("main :is(h1, h2, h3, th, td, dt, label, button, a)"),
].flatMap(part => {
    const found = [];
    if (part.clientWidth <= 1 && part.getBoundingClientRect().width <= 1) return found;
    const texts = document.createTreeWalker(part, NodeFilter.SHOW_TEXT);
    for (let text = texts.nextNode(); text; text = texts.nextNode()) {
        if (/[0-9a-f]{64}/.test(text.data)) continue;  // the mark of an entry is no word
        for (const word of text.data.matchAll(/(?<!\\p{L})\\p{L}{3,14}(?!\\p{L})/gu)) {
            const range = document.createRange();
            range.setStart(text, word.index);
            range.setEnd(text, word.index + word[0].length);
            const lines = new Set([...range.getClientRects()].map(box => Math.round(box.top)));
            if (lines.size > 1) found.push(word[0]);
        }
    }
    return found;
})"""

# What the page is made of: each element's name, classes and attributes, and those of three around it.
MADE_OF: Final = """() => {
    const worded = new Set(["role", "type", "scope", "aria-hidden", "aria-disabled", "aria-pressed", "tabindex"]);
    const own = new Map();
    const shape = (element, around) => {
        if (!element) return "";
        if (!own.has(element)) {
            const attributes = [...element.attributes]
                .filter(one => one.name !== "class")
                .map(one => worded.has(one.name) ? one.name + "=" + one.value : one.name);
            own.set(element, [element.localName, ...[...element.classList].sort(), ...attributes.sort()].join(" "));
        }
        return own.get(element) + (around ? " < " + shape(element.parentElement, around - 1) : "");
    };
    return [...new Set([...document.body.querySelectorAll("*")].map(element => shape(element, 3)))];
}"""

# Too small for a glove (CSS px, with half a pixel for rounding), with its label if it has one. A link within a sentence
# is as high as its line: WCAG 2.2, 2.5.8 leaves it out as well.
SMALL_TARGETS: Final = """() => [
    ...document.querySelectorAll("button, a[href], input:not([type=hidden]), select, textarea, summary"),
].filter(one => {
    if (!one.checkVisibility({ visibilityProperty: true }) || one.closest(".visually-hidden")) return false;
    if (getComputedStyle(one).display === "inline") return false;
    const boxes = [one, ...(one.labels ?? [])].map(part => part.getBoundingClientRect());
    return !boxes.some(box => box.height >= 43.5 && box.width >= 43.5);
}).map(one => one.outerHTML.slice(0, 120))"""

# How often Tab is pressed to come past all that can be worked with; a day has three parts and a button.
WATCH_TABS: Final = """() => {
    window.reached = new Set();
    window.unseen = [];
    document.addEventListener("focusin", ({ target }) => {
        if (window.reached.has(target)) return;
        window.reached.add(target);
        const look = getComputedStyle(target);
        const seen = look.outlineStyle !== "none" && parseFloat(look.outlineWidth) >= 2;
        if (!seen) window.unseen.push(target.outerHTML.slice(0, 120));
    });
    const stops = "button, a[href], input:not([type=hidden]), select, textarea, summary, [tabindex]";
    window.stops = [...document.querySelectorAll(stops)]
        .filter(one => one.checkVisibility({ visibilityProperty: true }))
        .filter(one => one.tabIndex >= 0 && !one.matches(":disabled"));
    const parts = { date: 4, "datetime-local": 7, time: 3 };
    return window.stops.reduce((sum, one) => sum + (parts[one.type] ?? 1), 0);
}"""
# One of several answers is reached for all of them, as arrow keys choose among them; what a script has put something
# else in the place of meanwhile is nothing to come to.
NOT_REACHED: Final = """() => {
    const names = new Set([...window.reached].filter(one => one.type === "radio").map(one => one.name));
    return window.stops
        .filter(one => one.isConnected)
        .filter(one => !window.reached.has(one) && !(one.type === "radio" && names.has(one.name)))
        .map(one => one.outerHTML.slice(0, 120));
}"""


def faults_in_gloves_and_by_keyboard(page: Page) -> list[str]:
    """What is too small to press, what Tab never comes to, and what does not show that it has the focus."""
    lines = [f"smaller than 44 px: {one}" for one in page.evaluate(SMALL_TARGETS)]
    for _ in range(page.evaluate(WATCH_TABS) + 6):
        page.keyboard.press("Tab")
    lines += [f"Tab does not come to {one}" for one in page.evaluate(NOT_REACHED)]
    lines += [f"no ring round {one}" for one in page.evaluate("window.unseen")]
    return lines


def faults_as_it_is(
    page: Page, assert_accessible: Callable[..., None], rules: tuple[str, ...] | None = None
) -> list[str]:
    """What axe finds, as one text or none."""
    try:
        assert_accessible(page, rules)
    except AssertionError as fault:
        return [str(fault)]
    return []


def faults_in_all_looks(page: Page, assert_accessible: Callable[..., None]) -> list[str]:
    """What is found amiss, a line a look; the page is put back as it was."""
    found = faults_as_it_is(page, assert_accessible)
    for look, media in (("dark", {"color_scheme": "dark"}), ("forced colours", {"forced_colors": "active"})):
        page.emulate_media(**media)
        found += [f"{look}: {fault}" for fault in faults_as_it_is(page, assert_accessible, COLOUR_RULES)]
        page.emulate_media(color_scheme="null", forced_colors="null")
    found += faults_of_large_text(page)
    return found


def faults_of_large_text(page: Page) -> list[str]:
    """Text at 200 %: what is wider than the screen, and words that are cut off.

    At a desk as the browser enlarges, which halves the width of the view in its px (WCAG 2.2, 1.4.4 and 1.4.10). A
    phone keeps its width and doubles the root's size: the narrow layout holds there already.
    """
    size = page.viewport_size
    assert size
    desk = size["width"] >= 640
    if desk:
        page.set_viewport_size({"width": size["width"] // 2, "height": size["height"]})
    else:
        page.evaluate("document.documentElement.style.fontSize = '200%'")
    try:
        wide = page.evaluate(TOO_WIDE)
        cut: list[Any] = page.evaluate(CUT_OFF)
    finally:
        if desk:
            page.set_viewport_size(size)
        else:
            page.evaluate("document.documentElement.style.fontSize = ''")
    lines = [f"text at 200 %: cut off: {part}" for part in cut]
    if wide > 0:
        lines.append(f"text at 200 %: {wide} px wider than the screen")
    return lines
