"""A whole day as five people live it: load the workbook, plan and reserve, print, scan out, take back one damaged,
set aside and release, inspect, export what is overdue, prove the ledger. Every page on the way is read by axe.
"""

import io
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import openpyxl
import pypdf
import pytest
from django.contrib.auth.models import User
from django.core.management import call_command
from django.utils import timezone
from playwright.sync_api import Page, expect

from demo_fixtures.depots import OSTERMERE, QUILLBY
from demo_fixtures.make_workbook import build
from kit.models import Item, Job, JobState, Role, Standing, State
from kit.stores import Who, acting, appoint, depot_named, prove_ledger
from tests.browser.conftest import DESK, PHONE

pytestmark = pytest.mark.django_db(transaction=True)

JOB = "QB-101"  # loads on the day
PEOPLE = {
    Role.STORES: "w.hollis",
    Role.CREW: "d.skelton",
    Role.PLANNER: "p.lane",
    Role.EXAMINER: "e.marsh",
    Role.COMPLIANCE: "c.field",
}


@pytest.fixture
def people() -> dict[str, User]:
    """Five people with one role each at both depots; the register itself is still empty."""
    found: dict[str, User] = {}
    with acting(Who("setup", "test")) as act:
        for role, name in PEOPLE.items():
            found[role] = User.objects.create_user(name, password="lantern-quay-77x")
            for code in (QUILLBY, OSTERMERE):
                appoint(act, found[role], depot_named(act, code), role)
    return found


@pytest.fixture
def seat(open_page: Callable[..., Page], sign_in: Any, people: dict[str, User]) -> Callable[..., Page]:
    """A browser of one of the five, at the depot of the job."""

    def taken(role: str, screen: dict[str, object] = DESK) -> Page:
        page = open_page(screen)
        sign_in(page, people[role])
        page.goto("/")
        if QUILLBY not in page.locator("header summary").inner_text():
            page.locator("header summary").click()
            page.locator("#cover-depot").select_option(QUILLBY)
        page.get_by_role("button", name="Go to this depot").click()
        return page

    return taken


def scan(page: Page, code: str) -> None:
    """What a wedge scanner does: the code, then Enter, wherever the focus is."""
    expect(page.locator("#scan-code")).to_be_focused()
    page.keyboard.type(code)
    page.keyboard.press("Enter")


def fetch(page: Page, path: str) -> bytes:
    answer = page.request.get(path)
    assert answer.status == 200, f"{path} answers {answer.status}"
    return answer.body()


def test_a_day(seat: Any, assert_accessible: Any, settings: Any, tmp_path: Path) -> None:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    today = timezone.localdate()
    workbook = tmp_path / "register of two depots.xlsx"
    workbook.write_bytes(build(today))

    # The stores person hands in the depot's workbook, sees what it would do, and loads it.
    stores = seat(Role.STORES)
    stores.goto("/register/load/")
    assert_accessible(stores)
    stores.locator("input[type=file]").set_input_files(str(workbook))
    stores.get_by_role("button", name="See what it would do").click()
    load = stores.get_by_role("button", name="Load this file")
    stores.get_by_role("link", name="See the outcome").click(timeout=90_000)
    expect(load).to_be_visible()
    assert not Item.objects.exists()
    assert_accessible(stores)
    load.click()
    stores.get_by_role("link", name="See the outcome").click(timeout=120_000)
    expect(stores.locator("main")).to_contain_text("The register is loaded")
    assert Item.objects.count() >= 400
    assert Job.objects.count() >= 25

    # The planner reserves the job of the day with one press.
    planner = seat(Role.PLANNER)
    planner.goto(f"/jobs/{JOB}/")
    assert_accessible(planner)
    planner.get_by_role("button", name="Reserve the best choice").click()
    expect(planner.locator("#messages")).to_contain_text(re.compile("reserved", re.IGNORECASE))
    job = Job.objects.get(reference=JOB)
    promised = list(job.reservations.filter(standing=Standing.PROMISED).values_list("item__tag", flat=True))
    assert len(promised) >= 20

    # The crew reads the load list on a phone; the paper names every piece.
    crew = seat(Role.CREW, PHONE)
    crew.goto(f"/load-list/{JOB}/")
    assert_accessible(crew)
    for tag in promised:
        expect(crew.get_by_text(tag, exact=True).first).to_be_attached()
    paper = pypdf.PdfReader(io.BytesIO(fetch(crew, f"/load-list/{JOB}.pdf")))
    printed = "".join(page.extract_text() for page in paper.pages)
    assert [tag for tag in promised if tag not in printed] == []

    # The stores person scans it out; a piece that is not on the list is refused, aloud and without harm.
    stores.goto(f"/counter/issue/{JOB}/")
    assert_accessible(stores)
    wrong = next(
        tag
        for tag in Item.objects.filter(kind__name="bag", state=State.AVAILABLE, depot=job.depot).values_list(
            "tag", flat=True
        )
        if tag not in promised
    )
    scan(stores, wrong)
    expect(stores.locator("#answers .notice").first).to_contain_text(wrong)
    for number, tag in enumerate(promised, 1):
        scan(stores, tag)
        expect(stores.locator("#issued")).to_contain_text(f"{number} issued", timeout=20_000)
    assert_accessible(stores)
    stores.get_by_role("button", name="Finish the issue").click()
    stores.wait_for_url(re.compile(f"/jobs/{JOB}/"))
    assert Job.objects.get(reference=JOB).state == JobState.OUT
    assert not Item.objects.get(tag=wrong).reservations.exists()
    assert fetch(stores, f"/issue-note/{JOB}.pdf").startswith(b"%PDF")

    # It comes back: one bag damaged, one used, the rest unused.
    bags = [tag for tag in promised if Item.objects.get(tag=tag).kind.name == "bag"]
    damaged, used = bags[:2]
    stores.goto("/counter/")
    assert_accessible(stores)
    scan(stores, damaged)
    stores.wait_for_url(re.compile("/counter/piece/"))
    assert_accessible(stores)
    stores.get_by_label("What was found").fill("cut at the seam")
    stores.get_by_role("button", name="Damaged").click()
    stores.wait_for_url(re.compile("/counter/back/"))
    stores.get_by_role("button", name=f"Used {used}", exact=True).click()
    expect(stores.locator("#back")).to_contain_text("2 back")
    assert_accessible(stores)
    assert Item.objects.get(tag=damaged).state == State.QUARANTINED
    assert Item.objects.get(tag=used).fit_until is None
    assert fetch(stores, f"/items/{damaged}/defect-tag").startswith(b"%PDF")
    assert fetch(stores, f"/return-note/{JOB}.pdf").startswith(b"%PDF")

    # The examiner does the check that the used bag waits for.
    examiner = seat(Role.EXAMINER)
    assert_accessible(examiner)
    while (item := Item.objects.get(tag=used)).fit_until is None:
        waiting = next(gate for gate in item.gates if gate.waits or gate.status != "dated")
        examiner.goto(f"/inspections/record/{used}/")
        assert_accessible(examiner)
        examiner.get_by_label("Check").first.select_option(label=waiting.check)
        examiner.get_by_label("Pass", exact=True).check()
        examiner.get_by_role("button", name="Record it").click()
        examiner.wait_for_url(re.compile(f"/items/{used}/"))
    assert Item.objects.get(tag=used).fit_on(today)
    assert_accessible(examiner)

    # The compliance lead looks into the quarantine, releases what somebody else set aside, and exports what is overdue.
    lead = seat(Role.COMPLIANCE)
    assert_accessible(lead)
    lead.goto("/inspections/quarantine/")
    assert_accessible(lead)
    expect(lead.locator("main")).to_contain_text(damaged)
    lead.goto(f"/inspections/release/{damaged}/")
    assert_accessible(lead)
    # It came back from a job: what was out with it is looked at first, and what may have to be told is considered.
    lead.get_by_role("link", name=re.compile("^Do it in case")).click()
    lead.wait_for_url(re.compile("/case"))
    assert_accessible(lead)
    lead.get_by_text("All the others were looked at and stay in use").click()
    lead.locator("textarea[name=rest-text]").fill("torn by a shovel, the rest was not near")
    lead.get_by_role("button", name="Leave them in use").click()
    expect(lead.locator("#messages")).not_to_be_empty()
    waiting = lead.locator("details[open] textarea[name^=notice-]")
    while left := waiting.count():
        waiting.first.fill("not to be reported, the maker was told")
        lead.locator("details[open] form:has(textarea[name^=notice-]) button").first.click()
        expect(waiting).to_have_count(left - 1)
        expect(lead.locator("#messages")).to_contain_text("What you decided")
    lead.get_by_role("link", name="Release", exact=True).click()
    lead.locator("textarea[name=findings]").fill("patched and examined by the maker")
    lead.get_by_role("button", name="Release it").click()
    expect(lead.locator("#messages")).to_contain_text(damaged)
    assert Item.objects.get(tag=damaged).state == State.AVAILABLE
    lead.goto("/inspections/due/")
    assert_accessible(lead)
    with lead.expect_download() as download:
        lead.get_by_role("link", name=re.compile("^Spreadsheet of all")).click()
    exported = openpyxl.load_workbook(io.BytesIO(Path(download.value.path()).read_bytes()))
    assert len(exported.sheetnames) == 2
    assert exported.worksheets[1].max_row > 10

    # Last the proof, on the screen and by the command.
    lead.goto("/ledger/")
    assert_accessible(lead)
    lead.get_by_role("button", name="Prove the ledger now").click()
    expect(lead.locator("main")).to_contain_text("Proved")
    assert prove_ledger().fault is None
    call_command("rederive")
