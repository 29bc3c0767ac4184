"""The phone beside the van takes a code for the piece that the counter takes it for, and for no other."""

from __future__ import annotations

import random
from collections.abc import Callable
from urllib.parse import quote

import pytest
from django.test import RequestFactory
from django.urls import reverse
from playwright.sync_api import Page

from kit.views.desk import Desk
from kit.views.found import scanned
from tests.browser.conftest import PHONE
from tests.counts import cases
from tests.kit.views.holm import Yard, make_yard

pytestmark = pytest.mark.django_db(transaction=True)

GS = "\x1d"
GTIN = "04012345678901"
LISTED = (
    ("G-1", "4711", "B7"),
    ("G-2", "A/12%+x", "b8"),
    ("ga-3", "21XY", ""),
    ("4711", "99", ""),
    ("00042", "0104012345678901", "B7"),
    ("G 5 A", "7&8=9?", ""),
)
OTHERS = (
    ("G-9", "4711", "C1"),
    ("GA-3", "xy", ""),
    ("100042", "5511", ""),
    ("99", "00042", ""),
    ("42", "4712", "B7"),
)


@pytest.fixture
def made(db) -> Yard:
    made = make_yard()
    for tag, serial, batch in LISTED:
        made.receive(tag, serial=serial, batch=batch)
    made.reserve(made.plan("J-1", made.arrangement(lines=[("gauges", "gauge", len(LISTED))])))
    for tag, serial, batch in OTHERS:
        made.receive(tag, serial=serial, batch=batch, maker="another")
    made.receive("W-1", serial="4712", batch="Z", depot=made.weir)
    return made


def forms(chance: random.Random, text: str, batch: str) -> str:
    """One way in which a code may say the text, as a tag, a serial, or an owner's number."""
    gap = chance.choice([GS, "<GS>", "{GS}", "^]", "␝"])
    more = chance.choice(
        ["", f"{gap}10{batch}" if batch else "", f"{gap}10NONE", f"{gap}240x", f"{gap}21again", "?"]
    )
    query = chance.choice(
        ["", f"?10={quote(batch)}", "?17=281231&x=y", "?10=", "?21=" + quote(text), "#a", "?99="]
    )
    sent_first = chance.choice(["", "]C1"])
    company = chance.choice(["401234", "4012345", "401234567890", "12", ""])
    dated = chance.choice(["", "17280231", "11260101", "17281"])
    return chance.choice(
        [
            text,
            text.lower(),
            text.upper(),
            f"  {text}\r\n",
            f"]{chance.choice(['C0', 'Q1', 'd2', 'C1'])}{text}",
            f"{chance.choice(['', ']d2', ']C1', GS])}01{GTIN}{dated}21{text}{more}",
            f"21{text}{more}",
            f"(01){GTIN}(21){text}{f'(10){batch}' if batch else ''}",
            f"(21){text}",
            f"(21) {text} (99)",
            f"https://id.gs1.org/01/{GTIN.lstrip('0')}/21/{quote(text, safe='')}{query}",
            f"https://maker.example/kit/01/{GTIN}/10/{quote(batch, safe='') or 'x'}/21/{quote(text, safe='')}{query}",
            f"http://maker.example/01/{GTIN}/21/{quote(text, safe='')}/10/B7{query}",
            f"https://maker.example/8004/4012345{quote(text, safe='')}{query}",
            f"{sent_first}8004{company}{text}{more}",
            f"8003{'0'}{GTIN[1:]}{text}{more}",
            f"3103{chance.choice(['001234', '1'])}21{text}",
            f"{text}{chance.choice([GS, '<GS>', ' ', ')', '(', '/'])}{batch}",
        ]
    )


def test_both_take_each_code_for_the_same_piece(
    made: Yard, open_page: Callable[..., Page], sign_in: Callable
) -> None:
    chance = random.Random(20261127)
    named = [*LISTED, *OTHERS, ("W-1", "4712", "Z"), ("nobody", "0", "B7")]
    codes = []
    for _ in range(cases(60) * 50):
        tag, serial, batch = chance.choice(named)
        code = forms(chance, chance.choice([tag, serial]), batch)
        if chance.random() < 0.1:  # a slip of the scanner
            at = chance.randrange(len(code))
            code = code[:at] + chance.choice(["", "0", "x", GS, "(", "/"]) + code[at + 1 :]
        codes.append(code)

    page = open_page(**PHONE)
    sign_in(page, made.people["cal"])
    page.goto(reverse("van", args=["J-1"]))
    by_phone = page.evaluate(
        """codes => {
            const known = window.vanCodes(JSON.parse(document.getElementById("van-codes").textContent));
            return codes.map(known.named);
        }""",
        codes,
    )
    request = RequestFactory().get("/")
    request.user = made.people["cal"]
    request.desk = Desk(request)
    listed = {tag for tag, _, _ in LISTED}
    differ, found = [], 0
    for code, tags in zip(codes, by_phone, strict=True):
        at_the_counter = [item.tag for item in scanned(request, code, jobs=False).items]
        # What leads to no piece of the list need not be known to the phone.
        if listed & {*at_the_counter, *tags}:
            found += 1
            if sorted(tags) != sorted(at_the_counter):
                differ.append((code, tags, at_the_counter))
    assert differ == []
    assert found > len(codes) / 4, "most of these codes were to name a piece of the list"
