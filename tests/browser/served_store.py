"""The program as it is served to people, to be killed and started again, and a crew's phone beside the van."""

from __future__ import annotations

import os
import signal
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

from playwright.sync_api import Browser, Page, expect

from demo_fixtures.first_days import PASSWORD
from tests.browser.conftest import PHONE
from tests.browser.take_pictures import TOP, free_port, wait_for

JOB = "QB-101"  # out since this morning, on the demo
CREW = "jory.pike"
ARRIVED = "select count(*) from kit_vanentry"


class Store:
    """The program as it is served to people, on a file, to be killed and started again."""

    def __init__(self, folder: Path) -> None:
        self.port = free_port()
        self.base = f"http://127.0.0.1:{self.port}"
        self.file = folder / "store.sqlite3"
        self.environment = {**os.environ, "DATABASE_URL": f"sqlite:///{self.file}"}
        self.process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        self.process = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--port", str(self.port)],
            cwd=TOP,
            env=self.environment,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        wait_for(self.base, self.process)

    def kill(self) -> None:
        """At once and without a chance to finish anything, its workers too."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait(30)
            self.process = None

    def count(self, sql: str, *values: str) -> int:
        return int(self.rows(sql, *values)[0][0])

    def rows(self, sql: str, *values: str) -> list[tuple]:
        with sqlite3.connect(f"file:{self.file}?mode=ro", uri=True) as rows:
            return rows.execute(sql, values).fetchall()

    def set_up(self) -> None:
        """The demo in its file, not served yet."""
        assert self._managed("demo", "--no-serve")

    def proves(self) -> bool:
        return self._managed("prove_ledger")

    def _managed(self, *command: str) -> bool:
        """Whether the command went well."""
        done = subprocess.run(
            [sys.executable, "manage.py", *command],
            cwd=TOP,
            env=self.environment,
            capture_output=True,
            check=False,
        )
        return done.returncode == 0


def as_crew(browser: Browser, store: Store, screen: dict[str, object] = PHONE) -> Page:
    page = browser.new_context(**{**screen, "base_url": store.base, "locale": "en-GB"}).new_page()
    page.goto("/sign-in/")
    page.fill("input[name=username]", CREW)
    page.fill("input[name=password]", PASSWORD)
    page.keyboard.press("Enter")
    page.wait_for_url(f"{store.base}/")
    return page


def at_the_van(page: Page) -> None:
    """The job's page, kept by the phone."""
    page.goto("/van/")
    page.locator("header summary").click()
    page.locator("#cover-depot").select_option("Quillby")
    page.get_by_role("button", name="Go to this depot").click()
    expect(page.locator("[data-van-all-kept]")).to_be_visible()
    page.goto(f"/van/job/{JOB}/")
    expect(page.locator("[data-van-kept]")).to_be_visible()


def until(page: Page, so: Callable[[], bool], seconds: int = 30) -> None:
    """The page goes on while this waits; AssertionError if it does not come to be so."""
    for _ in range(seconds * 20):
        if so():
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"not so within {seconds} s")
