"""The bench sheet: what the bench list shows, with the limits in force, and codes that read as tags."""

from __future__ import annotations

import io

import numpy
import pypdfium2
import pytest
from django.http import HttpResponse
from django.urls import reverse

from inspections.bench_sheet import MOST
from kit.models import Deed, LedgerEntry
from tests.inspections.views.hold_kit import bag, gauge
from tests.kit.papers.examples import pages, qr_codes, reader
from tests.kit.views.holm import Yard


@pytest.fixture
def listed(yard: Yard) -> Yard:
    """A bag with a hold test that falls due, a gauge never calibrated by method, a pump with a plain inspection."""
    bag(yard, "B-1")
    gauge(yard, "G-9")
    yard.receive("P-1", kind="pump", passed=False)
    return yard


def sheet(yard: Yard, query: str = "", who: str = "eve") -> bytes:
    answer: HttpResponse = yard.client(who).get(reverse("bench_sheet") + query)
    assert answer.status_code == 200, answer.content[:300]
    assert answer["Content-Type"] == "application/pdf"
    return answer.content


def test_it_lists_what_the_bench_lists_with_a_code_for_each_tag(listed: Yard):
    content = sheet(listed)
    table = listed.client("eve").get(reverse("bench")).context["table"]
    tags = [row.record.tag for row in table.rows]
    assert "P-1" in tags
    assert sorted(code for page in qr_codes(content) for code in page) == sorted(tags)
    said = " ".join(pages(content))
    for row in table.rows:
        assert row.record.check in said
    assert "never done: due at once" in said
    assert reverse("bench_sheet") in listed.client("eve").get(reverse("bench")).content.decode()


def test_it_is_narrowed_as_the_list_is(listed: Yard):
    content = sheet(listed, "?kind=pump")
    assert {code for page in qr_codes(content) for code in page} == {"P-1"}


def test_limits_are_those_in_force_and_what_is_written_in_is_named(listed: Yard):
    said = " ".join(pages(sheet(listed, "?kind=bag")))
    for part in (
        "at most 0.2 bar",
        "held 5 minutes",
        "drop at most",
        "Start pressure",
        "End pressure",
        "Gauge (tag)",
    ):
        assert part in said, part


def test_the_printing_is_told_in_the_ledger(listed: Yard):
    content = sheet(listed)
    head = LedgerEntry.objects.latest("number")
    assert (head.deed, head.actor) == (Deed.PRINTED, "eve")
    assert head.hash[:12] in pages(content)[0]


def test_an_empty_choice_and_one_too_large_are_refused_with_why(
    listed: Yard, monkeypatch: pytest.MonkeyPatch
):
    client = listed.client("eve")
    assert MOST > 1
    monkeypatch.setattr("inspections.bench_sheet.MOST", 1)
    assert "Narrow the list" in client.get(reverse("bench_sheet"), follow=True).content.decode()
    monkeypatch.setattr("inspections.views.papers.bench_list", lambda *_: [])
    said = client.get(reverse("bench_sheet"), follow=True).content.decode()
    assert "there is no bench sheet" in said


def test_only_who_tests_gets_it(listed: Yard):
    assert listed.client("cal").get(reverse("bench_sheet")).status_code == 403


def test_in_german_it_is_german(listed: Yard):
    client = listed.client("eve")
    client.cookies["django_language"] = "de"
    content = client.get(reverse("bench_sheet")).content
    assert str(reader(content).trailer["/Root"]["/Lang"]).startswith("de")
    said = " ".join(pages(content))
    for part in (
        "Prüfblatt",
        "Nicht bestanden",
        "noch nie ausgeführt",
        "Seite 1 von",
        "Journal",
    ):
        assert part in said, part


def test_all_that_is_printed_is_black_or_white_in_grey(listed: Yard):
    """A mono printer has no grey: the ink is black, and what is between is only the edges of strokes."""
    page = pypdfium2.PdfDocument(io.BytesIO(sheet(listed)))[0]
    grey = numpy.asarray(page.render(scale=4, grayscale=True).to_pil())
    inked = grey[grey < 200]
    assert inked.size > 10_000
    assert (inked < 60).mean() > 0.75
