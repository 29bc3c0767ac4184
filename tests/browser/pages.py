"""Walking the demo as a person would: every address that the pages themselves link to."""

import re
from collections.abc import Iterator
from urllib.parse import urlsplit

from playwright.sync_api import Page

# Of many pages of one make one is looked at: /items/A/ and /items/B/ are the same page.
_MAKES = [
    (re.compile(pattern), make)
    for pattern, make in [
        (r"^/items/[^/]+/$", "item"),
        (r"^/ledger/\d+/$", "entry"),
        (r"^/acts/([a-z-]+)/.*", r"act \1"),
        (r"^/inspections/record/calibration/.*", "calibration"),
        (r"^/inspections/reviews/\d+/$", "review"),
        (r"^/inspections/reviews/record/.*", "reviewed record"),
        (r"^/inspections/record/.*", "record"),
        (r"^/inspections/release/.*", "release"),
        (r"^/inspections/cases/.*", "case"),
        (r"^/inspections/photos/\d+/$", "photo"),
        (r"^/inspections/checks/\d+/$", "checks"),
        (r"^/inspections/checks/\d+/new/$", "new check"),
        (r"^/inspections/checks/\d+/\d+/$", "changed check"),
        (r"^/inspections/checks/\d+/\d+/readings/$", "readings"),
        (r"^/inspections/(repair|re-test)/.*", r"\1"),
        (r"^/inspections/records/\d+/$", "one record"),
        (r"^/inspections/(calibration|form|hold-test|attach)/.*", r"\1"),
        (r"^/inspections/bench/batch/\d+/$", "batch"),
        (r"^/inspections/concessions/\d+/$", "concession"),
        (r"^/inspections/tested/[^/]+/$", "tested pieces"),
        (r"^/inspections/(ask-concession|correct)/.*", r"\1"),
        (r"^/inspections/knew/(item|job)/.*", r"knew \1"),
        (r"^/jobs/[^/]+/$", "job"),
        (r"^/(change-job|cancel-job|let-go-all|load-list|move-job|breaks/soonest)/[^/]+/$", r"\1"),
        (r"^/counter/(issue|back|piece)/.*", r"counter \1"),
        (r"^/promises/\d+/(.*)/$", r"promise \1"),
        (r"^/arrangements/\d+/(next/)?$", r"arrangement \1"),
        (r"^/kinds/\d+/$", "kind"),
        (r"^/kind/[^/]+/$", "pieces of a kind"),
        (r"^/batches/[^/]+/$", "batch of a maker"),
        (r"^/places/\d+/(rename|withdraw)/$", r"place \1"),
        (r"^/people/\d+/(.*)$", r"person \1"),
        (r"^/labels/stocks/(?!new/)[^/]+/$", "label stock"),
        (r"^/mains/\d+/withdraw/$", "withdrawn main"),
        (r"^/transfers/\d+/((arrival/)?)$", r"transfer \1"),
        (r"^/stock-take/\d+/$", "stock-take"),
        (r"^/stock-take/\d+/\d+/$", "stock-take line"),
        (r"^/transfers/\d+/\d+/$", "transfer line"),
        (r"^/van/job/[^/]+/$", "job at the van"),
    ]
]
_NOT_PAGES = re.compile(
    r"\.(pdf|xlsx|ods|csv)$|/spreadsheet/|^/inspections/files/\d+/$|/defect-tag$|^/sign-out/|^/static/"
)


def make_of(path: str) -> str:
    """What kind of page an address is, so that each is visited once."""
    for pattern, make in _MAKES:
        if pattern.match(path):
            return pattern.sub(make, path)
    return path


def links_of(page: Page) -> list[str]:
    """Paths of all links on the page that lead to pages of ours."""
    found = page.eval_on_selector_all("a[href]", "links => links.map(link => link.href)")
    here = urlsplit(page.url)
    paths = []
    for link in found:
        parts = urlsplit(link)
        if parts.netloc == here.netloc and not _NOT_PAGES.search(parts.path) and parts.path:
            paths.append(parts.path)
    return paths


def walk(page: Page, start: str = "/") -> Iterator[str]:
    """Visit each make of page that can be reached from `start` once; yields its path while the page stands there.

    Fails on any answer that is not 200: a link that leads nowhere is a fault of the page that shows it.
    """
    seen: set[str] = set()
    waiting = [(start, start)]
    while waiting:
        path, on = waiting.pop(0)
        if make_of(path) in seen:
            continue
        seen.add(make_of(path))
        answer = page.goto(path)
        assert answer is not None
        assert answer.status == 200, f"{on} links to {path}, which answers {answer.status}"
        here = path
        waiting.extend((link, here) for link in links_of(page))
        yield here
