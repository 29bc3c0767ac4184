"""The Chromium that browser tests drive: where it is, how it is started, and what it complains of."""

import os
import shutil

from playwright.sync_api import ConsoleMessage, Page

# Without a screen, without a first-run page, and without calls to anybody else's servers.
ARGUMENTS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
# A page that refuses answers 4xx, and the browser remarks on that too: the test itself asks what came back.
EXPECTED = "Failed to load resource"


# The first is Chromium without windows, menus and extensions: the same pages in four fifths of the time.
NAMES = ("chromium-headless-shell", "chromium", "chromium-browser")


def executable() -> str:
    """The path of the browser, empty if there is none: FETTLEBOOK_CHROMIUM, else what is found on PATH."""
    named = os.environ.get("FETTLEBOOK_CHROMIUM", "")
    found = (shutil.which(name) for name in ([named] if named else NAMES))
    return next((path for path in found if path), "")


def listen(page: Page, faults: list[str]) -> None:
    """Add to `faults` each script error on the page and each thing its content security policy refuses."""

    def heard(message: ConsoleMessage) -> None:
        if message.type == "error" and not message.text.startswith(EXPECTED):
            faults.append(f"{message.text} (on {page.url})")

    page.on("console", heard)
    page.on("pageerror", lambda fault: faults.append(f"{fault} (on {page.url})"))
