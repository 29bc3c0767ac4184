"""Scanned beside the van while the store's server is down: what is on the list is ticked once, anything else is refused
in large letters and with a tone, and exactly what was ticked arrives.
"""

from __future__ import annotations

from pathlib import Path

import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from tests.browser import camera, chromium
from tests.browser.conftest import DESK, PHONE
from tests.browser.scanner import scan
from tests.browser.served_store import ARRIVED, JOB, Store, as_crew, at_the_van

pytestmark = pytest.mark.long

GTIN = "0104012345678901"
HELD = """select i.tag, i.serial from kit_item i join kit_reservation r on r.item_id = i.id
          join kit_job j on j.id = r.job_id where j.reference = ?"""
OF_JOB = f"{HELD} and r.standing = 'issued' and i.serial <> '' and not i.counted order by i.tag limit 5"
NOT_OF_JOB = f"select tag from kit_item where state = 'available' and tag not in (select tag from ({HELD}))"


def tones(page: Page) -> list[str]:
    return page.evaluate("window.tones")


def answered(page: Page, tone: str, *texts: str) -> Locator:
    answer = page.locator("[data-van-answer]")
    for text in texts:
        expect(answer).to_contain_text(text)
    assert tones(page)[-1] == tone
    return answer


@pytest.mark.parametrize("screen", [DESK, PHONE], ids=["1280px", "390px"])
def test_five_pieces_are_scanned_without_the_store_and_five_entries_arrive(
    browser: Browser, store: Store, assert_accessible, screen
) -> None:
    page = as_crew(browser, store, screen)
    at_the_van(page)
    pieces = store.rows(OF_JOB, JOB)
    [foreign] = store.rows(f"{NOT_OF_JOB} order by tag", JOB)[0]
    store.kill()
    page.reload()
    expect(page.locator("[data-van-age]")).to_contain_text("old")
    expect(page.locator("#scan-code")).to_be_focused()
    page.evaluate(
        "window.tones = []; document.addEventListener('kit:tone', event => window.tones.push(event.detail.kind))"
    )
    (one, _), (two, serial_2), (three, serial_3), (four, serial_4), (five, _) = pieces
    scan(page, one)
    answered(page, "done", one, "on the van", f"1 of {page.locator('[data-piece]').count()} seen")
    scan(page, f"]d2{GTIN}17280231{'21'}{serial_2}<GS>10X1")
    answered(page, "done", two)
    scan(page, f"https://id.gs1.org/01/04012345678901/21/{serial_3}")
    answered(page, "done", three)
    scan(page, serial_4.lower())
    answered(page, "done", four)
    scan(page, f"80044012345{five}")
    answered(page, "done", five)
    scan(page, f"80044012345{five}")
    expect(page.locator("[data-scan-double]")).to_contain_text("the second is ignored")
    assert tones(page)[-1] == "note"
    scan(page, five)
    answered(page, "note", five, "ticked before")
    scan(page, foreign)
    answer = answered(page, "refused", foreign, "not on this list", "ask the stores")
    assert (
        answer.locator(".notice__text").evaluate("text => parseFloat(getComputedStyle(text).fontSize)") >= 24
    )
    assert page.evaluate("document.documentElement.scrollWidth - window.innerWidth") <= 0
    expect(page.locator("[data-van-waiting]")).to_contain_text("5 not sent yet")
    ticked = page.locator(".van__piece--seen")
    assert sorted(ticked.evaluate_all("all => all.map(one => one.dataset.piece)")) == sorted(
        tag for tag, _ in pieces
    )
    size = page.viewport_size
    page.set_viewport_size({**size, "height": page.evaluate("document.documentElement.scrollHeight")})
    assert_accessible(page)

    store.start()
    page.locator("[data-van-send]").click()
    expect(page.locator("[data-van-waiting]")).to_contain_text("All sent", timeout=60_000)
    assert store.count(ARRIVED) == 5
    assert store.count(f"{ARRIVED} where taken = 'done' and what = 'seen'") == 5
    assert {code for (code,) in store.rows("select code from kit_vanentry")} == {tag for tag, _ in pieces}
    page.context.close()


def test_a_piece_that_failed_says_so_when_it_is_scanned(browser: Browser, store: Store) -> None:
    page = as_crew(browser, store)
    at_the_van(page)
    page.context.set_offline(True)
    piece = page.locator("[data-piece][data-kind]").first
    tag = piece.get_attribute("data-piece")
    piece.locator("summary").click()
    piece.locator('[data-say="failed"]').click()
    page.fill("#van-note", "seam lets go")
    page.locator("#van-dialog").get_by_role("button", name="Keep it").click()
    expect(piece).to_contain_text("not sent yet")
    scan(page, tag)
    answer = page.locator("[data-van-answer]")
    expect(answer).to_contain_text("does not go along")
    expect(answer).to_contain_text("failure was entered at the van")
    assert "van__piece--seen" not in piece.get_attribute("class")
    page.context.set_offline(False)
    expect(page.locator("[data-van-waiting]")).to_contain_text("All sent", timeout=30_000)
    # From now on the list itself has why, in the words of the crew.
    page.reload()
    page.wait_for_timeout(1600)  # sooner it would be the same scan twice
    scan(page, tag)
    expect(answer).to_contain_text("seam lets go")
    page.context.close()


def test_the_camera_reads_a_label_without_signal(browser: Browser, store: Store, tmp_path: Path) -> None:
    tag, _ = store.rows(OF_JOB, JOB)[0]
    film = camera.film(camera.label_before_the_camera(tag), tmp_path / "label.y4m")
    phone = browser.browser_type.launch(
        executable_path=chromium.executable(), args=[*chromium.ARGUMENTS, *camera.arguments(film)]
    )
    page = as_crew(phone, store)
    at_the_van(page)
    assert page.evaluate("'jsQR' in window || 'BarcodeDetector' in window") is False
    store.kill()
    page.reload()
    page.context.grant_permissions(["camera"])
    page.get_by_role("button", name="Camera").click()
    expect(page.locator("[data-van-answer]")).to_contain_text(f"{tag} is ticked", timeout=20_000)
    expect(page.locator("[data-van-waiting]")).to_contain_text("1 not sent yet")
    phone.close()
