"""Stocks of labels of one's own: drawn before they are recorded, told in the ledger, printed on, refused with why."""

from __future__ import annotations

import json
import re
from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction
from django.urls import reverse

from kit.label_stock import LEAST_HEIGHT_MM, LEAST_WIDTH_MM, STOCKS, LabelStock
from kit.models import Deed, LabelPaper, LedgerEntry
from kit.papers.labels import Label, Symbology, labels_pdf
from kit.stores import NotAllowed, acting, prove_ledger
from kit.stores.label_papers import set_label_paper, stocks
from tests.kit.papers.examples import STAMP, pages, qr_codes, reader
from tests.kit.views.holm import CLERK, Yard

TWELVE: dict[str, Any] = {
    "page_width_mm": "210",
    "page_height_mm": "297",
    "label_width_mm": "90",
    "label_height_mm": "45",
    "columns": "2",
    "rows": "6",
    "left_mm": "15",
    "top_mm": "13.5",
    "pitch_x_mm": "90",
    "pitch_y_mm": "45",
}


def send(yard: Yard, who: str = "sal", url: str = "", **changed: str) -> Any:
    sent = {"name": "Twelve of 90 by 45", **TWELVE, **changed}
    return yard.client(who).post(url or reverse("new_label_stock"), sent)


def recorded(yard: Yard, **changed: str) -> LabelPaper:
    page = send(yard, **changed).content.decode()
    seen = re.search(r'name="seen" value="([^"]*)"', page)
    assert seen, page
    answer = send(yard, **changed, seen=seen[1])
    assert answer.status_code == 302
    return LabelPaper.objects.latest("pk")


def test_it_is_drawn_with_every_place_before_anything_is_recorded(yard: Yard):
    before = LedgerEntry.objects.count()
    page = send(yard).content.decode()
    assert page.count('class="sheet-picture__label"') == 12
    assert 'x="105" y="238.5" width="90" height="45"' in page
    assert "12 labels of 90 × 45 mm on a page of 210 × 297 mm" in page
    assert not LabelPaper.objects.exists()
    assert LedgerEntry.objects.count() == before


def test_recorded_as_it_was_drawn_it_is_told_offered_and_printed_on(yard: Yard):
    made = recorded(yard)
    entry = LedgerEntry.objects.latest("number")
    assert (entry.deed, entry.actor) == (Deed.CHANGED, "sal")
    assert json.loads(entry.body)["about"] == [f"labelpaper:{made.code}"]
    assert prove_ledger().fault is None
    tags = [yard.receive(f"G-{n}").tag for n in range(13)]
    client = yard.client("sal")
    assert "Twelve of 90 by 45" in client.get(reverse("labels")).content.decode()
    asked = {"tags": "\n".join(tags), "stock": made.code, "code": "qr", "start": "1"}
    content = client.post(reverse("labels"), asked).content
    assert [len(page) for page in qr_codes(content)] == [12, 1]
    assert sorted(code for page in qr_codes(content) for code in page) == sorted(tags)


def test_figures_changed_after_the_drawing_are_drawn_again_and_not_recorded(yard: Yard):
    seen = re.search(r'name="seen" value="([^"]*)"', send(yard).content.decode())
    assert seen
    answer = send(yard, seen=seen[1], rows="5")
    assert answer.status_code == 200
    assert answer.content.decode().count('class="sheet-picture__label"') == 10
    assert not LabelPaper.objects.exists()


def test_a_change_shows_both_as_it_is_and_as_it_would_be(yard: Yard):
    made = recorded(yard)
    url = reverse("set_label_stock", args=[made.code])
    page = send(yard, url=url, rows="5").content.decode()
    assert page.count('class="sheet-picture__label"') == 12 + 10
    seen = re.search(r'name="seen" value="([^"]*)"', page)
    assert seen
    assert send(yard, url=url, rows="5", seen=seen[1]).status_code == 302
    made.refresh_from_db()
    assert made.rows == 5
    facts = json.loads(LedgerEntry.objects.latest("number").body)["facts"]
    assert facts["before"].startswith("2 x 6 labels")
    assert facts["is"].startswith("2 x 5 labels")


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        ({"label_width_mm": "100", "pitch_x_mm": "100"}, "past the page of 210 by 297 mm"),
        ({"rows": "7"}, "past the page"),
        ({"top_mm": "30"}, "past the page"),
        ({"pitch_x_mm": "80"}, "they would lie over one another"),
        ({"label_height_mm": "20", "pitch_y_mm": "20"}, "has no room for the code"),
    ],
)
def test_sizes_that_do_not_fit_are_refused_with_a_sentence(yard: Yard, changed: dict[str, str], why: str):
    answer = send(yard, **changed)
    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert "sheet-picture" not in answer.content.decode()


def test_the_shipped_four_stay_as_shipped(yard: Yard):
    with acting(CLERK) as act:
        for code in STOCKS:
            with pytest.raises(NotAllowed, match="is shipped and stays"):
                set_label_paper(act, code, "mine", TWELVE)
    assert yard.client("sal").get(reverse("set_label_stock", args=["roll-60x40"])).status_code == 404
    assert list(stocks()) == list(STOCKS)


def test_one_of_a_shipped_name_gets_a_code_of_its_own(yard: Yard):
    assert recorded(yard, name="roll 60x40").code == "roll-60x40-2"


def test_a_withdrawn_one_is_not_offered_and_says_why_in_the_ledger(yard: Yard):
    made = recorded(yard)
    client = yard.client("sal")
    url = reverse("withdraw_label_stock", args=[made.code])
    assert "Say why" in client.post(url, {"why": " "}, follow=True).content.decode()
    client.post(url, {"why": "no longer bought"})
    assert made.code not in stocks()
    assert "no longer bought" in LedgerEntry.objects.latest("number").body
    client.get(reverse("label_stocks"))
    assert made.name not in client.get(reverse("labels")).content.decode()
    assert prove_ledger().fault is None


def test_the_database_itself_refuses_a_label_wider_than_its_page(yard: Yard):
    made = recorded(yard)
    with pytest.raises(IntegrityError), transaction.atomic():
        LabelPaper.objects.filter(pk=made.pk).update(label_width_mm=211)


def test_only_who_may_sets_them(yard: Yard):
    assert send(yard, who="cal").status_code == 403
    assert send(yard, who="eve").status_code == 403
    assert yard.client("eve").get(reverse("label_stocks")).status_code == 200


def test_labels_of_the_rows_ticked_on_the_register(yard: Yard):
    items = [yard.receive(f"G-{n}") for n in range(4)]
    client = yard.client("sal")
    url = reverse("labels_of_chosen", args=["register"])
    assert url in client.get(reverse("register")).content.decode()
    page = client.post(url, {"chosen": [str(items[2].pk), str(items[0].pk)]}).content.decode()
    assert ">G-0\nG-2</textarea>" in page.replace("\r", "").replace(">\nG-0", ">G-0")
    assert f'action="{reverse("labels")}"' in page
    whole = client.post(url, {"all": "1"}).content.decode()
    assert "4 pieces are chosen." in whole
    none = client.post(url, {}, follow=True).content.decode()
    assert "tick the rows first" in none


def test_who_may_not_print_labels_gets_none_of_the_chosen(yard: Yard):
    item = yard.receive("G-1")
    url = reverse("labels_of_chosen", args=["register"])
    assert yard.client("cal").post(url, {"chosen": [str(item.pk)]}).status_code == 403
    assert url not in yard.client("cal").get(reverse("register")).content.decode()


def test_on_the_smallest_label_nothing_lies_over_the_next_and_the_date_is_there():
    """The longest texts a label takes, on two labels edge to edge: the words of one end above the other."""
    least = LabelStock(
        "least",
        LEAST_WIDTH_MM,
        2 * LEAST_HEIGHT_MM,
        LEAST_WIDTH_MM,
        LEAST_HEIGHT_MM,
        1,
        2,
        0,
        0,
        0,
        LEAST_HEIGHT_MM,
    )
    long = [
        Label(
            f"NY-BAG-{n:04d}",
            "vent head with long neck",
            "from 1000.5 to 1200.75 mm",
            "M3/long-mark-name-20",
            "31 Mar 2027",
        )
        for n in (1, 2)
    ]
    content = labels_pdf(long, least, Symbology.QR, STAMP)
    [codes] = qr_codes(content, 203)
    assert codes == ["NY-BAG-0001", "NY-BAG-0002"]
    [text] = pages(content)
    assert text.count("Use by") == text.count("31 Mar 2027") == 2


def test_the_page_says_to_what_blur_the_codes_were_read_back(yard: Yard):
    page = yard.client("sal").get(reverse("labels")).content.decode()
    assert "500 of 500 each" in page
    assert "At half a module not all are read" in page


def test_a_label_from_a_german_page_is_german(yard: Yard):
    yard.receive("G-1", mark="M3", use_by=date(2035, 3, 31))
    client = yard.client("sal")
    client.cookies["django_language"] = "de"
    asked = {"tags": "G-1", "stock": "roll-60x40", "code": "qr", "start": "1"}
    content = client.post(reverse("labels"), asked).content
    [text] = pages(content)
    assert "Verwendbar bis" in text
    assert "Bauform M3" in text
    assert "31. Mär 2035" in text
    assert "Use by" not in text
    assert str(reader(content).trailer["/Root"]["/Lang"]).startswith("de")
