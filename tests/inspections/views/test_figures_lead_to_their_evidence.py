"""Item, batch, kind and job pages: each figure is a link to what proves it, and each chart has its table beside it."""

from __future__ import annotations

from datetime import timedelta
from html.parser import HTMLParser
from urllib.parse import urldefrag, urljoin

import pytest
from django.test import Client
from django.urls import reverse

from inspections.actions.attach import attach
from inspections.models import Check, Inspection
from kit.models import Item, Reservation
from kit.stores import finish_issue, issue_piece, quarantine, take_back
from kit.tables.marks import short_day
from tests.inspections.views.test_photos_are_seen import PDF, picture
from tests.kit.views.holm import Yard


class Page(HTMLParser):
    """The links, ids and charts in the main part of a page: for each chart whether a table stands in its section."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.links: set[str] = set()
        self.ids: set[str] = set()
        self.charts = self.tables = 0
        self.bare: list[str] = []
        self._sections: list[dict[str, int]] = []
        self._main = False
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        got = dict(attrs)
        if tag == "main":
            self._main = True
        if got.get("id"):
            self.ids.add(got["id"])
        if self._main and tag == "a" and got.get("href"):
            self.links.add(got["href"])
        if tag in ("main", "section"):
            self._sections.append({"charts": 0, "tables": 0})
        if tag == "svg" and got.get("role") == "img" and "picture__drawing" in (got.get("class") or ""):
            self.charts += 1
            self._sections[-1]["charts"] += 1
        if tag == "table":
            self.tables += 1
            for section in self._sections:
                section["tables"] += 1

    def handle_endtag(self, tag):
        if tag == "main":
            self._main = False
        if tag in ("main", "section"):
            section = self._sections.pop()
            if section["charts"] > section["tables"]:
                self.bare.append(f"{section['charts']} charts, {section['tables']} tables")


def read(client: Client, address: str) -> Page:
    answer = client.get(address)
    assert answer.status_code == 200, address
    return Page(answer.content.decode())


@pytest.fixture
def lived(yard: Yard) -> Yard:
    """Pumps of a batch: tested, failed, out and back, one set aside with a photo, one with its paper."""
    for n in range(1, 8):
        yard.receive(
            f"P-{n}",
            kind="pump",
            maker="Pell",
            batch="P1" if n < 6 else "P2",
            made_on=yard.today - timedelta(days=400),
            use_by=yard.today + timedelta(days=30 * n),
        )
    pump = Item.objects.get(tag="P-2")
    check = Check.objects.in_force().filter(kind=pump.kind)[0]
    yard.inspect(pump, check.name, "fail", 0)
    done = Inspection.objects.filter(item=pump).latest("pk")
    yard.do(attach, pump, "cover.jpg", picture(), note="Cracked cover", inspection=done)
    yard.do(attach, pump, "c.pdf", PDF, inspection=done)
    yard.do(quarantine, Item.objects.get(tag="P-3"), "smells of oil")
    job = yard.plan("J-1", yard.arrangement("two", [("pumps", "pump", 2)]))
    yard.reserve(job)
    for row in Reservation.objects.filter(job=job).select_related("item"):
        yard.do(issue_piece, job, row.item)
    yard.do(finish_issue, job)
    past, still = Reservation.objects.filter(job=job)
    yard.do(take_back, past, "unused")
    yard.plan("J-2", yard.arrangement("two", [("pumps", "pump", 2)]), load_in=9)
    yard.reserve(job.__class__.objects.get(reference="J-2"))
    assert still.standing == "issued"
    return yard


PAGES = (
    *(("item", f"P-{n}") for n in (1, 2, 3, 4)),
    ("maker_batch", "P-1"),
    ("kind_page", "pump"),
    ("job", "J-1"),
    ("job", "J-2"),
)


@pytest.mark.once
@pytest.mark.parametrize("who", ["sal", "eve", "lee"])
def test_every_link_on_them_opens_and_its_place_is_there(lived: Yard, who: str):
    client = lived.client(who)
    seen: dict[str, set[str]] = {}
    for name, of in PAGES:
        here = reverse(name, args=[of])
        for link in read(client, here).links:
            address, place = urldefrag(urljoin(here, link))
            if address not in seen:
                answer = client.get(address, follow=True)
                assert answer.status_code == 200, f"{here} links to {address}"
                kind = answer["Content-Type"]
                seen[address] = Page(answer.content.decode()).ids if kind.startswith("text/html") else set()
            if place:
                assert place in seen[address], f"{here} links to {link}, where nothing is"


@pytest.mark.parametrize(
    ("name", "of"),
    [*PAGES, ("due_weeks", None), ("quarantine", None), ("readiness", None)],
)
def test_a_table_stands_beside_every_chart(lived: Yard, name: str, of: str | None):
    page = read(lived.client("lee"), reverse(name, args=[of] if of else None))
    assert page.bare == []
    if name in ("item", "maker_batch", "kind_page", "due_weeks", "quarantine"):
        assert page.charts


def test_what_decides_leads_to_its_check_and_that_to_its_record(lived: Yard):
    client = lived.client("sal")
    answer = client.get(reverse("item", args=["P-1"]))
    text = answer.content.decode()
    first = answer.context["lives"][0]
    assert first["name"] == "use-by date"
    entry = first["url"]
    assert entry.startswith("/ledger/")
    assert '"use_by"' in client.get(entry).context["body"]
    fit_until = dict(answer.context["why"])["Fit until"]
    assert fit_until == f'<a href="{entry}">{short_day(lived.today + timedelta(days=30))}</a>'
    for row in answer.context["lives"][1:]:
        assert row["url"].removeprefix("#") in Page(text).ids
        assert row["left"] in text
    done = Inspection.objects.filter(item__tag="P-1").latest("pk")
    checks = text.partition('id="checks"')[2].partition("</section>")[0]
    assert f'href="{reverse("inspection", args=[done.pk])}"' in checks


@pytest.mark.parametrize("failed", [False, True])
def test_counts_of_tested_and_failed_are_as_long_as_their_lists(lived: Yard, failed: bool):
    client = lived.client("eve")
    which = "failed_url" if failed else "tested_url"
    panels = [
        client.get(reverse("maker_batch", args=["P-1"])),
        client.get(reverse("kind_page", args=["pump"])),
    ]
    rows = [row for page in panels for context in page.context for row in _rows(context)]
    assert len(rows) >= 5
    for row in rows:
        share = row["share"] if "percent" in row else row["group"].share
        number = share.failed if failed else share.tested
        listed = client.get(row[which]).context["table"].rows
        assert len(listed) == number, row["label"]
        assert row[which].replace("&", "&amp;") in "".join(p.content.decode() for p in panels) or not number


def _rows(context) -> list:
    """The rows of failures in one of the contexts that a page was rendered with."""
    found = list(context.get("rows") or []) if "own" in context else []
    for part in context.get("parts") or []:
        found += part.get("rows", [])
    return [row for row in found if "tested_url" in row]


def test_the_list_names_the_last_failed_record(lived: Yard):
    answer = lived.client("eve").get(reverse("tested", args=["pump"]), {"failed": "on"})
    [row] = answer.context["table"].rows
    failed = Inspection.objects.get(verdict="fail")
    assert (row.record.tag, row.record.fails, row.record.failed_pk) == ("P-2", 1, failed.pk)
    assert reverse("inspection", args=[failed.pk]) in answer.content.decode()
    assert lived.client("wyn").get(reverse("tested", args=["pump"])).context["number"] == 0


@pytest.mark.parametrize(("name", "of"), [("maker_batch", "P-1"), ("kind_page", "pump")])
def test_each_month_of_the_run_out_is_as_long_as_the_register_it_leads_to(lived: Yard, name: str, of: str):
    client = lived.client("sal")
    rows = client.get(reverse(name, args=[of])).context["run_out"]["rows"]
    items = Item.objects.in_use().filter(kind__name="pump", depot=lived.holm)
    if name == "maker_batch":
        items = items.filter(batch="P1")
    assert sum(number for _what, number, _url in rows) == items.count()
    assert sum(1 for _what, number, _url in rows if number) > 2
    for what, number, url in rows:
        assert len(client.get(url).context["table"].rows) == number, what


def test_the_age_of_open_cases_names_the_cases(lived: Yard):
    answer = lived.client("lee").get(reverse("quarantine"))
    [row] = answer.context["ages_rows"]
    assert {case.item.tag for case in row["cases"]} == {"P-2", "P-3"}
    assert row["number"] == 2
