"""A wedge scanner, which is a keyboard: it types the code and sends Enter, into whatever has the focus."""

from playwright.sync_api import Page


def scan(page: Page, code: str) -> None:
    page.keyboard.type(code)
    page.keyboard.press("Enter")
