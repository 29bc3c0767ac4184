"""On a German page no text of the catalogue stands in English, whoever looks. What is not in it is not seen by this."""

import json
from contextlib import suppress
from html.parser import HTMLParser

import polib
import pytest
from django.core.management import call_command
from django.utils.translation import override

from kit.stores import quarantine
from tests.kit.views.holm import Yard
from tests.translations import PO

# What language a text is in does not hang on the engine.
pytestmark = pytest.mark.once

GERMAN = {"Accept-Language": "de"}
# Stored with what is shipped, and shown as it was recorded.
RECORDED = {"common practice, no source"}


class _Texts(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.texts: set[str] = set()
        self.links: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if name in {"aria-label", "placeholder", "title"} and value:
                self.texts.add(" ".join(value.split()))
            if tag == "a" and name == "href" and value and value.startswith("/"):
                self.links.add(value.partition("#")[0])

    def handle_data(self, data: str) -> None:
        self.texts.add(" ".join(data.split()))


@pytest.fixture(scope="module")
def english() -> set[str]:
    """Msgids of more than one word that read otherwise in German; single words may be data as well."""
    return {
        entry.msgid
        for entry in polib.pofile(str(PO))
        if entry.msgstr
        and entry.msgstr != entry.msgid
        and " " in entry.msgid.strip()
        and "%(" not in entry.msgid
    }


@pytest.mark.parametrize("who", ["sal", "cal", "pat", "eve", "lee"])
def test_pages_have_no_english_of_the_catalogue(yard: Yard, who: str, english: set[str]):
    yard.receive("G-1")
    yard.do(quarantine, yard.receive("G-3"), "bent")
    yard.plan("J-1", yard.arrangement(), load_in=2)
    client = yard.client(who)
    waiting, seen = ["/"], {"/"}
    while waiting and len(seen) < 30:
        page = client.get(waiting.pop(0), headers=GERMAN)
        if page.status_code != 200 or "html" not in page["Content-Type"]:
            continue
        html = page.content.decode()
        parser = _Texts()
        parser.feed(html)
        assert '<html lang="de">' in html
        assert (parser.texts & english) - RECORDED == set(), page.request["PATH_INFO"]
        new = sorted(link for link in parser.links if link.partition("?")[0] not in seen)
        waiting += new
        seen |= {link.partition("?")[0] for link in new}
    assert len(seen) > 4


def test_reasons_and_refusals_are_said_in_german_and_the_json_stays_english(yard: Yard, capsys) -> None:
    yard.do(quarantine, yard.receive("G-3"), "bent")
    job = yard.plan("J-1", yard.arrangement(), load_in=2)
    html = yard.client("pat").get(f"/jobs/{job.reference}/", headers=GERMAN).content.decode()
    assert "Es ist gesperrt" in html
    assert "It is in quarantine" not in html
    answer = (
        yard.client("sal")
        .post("/acts/set-aside/G-3/", {"why": ""}, headers=GERMAN, follow=True)
        .content.decode()
    )
    assert '<html lang="de">' in answer
    with override("de"), suppress(SystemExit):
        call_command("kit_list", job.reference, format="json")
    told = json.loads(capsys.readouterr().out)
    assert any(
        "It is in quarantine" in reason["text"]
        for refused in told["refused"]
        for reason in refused["reasons"]
    )
