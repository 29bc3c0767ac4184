"""A page over a poor signal: text goes compressed, and the first view with all it links to stays under 150 kB."""

from __future__ import annotations

import gzip
import re

import pytest
from django.test import Client
from django.urls import reverse

from tests.kit.views.holm import Yard

FIRST_VIEW_BYTES = 150_000
LATER_VIEW_BYTES = 40_000
PACKED = {"HTTP_ACCEPT_ENCODING": "gzip"}


def fetched(client: Client, path: str) -> tuple[int, bytes]:
    """Bytes that travel, and what they hold."""
    answer = client.get(path, **PACKED)
    assert answer.status_code == 200, path
    sent = b"".join(answer.streaming_content) if answer.streaming else answer.content
    packed = answer.get("Content-Encoding") == "gzip"
    # What is shorter than 200 bytes is not worth packing.
    assert packed or len(sent) < 200, f"{path} travels unpacked"
    return len(sent), gzip.decompress(sent) if packed else sent


@pytest.mark.django_db
@pytest.mark.parametrize("screen", ["today", "counter", "register", "jobs", "plan_board"])
def test_a_first_view_with_all_that_it_links_to_is_light(yard: Yard, screen: str) -> None:
    client = yard.client("sal")
    page_bytes, page = fetched(client, reverse(screen))
    linked = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page.decode()))
    drawn = {path.partition("#")[0] for path in linked}
    assert len(drawn) > 10, "the page should link to its styles and scripts"
    of_files = {path: fetched(client, path)[0] for path in drawn}
    assert page_bytes < LATER_VIEW_BYTES
    assert page_bytes + sum(of_files.values()) < FIRST_VIEW_BYTES, of_files


@pytest.mark.django_db
def test_a_spreadsheet_is_not_packed_once_more(yard: Yard) -> None:
    answer = yard.client("sal").get(reverse("register_export"), **PACKED)
    assert answer.status_code == 200
    assert not answer.has_header("Content-Encoding")
